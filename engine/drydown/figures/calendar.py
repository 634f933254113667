"""The wetting calendar: days to dry and share inward, by month and layer."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..text import MONTHS, plain
from .style import GREY, HEAD, INK, NARROW

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def calendar_figure(calendar: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw a wetting calendar as two maps over month and layer, each cell with its number.

    Parameters
    ----------
    calendar : Dataset
        Of `drydown.trial.calendar.wetting_calendar`.
    width : float
        [in]
    """
    from matplotlib.figure import Figure

    narrow = width < NARROW
    layers = [str(n) for n in calendar["layer"].values]
    room = min(1.9, 0.35 + 0.085 * max(len(n) for n in layers)) if not narrow else 0.95
    tall = 0.42 * len(layers)
    top, between, bottom = 1.05 if not narrow else 1.35, 0.85, 0.5
    height = top + 2.0 * tall + between + bottom
    figure = Figure(figsize=(width, height))
    title = (
        f"{plain(calendar.attrs['amount'])} kg/m² of water gets into one layer on the first of a month: "
        "how long until nine tenths have left, and how much of it leaves inward. Layers from outside to inside."
    )
    lines = textwrap.wrap(title, int(10.9 * width))
    figure.text(0.12 / width, 1.0 - 0.12 / height, str(calendar.attrs["case"]), va="top", fontsize=9.5, color=GREY)
    figure.text(0.12 / width, 1.0 - 0.32 / height, "\n".join(lines), va="top", fontsize=11 - narrow, color=INK)
    boxes = []
    for k in (0, 1):
        y = bottom + (1 - k) * (tall + between)
        boxes.append(figure.add_axes((room / width, y / height, (width - room - 0.15) / width, tall / height)))
    days = calendar["days_to_90_percent_dry"].values.T
    follow = calendar.attrs["follow"]
    never = ">" if narrow else f"> {follow}"
    _map(boxes[0], days, layers, lambda v: never if np.isnan(v) else f"{v:.0f}", narrow)
    more = f" (>: over {follow})" if narrow and np.isnan(days).any() else ""
    boxes[0].set_title(
        f"Days until nine tenths {'left' if narrow else 'have left'}{more}",
        **(HEAD | {"fontsize": 9.5 if narrow else 10.5}),
    )
    inward = 100.0 * calendar["share_inward"].values.T
    _map(boxes[1], inward, layers, lambda v: "-" if np.isnan(v) else f"{v:.0f}", narrow, 0.0, 100.0)
    boxes[1].set_title("Share of it that leaves inward [%]", **HEAD)
    return figure


def _map(
    axes: Axes,
    values: np.ndarray,
    layers: Sequence[str],
    text: Callable[[float], str],
    narrow: bool,
    low: float | None = None,
    high: float | None = None,
) -> None:
    """Draw one map; what is not known is white with a hatch, the number stands in every cell."""
    from matplotlib import colormaps

    known = values[np.isfinite(values)]
    low = float(known.min()) if low is None and known.size else (low or 0.0)
    high = max(float(known.max()), low + 1.0) if high is None and known.size else (high or 1.0)
    colours = colormaps["cividis_r"]
    axes.set_facecolor("white")
    axes.imshow(values, cmap=colours, vmin=low, vmax=high, aspect="auto")
    for i in range(values.shape[0]):
        for j in range(values.shape[1]):
            v = values[i, j]
            if np.isnan(v):
                from matplotlib.patches import Rectangle

                axes.add_patch(
                    Rectangle((j - 0.5, i - 0.5), 1, 1, fill=False, hatch="////", edgecolor="#bbbbbb", linewidth=0)
                )
            dark = not np.isnan(v) and (v - low) / (high - low) > 0.5
            axes.text(
                j, i, text(v), ha="center", va="center", fontsize=7 if narrow else 9, color="white" if dark else INK
            )
    axes.set_xticks(range(values.shape[1]), [m[: 1 if narrow else 3] for m in MONTHS], fontsize=9)
    wrapped = ["\n".join(textwrap.wrap(n, 12)) for n in layers] if narrow else layers
    axes.set_yticks(range(len(layers)), wrapped, fontsize=8 if narrow else 9.5)
    axes.tick_params(length=0)
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.set_xticks(np.arange(0.5, values.shape[1] - 1), minor=True)
    axes.set_yticks(np.arange(0.5, len(layers) - 1), minor=True)
    axes.grid(which="minor", color="white", linewidth=1.5)
    axes.tick_params(which="minor", length=0)
