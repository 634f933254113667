"""Files of the desk: opened, handed in, saved, handed over. Names are plain names; nothing leads out of its folder."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

from ..casefile import load
from ..errors import InputError
from ..files import write_bytes, write_text, write_whole
from ..systems import name_trouble
from ..toml import SIZE, read_text
from .desk import Desk, Stale
from .document import Document, files_in, has_notes, parsed, plain, shaped, written
from .edits import check_name

#: Most case files that are listed.
MOST = 200
#: What may be handed in beside a case.
ENDINGS = (".epw", ".csv", ".nc", ".toml")


class Filing:
    """The files of a desk.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    def listed(self) -> Document:
        """Return the case files of the folder."""
        folder = self.desk.folder
        names = sorted(p.name for p in folder.glob("*.toml") if p.is_file())[:MOST]
        return {"folder": folder.resolve().name, "files": [n for n in names if not n.startswith(".")]}

    def open(self, name: Any) -> Document:
        """Put a case file of the folder on the desk; return the state.

        Raises
        ------
        InputError
            There is no such file, or it cannot be read.
        """
        if not isinstance(name, str) or name not in self.listed()["files"]:
            raise InputError("there is no such case file in the folder", "open")
        path = self.desk.folder / name
        document = shaped(plain(load(path)), name)
        with self.desk.lock:
            self.desk.saved, self.desk.notes = _text(document), has_notes(read_text(path))
            return self.desk.go(document, f"{name} opened", path)

    def upload(self, name: Any, text: Any) -> Document:
        """Put a case on the desk that was dragged in; return the state.

        Raises
        ------
        InputError
            It is no case file, too large, or names files that lead elsewhere.
        """
        if not isinstance(name, str) or not isinstance(text, str):
            raise InputError("a name and a text are needed", "upload")
        name = self._plain(name, "upload")
        if len(text.encode()) > SIZE:
            raise InputError(f"is larger than {SIZE / 1e6:g} MB; no case file needs that", name)
        document = parsed(text.removeprefix("\ufeff"), name)
        if "layer" not in document and "period" not in document:
            raise InputError("holds no layers and no period: it is no case file", name)
        for file in files_in(document):
            check_name(file, name)
        with self.desk.lock:
            self.desk.saved, self.desk.notes = "", False
            return self.desk.go(document, f"{name} opened", self.desk.folder / name)

    def attach(self, name: Any, data: bytes) -> Document:
        """Take a file that a case may name: weather, measured air, a catalogue.

        Raises
        ------
        InputError
            Its name cannot be, or it is none of these.
        """
        name = self._plain(name, "attach")
        if Path(name).suffix.lower() not in ENDINGS:
            raise InputError(f"{name} is none of weather, measured air or a catalogue ({', '.join(ENDINGS)})", "attach")
        if not data:
            raise InputError(f"{name} is empty", "attach")
        write_bytes(self.desk.kept.handed_in / name, data)
        return {"name": name}

    def save(self, name: Any, over: Any = False) -> Document:
        """Write the case into the folder, with the files that it names beside it; return the state.

        Raises
        ------
        InputError
            The name cannot be.
        Stale
            There is a file of that name, and it is not to be written over.
        """
        name = self._plain(name, "save")
        if not name.endswith(".toml"):
            raise InputError("the name of a case file ends in .toml", "save")
        desk = self.desk
        with desk.lock:
            target = desk.folder / name
            if target.exists() and over is not True:
                raise Stale(f"There is a {name} already.")
            document = desk.now.document
            for file in files_in(document):
                self._along(Path(file).name if _is_plain(file) else file, over is True)
            write_text(target, written(document))
            desk.saved, desk.notes = _text(document), False
            return desk.settled(target)

    def _along(self, name: str, over: bool) -> None:
        """Put a file that was handed in beside the case."""
        source, target = self.desk.kept.handed_in / name, self.desk.folder / name
        if not _is_plain(name) or not source.exists() or source.resolve() == target.resolve():
            return
        if target.exists():
            if target.read_bytes() == source.read_bytes():
                return
            if not over:
                raise Stale(f"There is another {name} in the folder already.")
        write_whole(target, lambda part: shutil.copyfile(source, part))

    def text(self) -> str:
        """Return the case as the text of its file."""
        return written(self.desk.now.document)

    @staticmethod
    def _plain(name: Any, where: str) -> str:
        if not isinstance(name, str):
            raise InputError("a name is needed", where)
        check_name(name, where)
        if trouble := name_trouble(name):
            raise InputError(f"{trouble}; give another name", where)
        return name


def _is_plain(name: str) -> bool:
    try:
        check_name(name, "")
    except InputError:
        return False
    return True


def _text(document: Document) -> str:
    return json.dumps(document, sort_keys=True)
