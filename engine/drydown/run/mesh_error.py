"""How much the mesh costs: the same case once more on a mesh of three times the cells, and what differs.

Where the profile is smooth the scheme is of second order in the width of the cells, and the difference to a mesh of
three times the cells is 8/9 of the error; beside a front of rain it is of first order, and the difference is 2/3. The
estimate takes the middle of both, so that it is right within a fifth wherever the order lies between one and two.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..files import write_whole
from .simulation import simulate

if TYPE_CHECKING:
    import xarray as xr

FINER = 3
#: Between 3^2/(3^2 - 1) = 1.125 and 3/(3 - 1) = 1.5 (extrapolation of Richardson, orders 2 and 1).
RICHARDSON = 1.3
#: Hours at the start that the greatest hour leaves out: the jump from the state at the start to the climate.
STARTING = 48


def mesh_error(case: Case, data: xr.Dataset, progress: Callable[[float], None] | None = None) -> dict[str, float | str]:
    """Estimate the error in space of a result by a run on a finer mesh.

    Parameters
    ----------
    case : Case
        As it was run.
    data : xarray.Dataset
        Result of `simulate`.
    progress : callable, optional

    Returns
    -------
    dict
        Attributes to keep with the result: `mesh_error_humidity` [-] and `mesh_error_temperature` [K], root mean
        square over the hours of the worst cell; `mesh_error_humidity_in`, its layer; `mesh_error_humidity_hour` [-]
        and `mesh_error_temperature_hour` [K], the greatest single hour of any cell after the first two days;
        `mesh_error_cells`, cells of the finer mesh.

    Raises
    ------
    SimulationError
        If the finer run fails.
    """
    finer = replace(case, numerics=replace(case.numerics, refine=FINER * case.numerics.refine))
    fine = simulate(finer, progress)
    rms, hour = {}, {}
    late = (data["time"].values - data["time"].values[0]) >= np.timedelta64(STARTING, "h")
    for name in ("relative_humidity", "temperature"):
        off = RICHARDSON * np.abs(data[name].values - at_centres(data, fine, fine[name].values))
        rms[name] = np.sqrt(np.mean(off**2, axis=0))
        hour[name] = float(np.max(off[late] if np.any(late) else off))
    worst = int(np.argmax(rms["relative_humidity"]))
    return {
        "mesh_error_humidity": float(rms["relative_humidity"].max()),
        "mesh_error_humidity_in": str(data["layer_of_cell"].values[worst]),
        "mesh_error_humidity_hour": hour["relative_humidity"],
        "mesh_error_temperature": float(rms["temperature"].max()),
        "mesh_error_temperature_hour": hour["temperature"],
        "mesh_error_cells": int(fine.sizes["cell"]),
    }


def at_centres(coarse: xr.Dataset, fine: xr.Dataset, values: Array) -> Array:
    """Interpolate values (time, cell) of a finer mesh to the centres of a coarser one, layer by layer."""
    out = np.empty((len(values), coarse.sizes["cell"]))
    # runs of cells of one layer; contact air between films is one cell in both meshes
    names, others = coarse["layer_of_cell"].values, fine["layer_of_cell"].values
    x, there = coarse["x"].values, fine["x"].values
    a = np.flatnonzero(np.concatenate([[True], names[1:] != names[:-1]]))
    b = np.flatnonzero(np.concatenate([[True], others[1:] != others[:-1]]))
    for here, known in zip(np.split(np.arange(len(x)), a[1:]), np.split(np.arange(len(there)), b[1:]), strict=True):
        if len(known) == 1:
            out[:, here] = values[:, known]
            continue
        right = np.clip(np.searchsorted(there[known], x[here]), 1, len(known) - 1)
        low, high = known[right - 1], known[right]
        share = (x[here] - there[low]) / (there[high] - there[low])
        out[:, here] = (1.0 - share) * values[:, low] + share * values[:, high]
    return out


def keep(data: xr.Dataset, path: Path, found: dict[str, float | str]) -> xr.Dataset:
    """Add the estimate to the attributes of a result that lies in a netCDF file, and open it again."""
    import shutil

    import netCDF4
    import xarray as xr

    data.close()

    def marked(part: Path) -> None:
        shutil.copyfile(path, part)
        with netCDF4.Dataset(part, "a") as file:
            file.setncatts(found)

    write_whole(path, marked)
    return xr.open_dataset(path)
