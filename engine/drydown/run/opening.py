"""Results that lie in a file, opened again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import InputError

if TYPE_CHECKING:
    import xarray as xr


def open_result(path: str | Path) -> xr.Dataset:
    """Open a result that was written to netCDF: of a run, a trial, a comparison, a calendar, a study.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    xarray.Dataset
        Read lazily, as `drydown.simulate` with a path returns it; close it, or use it in a ``with`` statement.

    Raises
    ------
    InputError
        If there is no such file, it is no netCDF, or drydown did not write it.
    """
    import xarray as xr

    path = Path(path)
    if not path.is_file():
        raise InputError("there is no such file", str(path))
    try:
        dataset = xr.open_dataset(path, engine="netcdf4", decode_timedelta=False)
    except (OSError, ValueError) as error:
        raise InputError(f"cannot be read as netCDF ({str(error).splitlines()[0]})", str(path)) from None
    if not str(dataset.attrs.get("title", "")).startswith("drydown"):
        dataset.close()
        raise InputError("holds no result of drydown; use what `drydown run -o wall.nc` writes", str(path))
    return dataset
