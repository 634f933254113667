"""The page: one self-contained HTML file of a run and, where there is one, its dry-out trial.

`page(results, trial, case)` returns the HTML. `drydown report` writes it.
"""

from __future__ import annotations

from ..lazy import public

_HOME = {"Story": "story", "page": "document", "tell": "story"}

__all__ = sorted(_HOME)

__getattr__, __dir__ = public(__name__, _HOME)
