"""How much the mesh costs: the same case once more on a mesh of twice the cells, and what differs.

The scheme is of second order in the width of the cells, so the difference to a mesh of twice the cells is three
quarters of the error; the estimate is four thirds of it.
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

FINER = 2
RICHARDSON = FINER**2 / (FINER**2 - 1.0)


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
        square over time of the worst cell; `mesh_error_humidity_in`, its layer; `mesh_error_cells`, cells of the
        finer mesh.

    Raises
    ------
    SimulationError
        If the finer run fails.
    """
    finer = replace(case, numerics=replace(case.numerics, refine=FINER * case.numerics.refine))
    fine = simulate(finer, progress)
    off = {}
    for name in ("relative_humidity", "temperature"):
        seen = at_centres(data, fine, fine[name].values)
        off[name] = RICHARDSON * np.sqrt(np.mean((data[name].values - seen) ** 2, axis=0))
    worst = int(np.argmax(off["relative_humidity"]))
    return {
        "mesh_error_humidity": float(off["relative_humidity"].max()),
        "mesh_error_humidity_in": str(data["layer_of_cell"].values[worst]),
        "mesh_error_temperature": float(off["temperature"].max()),
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
