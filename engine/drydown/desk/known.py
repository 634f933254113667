"""What is known already: answers by what was asked, the last ones, so that a twin of a change is shown at once."""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from pathlib import Path
from typing import Any, Generic, TypeVar

from ..casefile import files_of
from .document import Document

T = TypeVar("T")
#: Answers that are kept: each holds its map, some hundred kilobytes.
MOST = 24


def identity(document: Document, path: Path) -> str:
    """Return what an answer hangs on: all that the document says, and the files that it names as they are now."""
    seen: list[Any] = [json.dumps(document, sort_keys=True)]
    for _, file in files_of(document, path)[1:]:
        try:
            about = file.stat()
            seen.append((str(file), about.st_mtime_ns, about.st_size))
        except OSError:
            seen.append((str(file), 0, 0))
    return hashlib.sha256(repr(seen).encode()).hexdigest()


class Known(Generic[T]):
    """The last things that were found out, by identity."""

    def __init__(self, most: int = MOST) -> None:
        self.most = most
        self._held: OrderedDict[str, T] = OrderedDict()

    def get(self, key: str) -> T | None:
        """Return what is known; None: nothing is."""
        if key not in self._held:
            return None
        self._held.move_to_end(key)
        return self._held[key]

    def put(self, key: str, found: T) -> None:
        """Keep something; what was not asked for the longest is let go."""
        self._held[key] = found
        self._held.move_to_end(key)
        while len(self._held) > self.most:
            self._held.popitem(last=False)

    def __len__(self) -> int:
        return len(self._held)
