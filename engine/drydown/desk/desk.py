"""The desk: one case, what was done to it, and what is known of it. Every change goes through here, one at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

from ..casefile.heading import heading_of
from ..errors import InputError
from ..examples import EXAMPLES, template
from .asking import asked
from .document import Document, Trouble, parsed, troubles
from .edits import changed
from .history import History, Step
from .parts import parts_of
from .question import Blank, question_of


class Stale(Exception):
    """A change was made to a state that is no longer that of the desk."""


class Desk:
    """A case on the desk.

    Parameters
    ----------
    document : dict
    path : Path
        The file it is, or would be.
    notify : callable
        Takes the name of an event and what it carries.
    """

    def __init__(self, document: Document, path: Path, notify: Callable[[str, Document], None]) -> None:
        self.lock = threading.RLock()
        self.notify = notify
        self.history = History(Step(document, path))
        self.version = 1
        self.notice = ""
        self._wrong: list[Trouble] = []
        self._kept: dict[Any, Any] = {}
        self._look()

    @property
    def now(self) -> Step:
        """The case as it is."""
        return self.history.now

    @property
    def system(self) -> Any:
        """Units that it is told in."""
        try:
            return heading_of(self.now.document, self.now.path).system
        except InputError:
            return "SI"

    def edit(self, edit: Document, base: int | None = None) -> Document:
        """Make a change; return the new state.

        Raises
        ------
        InputError
            It cannot be read.
        Stale
            It was made to another version.
        """
        with self.lock:
            if base is not None and base != self.version:
                raise Stale("the case has been changed meanwhile; look again")
            document, words = self._changed(edit)
            if document != self.now.document:
                self.history.go(document, words)
                self._turned()
            return self.state()

    def _changed(self, edit: Document) -> tuple[Document, str]:
        op = edit.get("op") if isinstance(edit, dict) else None
        if op == "new":
            return started(edit.get("value")), "a new start"
        if op == "ask":
            document = deepcopy(self.now.document)
            return document, asked(document, edit.get("at"), edit.get("value"))
        return changed(self.now.document, edit)

    def undo(self) -> Document:
        """Go a step back; return the state."""
        with self.lock:
            if self.history.undo():
                self._turned()
            return self.state()

    def redo(self) -> Document:
        """Take the step again that was undone last; return the state."""
        with self.lock:
            if self.history.redo():
                self._turned()
            return self.state()

    def _turned(self) -> None:
        self.version += 1
        self._look()
        self.notify("state", {"version": self.version})

    def _look(self) -> None:
        self._wrong = troubles(self.now.document, self.now.path, self._kept)

    def state(self) -> Document:
        """Return the state document."""
        with self.lock:
            document, path, system = self.now.document, self.now.path, self.system
            blanks = question_of(document, system)
            shown = [b.shown(self._wrong) for b in blanks]
            return {
                "version": self.version,
                "undo": len(self.history.before),
                "redo": len(self.history.after),
                "undo_words": self.now.words if self.history.before else "",
                "redo_words": self.history.after[-1].words if self.history.after else "",
                "file": {"name": path.name, "saved": False, "comments": False, "notice": self.notice},
                "units": "us" if system == "US" else "metric",
                "title": str(document.get("title", path.stem)),
                "case": document,
                "parts": parts_of(document, path, system, self._wrong),
                "trouble": [self._told(t, blanks) for t in self._wrong],
                "question": shown,
                "job": {"state": "waiting" if self._wrong else "idle", "fraction": 0.0, "words": ""},
                "answer": 0,
                "cards": {"state": "none", "fraction": 0.0, "version": 0},
                "pins": 0,
            }  # fmt: skip

    @staticmethod
    def _told(trouble: Trouble, blanks: list[Blank]) -> Document:
        blank = next((b.name for b in blanks if b.about(trouble)), "")
        return {"at": trouble.at, "part": trouble.part, "blank": blank, "text": trouble.text}

    def close(self) -> None:
        """Stop what is at work."""


#: A start from nothing: what a case needs beside its layers.
_EMPTY = """
title = "A wall of yours"

[climate]
name = "{place}"

[outside]
orientation = "north"

[inside]
model = "normal occupancy"

[period]
start = 2021-10-01
years = 2

[start]
temperature = "10 degC"
humidity = "80 %"
"""


def started(name: Any) -> Document:
    """Return the document of an example, or an empty one.

    Raises
    ------
    InputError
        There is no such example.
    """
    if name == "empty":
        from ..plugins import climates

        return parsed(_EMPTY.format(place=next(iter(climates()), "")), "empty")
    if name not in EXAMPLES:
        raise InputError(f"there is no example '{name}'; there are {', '.join(EXAMPLES)} and empty", "new")
    return parsed(template(str(name)), f"{name}.toml")
