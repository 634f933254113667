"""Reading a gathered study: xarray in, xarray out.

Cases that failed, and values that do not exist (a wall that never dries has no drying time), are left out of means and
counted beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ..errors import InputError, nearest

if TYPE_CHECKING:
    import xarray as xr

How = Literal["mean", "least", "greatest"]


def axes_of(data: xr.Dataset) -> list[str]:
    """Return the names of the axes of a gathered study."""
    if "axes" not in data.attrs or "case" not in data.dims:
        raise InputError("this is no gathered study; `drydown study gather` makes one", "study result")
    return [name.strip() for name in str(data.attrs["axes"]).split(";")]


def numbers_of(data: xr.Dataset, names: Sequence[str] | None = None) -> list[str]:
    """Return outputs with one number for each case, or check that the names are such.

    Raises
    ------
    InputError
        If there is no such output, or it is a series.
    """
    have = [
        str(n) for n, v in data.data_vars.items() if v.dims == ("case",) and v.dtype.kind in "fiu" and n != "failed"
    ]
    if names is None:
        return [n for n in have if not n.endswith("_verdict")]
    for name in names:
        if name not in have:
            what = "is a series, not a number for each case" if name in data.data_vars else "is no output of the study"
            raise InputError(f"'{name}' {what}; {nearest(name, have)}", "study result")
    return list(names)


def _axis(data: xr.Dataset, name: str) -> str:
    known = axes_of(data)
    if name not in known:
        raise InputError(f"no axis is called '{name}'; {nearest(name, known)}", "study result")
    return name


def _order(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the different values in order of appearance, and the index of each value among them."""
    seen: dict[Any, int] = {}
    index = np.array([seen.setdefault(v, len(seen)) for v in values.tolist()], dtype=np.int64)
    first = [int(np.flatnonzero(index == i)[0]) for i in range(len(seen))]
    return values[first], index


def levels_of(data: xr.Dataset, axis: str, bins: int = 8) -> tuple[np.ndarray, list[str], np.ndarray]:
    """Return the levels of an axis: a number or value of each, its label, and the level of every case.

    A number that takes more than `bins` values is cut into that many levels of equal count; the level stands at the
    mean of its cases.
    """
    from ..text import plain

    values = data[_axis(data, axis)].values
    levels, index = _order(values)
    unit = f" {data[axis].attrs['units']}" if "units" in data[axis].attrs else ""
    if values.dtype.kind == "f" and len(levels) > bins:
        rank = np.argsort(np.argsort(values, kind="stable"), kind="stable")
        index = rank * bins // len(values)
        levels = np.array([values[index == i].mean() for i in range(bins)])
        ends = [(values[index == i].min(), values[index == i].max()) for i in range(bins)]
        return levels, [f"{plain(a)} to {plain(b)}{unit}" for a, b in ends], index
    if values.dtype.kind == "M":
        if len(levels) > bins:
            seconds = values.astype("datetime64[s]").astype(np.int64)
            rank = np.argsort(np.argsort(seconds, kind="stable"), kind="stable")
            index = rank * bins // len(values)
            levels = np.array([values[index == i].min() for i in range(bins)])
            return levels, [f"from {str(v)[:10]}" for v in levels], index
        return levels, [str(v)[:10] for v in levels], index
    return levels, [f"{plain(v, 6)}{unit}" if values.dtype.kind == "f" else str(v) for v in levels], index


def on_grid(data: xr.Dataset) -> xr.Dataset:
    """Return a gathered grid with one dimension for each axis instead of `case`.

    Parameters
    ----------
    data : Dataset
        Of `gather` or `solve`.

    Raises
    ------
    InputError
        If the study is no full grid.
    """
    import xarray as xr

    axes = axes_of(data)
    if data.attrs.get("design") != "grid":
        raise InputError(f"the design is '{data.attrs.get('design')}', not a grid; use its dimension `case`", "on_grid")
    levels = {name: _order(data[name].values)[0] for name in axes}
    shape = tuple(len(v) for v in levels.values())
    out: dict[str, Any] = {}
    for name, v in data.data_vars.items():
        out[str(name)] = ((*axes, *v.dims[1:]), v.values.reshape(*shape, *v.shape[1:]), v.attrs)
    coords: dict[str, Any] = {n: (n, v, data[n].attrs) for n, v in levels.items()}
    coords |= {str(n): c for n, c in data.coords.items() if "case" not in c.dims}
    return xr.Dataset(out, coords, data.attrs)


def map_over(data: xr.Dataset, name: str, first: str, second: str, how: How = "mean", bins: int = 8) -> xr.DataArray:
    """Return an output over two axes, brought together over all others.

    Parameters
    ----------
    data : Dataset
        Of `gather`.
    name : str
        An output with one number for each case.
    first, second : str
        Two axes.
    how : {'mean', 'least', 'greatest'}
        Of the cases that share a field; missing values are left out.
    bins : int
        Levels into which an axis of many numbers is cut.

    Returns
    -------
    DataArray
        Dimensions (first, second), coordinates the labels of the levels; coordinate `missing`: the share of cases
        of a field without a value.
    """
    import xarray as xr

    numbers_of(data, [name])
    if how not in ("mean", "least", "greatest"):
        raise InputError(f"how is '{how}'; use 'mean', 'least' or 'greatest'", "map_over")
    if first == second:
        raise InputError(f"both axes are '{first}'; name two", "map_over")
    (_, labels_a, a), (_, labels_b, b) = levels_of(data, first, bins), levels_of(data, second, bins)
    y = data[name].values.astype(float)
    out = np.full((len(labels_a), len(labels_b)), np.nan)
    missing = np.full_like(out, np.nan)
    reduce: Any = {"mean": np.mean, "least": np.min, "greatest": np.max}[how]
    for i in range(len(labels_a)):
        for j in range(len(labels_b)):
            here = y[(a == i) & (b == j)]
            there = here[np.isfinite(here)]
            if len(here):
                missing[i, j] = 1.0 - len(there) / len(here)
            if len(there):
                out[i, j] = reduce(there)
    return xr.DataArray(
        out,
        {first: labels_a, second: labels_b, "missing": ((first, second), missing)},
        (first, second),
        name,
        {**data[name].attrs, "how": how},
    )


def best(data: xr.Dataset, name: str, number: int = 3, largest: bool = False) -> list[int]:
    """Return the cases with the least values of an output, or the greatest; the best first.

    A case without a value (a wall that never dries) is worse than any with one, a failed case is left out. The worst
    are `best` with `largest` turned about; there a case without a value comes first.

    Parameters
    ----------
    data : Dataset
        Of `gather` or `solve`.
    name : str
        An output with one number for each case.
    number : int
        How many.
    largest : bool
        The greatest values instead of the least.
    """
    numbers_of(data, [name])
    y = data[name].values.astype(float)
    sound = np.flatnonzero(data["failed"].values == 0)
    key = np.where(np.isnan(y), np.inf, -y if largest else y)
    if largest:
        key = np.where(np.isnan(y), -np.inf, -y)
    return [int(i) for i in sound[np.argsort(key[sound], kind="stable")][:number]]
