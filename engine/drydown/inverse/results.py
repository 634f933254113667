"""A fit as a Dataset: what was logged, what the fitted wall reads, what is left over beside what drove it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..case.case import Case
from .fitting import Fit, predicted
from .sampling import Sampled
from .sensors import QUANTITIES

if TYPE_CHECKING:
    import xarray as xr

#: What drives a wall, that residuals are drawn against.
DRIVERS = ("outdoor temperature [°C]", "indoor vapour less outdoor [Pa]", "sun and sky [W/m2]", "rain, last day [mm]")


def drives(case: Case, time: np.ndarray) -> Array:
    """Return what drove a wall at hours of its case, shape (driver, time)."""
    hours = case.marks
    outside = case.outside.forcing(hours, case.physics, case.inside)
    inside = case.inside.forcing(hours, case.physics, case.outside)
    rain = np.cumsum(np.broadcast_to(outside.rain, hours.shape) * 3600.0)
    day = rain - np.concatenate([np.zeros(min(24, len(rain))), rain[:-24]])
    rows = [
        np.broadcast_to(outside.temperature, hours.shape) - 273.15,
        np.broadcast_to(inside.vapour_pressure - outside.vapour_pressure, hours.shape),
        np.broadcast_to(outside.radiation_in, hours.shape),
        day,
    ]
    at = np.searchsorted(hours.astype("datetime64[s]"), time.astype("datetime64[s]"))
    return np.stack([row[np.clip(at, 0, len(hours) - 1)] for row in rows])


def dataset(fit: Fit, sampled: Sampled | None = None) -> xr.Dataset:
    """Return a fit as a Dataset.

    Parameters
    ----------
    fit : Fit
    sampled : Sampled, optional
        Draws of the sampler.

    Returns
    -------
    Dataset
        Over (time, sensor): `logged`, `fitted`, `sd` (of inputs and noise together), `edge` (half the band of nine in
        ten), `residual`, in the unit of each sensor; over (driver, time): `drive`; over free: `coordinate`, `value`,
        `low`, `high` (nine in ten), `learned`; `covariance` (free, free_too) in coordinates; over sensor: `noise_sd`,
        `noise_correlation`; and `draw` (draw,
        free) of the sampler.
    """
    import xarray as xr

    said = predicted(fit)
    time = said[0].time
    logged = np.full((len(time), len(fit.logs)), np.nan)
    for k, log in enumerate(fit.logs):
        at = np.searchsorted(time, log.time)
        ok = (at < len(time)) & (time[np.clip(at, 0, len(time) - 1)] == log.time)
        logged[at[ok], k] = log.value[ok]
    value = np.stack([p.value for p in said], axis=1)
    edges = [fit.interval(j) if sampled is None else sampled.interval(fit, j) for j in range(len(fit.free))]
    out = xr.Dataset(
        {
            "logged": (("time", "sensor"), logged),
            "fitted": (("time", "sensor"), value),
            "sd": (("time", "sensor"), np.stack([p.sd for p in said], axis=1)),
            "edge": (("time", "sensor"), np.stack([p.edge for p in said], axis=1)),
            "residual": (("time", "sensor"), logged - value),
            "drive": (("driver", "time"), drives(fit.case, time)),
            "coordinate": ("free", fit.z),
            "value": ("free", [x.value(float(z)) for x, z in zip(fit.free, fit.z, strict=True)]),
            "low": ("free", [low for low, _ in edges]),
            "high": ("free", [high for _, high in edges]),
            "learned": ("free", [x.name not in fit.not_learned for x in fit.free]),
            "covariance": (("free", "free_too"), fit.covariance),
            "noise_sd": ("sensor", [n.sd for n in fit.noise]),
            "noise_correlation": ("sensor", [n.rho for n in fit.noise]),
        },
        {
            "time": time.astype("datetime64[ns]"),
            "sensor": [log.sensor.name for log in fit.logs],
            "quantity": ("sensor", [log.sensor.quantity for log in fit.logs]),
            "unit": ("sensor", [QUANTITIES[log.sensor.quantity][1] for log in fit.logs]),
            "driver": list(DRIVERS),
            "free": [x.name for x in fit.free],
            "path": ("free", [x.path for x in fit.free]),
        },
        {"title": f"drydown fit: {fit.case.name}", "iterations": fit.iterations, "settled": int(fit.settled)},
    )
    if sampled is not None:
        out["draw"] = (("draws", "free"), sampled.z)
        out.attrs["surrogate_off"] = sampled.off
    return out
