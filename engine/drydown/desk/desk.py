"""The desk: one case and what was done to it. Every change goes through here, one at a time, and is kept at once."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..casefile import CaseFile
from ..casefile.heading import heading_of
from ..errors import InputError
from ..examples import EXAMPLES, template
from .answering import Answer
from .asking import asked
from .document import Document, Trouble, located, looked_at, parsed, shaped
from .doing import Doing
from .edits import changed
from .history import History, Step
from .keeping import Kept
from .known import identity
from .parts import parts_of
from .pins import Pin, pinned, told_of
from .question import Blank, question_of
from .taking import taken

#: Most materials, weather and severe years that are kept from one reading to the next.
READ = 60


class Stale(Exception):
    """What was asked for does not fit the case as it is now."""


class Desk:
    """A case on the desk.

    Parameters
    ----------
    history : History
    kept : Kept
        Where all is kept.
    folder : Path
        Where case files are opened and saved.
    notify : callable
        Takes the name of an event and what it carries.
    """

    def __init__(
        self, history: History, kept: Kept, folder: Path, notify: Callable[[str, Document], None] = lambda *_: None
    ) -> None:
        self.lock = threading.RLock()
        self.history, self.kept, self.folder, self.notify = history, kept, folder, notify
        self.version = 1
        self.notice = ""
        #: The document that the file on the disk holds, as text; whether that file has notes.
        self.saved, self.notes = "", False
        self.pins: list[Pin] = []
        self.doing = Doing(lambda *news: self.notify(*news), self._unanswered)
        self._read: dict[Any, Any] = {}
        self._seen: CaseFile | list[Trouble] = []

    @property
    def now(self) -> Step:
        """The case as it is."""
        return self.history.now

    @property
    def system(self) -> Any:
        """Units that it is told in."""
        try:
            return heading_of({"units": self.now.document.get("units", "metric")}, self.now.path).system
        except InputError:
            return "SI"

    def begin(self) -> None:
        """Look at the case for the first time, and work out its answer."""
        with self.lock:
            self._look()

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
            return self.go(shaped(document, self.now.path.name), words)

    def _changed(self, edit: Document) -> tuple[Document, str]:
        op = edit.get("op") if isinstance(edit, dict) else None
        if op == "new":
            return started(edit.get("value")), "a new start"
        if op == "ask":
            document = deepcopy(self.now.document)
            return document, asked(document, edit.get("at"), edit.get("value"))
        return changed(self.now.document, edit)

    def go(self, document: Document, words: str, path: Path | None = None) -> Document:
        """Take a step to another document; return the state."""
        with self.lock:
            if document != self.now.document or (path is not None and path != self.now.path):
                self.history.go(document, words, path)
                self._turned()
            return self.state()

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
        self.notice = ""
        self.keep()
        self._look()
        self.notify("state", {"version": self.version})

    def keep(self) -> None:
        """Write all to the place where it is kept."""
        try:
            self.kept.write(self.history, [(p.name, p.step) for p in self.pins], self.saved)
        except OSError as error:
            self.notice = f"What you do cannot be kept: {error.strerror or error}. Save it elsewhere."

    def _look(self) -> None:
        if len(self._read) > READ:
            self._read.clear()
        step = self.now
        self._seen = looked_at(located(step.document, step.path, self.kept.handed_in), step.path, self._read)
        if isinstance(self._seen, CaseFile):
            self.doing.want(self.version, self._seen)
        else:
            self.doing.rest()

    def _unanswered(self) -> list[CaseFile]:
        """Return the walls that were kept the last time and have no answer yet."""
        with self.lock:
            steps = [p.step for p in self.pins if p.answer is None]
        seen = (looked_at(located(s.document, s.path, self.kept.handed_in), s.path) for s in steps)
        return [s for s in seen if isinstance(s, CaseFile)]

    def wrong(self) -> list[Trouble]:
        """Return what keeps the case from being run."""
        if isinstance(self._seen, list):
            return self._seen
        return self.doing.refused(self.version)

    def pin(self, name: Any) -> Document:
        """Keep the wall as it is, with its answer; return the state."""
        with self.lock:
            answer = self.answer()
            if answer is None:
                raise Stale("the answer is not there yet; wait for it, then keep the wall")
            self.pins.append(pinned(self.pins, name, self.now, answer))
            return self._pinned()

    def unpin(self, number: Any) -> Document:
        """Let a wall go that was kept; return the state."""
        with self.lock:
            self.pins.remove(self._pin(number))
            return self._pinned()

    def _pinned(self) -> Document:
        self.keep()
        self.notify("state", {"version": self.version})
        return self.state()

    def _pin(self, number: Any) -> Pin:
        for pin in self.pins:
            if pin.number == number:
                return pin
        raise Stale("that wall is not kept any more")

    def pinned(self) -> Document:
        """Return the walls that are kept, for the page."""
        with self.lock:
            for i, pin in enumerate(self.pins):
                if pin.answer is None:
                    step = pin.step
                    document = located(step.document, step.path, self.kept.handed_in)
                    self.pins[i] = replace(pin, answer=self.doing.known(identity(document, step.path)))
            pins = list(self.pins)
        return told_of(pins)

    def settled(self, path: Path) -> Document:
        """Call the case by the file that it was saved in; return the state."""
        with self.lock:
            self.history.now = replace(self.now, path=path)
            self.keep()
            return self.state()

    def take(self, asked_for: Document) -> Document:
        """Take over a card or a wall that was kept; return the state."""
        with self.lock:
            if "pin" in asked_for:
                pin = self._pin(asked_for["pin"])
                return self.go(pin.step.document, f"back to {pin.name}", pin.step.path)
            advice = self.doing.advice(self.version)
            number = asked_for.get("card")
            if advice is None or not isinstance(number, int) or not 0 <= number < len(advice.advised):
                raise Stale("that card is of another wall; look again")
            tried = advice.advised[number]
            base = advice.now.case
            assert base is not None and tried.case is not None
            return self.go(taken(self.now.document, base, tried.case), tried.words)

    def answer(self) -> Answer | None:
        """Return the answer of the case as it is; None: it is not there yet."""
        return self.doing.answer_to(self.version)

    def given(self) -> CaseFile:
        """Return the case as it is.

        Raises
        ------
        InputError
            It cannot be run.
        """
        with self.lock:
            if isinstance(self._seen, list):
                raise InputError(self._seen[0].text, self._seen[0].at)
            return self._seen

    def is_saved(self) -> bool:
        """Return whether the file on the disk holds the case as it is."""
        return json.dumps(self.now.document, sort_keys=True) == self.saved

    def state(self) -> Document:
        """Return the state document."""
        with self.lock:
            document, path, system = self.now.document, self.now.path, self.system
            # first how it stands: what is refused meanwhile is then told as wrong, not left out
            standing = self.doing.standing(self.version, isinstance(self._seen, list))
            wrong = self.wrong()
            handed_in = sorted(p.name for p in self.kept.handed_in.iterdir()) if self.kept.handed_in.is_dir() else []
            blanks = question_of(document, system, handed_in)
            name = path.name if path.suffix == ".toml" else ""
            found = located(document, path, self.kept.handed_in)
            return {
                "version": self.version,
                "undo": len(self.history.before),
                "redo": len(self.history.after),
                "undo_words": self.now.words if self.history.before else "",
                "redo_words": self.history.after[-1].words if self.history.after else "",
                "file": {"name": name, "saved": self.is_saved(), "comments": self.notes, "notice": self.notice},
                "units": "us" if system == "US" else "metric",
                "title": str(document.get("title", path.stem)),
                "case": document,
                "parts": parts_of(found, path, system, wrong),
                "trouble": [self._told(t, blanks) for t in wrong],
                "question": [b.shown(wrong) for b in blanks],
                **standing,
                "pins": len(self.pins),
            }

    @staticmethod
    def _told(trouble: Trouble, blanks: list[Blank]) -> Document:
        blank = next((b.name for b in blanks if b.about(trouble)), "")
        return {"at": trouble.at, "part": trouble.part, "blank": blank, "text": trouble.text}

    def close(self) -> None:
        """Stop what is at work."""
        self.doing.close()


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
