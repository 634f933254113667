"""The page: one self-contained HTML file of a run and, where there is one, its dry-out trial.

`page(results, trial, case)` returns the HTML. `drydown report` writes it.
"""

from __future__ import annotations

from .page import page
from .story import Story, tell

__all__ = ["Story", "page", "tell"]
