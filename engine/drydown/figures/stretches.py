"""A long result in fewer marks: means of the state over stretches of time, read a piece at a time.

A digest has the variables of a result, but for some, and can stand wherever one can in the figures and the page.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import xarray as xr

#: Lengths of a stretch [h] to choose from.
LENGTHS = (1, 3, 6, 12, 24, 48, 168, 336, 732)
#: What no figure needs and a digest leaves out: water is there by layer.
UNUSED = ("water_content", "heat_passed", "load_heat")
#: Marks read at once: a year of hours.
PIECE = 8784


def digest(results: xr.Dataset, hours: int | None = None, most: int = 3000) -> xr.Dataset:
    """Return a result in stretches of time.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`, in memory or opened lazily from a file; at most a year of it is held at once.
    hours : int, optional
        Length of a stretch [h], not below that of the results; by default the shortest that gives at most `most`.
    most : int
        Number of stretches.

    Returns
    -------
    Dataset
        `time` is the start of each stretch. Variables that grow ("so far") are given as gained since the
        start of the run, at the end of the stretch; all others are means over it. Beside them
        `relative_humidity_low`, `_high`, `temperature_low`, `_high` (time, cell): the extremes in the stretch.
        ``attrs["stretch_hours"]`` holds the length.
    """
    import xarray as xr

    time = results["time"].values
    n = len(time) - 1
    if n < 1:
        raise ValueError("a digest needs at least two marks")
    mark = float((time[1] - time[0]) / np.timedelta64(1, "h"))
    if hours is None:
        hours = next((h for h in LENGTHS if n * mark / h <= most and h >= mark), LENGTHS[-1])
    per = max(1, round(hours / mark))
    starts = np.arange(0, n, per)
    piece = max(1, PIECE // per) * per
    grown: list[str] = []
    meant: list[str] = []
    for name, variable in results.data_vars.items():
        if name not in UNUSED and variable.dims[:1] == ("time",) and variable.dtype.kind == "f":
            so_far = str(variable.attrs.get("long_name", "")).endswith("so far")
            (grown if so_far else meant).append(str(name))
    parts: dict[str, list[np.ndarray]] = {}
    firsts = {k: results.variables[k][0].values for k in grown}
    for begin in range(0, n, piece):
        end = min(begin + piece, n)
        cuts = np.arange(0, end - begin, per)
        counts = np.diff(np.append(cuts, end - begin))
        for k in meant:
            values = results.variables[k][begin + 1 : end + 1].values
            shape = (len(cuts),) + (1,) * (values.ndim - 1)
            parts.setdefault(k, []).append(_by_stretch(np.add, values, per) / counts.reshape(shape))
            if k in ("relative_humidity", "temperature"):
                parts.setdefault(k + "_low", []).append(_by_stretch(np.minimum, values, per))
                parts.setdefault(k + "_high", []).append(_by_stretch(np.maximum, values, per))
        for k in grown:
            values = results.variables[k][begin + 1 : end + 1].values
            parts.setdefault(k, []).append(values[np.append(cuts[1:], end - begin) - 1] - firsts[k])
    data = {}
    for k, pieces in parts.items():
        base = k.removesuffix("_low").removesuffix("_high") if k not in results else k
        data[k] = (results[base].dims, np.concatenate(pieces), results[base].attrs)
    coords = {k: v for k, v in results.coords.items() if "time" not in v.dims}
    coords["time"] = ("time", time[starts], results["time"].attrs)
    whole = {k: v for k, v in results.data_vars.items() if "time" not in v.dims}
    return xr.Dataset({**data, **whole}, coords, {**results.attrs, "stretch_hours": per * mark})


def _by_stretch(act: np.ufunc, values: np.ndarray, per: int) -> np.ndarray:
    """Return a ufunc over every `per` rows, the last of them fewer; in blocks, a tenth of the time of `reduceat`."""
    whole = len(values) // per * per
    found = act.reduce(values[:whole].reshape(-1, per, *values.shape[1:]), axis=1)
    return np.concatenate([found, act.reduce(values[whole:], axis=0)[None]]) if whole < len(values) else found


def monthly_means(values: np.ndarray, time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the first of every month and the mean of the values within it.

    Parameters
    ----------
    values : ndarray, shape (n, m)
    time : ndarray of datetime64, shape (n,)

    Returns
    -------
    months : ndarray of datetime64[M], shape (k,)
    means : ndarray, shape (k, m)
    """
    months, first = np.unique(time.astype("datetime64[M]"), return_index=True)
    counts = np.diff(np.append(first, len(time)))
    return months, np.add.reduceat(values, first, axis=0) / counts[:, None]
