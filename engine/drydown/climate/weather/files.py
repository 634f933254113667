"""Weather files: `read_weather` and `write_weather`, and the EPW and TMY3 readers (through pvlib).

PVGIS and our own schema have rooms of their own: `weather.pvgis` and `weather.own`.

What stamps mean: TMY3 and EPW both give radiation and rain of the hour that ENDS at the hour they name (1 to
24), and the state of the air at that time. pvlib labels an EPW row by the start of its hour; it is moved back
here. Years put together from months of different years get one continuous year, and that is recorded.
Missing codes of both formats become gaps. Rain that is missing, or a column of nothing but zeros, is
unavailable; it is never taken as a dry year.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from ...errors import InputError, nearest
from ..model import HOUR, Climate, Times
from ..sky import sky_longwave
from . import own as weather_own
from . import pvgis as weather_pvgis
from .mended import mended_climate
from .repair import RepairPolicy, dew_point_humidity, over_ice

#: Largest file of weather [bytes].
LARGEST = 500_000_000
#: How the lines of an EPW header begin.
EPW_HEAD = (
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVING",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
)
SUFFIXES = (".csv", ".epw", ".json", ".nc")
#: Columns read from TMY3, by the names pvlib gives them.
TMY3_FIELDS = (
    "temp_air",
    "temp_dew",
    "relative_humidity",
    "wind_speed",
    "wind_direction",
    "pressure",
    "dni",
    "dhi",
    "ghi",
    "OpqCld (tenths)",
    "Lprecip depth (mm)",
    "Lprecip quantity (hr)",
)


def read_weather(path: str | Path, policy: RepairPolicy | None = None) -> Climate:
    """Read hourly weather.

    Parameters
    ----------
    path : str or Path
        `.epw`; `.csv`: TMY3, PVGIS or our own schema; `.json`, PVGIS; `.nc`, our own schema.
    policy : RepairPolicy, optional
        What may be mended.

    Returns
    -------
    Climate
        Its `repairs` say what was mended.

    Raises
    ------
    InputError
        Naming the file and the line, the column or the time.
    """
    path = Path(path)
    policy = policy or RepairPolicy()
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError(f"weather files end in .csv, .epw, .json or .nc, not in '{path.suffix}'", str(path))
    if not path.is_file():
        beside = [p.name for p in path.parent.glob("*") if p.suffix.lower() in SUFFIXES]
        near = nearest(path.name, beside) if beside else "there is none in that folder"
        raise InputError(f"there is no such weather file; {near}", str(path))
    if path.stat().st_size > LARGEST:
        raise InputError(f"is larger than {LARGEST / 1e6:g} MB; no hourly weather needs that", str(path))
    found = _read(path, suffix, policy)
    _asked(found, path.name)
    return found


def _asked(climate: Climate, where: str) -> None:
    """Ask about a year without days and nights or seasons, which no place has."""
    if len(climate.time) >= 8000 and not climate.synthetic and np.ptp(climate.temperature) == 0.0:
        value = climate.temperature[0] - 273.15
        raise InputError(
            f"the temperature is {value:g} degC in all of {len(climate.time)} hours; mend the column, or, where that "
            'is meant, write synthetic: yes into the file, or model = "constant" into [outside]',
            where,
        )


def _read(path: Path, suffix: str, policy: RepairPolicy) -> Climate:
    """Read a weather file by its ending and its first lines."""
    try:
        if suffix == ".epw":
            return _read_epw(path, policy)
        if suffix == ".nc":
            return weather_own.read_netcdf(path, policy)
        if suffix == ".json":
            return weather_pvgis.read(path, policy)
        with path.open(encoding="utf-8-sig") as f:
            first, second = f.readline(), f.readline()
        if not first.strip():
            raise InputError("the file is empty", path.name)
        if weather_pvgis.is_csv(first):
            return weather_pvgis.read(path, policy)
        if second.startswith("Date (MM/DD/YYYY)"):
            return _read_tmy3(path, policy)
        return weather_own.read_csv(path, policy)
    except UnicodeDecodeError:
        raise InputError("it is no UTF-8 text", path.name) from None


def write_weather(climate: Climate, path: str | Path) -> Path:
    """Write a climate in our own schema, `.csv` or `.nc`; the file appears whole or not at all.

    Parameters
    ----------
    climate : Climate
    path : str or Path
        Its ending says the schema: .csv or .nc.
    """
    path = Path(path)
    if path.suffix.lower() == ".csv":
        weather_own.write_csv(climate, path)
    elif path.suffix.lower() == ".nc":
        weather_own.write_netcdf(climate, path)
    else:
        raise InputError(f"weather is written as .csv or .nc, not as '{path.suffix}'", str(path))
    return path


def _coded(values: Any, missing_from: float, missing_to: float = np.inf) -> Any:
    """Return floats with the codes of missing values, and -99 and below, as NaN."""
    import pandas as pd

    x = pd.to_numeric(values, errors="coerce").to_numpy(dtype=float)
    return np.where((x <= -99.0) | ((x >= missing_from) & (x <= missing_to)), np.nan, x)


def _read_tmy3(path: Path, policy: RepairPolicy) -> Climate:
    import pandas as pd
    from pvlib import iotools

    try:
        with path.open(encoding="utf-8-sig") as f:
            table, meta = iotools.read_tmy3(f, map_variables=True)
    except (KeyError, ValueError) as e:
        raise InputError(f"it cannot be read as TMY3 ({e})", path.name) from None
    lacking = [c for c in TMY3_FIELDS if c not in table]
    if lacking:
        raise InputError(f"it is no whole TMY3 file: column {lacking[0]} is missing", path.name)
    # From the raw fields: the index of pvlib moves 29 February, and 28 February 24:00 of a leap year, on.
    date = pd.to_datetime(table["Date (MM/DD/YYYY)"], format="%m/%d/%Y").to_numpy().astype("datetime64[s]")
    clock = table["Time (HH:MM)"].str.split(":", expand=True).astype(int).to_numpy()
    end = date + (60 * clock[:, 0] + clock[:, 1]) * np.timedelta64(60, "s")
    end, repairs = continuous_year(end)
    columns = {
        "temperature": _coded(table["temp_air"], 99.0) + 273.15,
        "humidity": _coded(table["relative_humidity"], 999.0) / 100.0,
        "wind_speed": _coded(table["wind_speed"], 99.0),
        "wind_direction": _coded(table["wind_direction"], 999.0),
        "pressure": _coded(table["pressure"], 9999.0) * 100.0,
        "direct_normal": _coded(table["dni"], 9999.0),
        "diffuse_horizontal": _coded(table["dhi"], 9999.0),
        "global_horizontal": _coded(table["ghi"], 9999.0),
    }
    columns["humidity"], more = over_ice(columns["humidity"], columns["temperature"])
    repairs += more
    dew = _coded(table["temp_dew"], 99.0) + 273.15
    repairs += _cloud_longwave(columns, dew, _coded(table["OpqCld (tenths)"], 99.0))
    depth = _coded(table["Lprecip depth (mm)"], 999.0)
    period = _coded(table["Lprecip quantity (hr)"], 99.0)
    repairs += _tenths(depth)
    repairs += _hourly_rain(columns, depth, period)
    name = str(meta["Name"]).strip().strip('"').title()
    return mended_climate(
        end,
        columns,
        policy,
        path.name,
        repairs,
        name=f"{name}, {str(meta['State']).strip()}",
        latitude=meta["latitude"],
        longitude=meta["longitude"],
        altitude=meta["altitude"],
        utc_offset=meta["TZ"],
        source=f"TMY3 file {path.name}",
        cyclic=True,
    )


def _read_epw(path: Path, policy: RepairPolicy) -> Climate:
    from pvlib import iotools

    with path.open(encoding="utf-8-sig", errors="replace") as f:
        _check_epw_head(f, path.name)
        f.seek(0)
        try:
            table, meta = iotools.read_epw(f)
        except (KeyError, ValueError, TypeError, IndexError, AttributeError) as e:
            raise InputError(f"it cannot be read as EPW ({e})", path.name) from None
    if len(table) == 0:
        raise InputError("the weather is empty; hourly rows are needed", path.name)
    # pvlib labels the start of the hour.
    end = table.index.tz_localize(None).to_numpy().astype("datetime64[s]") + HOUR
    end, repairs = continuous_year(end)
    columns = {
        "temperature": _coded(table["temp_air"], 99.9) + 273.15,
        "humidity": _coded(table["relative_humidity"], 999.0) / 100.0,
        "wind_speed": _coded(table["wind_speed"], 999.0),
        "wind_direction": _coded(table["wind_direction"], 999.0),
        "pressure": _coded(table["atmospheric_pressure"], 999999.0),
        "direct_normal": _coded(table["dni"], 9999.0),
        "diffuse_horizontal": _coded(table["dhi"], 9999.0),
        "global_horizontal": _coded(table["ghi"], 9999.0),
        "longwave_down": _coded(table["ghi_infrared"], 9999.0),
    }
    dew = _coded(table["temp_dew"], 99.9) + 273.15
    if np.isnan(columns["humidity"]).mean() > policy.mostly_missing:
        columns["humidity"] = dew_point_humidity(dew, columns["temperature"])
        repairs += ("humidity was computed from dew point and temperature",)
    columns["humidity"], more = over_ice(columns["humidity"], columns["temperature"])
    repairs += more
    infrared = columns["longwave_down"]
    if np.isnan(infrared).mean() > policy.mostly_missing or not np.nansum(infrared):
        del columns["longwave_down"]
        repairs += _cloud_longwave(columns, dew, _coded(table["opaque_sky_cover"], 99.0))
    depth = _coded(table["liquid_precipitation_depth"], 999.0)
    period = _coded(table["liquid_precipitation_quantity"], 99.0)
    repairs += _hourly_rain(columns, depth, np.where(period == 0.0, 1.0, period))
    words = [str(meta[k]).strip() for k in ("city", "state-prov", "country")]
    return mended_climate(
        end,
        columns,
        policy,
        path.name,
        repairs,
        name=", ".join(w for w in words if w and w != "-"),
        latitude=meta["latitude"],
        longitude=meta["longitude"],
        altitude=meta["altitude"],
        utc_offset=meta["TZ"],
        source=f"EPW file {path.name}",
        cyclic=True,
    )


def _check_epw_head(lines: Iterable[str], where: str) -> None:
    """Refuse an EPW file whose eight lines of header are not whole: each that is missing would cost an hour."""
    given = [line.upper().strip() for line in islice(lines, len(EPW_HEAD) + 1)]
    for number, word in enumerate(EPW_HEAD, 1):
        if len(given) < number or not given[number - 1].startswith(word):
            raise InputError(
                f"it is no whole EPW file: this line must begin with {word}; the header has {len(EPW_HEAD)} lines",
                f"{where}, line {number}",
            )
    if len(given) > len(EPW_HEAD) and not given[-1][:1].isdigit():
        raise InputError("the rows of hours must begin here, with a year", f"{where}, line {len(given)}")


def continuous_year(end: Times) -> tuple[Times, tuple[str, ...]]:
    """Give a typical year, made of months of different years, the stamps of one year.

    Parameters
    ----------
    end : array of datetime64, shape (n,)
        Ends of the hours.

    Returns
    -------
    end, repairs
        As given where the rows follow each other or are of one year; else labelled 2001, or 2004 where
        29 February is among them.
    """
    begin = end - HOUR
    years = begin.astype("datetime64[Y]").astype(np.int64) + 1970
    found = np.unique(years)
    if len(found) == 1 or bool((np.diff(end) == HOUR).all()):
        return end, ()
    month = begin.astype("datetime64[M]")
    of_month = month.astype(np.int64) % 12 + 1
    mixed = [m for m in range(1, 13) if len(np.unique(years[of_month == m])) > 1]
    if mixed:  # several whole years, perhaps out of order or with gaps: no typical year
        return end, ()
    offset = begin - month.astype("datetime64[s]")
    day = (offset // np.timedelta64(86400, "s")).astype(np.int64) + 1
    label = 2004 if ((of_month == 2) & (day == 29)).any() else 2001
    first = (np.int64(12 * (label - 1970)) + of_month - 1).astype("datetime64[M]").astype("datetime64[s]")
    text = ", ".join(str(y) for y in found)
    return first + offset + HOUR, (f"typical year of months from {text}: labelled as the year {label}",)


def _cloud_longwave(columns: dict[str, Any], dew: Any, cloud: Any) -> tuple[str, ...]:
    """Add the long-wave of the sky from cloud observations, where there are any."""
    if np.isnan(cloud).mean() > 0.5:
        return ()
    columns["longwave_down"] = sky_longwave(columns["temperature"], dew, np.clip(cloud, 0.0, 10.0))
    return ("longwave_down was computed from opaque cloud and dew point (Clark and Allen 1978)",)


def _tenths(depth: Any) -> tuple[str, ...]:
    """Bring rain written in tenths of a millimetre to millimetres, where the values prove it (in place).

    Gauges that count hundredths of an inch leave the values 3, 5, 8, 10, 13 ... (2.54 k, rounded) when
    written in tenths of a millimetre. Whole millimetres would hit those only in 39 of 100 cases.
    """
    wet = depth[depth > 0.0]
    if len(wet) < 100:
        return ()
    inch = np.rint(np.rint(wet / 2.54) * 2.54)
    share = (inch == wet).mean()
    if share < 0.9:
        return ()
    depth /= 10.0
    return (f"rain was taken as 0.1 mm, not mm: {share:.0%} of its values are hundredths of an inch in that unit",)


def _hourly_rain(columns: dict[str, Any], depth: Any, period: Any) -> tuple[str, ...]:
    """Add rain where it was measured hour by hour."""
    hourly = np.where(period == 1.0, depth, np.nan)
    known = int(np.isfinite(hourly).sum())
    if known <= 0.5 * len(hourly):
        return (f"rain unavailable: hourly in only {known} of {len(hourly)} hours",)
    if not np.nansum(hourly):
        return ("rain unavailable: its column holds nothing but zeros",)
    columns["rain"] = hourly
    return ()
