"""A fit drawn: what was logged and what the fitted wall reads, what is left over in time and against each driver."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

from .style import dates

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

_SCALE = {
    "relative_humidity": (100.0, 0.0, "%"),
    "temperature": (1.0, 273.15, "°C"),
    "moisture_content": (100.0, 0.0, "%MC"),
}


def fit_figure(found: xr.Dataset, width: float = 10.0) -> Figure:
    """Draw a fit: of every logger what it read, what is left over in time, and that against each driver.

    Parameters
    ----------
    found : Dataset
        Of `drydown.inverse.results.dataset`.
    width : float
        [inch].
    """
    number = found.sizes["driver"]
    figure, axes = _grid(found, width, 2.6, [3, 2, *[1.3] * number])
    for row, name in zip(axes, found["sensor"].values, strict=True):
        _band(row[0], found, str(name))
        _left(row[1], found, str(name), "logged less fitted")
        _drivers(row[2:], found, str(name))
    axes[0][0].legend(frameon=False, fontsize=7)
    return figure


def readings_figure(found: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw what every logger read on the band of the fitted wall; parameters as for `fit_figure`."""
    figure, axes = _grid(found, width, 2.2, [1])
    for row, name in zip(axes, found["sensor"].values, strict=True):
        _band(row[0], found, str(name))
    axes[0][0].legend(frameon=False, fontsize=7)
    return figure


def residuals_figure(found: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw what is left over in time; parameters as for `fit_figure`."""
    figure, axes = _grid(found, width, 1.5, [1])
    for row, name in zip(axes, found["sensor"].values, strict=True):
        _left(row[0], found, str(name), f"{name}: logged less fitted")
    return figure


def drivers_figure(found: xr.Dataset, width: float = 8.6) -> Figure:
    """Draw what is left over against each driver; parameters as for `fit_figure`."""
    figure, axes = _grid(found, width, 1.8, [1] * found.sizes["driver"])
    for row, name in zip(axes, found["sensor"].values, strict=True):
        _drivers(row, found, str(name))
        row[0].set_title(f"{name} [{_scale(found, str(name))[2]}]", loc="left", fontsize=8)
    return figure


def _grid(found: xr.Dataset, width: float, height: float, ratios: list[float]) -> tuple[Figure, Any]:
    from matplotlib.figure import Figure

    sensors = found.sizes["sensor"]
    figure = Figure(figsize=(width, height * sensors + 0.6), layout="constrained")
    return figure, figure.subplots(sensors, len(ratios), width_ratios=ratios, squeeze=False)


def _scale(found: xr.Dataset, name: str) -> tuple[float, float, str]:
    one = found.sel(sensor=name)
    return _SCALE.get(str(one["quantity"].values), (1.0, 0.0, str(one["unit"].values)))


def _dated(axis: Any) -> None:
    dates(axis, 6)
    axis.grid(alpha=0.3)
    axis.tick_params(labelsize=7)


def _band(axis: Any, found: xr.Dataset, name: str) -> None:
    one, (scale, less, unit) = found.sel(sensor=name), _scale(found, name)
    time = found["time"].values
    value, edge = scale * one["fitted"].values - less, scale * one["edge"].values
    axis.fill_between(time, value - edge, value + edge, color="#e8c9b5", lw=0, label="nine in ten")
    axis.plot(time, value, color="#b5552b", lw=0.9, label="fitted wall")
    axis.plot(time, scale * one["logged"].values - less, color="black", lw=0.6, label="logged")
    axis.set_title(f"{name} [{unit}]", loc="left", fontsize=9)
    _dated(axis)


def _left(axis: Any, found: xr.Dataset, name: str, title: str) -> None:
    scale, _, unit = _scale(found, name)
    axis.plot(found["time"].values, scale * found.sel(sensor=name)["residual"].values, color="black", lw=0.6)
    axis.axhline(0.0, color="gray", lw=0.8)
    axis.set_title(f"{title} [{unit.replace('°C', 'K')}]", loc="left", fontsize=9)
    _dated(axis)


def _drivers(row: Any, found: xr.Dataset, name: str) -> None:
    left = _scale(found, name)[0] * found.sel(sensor=name)["residual"].values
    for axis, driver in zip(row, found["driver"].values, strict=True):
        axis.scatter(found["drive"].sel(driver=driver).values, left, s=2, color="#33567a", alpha=0.35, lw=0)
        axis.axhline(0.0, color="gray", lw=0.8)
        if name == str(found["sensor"].values[-1]):
            axis.set_xlabel(fill(str(driver), 18), fontsize=8)
        axis.grid(alpha=0.3)
        axis.tick_params(labelsize=7)
