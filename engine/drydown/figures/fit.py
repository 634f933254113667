"""A fit drawn: what was logged and what the fitted wall reads, what is left over in time and against each driver."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

from ..inverse.free import TO_EDGE

if TYPE_CHECKING:
    import xarray as xr

_SCALE = {
    "relative_humidity": (100.0, 0.0, "%"),
    "temperature": (1.0, 273.15, "°C"),
    "moisture_content": (100.0, 0.0, "%MC"),
}


def fit_figure(found: xr.Dataset, width: float = 10.0) -> Any:
    """Draw a fit.

    Parameters
    ----------
    found : Dataset
        Of `drydown.inverse.results.dataset`.
    width : float
        [inch].
    """
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
    from matplotlib.figure import Figure

    sensors = [str(s) for s in found["sensor"].values]
    drivers = [str(d) for d in found["driver"].values]
    figure = Figure(figsize=(width, 2.6 * len(sensors) + 0.6), layout="constrained")
    axes = figure.subplots(len(sensors), 2 + len(drivers), width_ratios=[3, 2, *[1.3] * len(drivers)], squeeze=False)
    time = found["time"].values
    for row, name in zip(axes, sensors, strict=True):
        one = found.sel(sensor=name)
        scale, less, unit = _SCALE.get(str(one["quantity"].values), (1.0, 0.0, str(one["unit"].values)))
        value, edge = scale * one["fitted"].values - less, scale * TO_EDGE * one["sd"].values
        row[0].fill_between(time, value - edge, value + edge, color="#e8c9b5", lw=0, label="nine in ten")
        row[0].plot(time, value, color="#b5552b", lw=0.9, label="fitted wall")
        row[0].plot(time, scale * one["logged"].values - less, color="black", lw=0.6, label="logged")
        row[0].set_title(f"{name} [{unit}]", loc="left", fontsize=9)
        left = scale * one["residual"].values
        row[1].plot(time, left, color="black", lw=0.6)
        row[1].axhline(0.0, color="gray", lw=0.8)
        row[1].set_title("logged less fitted", loc="left", fontsize=9)
        for axis in row[:2]:
            locator = AutoDateLocator(maxticks=6)
            axis.xaxis.set_major_locator(locator)
            axis.xaxis.set_major_formatter(ConciseDateFormatter(locator))
        for axis, driver in zip(row[2:], drivers, strict=True):
            x = found["drive"].sel(driver=driver).values
            axis.scatter(x, left, s=2, color="#33567a", alpha=0.35, lw=0)
            axis.axhline(0.0, color="gray", lw=0.8)
            if name == sensors[-1]:
                axis.set_xlabel(fill(driver, 18), fontsize=8)
        for axis in row:
            axis.grid(alpha=0.3)
            axis.tick_params(labelsize=7)
    axes[0][0].legend(frameon=False, fontsize=7)
    return figure
