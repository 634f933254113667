"""The designed curve beside the best film of the library, and the front of winter protection and summer drying."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from ..figures import DASHED, GREY, INDIGO, INK, SOFT, WINE
from ..text import plain

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_NG = 1e-12


def design_figure(found: xr.Dataset) -> Figure:
    """Draw a design: its curve, and its front where there is one.

    Parameters
    ----------
    found : Dataset
        Of `design`.
    """
    from matplotlib.figure import Figure

    front = "wettest_front" in found
    figure = Figure(figsize=(9.6 if front else 6.4, 4.6))
    axes = list(figure.subplots(1, 2, width_ratios=(1.15, 1.0))) if front else [figure.subplots()]
    figure.subplots_adjust(left=0.085, right=0.97, top=0.78, bottom=0.13, wspace=0.27)
    a = found.attrs
    what = "load" if a["goal"] == "margin" else "stay of water"
    unit = "" if a["goal"] == "margin" else " days"
    walls = found.sizes["wall"]
    whose = what if walls == 1 else f"worst {what} of {walls} walls"
    head = f"A film in place of '{a['film']}': {whose} {plain(a['measure'])}{unit}"
    if "library_measure" in a:
        head += f"; with the best film of the library, {a['library_best']}, {plain(a['library_measure'])}{unit}"
    lines = textwrap.fill(head, 105 if front else 68)
    figure.text(0.085, 0.965, lines, ha="left", va="top", fontsize=10, color=INK)
    _curves(axes[0], found)
    if front:
        _front(axes[1], found)
    for one in axes:
        one.spines[["top", "right"]].set_visible(False)
        one.tick_params(labelsize=9.5, color=INK)
    return figure


def _curves(axes: Axes, found: xr.Dataset) -> None:
    phi = 100.0 * found["humidity"].values
    if "permeance_front" in found:
        for row in found["permeance_front"].values:
            axes.plot(phi, row / _NG, color=SOFT, linewidth=0.8)
    lines: list[tuple[str, str, Any, Any]] = [("designed", INDIGO, "-", found["permeance"].values)]
    if "permeance_library" in found:
        lines.append((str(found.attrs["library_best"]), WINE, DASHED, found["permeance_library"].values))
    for name, colour, style, values in lines:
        axes.plot(phi, values / _NG, color=colour, linestyle=style, linewidth=2.2, label=name)
    axes.set_yscale("log")
    axes.set_xlim(0.0, 100.0)
    axes.set_xlabel("relative humidity, %", fontsize=9.5, color=GREY)
    axes.set_title("permeance, ng/(Pa s m²)", loc="left", fontsize=9.5, color=GREY)
    axes.legend(frameon=False, fontsize=9, loc="upper left")


def _front(axes: Axes, found: xr.Dataset) -> None:
    wet, stay = 100.0 * found["wettest_front"].values, found["stay_front"].values
    order = np.argsort(wet)
    axes.plot(wet[order], stay[order], color=SOFT, marker="o", markersize=4.5, linewidth=1.0)
    points = [("designed", INDIGO, "o", "wettest", "stay")]
    if "wettest_library" in found:
        points.append((str(found.attrs["library_best"]), WINE, "s", "wettest_library", "stay_library"))
    axes.margins(0.15)
    places = [(float(100.0 * found[x].max()), float(found[y].max())) for _, _, _, x, y in points]
    for (_, colour, mark, _, _), place in zip(points, places, strict=True):
        axes.plot(*place, color=colour, marker=mark, markersize=8, linestyle="none")
    middle = float(np.mean(axes.get_xlim()))
    for (name, *_), place in zip(points, places, strict=True):
        # the name stands on the side where there is room
        side = 1 if place[0] < middle else -1
        axes.annotate(
            name, place, (7 * side, 5), textcoords="offset points", fontsize=9, color=INK,
            ha="left" if side > 0 else "right", bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
        )  # fmt: skip
    axes.set_xlabel("wettest 30 days without the water, % of dry mass", fontsize=9.5, color=GREY)
    axes.set_title("how long water stays, days (worst wall)", loc="left", fontsize=9.5, color=GREY)
