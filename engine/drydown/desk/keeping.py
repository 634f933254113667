"""What is kept while the desk is open: the case, every step and the pins, in a folder of this user alone.

After every change it is written whole or not at all, so that nothing is lost when the browser or the server dies; the
next desk on the same case opens it again. One desk holds one case: a second one is refused.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import InputError
from ..files import write_text
from ..study.locks import Heartbeat, Lock, read_holder
from ..systems import private_folder, state_home
from .document import Document
from .history import History, Step

#: Layout of what is kept; another one is not read.
LAYOUT = 1
#: Most steps that are written, either way: the rest is kept until the desk is closed.
STEPS = 100


@dataclass
class Kept:
    """The place of one case.

    Parameters
    ----------
    folder : Path
        What is handed in lies there, and what is kept; it belongs to this user alone.
    """

    folder: Path

    @property
    def file(self) -> Path:
        """What is kept."""
        return self.folder / "desk.json"

    @property
    def handed_in(self) -> Path:
        """Where files lie that were handed in."""
        return self.folder / "files"

    def write(self, history: History, pins: list[tuple[str, Step]], saved: str) -> None:
        """Keep the case and its steps.

        Raises
        ------
        OSError
            It could not be written.
        """
        steps = [*history.before[-STEPS:], history.now, *history.after[-STEPS:][::-1]]
        shared: dict[str, int] = {}
        documents: list[Document] = []
        rows = []
        for step in [*steps, *(step for _, step in pins)]:
            text = json.dumps(step.document, sort_keys=True)
            if text not in shared:
                shared[text] = len(documents)
                documents.append(step.document)
            rows.append([shared[text], str(step.path), step.words])
        data = {
            "layout": LAYOUT,
            "documents": documents,
            "steps": rows[: len(steps)],
            "now": min(len(history.before), STEPS),
            "pins": [[name, row] for (name, _), row in zip(pins, rows[len(steps) :], strict=True)],
            "saved": saved,
        }
        write_text(self.file, json.dumps(data, ensure_ascii=False))

    def read(self) -> tuple[History, list[tuple[str, Step]], str] | None:
        """Return what was kept: the case with its steps, the pins, and what was saved last; None: nothing was."""
        try:
            data: Any = json.loads(self.file.read_text(encoding="utf-8"))
            if data["layout"] != LAYOUT:
                return None
            documents = data["documents"]

            def step(row: Any) -> Step:
                document = documents[row[0]]
                if not isinstance(document, dict):
                    raise ValueError("no document")
                return Step(document, Path(row[1]), str(row[2]))

            steps, now = [step(row) for row in data["steps"]], int(data["now"])
            pins = [(str(name), step(row)) for name, row in data["pins"]]
            history = History(steps[now], steps[:now], steps[now + 1 :][::-1])
            return history, pins, str(data["saved"])
        except (OSError, ValueError, KeyError, IndexError, TypeError, RecursionError):
            return None

    def forget(self) -> None:
        """Keep nothing."""
        with contextlib.suppress(OSError):
            self.file.unlink()


def home() -> Path:
    """Return the folder of all desks of this user, made where it is not there.

    Raises
    ------
    InputError
        There is no such place, or others could change it.
    """
    base = state_home()
    if base is None:
        raise InputError("this user has no folder of its own to keep the case in; set HOME", "desk")
    folder = base / "drydown" / "desk"
    if trouble := private_folder(folder):
        raise InputError(f"the case cannot be kept there: {trouble}", str(folder))
    return folder


def place_of(case_file: Path | None) -> Kept:
    """Return the place of a case file, or of what has none yet.

    Raises
    ------
    InputError
        As `home`.
    """
    name = "new"
    if case_file is not None:
        real = os.path.realpath(case_file)
        name = f"{hashlib.sha256(real.encode()).hexdigest()[:16]}"
    folder = home() / name
    for needed in (folder, folder / "files"):
        if trouble := private_folder(needed):
            raise InputError(f"the case cannot be kept there: {trouble}", str(needed))
    return Kept(folder)


def held(kept: Kept, beats: Heartbeat, last: ExitStack) -> None:
    """Hold a place until `last` is closed.

    Raises
    ------
    InputError
        Another desk has it.
    """
    path = kept.folder / "desk.lock"
    if not last.enter_context(beats.holding(Lock(path))):
        holder = read_holder(path)
        who = "" if holder is None else f" ({holder})"
        raise InputError(f"another desk is open on it{who}; go on there, close it, or open another case", "desk")
