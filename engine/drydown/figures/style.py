"""What the figures share: colours, line styles, heads, names at the lines, dates, hatches of layers.

Colours are indigo and wine of Paul Tol's colour-blind safe "muted" set (technical note SRON/EPS/TN/09-002,
from memory), always with a line style of their own and a label at the line, so that a figure reads in grey.
Humidity is shown in cividis, which is even in grey (Nunez, Anderton & Renslow 2018, PLoS ONE 13, e0199239).
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..materials.kinds import kind_of

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Line = tuple[str, np.ndarray, str, Any, float]

INK, SOFT, INDIGO, WINE = "#222222", "#8a8a8a", "#332288", "#882255"
GREY, BAND, PAPER = "#555555", "#e6e4ee", "#f3f1ec"
SOLID, DASHED, DOTTED, MIXED = "-", (0, (4, 1.4)), (0, (1, 1.2)), (0, (5, 1.2, 1, 1.2))
#: Map of humidity and its ends [%]: straw where dry, night blue where wet.
MAP, LOW, HIGH = "cividis_r", 30.0, 100.0
HEAD: dict[str, Any] = {"loc": "left", "fontsize": 10.5, "color": INK}
#: Points of a line that a figure can show.
MOST = 1500
#: Below this width [in] a figure is meant for a phone.
NARROW = 6.0


def frame(
    rows: int,
    size: tuple[float, float],
    name: str,
    title: str,
    ratios: Sequence[float] | None = None,
    right: float = 1.75,
    bottom: float = 0.45,
    gap: float = 0.22,
    heads: bool = True,
) -> tuple[Figure, list[Axes]]:
    """Return a figure with its axes, one above the other, and its title at the top left.

    Parameters
    ----------
    rows : int
    size : (float, float)
        [in]
    name, title : str
        Small line above, and the sentence that says what is seen.
    ratios : sequence of float, optional
        Heights of the rows.
    right, bottom : float
        Room right of and below the axes [in].
    gap : float
        Between rows, as a share of their mean height.
    heads : bool
        Whether the axes have a head of their own.
    """
    from matplotlib.figure import Figure

    width, height = size
    figure = Figure(figsize=size)
    axes = np.atleast_1d(figure.subplots(rows, 1, sharex=True, height_ratios=ratios))
    letters = int((10.9 if width >= NARROW else 11.2) * width)
    lines = textwrap.wrap(title.replace(" %", "\u00a0%"), letters)
    left = 0.6 / width
    top = 1.0 - ((0.72 if heads else 0.45) + 0.19 * len(lines)) / height
    figure.subplots_adjust(left=left, right=1.0 - right / width, top=top, bottom=bottom / height, hspace=gap)
    figure.text(0.6 / width, 1.0 - 0.12 / height, name, ha="left", va="top", fontsize=9.5, color=GREY)
    size_of_title = 11 if width >= NARROW else 9.5
    head = "\n".join(lines)
    figure.text(0.6 / width, 1.0 - 0.32 / height, head, ha="left", va="top", fontsize=size_of_title, color=INK)
    for one in axes:
        one.spines[["top", "right"]].set_visible(False)
        one.tick_params(labelsize=9.5, color=INK)
    return figure, list(axes)


def note(axes: Axes, text: str, spot: tuple[Any, float], fall: float, right: bool | None = None) -> None:
    """Write a few words beside a spot and `fall` points below it; `right` of it, left, or None: where there is room."""
    at_right = across(axes, spot[0]) < 0.6 if right is None else right
    side, way = ("left", 6) if at_right else ("right", -6)
    axes.annotate(
        text, spot, (way, -fall), textcoords="offset points", fontsize=9, color=INK, ha=side,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )  # fmt: skip


def across(axes: Axes, x: Any) -> float:
    """Return where along the axes something stands, from 0 to 1."""
    at = axes.transData.transform((_number(x), 0.0))
    return float(axes.transAxes.inverted().transform(at)[0])


def _number(date: Any) -> float:
    from matplotlib.dates import date2num

    return float(date2num(date)) if isinstance(date, np.datetime64) else float(date)


def draw_lines(axes: Axes, time: np.ndarray, lines: Sequence[Line], room: float = 0.06) -> None:
    """Draw lines, each with its name at its end; `room` is left above them."""
    step = max(1, len(time) // MOST)
    for _, values, colour, style, width in lines:
        axes.plot(thinned(time, step), thinned(values, step), color=colour, linestyle=style, linewidth=width)
    top = max(float(np.nanmax(values)) for _, values, *_ in lines)
    bottom = min(0.0, *(float(np.nanmin(values)) for _, values, *_ in lines))
    high = top + room * (top - bottom) if top > bottom else top + 1.0
    axes.set_ylim(bottom - (0.03 * (top - bottom) if bottom < 0 else 0.0), high)
    beside(axes, [n for n, *_ in lines], [float(v[-1]) for _, v, *_ in lines], [c for _, _, c, *_ in lines])


def thinned(values: np.ndarray, step: int) -> np.ndarray:
    """Return every so many of the values, and the last."""
    return values if step == 1 else np.append(values[:-1:step], values[-1])


def beside(axes: Axes, names: Sequence[str], heights: Sequence[float], colours: Sequence[str]) -> None:
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
            va="center", fontsize=9.5, color=colour if colour != SOFT else GREY,
        )  # fmt: skip


def spread(centres: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Return centres moved apart, so that boxes of these sizes around them do not meet within 0 to 1.

    Parameters
    ----------
    centres : array
        Where the labels would stand.
    sizes : array
        Their heights.
    """
    order = np.argsort(centres, kind="stable")
    x, half = np.asarray(centres, dtype=float)[order], 0.5 * np.asarray(sizes, dtype=float)[order]
    for _ in range(200):
        gap = half[1:] + half[:-1] - np.diff(x)
        push = np.maximum(gap, 0.0) / 2.0
        x[1:] += push
        x[:-1] -= push
        x = np.clip(x, half - 0.02, 1.02 - half)
    out = np.empty_like(x)
    out[order] = x
    found: list[float] = out.tolist()
    return found


def dates(axes: Axes, most: int = 10) -> None:
    """Write dates on the horizontal axis."""
    from matplotlib.dates import DAILY, HOURLY, MONTHLY, AutoDateLocator, ConciseDateFormatter

    locator = AutoDateLocator(minticks=3, maxticks=most)
    # two years and a half, two months and a half: steps without which it finds none, and warns
    for unit, step in ((MONTHLY, 12), (DAILY, 28), (HOURLY, 24)):
        locator.intervald[unit] = [*locator.intervald[unit], step]
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))


def edges_of(results: xr.Dataset) -> np.ndarray:
    """Return the edges of the cells [mm from outside]."""
    return 1e3 * np.concatenate([[0.0], np.cumsum(results["width"].values)])


def spans_of(results: xr.Dataset) -> list[tuple[str, float, float]]:
    """Return name, outer and inner edge [mm from outside] of every layer."""
    edges, place = edges_of(results), results["layer_of_cell"].values
    spans = []
    for name in (str(n) for n in results["layer"].values):
        cells = np.flatnonzero(place == name)
        spans.append((name, float(edges[cells[0]]), float(edges[cells[-1] + 1])))
    return spans


def kinds_drawn(results: xr.Dataset) -> dict[str, str]:
    """Return the kind of every layer of results, by the tags and the name of its material."""
    if "tags_of_layer" not in results:
        return {str(n): kind_of((), str(n)) for n in results["layer"].values}
    rows = zip(*(results[k].values for k in ("layer", "tags_of_layer", "material_of_layer")), strict=True)
    return {str(n): kind_of(str(tags).split(", "), str(material)) for n, tags, material in rows}
