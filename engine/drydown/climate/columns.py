"""The columns of hourly weather: units, ranges, words; and how its hours are written."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..arrays import Array
from ..errors import InputError

Times = NDArray[np.datetime64]
HOUR = np.timedelta64(3600, "s")


class Column(NamedTuple):
    """What a weather column is: unit, the range that is possible, words for files and messages."""

    unit: str
    low: float
    high: float
    long_name: str
    standard_name: str = ""
    optional: bool = True


#: The columns of an hourly climate, SI. The ranges are wider than any hourly record (assumed bounds);
#: the rain bound is the world record of one hour, 305 mm (from memory).
COLUMNS: dict[str, Column] = {
    "temperature": Column("K", 180.0, 335.0, "air temperature", "air_temperature", False),
    "humidity": Column("1", 0.001, 1.0, "relative humidity", "relative_humidity", False),
    "wind_speed": Column("m/s", 0.0, 90.0, "wind speed at 10 m", "wind_speed"),
    "wind_direction": Column("degree", 0.0, 360.0, "direction the wind comes from", "wind_from_direction"),
    "pressure": Column("Pa", 40e3, 110e3, "station pressure", "surface_air_pressure"),
    "direct_normal": Column(
        "W/m2", 0.0, 1500.0, "direct normal irradiance", "surface_direct_along_beam_shortwave_flux_in_air"
    ),
    "diffuse_horizontal": Column(
        "W/m2",
        0.0,
        1200.0,
        "diffuse horizontal irradiance",
        "surface_diffuse_downwelling_shortwave_flux_in_air",
    ),
    "global_horizontal": Column(
        "W/m2", 0.0, 1700.0, "global horizontal irradiance", "surface_downwelling_shortwave_flux_in_air"
    ),
    "longwave_down": Column(
        "W/m2", 40.0, 700.0, "long-wave irradiance of the sky", "surface_downwelling_longwave_flux_in_air"
    ),
    "rain": Column("kg/(m2 h)", 0.0, 305.0, "rain on the horizontal, 1 kg/(m2 h) = 1 mm/h", "rainfall_flux"),
}
#: Hottest room [K]: a sauna just below its ceiling, 110 degC (common practice), and some more. Rooms are hourly records
#: too, so that a record may be as hot; what is read as weather is held to `COLUMNS` when it is mended.
HOTTEST_ROOM = 393.0


def stamp(time: np.datetime64) -> str:
    """Return a time as people write it, to the minute."""
    return str(time.astype("datetime64[m]")).replace("T", " ")


def unit_hint(name: str, values: Array) -> str:
    """Return what a column out of range probably is, or nothing."""
    middle = float(np.nanmedian(values)) if np.isfinite(values).any() else np.nan
    if name == "temperature" and -90.0 < middle < 65.0:
        return "; it looks like degC, kelvin is needed (add 273.15)"
    if name == "humidity" and 1.5 < middle <= 105.0:
        return "; it looks like percent, a fraction is needed (divide by 100)"
    if name == "pressure" and 400.0 < middle < 1100.0:
        return "; it looks like hPa, Pa is needed (multiply by 100)"
    if name == "pressure" and 40.0 < middle < 110.0:
        return "; it looks like kPa, Pa is needed (multiply by 1000)"
    return ""


def check_column(key: str, array: Array, time: Times, where: str) -> None:
    """Raise InputError where a column lacks a value or leaves its range, naming the time."""
    c = COLUMNS[key]
    bad = ~np.isfinite(array)
    if bad.any():
        k = int(bad.argmax())
        raise InputError(f"{key} is missing (not a number) at {stamp(time[k])} (row {k + 1})", where)
    high = HOTTEST_ROOM if key == "temperature" else c.high
    bad = (array < c.low) | (array > high)
    if bad.any():
        k = int(bad.argmax())
        raise InputError(
            f"{key} is {array[k]:g} {c.unit if c.unit != '1' else ''} at {stamp(time[k])} (row {k + 1}); "
            f"it must lie between {c.low:g} and {high:g}{unit_hint(key, array)}",
            where,
        )
