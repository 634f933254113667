"""Figures of a dry-out trial and of a run. Every function returns a matplotlib Figure.

Colours are indigo and wine of Paul Tol's colour-blind safe "muted" set (technical note SRON/EPS/TN/09-002,
from memory), always with a line style of their own and a label at the line, so that a figure reads in grey.
Humidity is shown in cividis, which is even in grey.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .answer import when_gone, which_way
from .words import day, plain

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Line = tuple[str, np.ndarray, str, Any, float]

INK, SOFT, INDIGO, WINE = "#222222", "#8a8a8a", "#332288", "#882255"
SOLID, DASHED, DOTTED = "-", (0, (4, 1.4)), (0, (1, 1.2))


def trial_figure(trial: xr.Dataset) -> Figure:
    """Draw a dry-out trial: water in the wetted layers with and without the wetting, and where it went.

    Parameters
    ----------
    trial : Dataset
        Of `drydown.dryout`.
    """
    a = trial.attrs
    began, amount, layers = np.datetime64(a["began"]), float(a["amount"]), a["wetted_layers"]
    gone = when_gone(trial)
    title = f"{plain(amount)} kg/m² of water in {layers}: {gone[0].lower()}{gone[1:]}. {which_way(trial)}."
    figure, (above, below) = _figure(2, (8.6, 6.6), str(a["case"]), title)
    seen = _seen(trial, began)
    time = trial["time"].values[seen]
    wetted, untouched = trial["water_wetted"].values[seen], trial["water_untouched"].values[seen]
    above.fill_between(time, untouched, wetted, color="#e6e4ee", linewidth=0)
    lines = [("with the water", wetted, INK, SOLID, 1.8), ("without it", untouched, SOFT, DASHED, 1.5)]
    _lines(above, time, lines, room=0.2)
    above.set_title(f"Water in {layers} [kg/m²]", **_HEAD)
    outward = trial["left"].values[:, trial["outward"].values.astype(bool)].sum(axis=1)[seen]
    inward = trial["left"].values.sum(axis=1)[seen] - outward
    kept = trial["excess"].values[seen]
    lines = [
        (f"left outward\n{outward[-1]:.2f} kg/m²", outward, INDIGO, SOLID, 2.2),
        (f"left inward\n{inward[-1]:.2f} kg/m²", inward, WINE, DASHED, 2.2),
        (f"still in the wall\n{kept[-1]:.2f} kg/m²", kept, SOFT, DOTTED, 1.8),
    ]
    _lines(below, time, lines, room=0.3)
    below.set_title("Where it went [kg/m²]", **_HEAD)
    below.axhline(0.0, color=INK, linewidth=0.6)
    top = below.get_ylim()[1]
    for axes in (above, below):
        axes.axvline(began, color=INK, linewidth=0.8, linestyle=DOTTED)  # type: ignore[arg-type]
        axes.set_xlim(time[0], time[-1])
        _dates(axes)
    for level, words, key, fall in (
        (0.5, "half gone", "days_to_half", 12),
        (0.1, "nine tenths", "days_to_tenth", 26),
    ):
        if not math.isnan(a[key]):
            date = began + np.timedelta64(round(a[key] * 86400), "s")
            below.plot([date, date], [level * amount, top], color=INK, linewidth=0.6)
            below.plot([date], [level * amount], "o", color=INK, markersize=4.5, zorder=5)
            _note(below, f"{words}: {a[key]:.0f} days", (date, top), fall)
    _note(above, f"water gets in, {day(began)}", (began, above.get_ylim()[1]), 12)
    return figure


def run_figure(results: xr.Dataset) -> Figure:
    """Draw the relative humidity of a run by depth and time, the layers to scale.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    """
    title = "Relative humidity by depth and date, mean of each day. The layers are to scale."
    figure, (axes,) = _figure(1, (9.0, 5.2), str(results.attrs["case"]), title)
    time = results["time"].values
    per_day = max(1, round(len(time) / max(1.0, (time[-1] - time[0]) / np.timedelta64(1, "D"))))
    whole = max(1, len(time) // per_day)
    humidity = results["relative_humidity"].values[: whole * per_day]
    daily = 100.0 * humidity.reshape(whole, -1, humidity.shape[1]).mean(axis=1)
    edges = 1e3 * np.concatenate([[0.0], np.cumsum(results["width"].values)])
    stamps = time[np.minimum(np.arange(whole + 1) * per_day, len(time) - 1)]
    mesh = axes.pcolormesh(stamps, edges, daily.T, cmap="cividis_r", vmin=30.0, vmax=100.0, rasterized=True)
    place = results["layer_of_cell"].values
    names = [str(n) for n in results["layer"].values]
    middles = []
    for name in names:
        cells = np.flatnonzero(place == name)
        middles.append(0.5 * (edges[cells[0]] + edges[cells[-1] + 1]))
        if cells[0] > 0:
            axes.axhline(edges[cells[0]], color="white", linewidth=0.9)
    axes.set_ylim(edges[-1], 0.0)
    axes.set_ylabel("inside   ←   depth [mm]   →   outside")
    _beside(axes, names, middles, [INK] * len(names))
    bar = figure.colorbar(
        mesh, ax=axes, orientation="horizontal", extend="min", fraction=0.05, pad=0.11, aspect=50
    )
    bar.set_label("relative humidity [%]", fontsize=9.5)
    bar.outline.set_visible(False)
    _dates(axes)
    return figure


_HEAD: dict[str, Any] = {"loc": "left", "fontsize": 10.5, "color": INK}


def _figure(rows: int, size: tuple[float, float], name: str, title: str) -> tuple[Figure, Sequence[Axes]]:
    """Return a figure with its axes, one above the other, and its title at the top left."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=size)
    axes = np.atleast_1d(figure.subplots(rows, 1, sharex=True))
    lines = textwrap.wrap(title.replace(" %", "\u00a0%"), int(10.6 * size[0]))
    top = 1.0 - (0.72 + 0.19 * len(lines)) / size[1]
    head = "\n".join(lines)
    figure.subplots_adjust(left=0.07, right=0.80, top=top, bottom=0.07, hspace=0.22)
    figure.text(0.07, 1.0 - 0.12 / size[1], name, ha="left", va="top", fontsize=9.5, color="#555555")
    figure.text(0.07, 1.0 - 0.32 / size[1], head, ha="left", va="top", fontsize=11, color=INK)
    for one in axes:
        one.spines[["top", "right"]].set_visible(False)
        one.tick_params(labelsize=9.5, color=INK)
    return figure, list(axes)


def _note(axes: Axes, text: str, spot: tuple[Any, float], fall: float) -> None:
    """Write a few words beside a spot and `fall` points below it."""
    across = axes.transAxes.inverted().transform(axes.transData.transform((_number(spot[0]), spot[1])))[0]
    side, way = ("left", 6) if across < 0.75 else ("right", -6)
    axes.annotate(text, spot, (way, -fall), textcoords="offset points", fontsize=9, color=INK, ha=side)


def _number(date: Any) -> float:
    from matplotlib.dates import date2num

    return float(date2num(date))


def _seen(trial: xr.Dataset, began: np.datetime64) -> np.ndarray:
    """Return which marks are drawn: from a month before the wetting until well after it has dried."""
    time = trial["time"].values
    days = float(trial.attrs["days_to_tenth"])
    last = time[-1]
    if not math.isnan(days):
        last = min(last, began + np.timedelta64(round(max(90.0, 1.6 * days) * 86400), "s"))
    return (time >= began - 0.08 * (last - began)) & (time <= last)


def _lines(axes: Axes, time: np.ndarray, lines: Sequence[Line], room: float = 0.06) -> None:
    """Draw lines, each with its name at its end; `room` is left above them."""
    for _, values, colour, style, width in lines:
        axes.plot(time, values, color=colour, linestyle=style, linewidth=width)
    top = max(float(np.max(values)) for _, values, *_ in lines)
    bottom = min(0.0, *(float(np.min(values)) for _, values, *_ in lines))
    axes.set_ylim(bottom - (0.03 * (top - bottom) if bottom < 0 else 0.0), top + room * (top - bottom))
    _beside(axes, [n for n, *_ in lines], [float(v[-1]) for _, v, *_ in lines], [c for _, _, c, *_ in lines])


def _beside(axes: Axes, names: Sequence[str], heights: Sequence[float], colours: Sequence[str]) -> None:
    """Write names right of the axes at their heights, moved apart where they would meet."""
    low, high = axes.get_ylim()
    at = [(h - low) / (high - low) for h in heights]
    box = axes.get_window_extent().height * 72.0 / axes.get_figure().dpi  # type: ignore[union-attr]
    sizes = [12.5 * (1 + name.count("\n")) / box for name in names]
    for name, here, there, colour in zip(names, at, spread(at, sizes), colours, strict=True):
        line = (
            None
            if abs(here - there) < 0.01
            else {"arrowstyle": "-", "color": colour, "linewidth": 0.7, "relpos": (0.0, 0.5)}
        )
        axes.annotate(
            name, (1.0, here), (1.02, there), "axes fraction", "axes fraction", arrowprops=line,
            va="center", fontsize=9.5, color=colour if colour != SOFT else "#555555",
        )  # fmt: skip


def spread(centres: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Return centres moved apart, so that boxes of these sizes around them do not meet within 0 to 1."""
    order = np.argsort(centres)
    x, half = np.asarray(centres, dtype=float)[order], 0.5 * np.asarray(sizes, dtype=float)[order]
    for _ in range(200):
        gap = half[1:] + half[:-1] - np.diff(x)
        push = np.maximum(gap, 0.0) / 2.0
        x[1:] += push
        x[:-1] -= push
        x = np.clip(x, half - 0.02, 1.02 - half)
    out = np.empty_like(x)
    out[order] = x
    return out.tolist()


def _dates(axes: Axes) -> None:
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

    locator = AutoDateLocator(minticks=4, maxticks=10)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))
