"""Weather in tables of Python, and rows of any step from a minute: into hours that `repair.mend` takes.

Rows finer than an hour cover the time from one stamp to the next. Radiation and rain become the mean rate of the hour
that ends at a mark; states (temperature, vapour pressure, wind, pressure) the mean of the half hours before and after
the mark, so that what runs linearly between the marks follows the rows without a lag. An hour of which less than half
is there is missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...arrays import Array
from ...errors import InputError, nearest, need
from ...moist_air import saturation_pressure_iso13788
from ...times import local_times
from ..columns import COLUMNS, HOUR, Times, stamp
from .repair import RepairPolicy, dew_point_humidity, mend, over_ice, possible
from .units import DEPTHS, FILE_COLUMNS, to_si

SECOND = np.timedelta64(1, "s")
#: Relative humidity that no place has in the middle of its hours [%]: below it fractions were called percent.
DRIEST = 1.5
#: Columns that are means or sums over the time before their stamp; the others are states at it.
OVER_TIME = ("direct_normal", "diffuse_horizontal", "global_horizontal", "rain")


def read_frame(
    frame: Any,
    units: Mapping[str, str] | None,
    names: Mapping[str, str] | None,
    at: str,
    zone: str | None,
    utc_offset: float | None,
    below: str,
    policy: RepairPolicy | None,
    where: str,
    only: tuple[str, ...] = FILE_COLUMNS,
) -> tuple[Times, dict[str, Any], tuple[str, ...]]:
    """Return hours without gaps of a table, and what was mended.

    Parameters
    ----------
    frame, units, names, where
        As for `table_of`.
    at, below, policy
        As for `hourly`.
    zone, utc_offset
        As for `local_standard`.
    only : tuple of str
        Columns that may be there.
    """
    policy = policy or RepairPolicy()
    time, columns, depths = table_of(frame, units, names, where)
    for name in columns:
        if name not in only:
            raise InputError(f"{COLUMNS[name].long_name} means nothing here; leave out the column '{name}'", where)
    stamps = local_standard(time, zone, utc_offset, where)
    hours, means, done = hourly(stamps, columns, where, at=at, below=below, depths=depths, policy=policy)
    t, good, more = mend(hours, means, policy, where)
    return t, dict(good), done + more


def table_of(
    given: Any, units: Mapping[str, str] | None, names: Mapping[str, str] | None, where: str
) -> tuple[Any, dict[str, Array], tuple[str, ...]]:
    """Return the times and the columns in SI of a table, and which columns hold depths for each row.

    Parameters
    ----------
    given : DataFrame or Dataset
        Times in the index, in a column ``time`` or, of a Dataset, in the coordinate ``time``; columns called as in
        `Climate`, or as in ``names``, with the unit in square brackets, in ``units`` or, of a Dataset, in their
        attribute ``units``.
    units : mapping of str to str, optional
        Unit of each column.
    names : mapping of str to str, optional
        Column of the table to column of the weather; others are not read then.
    where : str

    Raises
    ------
    InputError
        Naming the column whose unit or numbers are missing, or that is not known.
    """
    import pandas as pd
    import xarray as xr

    units, names = dict(units or {}), None if names is None else dict(names)
    if isinstance(given, xr.Dataset):
        if "time" not in given.coords or given["time"].ndim != 1:
            raise InputError("the coordinate time is missing; one of hours is needed", where)
        taken = {str(k): v for k, v in given.data_vars.items() if v.dims == ("time",)}
        units = {k: str(v.attrs["units"]) for k, v in taken.items() if "units" in v.attrs} | units
        given = pd.DataFrame({k: v.to_numpy() for k, v in taken.items()}, index=pd.Index(given["time"].to_numpy()))
    need(given, pd.DataFrame, "it", "a pandas DataFrame or an xarray Dataset", where)
    time = given["time"] if "time" in given.columns else given.index
    if not isinstance(time, pd.DatetimeIndex) and getattr(time, "dtype", None) is not None and time.dtype.kind in "iuf":
        raise InputError(
            f"its index holds {time.dtype} numbers, no times; use a DatetimeIndex or a column 'time'", where
        )
    out: dict[str, Array] = {}
    depths: list[str] = []
    for header in given.columns:
        bare, bracket, rest = str(header).partition("[")
        unit = rest.rstrip().removesuffix("]").strip() if bracket else None
        bare = bare.strip()
        if bare == "time" or (names is not None and header not in names and bare not in names):
            continue
        name = bare if names is None else names.get(header, names.get(bare, bare))
        unit = next((units[k] for k in (header, bare, name) if k in units), unit)
        if name not in FILE_COLUMNS:
            raise InputError(
                f"no weather column is called '{name}'; {nearest(name, FILE_COLUMNS)} Or name those to read with "
                "columns={'its name': 'temperature', ...}",
                where,
            )
        if name in out:
            raise InputError(f"two columns are '{name}'", where)
        factor, offset = to_si(name, unit, f"{where}, column '{header}'")
        try:
            values = pd.to_numeric(given[header]).to_numpy(dtype=float)
        except (ValueError, TypeError) as error:
            raise InputError(f"it holds what is no number ({error})", f"{where}, column '{header}'") from None
        out[name] = values * factor + offset
        if name == "humidity" and factor != 1.0:
            _check_percent(values, f"{where}, column '{header}'")
        depths += [name] if unit in DEPTHS else []
    known = {str(c).partition("[")[0].strip() for c in given.columns} | {str(c) for c in given.columns}
    for key in (
        *(k for k in names or () if k not in known),
        *(k for k in units if k not in known and k not in FILE_COLUMNS),
    ):
        raise InputError(f"no column is called '{key}'; {nearest(str(key), map(str, given.columns))}", where)
    return time, out, tuple(depths)


def _check_percent(values: Array, where: str) -> None:
    known = values[np.isfinite(values)]
    if known.size and 0.0 < np.median(known) <= DRIEST:
        raise InputError(
            f"its values are about {np.median(known):.2g} %, drier than any air; if they are fractions, its unit is 1",
            where,
        )


def local_standard(time: Any, zone: str | None, utc_offset: float | None, where: str) -> Times:
    """Return times as datetime64[s] in local standard time.

    Parameters
    ----------
    time : index, series or array
    zone : str or None
        Of times that carry none, such as "UTC" or a name of the time zone database; None: they are local standard time.
    utc_offset : float or None
        Of local standard time [h].
    where : str

    Raises
    ------
    InputError
        If there is no such zone, or a time is twice there when clocks go back, or not at all when they go forward.
    """
    import pandas as pd

    if zone is None:
        return local_times(time, utc_offset, f"{where}, time")
    stamps = pd.DatetimeIndex(time)
    if stamps.tz is not None:
        raise InputError(f"its times have a zone already ({stamps.tz}); leave out zone='{zone}'", where)
    try:
        aware = stamps.tz_localize(zone, ambiguous="infer")
    except Exception as error:
        what = " ".join(str(error).split())[:120]
        kind = "no zone has that name" if "zone" in type(error).__name__.lower() else "a time of it is not one of it"
        raise InputError(f"zone is '{zone}': {kind} ({what})", where) from None
    return local_times(aware, utc_offset, f"{where}, time")


def hourly(
    time: Times,
    columns: dict[str, Array],
    where: str,
    *,
    at: str = "end",
    below: str = "water",
    depths: tuple[str, ...] = (),
    policy: RepairPolicy | None = None,
) -> tuple[Times, dict[str, Array], tuple[str, ...]]:
    """Return rows of an hour or less at the ends of hours, humidity over ice below 0 degC, and what was done.

    Parameters
    ----------
    time : array of datetime64[s], shape (n,)
    columns : dict of str to array, shape (n,)
        In the units of `columns.COLUMNS`; `dew_point` [K] may stand for the humidity.
    where : str
    at : {'end', 'start'}
        Whether a stamp names the end or the start of its row.
    below : {'water', 'ice'}
        What humidity below 0 degC is over.
    depths : tuple of str
        Columns that are sums over the row, not rates.
    policy : RepairPolicy, optional

    Raises
    ------
    InputError
        If a choice is none, rows are closer than a minute, or one time has two values.
    """
    if at not in ("end", "start"):
        raise InputError(f"stamp is '{at}'; write end or start", where)
    if below not in ("water", "ice"):
        raise InputError(f"humidity_below_0 is '{below}'; write water or ice", where)
    time = np.asarray(time, dtype="datetime64[s]")
    columns, done = dict(columns), []
    step = _step(time, where)
    if at == "start":
        time = time + (step if step < HOUR else HOUR)
        done.append(f"stamps named the start of the {'row' if step < HOUR else 'hour'} and were moved to its end")
    if "dew_point" in columns:
        dew = columns.pop("dew_point")
        if "humidity" not in columns and "temperature" in columns:
            columns["humidity"] = dew_point_humidity(dew, columns["temperature"])
            done.append("humidity was computed from dew_point and temperature")
    if below == "water" and "humidity" in columns and "temperature" in columns:
        columns["humidity"], more = over_ice(columns["humidity"], columns["temperature"])
        done += more if step >= HOUR else [m.replace(" hours ", " rows ") for m in more]
    if step >= HOUR:
        return time, columns, tuple(done)
    time, columns = _single(time, columns, where)
    for name in depths:
        columns[name] = columns[name] * (HOUR / step)
    for name, values in columns.items():
        if name in COLUMNS and name != "rain":  # a cloudburst of a minute is beyond what an hour can have
            found: list[str] = []
            possible(name, values, time, policy or RepairPolicy(), found, where)
            done += [f.replace(" hours", " rows") for f in found]
    marks, means = _means(time, step, columns)
    minutes = step / np.timedelta64(60, "s")
    done.append(f"rows of {minutes:g} min were averaged to {len(marks)} hours")
    return marks, means, tuple(done)


def _step(time: Times, where: str) -> np.timedelta64:
    """Return the usual time between two rows; an hour where there is but one."""
    real = np.unique(time[~np.isnat(time)])
    if len(real) < 2:
        return HOUR
    step = np.timedelta64(int(np.median(np.diff(real) / SECOND)), "s")
    if step < np.timedelta64(60, "s"):
        raise InputError(f"rows are {step / SECOND:g} s apart; a minute or more is needed", where)
    return step


def _single(time: Times, columns: dict[str, Array], where: str) -> tuple[Times, dict[str, Array]]:
    """Return rows in order of time, each time once."""
    if np.isnat(time).any():
        raise InputError(f"row {int(np.isnat(time).argmax()) + 1} has no time", where)
    order = np.argsort(time, kind="stable")
    time, columns = time[order], {k: v[order] for k, v in columns.items()}
    twice = np.flatnonzero(np.diff(time) == np.timedelta64(0, "s"))
    for name, v in columns.items():
        differs = ~((v[twice] == v[twice + 1]) | (np.isnan(v[twice]) & np.isnan(v[twice + 1])))
        if differs.any():
            k = twice[int(differs.argmax())]
            raise InputError(f"{stamp(time[k])} is there more than once with {name} {v[k]:g} and {v[k + 1]:g}", where)
    keep = np.ones(len(time), dtype=bool)
    keep[twice + 1] = False
    return time[keep], {k: v[keep] for k, v in columns.items()}


def _means(time: Times, step: np.timedelta64, columns: dict[str, Array]) -> tuple[Times, dict[str, Array]]:
    """Return the marks, ends of hours, and the mean of every column that belongs to each."""
    middle = (time - np.datetime64(0, "s")) / SECOND - 0.5 * (step / SECOND)
    whole = 3600.0
    first = np.floor(middle[0] / whole)
    number = int(np.floor(middle[-1] / whole) - first) + 1
    expected = whole / (step / SECOND)
    hour = np.floor(middle / whole) - first  # the hour that a row lies in; it ends at the mark of that number
    about = np.floor(middle / whole + 0.5) - first - 1.0  # the mark that is at most half an hour away
    marks = ((first + 1.0 + np.arange(number)) * 3600.0).astype("timedelta64[s]") + np.datetime64(0, "s")

    def mean(values: Array, index: Array, share: Array) -> Array:
        there = np.isfinite(values) & (index >= 0) & (index < number)
        at = index[there].astype(np.int64)
        count = np.bincount(at, minlength=number)
        total = np.bincount(at, values[there], number)
        enough = count >= 0.5 * expected * share - 1e-9
        return np.where(enough & (count > 0), total / np.maximum(count, 1), np.nan)

    rows = np.bincount(hour.astype(np.int64), minlength=number)
    begun = np.flatnonzero(rows >= 0.5 * expected - 1e-9)  # hours of which the ends have but a few rows are no hours
    kept = slice(int(begun[0]), int(begun[-1]) + 1) if len(begun) else slice(0, 0)
    half = np.ones(number)
    half[kept.stop - 1 :] = 0.5  # of the last mark only the half hour before it can be there
    full = np.ones(number)
    out: dict[str, Array] = {}
    for name, values in columns.items():
        if name in OVER_TIME:
            out[name] = mean(values, hour, full)
        elif name == "wind_direction":
            a = np.radians(values)
            east, north = mean(np.sin(a), about, half), mean(np.cos(a), about, half)
            out[name] = np.degrees(np.arctan2(east, north)) % 360.0
        elif name != "humidity":
            out[name] = mean(values, about, half)
    if "humidity" in columns and "temperature" in columns:
        with np.errstate(invalid="ignore"):
            pressure = columns["humidity"] * saturation_pressure_iso13788(columns["temperature"])
            out["humidity"] = mean(pressure, about, half) / saturation_pressure_iso13788(out["temperature"])
            beyond = (out["humidity"] > 1.0) & (out["humidity"] < 1.02)  # saturated air of two temperatures, mixed
        out["humidity"] = np.where(beyond, 1.0, out["humidity"])
    elif "humidity" in columns:
        out["humidity"] = mean(columns["humidity"], about, half)
    return np.asarray(marks[kept], dtype="datetime64[s]"), {name: values[kept] for name, values in out.items()}
