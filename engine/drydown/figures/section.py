"""A section through the wall to scale, outside at the left, with temperature and humidity drawn over it."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..text import MONTHS, day, plain
from .stretches import monthly_means
from .style import (
    BAND,
    DASHED,
    DOTTED,
    HEAD,
    INDIGO,
    INK,
    NARROW,
    PAPER,
    SOLID,
    WINE,
    beside,
    frame,
    kinds_drawn,
    spans_of,
    spread,
)

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: Hatches of the kinds of layer (`drydown.materials.kinds`): faint, to tell layers apart in grey.
HATCHES = {
    "wood": "///", "panel": "//", "fibre": "x", "foam": "+", "masonry": "\\\\\\", "concrete": "xx", "board": "|",
    "cement": "|.",
    "plaster": "-", "metal": "xxxx", "ground": "--", "air": "", "other": "||",
}  # fmt: skip


def section_figure(
    results: xr.Dataset,
    when: Sequence[Any] | None = None,
    kinds: Mapping[str, str] | None = None,
    width: float = 8.6,
) -> Figure:
    """Draw the layers to scale, and temperature and relative humidity over them.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`, or its digest.
    when : sequence of up to three dates, optional
        Profiles at these times; by default the means of the coldest and of the warmest month.
    kinds : mapping, optional
        Kind of every layer, for its hatch; by default guessed from the names.
    width : float
        [in]
    """
    narrow = width < NARROW
    spans = spans_of(results)
    x = 1e3 * results["x"].values
    profiles = _months(results) if when is None else _moments(results, when)
    title = "Section to scale with what is in it: " + " and ".join(f"{words}" for words, *_ in profiles) + "."
    keys = [f"{i} {name}, {plain(b - a)} mm" for i, (name, a, b) in enumerate(spans, 1)]
    legend = textwrap.wrap("   ".join(k.replace(" ", "\u00a0") for k in keys), int(12.5 * (width - 1.0)))
    bottom = 0.62 + 0.18 * len(legend)
    name, right = str(results.attrs["case"]), 1.1 if narrow else 1.5
    figure, axes = frame(2, (width, 5.2 + bottom), name, title, right=right, bottom=bottom, gap=0.28)
    bands = [_ranged(results, "temperature", 1.0, 273.15), _ranged(results, "relative_humidity", 100.0, 0.0)]
    looks = ((INDIGO, SOLID), (WINE, DASHED), (INK, DOTTED))
    heads = ("Temperature [°C]", "Relative humidity [%]")
    for one, band, head, pick in zip(axes, bands, heads, (1, 2), strict=True):
        one.fill_between(x, *band, color=BAND, linewidth=0, zorder=1.5)
        for profile, (colour, style) in zip(profiles, looks, strict=False):
            one.plot(x, profile[pick], color=colour, linestyle=style, linewidth=2.0, zorder=3)
        one.set_title(head, **HEAD)
        one.set_xlim(0.0, spans[-1][2])
        one.set_ylim(*(_room(band) if pick == 1 else (0.0, 103.0)))
        _layers(one, spans, kinds or kinds_drawn(results))
        ends = [float(profile[pick][-1]) for profile in profiles]
        beside(one, [_short(p[0]) for p in profiles], ends, [colour for colour, _ in looks[: len(profiles)]])
    axes[0].tick_params(axis="x", length=0)
    _numbers(axes[0], spans, width)
    axes[1].set_xlabel("outside   ←   depth [mm]   →   inside", fontsize=9.5, labelpad=2)
    figure.text(0.6 / width, 0.1 / figure.get_figheight(), "\n".join(legend), fontsize=9, color=INK, va="bottom")
    return figure


def _short(words: str) -> str:
    if ", " in words:
        return words.replace(", ", "\n")
    return words.replace("mean of ", "").replace(" ", "\n", 1)


def _ranged(results: xr.Dataset, name: str, factor: float, zero: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the lowest and the highest of the run in every cell."""
    low, high = (results.get(f"{name}_{end}", results[name]).values for end in ("low", "high"))
    return factor * low.min(axis=0) - zero, factor * high.max(axis=0) - zero


def _room(band: tuple[np.ndarray, np.ndarray]) -> tuple[float, float]:
    low, high = float(band[0].min()), float(band[1].max())
    return low - 0.06 * (high - low) - 0.1, high + 0.06 * (high - low) + 0.1


def _months(results: xr.Dataset) -> list[tuple[str, np.ndarray, np.ndarray]]:
    """Return words, temperature [degC] and humidity [%] of the coldest and the warmest month."""
    time = results["time"].values
    months, warmth = monthly_means(results["temperature"].values, time)
    _, humidity = monthly_means(results["relative_humidity"].values, time)
    counts = np.unique(time.astype("datetime64[M]"), return_counts=True)[1]
    whole = np.flatnonzero(counts >= min(0.8 * counts.max(), counts.max()))
    order = whole[np.argsort(warmth[whole, 0])]
    out = []
    for i in dict.fromkeys((int(order[0]), int(order[-1]))):
        year, month = str(months[i]).split("-")
        out.append((f"mean of {MONTHS[int(month) - 1]} {year}", warmth[i] - 273.15, 100.0 * humidity[i]))
    return out


def _moments(results: xr.Dataset, when: Sequence[Any]) -> list[tuple[str, np.ndarray, np.ndarray]]:
    out = []
    for date in list(when)[:3]:
        row = results.sel(time=np.datetime64(date), method="nearest")
        time: Any = row["time"].values
        words = f"{day(time)}, {str(time.astype('datetime64[m]'))[11:]}"
        out.append((words, row["temperature"].values - 273.15, 100.0 * row["relative_humidity"].values))
    return out


def _layers(axes: Axes, spans: Sequence[tuple[str, float, float]], kinds: Mapping[str, str]) -> None:
    import matplotlib as mpl

    with mpl.rc_context({"hatch.linewidth": 0.45}):
        for name, outer, inner in spans:
            kind = kinds.get(name, "other")
            pattern = HATCHES.get(kind, "")
            axes.axvspan(
                outer, inner, facecolor="white" if kind == "air" else PAPER, edgecolor="#cfcabf",
                hatch=pattern, linewidth=0.0, zorder=0,
            )  # fmt: skip
            axes.axvline(inner, color="#9b978d", linewidth=0.8, zorder=1)


def _numbers(axes: Axes, spans: Sequence[tuple[str, float, float]], width: float) -> None:
    """Write the numbers of the layers above the section."""
    whole = spans[-1][2]
    inches = (axes.get_position().x1 - axes.get_position().x0) * width
    at = [0.5 * (a + b) / whole for _, a, b in spans]
    placed = spread(at, [0.16 / inches] * len(spans))
    for i, (here, there) in enumerate(zip(at, placed, strict=True), 1):
        axes.annotate(
            str(i), (here, 1.0), (there, -0.1), "axes fraction", "axes fraction", ha="center", va="center", fontsize=9
        )  # fmt: skip
