"""The page: one self-contained HTML file of a run and, where there is one, its dry-out trial.

`page(results, trial, case)` returns the HTML. `drydown report` writes it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..lazy import public

if TYPE_CHECKING:
    from .document import page as page

_HOME = {"page": "document"}

__all__ = sorted(_HOME)

if not TYPE_CHECKING:  # a checker knows the names above and refuses others
    __getattr__, __dir__ = public(__name__, _HOME)
