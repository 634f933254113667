"""What one place in the wall went through: humidity, temperature and the water of its layer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import InputError, nearest
from ..text import plain
from .style import BAND, HEAD, INDIGO, INK, NARROW, SOFT, SOLID, dates, edges_of, frame, spans_of

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure


#: Runs longer than this are drawn in weeks.
LONG = np.timedelta64(3 * 366, "D")


def place_of(results: xr.Dataset, place: str | float) -> tuple[int, str]:
    """Return the cell at a place, and the place in words.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    place : str or float
        Name of a layer (its middle), ``"outer edge of NAME"``, ``"inner edge of NAME"``, or a depth from outside [m].

    Raises
    ------
    InputError
        If there is no such place.
    """
    edges = edges_of(results)
    names = [n for n, *_ in spans_of(results)]
    if isinstance(place, str):
        edge, name = "", place
        for which in ("outer", "inner"):
            if place.startswith(f"{which} edge of "):
                edge, name = which, place.removeprefix(f"{which} edge of ")
        if name not in names:
            raise InputError(f"no layer is called '{name}'; {nearest(name, names)}", "place")
        cells = np.flatnonzero(results["layer_of_cell"].values == name)
        middle = int(np.argmin(np.abs(edges[cells] + edges[cells + 1] - edges[cells[0]] - edges[cells[-1] + 1])))
        cell = int({"outer": cells[0], "inner": cells[-1], "": cells[middle]}[edge])
        return cell, f"{edge} edge of {name}" if edge else f"middle of {name}"
    depth = 1e3 * float(place)
    if not 0.0 <= depth <= edges[-1]:
        raise InputError(f"a depth of {plain(depth)} mm lies outside the part, 0 to {plain(edges[-1])} mm", "place")
    cell = min(int(np.searchsorted(edges, depth, side="right")) - 1, len(edges) - 2)
    return cell, f"{plain(depth)} mm from outside, in {results['layer_of_cell'].values[cell]}"


def history_figure(results: xr.Dataset, place: str | float, width: float = 8.6) -> Figure:
    """Draw humidity and temperature at one place over the run: mean of each day and what it ranged over.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`, or its digest.
    place : str or float
        Name of a layer (its middle), ``"outer edge of NAME"``, ``"inner edge of NAME"``, or a depth from outside [m].
    width : float
        [in]

    Raises
    ------
    InputError
        If there is no such place.
    """
    cell, words = place_of(results, place)
    narrow = width < NARROW
    stretch = "week" if results["time"].values[-1] - results["time"].values[0] > LONG else "day"
    title = f"At the {words}: mean of each {stretch}, and in the band all it ranged over."
    if isinstance(place, float | int):
        title = f"At {words}: mean of each {stretch}, and in the band all it ranged over."
    figure, (above, below) = frame(2, (width, 5.6), str(results.attrs["case"]), title, right=0.45 if narrow else 0.9)
    days, humidity, temperature = _stretches(results, cell, "W" if stretch == "week" else "D")
    for axes, (low, mean, high), colour in ((above, humidity, INDIGO), (below, temperature, INK)):
        axes.fill_between(days, low, high, color=BAND, linewidth=0)
        axes.plot(days, mean, color=colour, linewidth=1.5, linestyle=SOLID)
        axes.set_xlim(days[0], days[-1])
        dates(axes, 5 if narrow else 10)
    above.set_title("Relative humidity [%]", **HEAD)
    above.set_ylim(max(0.0, min(humidity[0].min() - 3.0, 75.0)), 101.0)
    for level in (80.0, 95.0):
        above.axhline(level, color=SOFT, linewidth=0.7)
        above.annotate(f"{level:.0f} %", (1.01, level), xycoords=("axes fraction", "data"), fontsize=9, va="center")
    below.set_title("Temperature [°C]", **HEAD)
    below.axhline(0.0, color=SOFT, linewidth=0.7)
    return figure


def _stretches(results: xr.Dataset, cell: int, unit: str) -> tuple[np.ndarray, list[np.ndarray], list[np.ndarray]]:
    """Return days or weeks, and low, mean and high of humidity [%] and temperature [degC] in each."""
    days, first = np.unique(results["time"].values.astype(f"datetime64[{unit}]"), return_index=True)
    counts = np.diff(np.append(first, results.sizes["time"]))
    out = []
    for name, factor, zero in (("relative_humidity", 100.0, 0.0), ("temperature", 1.0, 273.15)):
        mean = results[name].isel(cell=cell).values
        low = results[name + "_low"].isel(cell=cell).values if name + "_low" in results else mean
        high = results[name + "_high"].isel(cell=cell).values if name + "_high" in results else mean
        out.append(
            [
                factor * np.minimum.reduceat(low, first) - zero,
                factor * np.add.reduceat(mean, first) / counts - zero,
                factor * np.maximum.reduceat(high, first) - zero,
            ]
        )
    return days, out[0], out[1]
