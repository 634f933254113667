"""Criteria of damage over time, each in a strip of its own with its limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import InputError
from ..text import plain
from .style import HEAD, INDIGO, INK, NARROW, SOFT, WINE, dates, frame

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Course:
    """One criterion over time at its worst place.

    Parameters
    ----------
    title, place, unit : str
    time : ndarray of datetime64, shape (n,)
    value : ndarray, shape (n,)
    limit : float
        NaN where there is none.
    """

    title: str
    place: str
    unit: str
    time: np.ndarray
    value: np.ndarray
    limit: float


def criteria_figure(courses: Sequence[Course], name: str = "", width: float = 8.6) -> Figure:
    """Draw criteria over time, one below the other; what is above its limit is filled.

    Parameters
    ----------
    courses : sequence of Course
    name : str
        Of the case.
    width : float
        [in]

    Raises
    ------
    InputError
        If there is none.
    """
    import textwrap

    if not courses:
        raise InputError("there is no criterion to draw", "criteria figure")
    narrow = width < NARROW
    height = 1.35 + 1.45 * len(courses)
    title = "Criteria of damage over time, each at its worst place. The dashed line is the limit."
    figure, axes = frame(
        len(courses), (width, height), name, title, right=0.9 if narrow else 1.3, gap=0.75 if narrow else 0.6
    )
    for one, course in zip(axes, courses, strict=True):
        head = f"{course.title}, {course.place}" + (f" [{course.unit}]" if course.unit not in ("", "1") else "")
        one.set_title("\n".join(textwrap.wrap(head, int(14 * (width - 1.4)))), **{**HEAD, "fontsize": 9.5})
        one.plot(course.time, course.value, color=INDIGO, linewidth=1.5)
        top = float(np.nanmax(course.value))
        limited = np.isfinite(course.limit)
        high = 1.15 * max(top, course.limit if limited else top, 1e-9)
        low = min(0.0, float(np.nanmin(course.value)))
        if limited and low >= 0.0 and float(np.nanmin(course.value)) > 0.4 * high:
            low = 0.35 * high
        one.set_ylim(low, high)
        if limited:
            one.axhline(course.limit, color=INK, linewidth=1.0, linestyle=(0, (4, 2)))
            one.annotate(
                f"limit {plain(course.limit)}", (1.01, course.limit), xycoords=("axes fraction", "data"), fontsize=9,
                va="center",
            )  # fmt: skip
            over = course.value > course.limit
            one.fill_between(course.time, course.limit, course.value, where=over, color=WINE, alpha=0.35, linewidth=0.0)
        elif top <= 0.0:
            one.axhline(0.0, color=SOFT, linewidth=0.7)
        one.set_xlim(course.time[0], course.time[-1])
        dates(one, 5 if narrow else 10)
    return figure
