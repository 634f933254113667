"""The dry-out trial: water in the wetted layers with and without the wetting, and where it went."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..text import counted_from, day, fixed, plain
from ..wording.answer import when_gone, which_way
from .style import (
    BAND,
    DASHED,
    DOTTED,
    HEAD,
    INDIGO,
    INK,
    NARROW,
    SOFT,
    SOLID,
    WINE,
    across,
    dates,
    draw_lines,
    frame,
    note,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SECOND = np.timedelta64(1, "s")
#: Points that a letter of a note takes along a line at most, and from one row of notes to the next.
LETTER, ROW = 5.4, 16.0


def trial_figure(trial: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw a dry-out trial: water in the wetted layers with and without the wetting, and where it went.

    Parameters
    ----------
    trial : Dataset
        Of `drydown.dryout`.
    width : float
        [in]
    """
    a = trial.attrs
    began, amount, layers = np.datetime64(a["began"]), float(a["amount"]), a["wetted_layers"]
    gone = when_gone(trial)
    title = f"{plain(amount)} kg/m² of water in {layers}: {gone[0].lower()}{gone[1:]}. {which_way(trial)}."
    figure, (above, below) = frame(2, (width, 6.6), str(a["case"]), title, right=1.3 if width < NARROW else 1.75)
    since = counted_from(a)
    seen = np.flatnonzero(_seen(trial, began, since))
    seen = np.unique(np.append(seen[:: max(1, len(seen) // 1000)], seen[-1]))
    time = trial["time"].values[seen]
    wetted, reference = trial["water_wetted"].values[seen], trial["water_reference"].values[seen]
    above.fill_between(time, reference, wetted, color=BAND, linewidth=0)
    lines = [("with the water", wetted, INK, SOLID, 1.8), ("without it", reference, SOFT, DASHED, 1.5)]
    draw_lines(above, time, lines, room=0.2)
    above.set_title(f"Water in {layers} [kg/m²]", **HEAD)
    outward = trial["left"].values[:, trial["outward"].values.astype(bool)].sum(axis=1)[seen]
    inward = trial["left"].values.sum(axis=1)[seen] - outward
    kept = trial["excess"].values[seen]
    lines = [
        (f"left outward\n{fixed(outward[-1], 2)} kg/m²", outward, INDIGO, SOLID, 2.2),
        (f"left inward\n{fixed(inward[-1], 2)} kg/m²", inward, WINE, DASHED, 2.2),
        (f"still there\n{fixed(kept[-1], 2)} kg/m²", kept, SOFT, DOTTED, 1.8),
    ]
    draw_lines(below, time, lines, room=0.3)
    below.set_title(f"Where it went, until {day(time[-1])} [kg/m²]", **HEAD)
    below.axhline(0.0, color=INK, linewidth=0.6)
    top = below.get_ylim()[1]
    for axes in (above, below):
        axes.axvline(began, color=INK, linewidth=0.8, linestyle=DOTTED)  # type: ignore[arg-type]
        axes.set_xlim(time[0], time[-1])
        dates(axes, 5 if width < NARROW else 10)
    said = ("half: {} d", "9/10: {} d") if width < NARROW else ("half gone: {} days", "nine tenths: {} days")
    marks = []
    for words, key in zip(said, ("days_to_50_percent_dry", "days_to_90_percent_dry"), strict=True):
        if not math.isnan(a[key]):
            date = since + np.timedelta64(round(a[key] * 86400), "s")
            height = float(np.interp((date - time[0]) / _SECOND, (time - time[0]) / _SECOND, kept))
            marks.append((words.format(f"{a[key]:.0f}"), date, height))
    _mark(below, marks, top)
    note(above, f"water gets in, {day(began)}", (began, above.get_ylim()[1]), 12)
    return figure


def _mark(axes: Axes, marks: Sequence[tuple[str, np.datetime64, float]], top: float) -> None:
    """Draw dots with lines up to their words; no line goes through the words of another.

    All words stand to the right of their lines, those of the first on top, where the last has room there; else to the
    left, those of the last on top. The lines of the lower words end at them.
    """
    if not marks:
        return
    box = axes.get_window_extent()
    wide, high = (72.0 * size / axes.get_figure().dpi for size in (box.width, box.height))  # type: ignore[union-attr]
    size = [6.0 + LETTER * len(words) for words, *_ in marks]
    place = [wide * across(axes, date) for _, date, _ in marks]
    right = place[-1] + size[-1] <= wide
    bottom = axes.get_ylim()[0]
    for i, (words, date, height) in enumerate(marks):
        row = i if right else len(marks) - 1 - i
        end = max(top - ROW * row / high * (top - bottom), height)
        axes.plot([date, date], [height, end], color=INK, linewidth=0.6)
        axes.plot([date], [height], "o", color=INK, markersize=4.5, zorder=5)
        note(axes, words, (date, end), 12, right or place[i] < size[i])


def _seen(trial: xr.Dataset, began: np.datetime64, since: np.datetime64) -> np.ndarray:
    """Return which marks are drawn: from a month before the wetting until well after it has dried."""
    time = trial["time"].values
    days = float(trial.attrs["days_to_90_percent_dry"])
    last = time[-1]
    if not math.isnan(days):
        last = min(last, since + np.timedelta64(round(max(90.0, 1.6 * days) * 86400), "s"))
    found: np.ndarray = (time >= began - 0.08 * (last - began)) & (time <= last)
    return found
