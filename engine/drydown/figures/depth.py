"""Relative humidity by depth and time: day by day, and month by month."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .stretches import monthly_means
from .style import HIGH, INK, LOW, MAP, NARROW, beside, dates, edges_of, frame, spans_of

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def run_figure(results: xr.Dataset, width: float = 9.0) -> Figure:
    """Draw the relative humidity of a run by depth and time, the layers to scale.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    width : float
        [in]
    """
    title = "Relative humidity by depth and date, mean of each day. The layers are to scale."
    time = results["time"].values
    span = max(1.0, (time[-1] - time[0]) / np.timedelta64(1, "D"))
    per_day = max(1, round(len(time) / span))
    whole = max(1, len(time) // per_day)
    humidity = results["relative_humidity"].values[: whole * per_day]
    daily = 100.0 * humidity.reshape(whole, -1, humidity.shape[1]).mean(axis=1)
    stamps = time[np.minimum(np.arange(whole + 1) * per_day, len(time) - 1)]
    figure, _ = _map(results, title, stamps, daily, width)
    return figure


def months_figure(results: xr.Dataset, width: float = 9.0) -> Figure:
    """Draw the mean relative humidity of every month by depth; a line bounds what lies at 80 % or above.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    width : float
        [in]
    """
    from matplotlib.collections import LineCollection
    from matplotlib.dates import date2num

    title = "Relative humidity by depth and month. Inside the white line the mean of the month is 80 % or more."
    months, means = monthly_means(results["relative_humidity"].values, results["time"].values)
    means = 100.0 * means
    if len(months) > 1 and results["time"].values[-1] == months[-1]:
        months, means = months[:-1], means[:-1]
    ends = np.append(months, months[-1] + 1).astype("datetime64[D]")
    figure, axes = _map(results, title, ends, means, width)
    edges = edges_of(results)
    sides = _outline(means >= 80.0)
    at = date2num(ends)
    drawn = [[(at[i], edges[j]) for i, j in side] for side in sides]
    for colour, thick in ((INK, 2.2), ("white", 1.2)):
        axes.add_collection(LineCollection(drawn, colors=colour, linewidths=thick, capstyle="projecting"))
    return figure


def _outline(inside: np.ndarray) -> list[list[tuple[int, int]]]:
    """Return the sides of fields that lie between inside and outside, as pairs of corners (column, row)."""
    sides = []
    for i, column in enumerate(np.diff(inside.astype(int), axis=0)):
        sides += [[(i + 1, a), (i + 1, b)] for a, b in _runs(column)]
    for j, row in enumerate(np.diff(inside.astype(int), axis=1).T):
        sides += [[(a, j + 1), (b, j + 1)] for a, b in _runs(row)]
    return sides


def _runs(values: np.ndarray) -> list[tuple[int, int]]:
    """Return begin and end of the stretches in which values are not zero."""
    steps = np.diff(np.concatenate([[0], np.asarray(values != 0, dtype=int), [0]]))
    return list(zip(np.flatnonzero(steps > 0).tolist(), np.flatnonzero(steps < 0).tolist(), strict=True))


def _map(results: xr.Dataset, title: str, stamps: np.ndarray, percent: np.ndarray, width: float) -> tuple[Figure, Axes]:
    narrow = width < NARROW
    figure, (axes,) = frame(
        1, (width, 5.2), str(results.attrs["case"]), title, right=1.35 if narrow else 1.8, bottom=1.05, heads=False
    )
    edges = edges_of(results)
    kind: Any = {"cmap": MAP, "vmin": LOW, "vmax": HIGH, "rasterized": True}
    mesh = axes.pcolormesh(stamps, edges, percent.T, **kind)
    spans = spans_of(results)
    for _, outer, _ in spans[1:]:
        axes.axhline(outer, color="white", linewidth=0.9)
    axes.set_ylim(edges[-1], 0.0)
    axes.set_ylabel("inside   ←   depth [mm]   →   outside", fontsize=9.5)
    names = [_wrapped(n, 17 if narrow else 26) for n, *_ in spans]
    beside(axes, names, [0.5 * (a + b) for _, a, b in spans], [INK] * len(spans))
    left, right = axes.get_position().x0, axes.get_position().x1
    strip = figure.add_axes((left, 0.5 / 5.2, right - left, 0.12 / 5.2))
    bar = figure.colorbar(mesh, cax=strip, orientation="horizontal", extend="min")
    bar.set_label("relative humidity [%]: light is dry, dark is wet", fontsize=9.5 if not narrow else 8.5)
    bar.ax.tick_params(labelsize=9)
    bar.outline.set_visible(False)
    dates(axes, 5 if narrow else 10)
    return figure, axes


def _wrapped(name: str, letters: int) -> str:
    import textwrap

    return "\n".join(textwrap.wrap(name, letters))
