"""Figures of a run and of a dry-out trial. Every function returns a matplotlib Figure.

Each takes a Dataset and a `width` [in]; below 6 in the figure is laid out for a phone. The same figures hang on
every result as ``results.drydown.plot`` (see `drydown.accessor`).
"""

from __future__ import annotations

from .balance import budget_figure, drying_figure
from .criteria import Course, criteria_figure
from .depth import months_figure, run_figure
from .history import history_figure
from .section import section_figure
from .stretches import digest, monthly_means
from .style import DASHED, DOTTED, GREY, INDIGO, INK, SOFT, SOLID, WINE, spread
from .trial import trial_figure

__all__ = [
    "DASHED",
    "DOTTED",
    "GREY",
    "INDIGO",
    "INK",
    "SOFT",
    "SOLID",
    "WINE",
    "Course",
    "budget_figure",
    "criteria_figure",
    "digest",
    "drying_figure",
    "history_figure",
    "monthly_means",
    "months_figure",
    "run_figure",
    "section_figure",
    "spread",
    "trial_figure",
]
