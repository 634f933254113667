"""drydown's own weather files, CSV and netCDF, read and written.

CSV
---
UTF-8 text. First lines `# key: value`, then one header line, then one row an hour, or finer down to a minute (the rows
are averaged to hours, see `weather.frames`)::

    # drydown_weather: 1
    # name: library yard
    # latitude: 59.0
    # longitude: 21.0
    # altitude: 80
    # utc_offset: 1
    # stamp: end
    # source: own logger, calibrated in May
    time,temperature [degC],humidity [%],wind_speed [m/s],rain [mm/h]
    2023-01-01 01:00,-3.2,91,2.5,0.0

- `latitude`, `longitude` [degree, north and east positive], `utc_offset` [h] are needed; `name`,
  `altitude` [m], `source`, `synthetic` (yes or no), `cyclic` (yes or no: whole years that may be repeated)
  and any number of `repair` lines are optional.
- `time`: local standard time, `YYYY-MM-DD HH:MM`; a stamp with `Z` or an offset is turned into it. It names
  the END of the hour, or of a finer row; `# stamp: start` says that it names the start.
- `humidity_below_0`: `water` (the default: stations and loggers report over water) or `ice`; the dew point is
  always over water.
- Columns: `temperature` and `humidity` (or `dew_point`) are needed; `wind_speed`, `wind_direction`,
  `pressure`, `direct_normal`, `diffuse_horizontal`, `global_horizontal`, `longwave_down`, `rain` are
  optional. Each states its unit in square brackets (`weather.units.UNITS`). What they mean is written in
  `climate.Climate`.
- A missing value is an empty cell. A column that is not there is unavailable, never zero.

netCDF
------
Dimension `time` with the coordinate `time` (the END of each hour, local standard time) and its bounds;
variables of the same names with the attribute `units`; global attributes of the same names as the keys.
CF standard names and cell methods are written and not needed for reading.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from ...errors import InputError, nearest
from ...files import write_text, write_whole
from ..model import COLUMNS, HOUR, Climate
from .frames import hourly
from .mended import mended_climate
from .repair import MOST, RepairPolicy
from .units import DEPTHS, to_si

SCHEMA = "1"
KEYS = (
    "drydown_weather",
    "name",
    "latitude",
    "longitude",
    "altitude",
    "utc_offset",
    "stamp",
    "humidity_below_0",
    "source",
    "synthetic",
    "cyclic",
    "repair",
)


def read_csv(path: Path, policy: RepairPolicy) -> Climate:
    """Read a weather file of our own CSV schema; see the module's description."""
    return _build(read_table(path, KEYS), policy, path)


class Table(NamedTuple):
    """A file as written, columns in SI; `frames.hourly` brings them to the ends of hours.

    time, columns, keys, repairs; depths : columns that are sums over the row.
    """

    time: Any
    columns: dict[str, Any]
    keys: dict[str, str]
    repairs: tuple[str, ...]
    depths: tuple[str, ...]

    def hours(self, where: str, policy: RepairPolicy) -> tuple[Any, dict[str, Any], tuple[str, ...]]:
        """Return stamps at the ends of hours, columns and all that was done so far."""
        at, below = self.keys.get("stamp", "end"), self.keys.get("humidity_below_0", "water")
        time, columns, more = hourly(
            self.time, self.columns, where, at=at, below=below, depths=self.depths, policy=policy
        )
        return time, columns, self.repairs + more


def read_table(path: Path, known: Sequence[str]) -> Table:
    """Read a CSV file of keys and columns of an hour or less."""
    import pandas as pd

    where = path.name
    keys: dict[str, str] = {}
    kept: list[str] = []
    skip = 0
    with path.open(encoding="utf-8-sig") as f:
        for line in f:
            if not line.startswith("#"):
                break
            skip += 1
            key, colon, value = (s.strip() for s in line[1:].partition(":"))
            if not colon:
                continue
            if key not in known:
                raise InputError(f"key '{key}' is not known; {nearest(key, known)}", f"{where}, line {skip}")
            if key == "repair":
                kept.append(value)
            else:
                keys[key] = value
    _check_rows(path, skip, where)
    try:
        table = pd.read_csv(path, skiprows=skip, dtype=str, skipinitialspace=True, encoding="utf-8-sig")
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as e:
        raise InputError(f"the table cannot be read ({e}); see the schema of weather files", where) from None
    units = dict(_split(str(c)) for c in table.columns)
    if len(units) < len(table.columns):
        names = [_split(str(c))[0] for c in table.columns]
        twice = next(n for n in names if names.count(n) > 1)
        raise InputError(f"column '{twice}' is there twice", f"{where}, line {skip + 1}")
    if "time" not in units:
        raise InputError("column time is missing; the header line names it first", f"{where}, line {skip + 1}")
    columns: dict[str, Any] = {}
    depths = tuple(name for name, unit in units.items() if unit in DEPTHS)
    time: Any = None
    for (name, unit), header in zip(units.items(), table.columns, strict=True):
        text = table[header].str.strip()
        if name == "time":
            time = _times(text, keys, where, skip)
            continue
        factor, offset = to_si(name, unit, f"{where}, line {skip + 1}")
        number = pd.to_numeric(text, errors="coerce")
        bad = (number.isna() & text.notna() & (text != "") & (text.str.lower() != "nan")).to_numpy()
        if bad.any():
            k = int(bad.argmax())
            raise InputError(f"{name} is '{text.iloc[k]}', which is no number", f"{where}, line {skip + 2 + k}")
        columns[name] = number.to_numpy(dtype=float) * factor + offset
    return Table(time, columns, keys, tuple(kept), depths)


def _check_rows(path: Path, skip: int, where: str) -> None:
    """Refuse rows of more values than there are columns: one would be taken for another."""
    columns, number = 0, skip
    try:
        with path.open(encoding="utf-8-sig", newline="") as lines:
            for number, row in enumerate(csv.reader(islice(lines, skip, None)), skip + 1):
                columns = columns or len(row)
                if len(row) > columns:
                    raise InputError(f"{len(row)} values for {columns} columns", f"{where}, line {number}")
    except csv.Error as error:
        raise InputError(f"the table cannot be read ({error})", f"{where}, after line {number}") from None


def read_netcdf(path: Path, policy: RepairPolicy) -> Climate:
    """Read a weather file of our own netCDF schema; see the module's description."""
    import xarray as xr

    where = path.name
    _check_declared(path, where)
    try:
        with xr.open_dataset(path, decode_timedelta=False, engine="netcdf4") as file:
            data = file.load()
    except (OSError, ValueError, RuntimeError, OverflowError, TypeError, KeyError) as e:
        raise InputError(f"it cannot be read as netCDF ({' '.join(str(e).split())[:200]})", where) from None
    if "time" not in data.coords or data["time"].ndim != 1:
        raise InputError("the coordinate time is missing", where)
    columns = {}
    for name, variable in data.data_vars.items():
        if name == "time_bounds":
            continue
        factor, offset = to_si(str(name), variable.attrs.get("units"), where)
        if variable.dims != ("time",):
            raise InputError(f"{name} has dimensions {variable.dims}; time alone is needed", where)
        if variable.dtype.kind not in "iuf":
            raise InputError(f"{name} holds {variable.dtype.name}, no numbers", where)
        columns[str(name)] = variable.to_numpy().astype(float) * factor + offset
    if data["time"].dtype.kind != "M":
        calendar = data["time"].encoding.get("calendar", "")
        said = f"of the calendar '{calendar}'" if calendar else "no dates"
        raise InputError(f"the coordinate time is {said}; hours of the calendar in use are needed", where)
    keys = {str(k): str(v) for k, v in data.attrs.items() if k in KEYS}
    kept = tuple(r for r in str(data.attrs.get("repairs", "")).split("\n") if r)
    time = data["time"].to_numpy().astype("datetime64[s]")
    depths = tuple(str(k) for k, v in data.data_vars.items() if v.attrs.get("units") in DEPTHS)
    return _build(Table(time, columns, keys, kept, depths), policy, path)


def _check_declared(path: Path, where: str) -> None:
    """Refuse a file that declares more than can be meant, before it is unpacked: a few kB may declare terabytes."""
    import netCDF4

    try:
        with netCDF4.Dataset(path) as file:
            sizes = {name: math.prod(v.shape) for name, v in file.variables.items()}
    except (OSError, RuntimeError, ValueError, AttributeError, KeyError, UnicodeDecodeError) as e:
        raise InputError(f"it cannot be read as netCDF ({' '.join(str(e).split())[:200]})", where) from None
    for name, size in sizes.items():
        if size > 2 * MOST:
            raise InputError(f"{name} has {size} values; more than {MOST // 8766} years cannot be used", where)


def write_csv(climate: Climate, path: Path) -> None:
    """Write a climate in our own CSV schema, SI units, ten digits."""
    columns = climate.columns()
    head = [f"# {k}: {v}" for k, v in _about(climate).items()]
    head += [f"# repair: {r}" for r in climate.repairs]
    head.append(",".join(["time"] + [f"{k} [{COLUMNS[k].unit}]" for k in columns]))
    stamps = np.char.replace(np.datetime_as_string(climate.time, unit="m"), "T", " ")
    cells = [[f"{x:.10g}" for x in v.tolist()] for v in columns.values()]
    rows = [",".join(row) for row in zip(stamps.tolist(), *cells, strict=True)]
    text = "\n".join([*head, *rows]) + "\n"
    _check_folder(path)
    write_text(path, text)


def write_netcdf(climate: Climate, path: Path) -> None:
    """Write a climate in our own netCDF schema, with CF attributes."""
    import xarray as xr

    data = xr.Dataset(coords={"time": ("time", climate.time.astype("datetime64[ns]"))})
    data["time"].attrs = {
        "long_name": "end of the hour, local standard time",
        "standard_name": "time",
        "bounds": "time_bounds",
    }
    bounds = np.stack([climate.time - HOUR, climate.time], axis=1).astype("datetime64[ns]")
    data["time_bounds"] = (("time", "bounds"), bounds)
    for key, values in climate.columns().items():
        c = COLUMNS[key]
        method = {"rain": "sum"}.get(key, "mean" if key.endswith(("_normal", "_horizontal")) else "point")
        attrs = {"units": c.unit, "long_name": c.long_name, "cell_methods": f"time: {method}"}
        if key != "rain":  # a standard name would ask for kg m-2 s-1
            attrs["standard_name"] = c.standard_name
        data[key] = ("time", values, attrs)
    data.attrs = {"Conventions": "CF-1.10", **_about(climate)}
    if climate.repairs:
        data.attrs["repairs"] = "\n".join(climate.repairs)
    encoding: dict[str, dict[str, Any]] = {k: {"zlib": True, "complevel": 4} for k in climate.columns()}
    times = {"units": "hours since 1970-01-01 00:00", "calendar": "standard", "dtype": "int64"}
    encoding |= {"time": times, "time_bounds": times}
    _check_folder(path)
    write_whole(path, lambda part: data.to_netcdf(part, engine="netcdf4", encoding=encoding))


def _about(climate: Climate) -> dict[str, str | float]:
    def line(text: str) -> str:
        return " ".join(text.split())

    return {
        "drydown_weather": SCHEMA,
        "name": line(climate.name),
        "latitude": float(climate.latitude),
        "longitude": float(climate.longitude),
        "altitude": float(climate.altitude),
        "utc_offset": float(climate.utc_offset),
        "stamp": "end",
        "humidity_below_0": "ice",
        "source": line(climate.source),
        "synthetic": "yes" if climate.synthetic else "no",
        "cyclic": "yes" if climate.cyclic else "no",
    }


def _check_folder(path: Path) -> None:
    if not path.parent.is_dir():
        raise InputError(f"folder '{path.parent}' does not exist", str(path))


def _split(header: str) -> tuple[str, str | None]:
    """Split `temperature [degC]` into name and unit."""
    name, bracket, rest = header.partition("[")
    return name.strip(), rest.rstrip().removesuffix("]").strip() if bracket else None


def _times(text: Any, keys: dict[str, str], where: str, skip: int) -> Any:
    import pandas as pd

    zoned = text.str.contains(r"(?:Z|[+-]\d\d:?\d\d)$", regex=True, na=False)
    if zoned.any() and not zoned.all():
        k = int((~zoned).to_numpy().argmax())
        raise InputError("some stamps have a UTC offset and this one has none", f"{where}, line {skip + 2 + k}")
    parsed = pd.to_datetime(text, format="ISO8601", errors="coerce", utc=bool(zoned.all() and len(text)))
    bad = parsed.isna().to_numpy()
    if bad.any():
        k = int(bad.argmax())
        raise InputError(f"time is '{text.iloc[k]}'; write it as 2023-01-01 01:00", f"{where}, line {skip + 2 + k}")
    if len(text) and zoned.all():
        parsed = parsed.dt.tz_localize(None)
        shift = np.timedelta64(round(_number(keys, "utc_offset", where) * 3600), "s")
        return parsed.to_numpy().astype("datetime64[s]") + shift
    return parsed.to_numpy().astype("datetime64[s]")


def _number(keys: dict[str, str], key: str, where: str, default: float | None = None) -> float:
    if key not in keys:
        if default is not None:
            return default
        raise InputError(f"{key} is missing; add a line '# {key}: ...' at the top", where)
    try:
        return float(keys[key])
    except ValueError:
        raise InputError(f"{key} is '{keys[key]}', which is no number", where) from None


def flag(keys: dict[str, str], key: str, where: str) -> bool:
    """Read a key that is yes or no; no where it is absent."""
    value = keys.get(key, "no").lower()
    if value not in ("yes", "no"):
        raise InputError(f"{key} is '{value}'; write yes or no", where)
    return value == "yes"


def _build(table: Table, policy: RepairPolicy, path: Path) -> Climate:
    where, keys = path.name, table.keys
    if keys.get("drydown_weather", SCHEMA) != SCHEMA:
        raise InputError(f"schema {keys['drydown_weather']} is not known; this version reads {SCHEMA}", where)
    time, columns, repairs = table.hours(where, policy)
    return mended_climate(
        time,
        columns,
        policy,
        where,
        repairs,
        name=keys.get("name") or path.stem,
        latitude=_number(keys, "latitude", where),
        longitude=_number(keys, "longitude", where),
        altitude=_number(keys, "altitude", where, 0.0),
        utc_offset=_number(keys, "utc_offset", where),
        source=keys.get("source", "") or f"file {path.name}",
        synthetic=flag(keys, "synthetic", where),
        cyclic=flag(keys, "cyclic", where),
    )
