"""Variants side by side: where the water of the trial went, one small panel each, on one scale."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from .style import DASHED, DOTTED, GREY, INDIGO, INK, NARROW, SOFT, SOLID, WINE, dates

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

KEYS = (
    ("outward", "left outward", INDIGO, SOLID, 2.0),
    ("inward", "left inward", WINE, DASHED, 2.0),
    ("excess", "still there", SOFT, DOTTED, 2.0),
)


def comparison_figure(comparison: xr.Dataset, width: float = 9.0) -> Figure:
    """Draw a comparison as small multiples.

    Parameters
    ----------
    comparison : Dataset
        Of `drydown.trial.compare.compare`.
    width : float
        [in]
    """
    from matplotlib.figure import Figure

    narrow = width < NARROW
    tried = [i for i in range(comparison.sizes["variant"]) if np.isfinite(float(comparison["remaining"][i]))]
    shown = tried or list(range(comparison.sizes["variant"]))
    columns = 1 if narrow else min(3, len(shown))
    rows = -(-len(shown) // columns)
    top = 1.0
    height = top + 2.35 * rows + 0.1
    figure = Figure(figsize=(width, height))
    figure.text(0.12 / width, 1 - 0.12 / height, str(comparison.attrs["case"]), va="top", fontsize=9.5, color=GREY)
    title = "Where the water goes in each variant [kg/m²], all on one scale."
    figure.text(0.12 / width, 1 - 0.32 / height, title, va="top", fontsize=11 if not narrow else 8.5, color=INK)
    x, stroke, letter = (0.12, 0.2, 0.064) if narrow else (0.12, 0.38, 0.078)
    for _, name, colour, style, line in KEYS:
        y = 1 - 0.68 / height
        figure.add_artist(_stroke(figure, x / width, y, stroke / width, colour, style, line))
        ink = GREY if colour == SOFT else colour
        figure.text((x + stroke + 0.08) / width, y, name, va="center", fontsize=8 if narrow else 9, color=ink)
        x += stroke + 0.08 + letter * len(name) + (0.12 if narrow else 0.3)
    time = comparison["time"].values
    begun = np.zeros(len(time), dtype=bool)
    most = 0.0
    for key, *_ in KEYS:
        values = comparison[key].values[shown]
        begun |= np.nanmax(np.abs(np.nan_to_num(values)), axis=0) > 1e-6
        most = max(most, float(np.nanmax(np.nan_to_num(values))))
    first = max(int(np.argmax(begun)) - 10, 0)
    for k, i in enumerate(shown):
        left, gap = 0.45, 0.4
        wide = (width - left - 0.15 - (columns - 1) * gap) / columns
        box = (
            (left + (k % columns) * (wide + gap)) / width,
            (height - top - 2.35 * (k // columns + 1) + 0.45) / height,
            wide / width,
            1.38 / height,
        )
        axes = figure.add_axes(box)
        for key, _, colour, style, line in KEYS:
            axes.plot(time[first:], comparison[key].values[i][first:], color=colour, linestyle=style, linewidth=line)
        name = "\n".join(textwrap.wrap(str(comparison["variant"].values[i]), int(12.5 * wide))[:2])
        axes.set_title(name, loc="left", fontsize=9.5, color=INK, pad=17)
        axes.text(0.0, 1.03, _line(comparison.isel(variant=i)), transform=axes.transAxes, fontsize=8.5, color=GREY)
        axes.set_ylim(-0.03 * most, 1.06 * most or 1.0)
        axes.set_xlim(time[first], time[-1])
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(labelsize=8.5, color=INK)
        dates(axes, 5)
    return figure


def _line(one: xr.Dataset) -> str:
    """Return the answer of one variant in a few words."""
    days = float(one["days_to_90_percent_dry"])
    gone = "not dry by the end" if np.isnan(days) else f"nine tenths in {days:.0f} days"
    verdict = {"exceeded": "past a limit", "watch": "near a limit", "fine": "within limits"}
    return f"{gone}; {verdict.get(str(one['verdict'].values), 'no criterion applies')}"


def _stroke(figure: Figure, x: float, y: float, length: float, colour: str, style: Any, width: float) -> Line2D:
    from matplotlib.lines import Line2D

    return Line2D([x, x + length], [y, y], color=colour, linestyle=style, linewidth=width, transform=figure.transFigure)
