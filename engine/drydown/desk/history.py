"""What the case was before, and what was undone: whole documents, so that every step leads back to the letter."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from .document import Document

#: Most steps that are kept.
STEPS = 500


@dataclass(frozen=True)
class Step:
    """The case at one moment.

    Parameters
    ----------
    document : dict
        Not to be changed.
    path : Path
        The file it is, or would be; files are seen from it.
    words : str
        What had been changed to come here.
    """

    document: Document
    path: Path
    words: str = ""


@dataclass
class History:
    """The case as it is, with the steps before it and those that were undone."""

    now: Step
    before: list[Step] = field(default_factory=list)
    after: list[Step] = field(default_factory=list)

    def go(self, document: Document, words: str, path: Path | None = None) -> None:
        """Take a step; what was undone is gone."""
        self.before.append(self.now)
        del self.before[:-STEPS]
        self.after.clear()
        self.now = Step(document, self.now.path if path is None else path, words)

    def undo(self) -> bool:
        """Go a step back; False: there is none."""
        if not self.before:
            return False
        self.after.append(self.now)
        self.now = self.before.pop()
        return True

    def redo(self) -> bool:
        """Take the step again that was undone last; False: there is none."""
        if not self.after:
            return False
        self.before.append(self.now)
        self.now = self.after.pop()
        return True
