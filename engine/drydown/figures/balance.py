"""Where the water came from and where it went: month by month to each side, and summed over the run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..text import plain
from .style import DASHED, DOTTED, HEAD, INDIGO, INK, MIXED, NARROW, SOFT, SOLID, WINE, dates, draw_lines, frame

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure


def ways_out(results: xr.Dataset) -> dict[str, tuple[bool, np.ndarray]]:
    """Return, for every way out, whether it counts as outward and what left by it so far [kg/m2] (time).

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate` (or its digest), or of `drydown.dryout`.
    """
    if "left" in results:
        left = results["left"].values
        return {
            str(w): (bool(o), left[:, i])
            for i, (w, o) in enumerate(zip(results["way"].values, results["outward"].values, strict=True))
        }
    ways = {
        "outer surface, vapour": (True, -results["vapour_passed"].values[:, 0]),
        "inner surface": (False, results["vapour_passed"].values[:, -1] + results["liquid_passed"].values[:, -1]),
    }
    if "convected_vapour_passed" in results and np.any(results["convected_vapour_passed"].values[-1]):
        ways["outer surface, air flow"] = (True, -results["convected_vapour_passed"].values[:, 0])
        ways["inner surface, air flow"] = (False, results["convected_vapour_passed"].values[:, -1])
    for name, brought in loads_of(results).items():
        if name.startswith("ventilation of "):
            ways[name] = (True, -brought)
    return ways


def loads_of(results: xr.Dataset) -> dict[str, np.ndarray]:
    """Return what every load has brought in so far [kg/m2], by its name."""
    if "load_water" not in results:
        return {}
    names = [str(n) for n in results["load_term"].values]
    return {n: results["load_water"].values[:, i] for i, n in enumerate(names) if n != "none"}


def drying_figure(results: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw what left to each side in every month: outward above the line, inward below it.

    Parameters
    ----------
    results : Dataset
        Of `drydown.dryout`: the water of the trial; or of `drydown.simulate`: all moisture of the wall.
    width : float
        [in]
    """
    from matplotlib.ticker import FuncFormatter

    narrow = width < NARROW
    time = results["time"].values
    ways = ways_out(results)
    zero = np.zeros(len(time))
    outward = sum((v for out, v in ways.values() if out), zero)
    inward = sum((v for out, v in ways.values() if not out), zero)
    months, first = np.unique(time.astype("datetime64[M]"), return_index=True)
    ends = np.append(first[1:], len(time) - 1)
    out, into = (np.diff(np.append(v[0], v[ends])) for v in (outward, inward))
    if months[-1] == time[-1]:
        months, out, into = months[:-1], out[:-1], into[:-1]
    if "left" in results:
        moved = np.flatnonzero(np.abs(out) + np.abs(into) > 0.002 * float(results.attrs["amount"]))
        seen = slice(max(0, int(moved[0]) - 1), int(moved[-1]) + 2) if len(moved) else slice(None)
        months, out, into = months[seen], out[seen], into[seen]
        title = "The water that got in: how much of it left to each side, month by month."
    else:
        title = "Vapour leaving to each side, month by month; a bar the other way is moisture taken up."
    figure, (axes,) = frame(1, (width, 4.4), str(results.attrs["case"]), title, right=0.95 if narrow else 1.2)
    at = months.astype("datetime64[h]")
    wide = np.timedelta64(24 * 24, "h")
    bars: Any = {"width": wide, "align": "edge", "edgecolor": "white", "linewidth": 0.3}
    # Where bars go both ways about the line they stand side by side.
    mixed = bool(np.any(out < -0.02 * np.abs(out).max()) or np.any(into < -0.02 * np.abs(into).max()))
    if mixed:
        bars["width"] = wide / 2
    axes.bar(at, out, color=INDIGO, **bars)
    axes.bar(at + wide / 2 if mixed else at, -into, color=WINE, hatch="////", **bars)
    axes.axhline(0.0, color=INK, linewidth=0.8)
    axes.set_title("kg/m² in the month", **HEAD)
    low, high = axes.get_ylim()
    reach = max(high - low, 1e-9)
    axes.set_ylim(low - 0.08 * reach, high + 0.05 * reach)
    axes.set_xlim(at[0] - np.timedelta64(144, "h"), at[-1] + np.timedelta64(864, "h"))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: plain(abs(y), 2)))
    total = (float(np.sum(out)), float(np.sum(into)))
    low, high = axes.get_ylim()
    for y, colour, words in (
        (max(0.6 * high, 0.12 * (high - low)), INDIGO, _in_all("outward", total[0])),
        (min(0.6 * low, -0.12 * (high - low)), WINE, _in_all("inward", total[1])),
    ):
        axes.annotate(words, (1.02, y), xycoords=("axes fraction", "data"), color=colour, fontsize=9.5, va="center")
    dates(axes, 5 if narrow else 12)
    return figure


def _in_all(way: str, total: float) -> str:
    return f"{way}\n{plain(abs(total))} kg/m²\n{'in all' if total >= 0.0 else 'taken up'}"


def _signed(value: float) -> str:
    return f"{value:+.2f} kg/m²".replace("-", "\u2212")


def budget_figure(results: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw the budget of the wall's water, summed from the start: what came in, what left, what is stored more.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`, or its digest.
    width : float
        [in]
    """
    narrow = width < NARROW
    time = results["time"].values
    stored = results["layer_water"].values.sum(axis=1)
    added = results["water_added"].values.sum(axis=1) if results.sizes.get("wetting", 0) else np.zeros(len(time))
    taken = results["rain_offered"].values - results["rain_run_off"].values
    styles = [(INDIGO, SOLID, 2.0), (WINE, DASHED, 2.0), (SOFT, DASHED, 1.4), (SOFT, MIXED, 1.4)]
    lines: list[Any] = []
    title = "All of its water since the start."
    brought = [v for n, v in loads_of(results).items() if not n.startswith("ventilation of ")]
    given: list[tuple[str, np.ndarray, tuple[Any, ...]]] = [
        ("rain taken up", taken, (INK, DOTTED, 1.6)),
        ("water that got in", added, (INK, MIXED, 1.4)),
        ("brought by leaks", sum(brought, np.zeros(len(time))), (SOFT, DOTTED, 1.6)),
    ]
    for words, values, style in given:
        if np.nanmax(np.abs(values)) > 0.0:
            lines.append((f"{words}\n{_signed(values[-1])}", values, *style))
    ways = {
        "through the\nouter side": sum((v for out, v in ways_out(results).values() if out), np.zeros(len(time))),
        "through the\ninner side": sum((v for out, v in ways_out(results).values() if not out), np.zeros(len(time))),
    }
    for (words, values), style in zip(ways.items(), styles, strict=False):
        lines.append((f"{words}\n{_signed(-values[-1])}", -values, *style))
    change = stored - stored[0]
    lines.append((f"stored more\nthan at the start\n{_signed(change[-1])}", change, INK, SOLID, 2.4))
    figure, (axes,) = frame(
        1, (width, 5.0), str(results.attrs["case"]), title + " Above the line is water gained, below it water lost.",
        right=1.4 if narrow else 1.7,
    )  # fmt: skip
    draw_lines(axes, time, lines)
    axes.axhline(0.0, color=INK, linewidth=0.6)
    axes.set_xlim(time[0], time[-1])
    axes.set_title("kg/m²", **HEAD)
    dates(axes, 5 if narrow else 10)
    return figure
