"""Units that a weather file may state, with factor and offset to SI."""

from __future__ import annotations

from ...errors import InputError, nearest
from ..columns import COLUMNS

_K = {"K": (1.0, 0.0), "degC": (1.0, 273.15), "C": (1.0, 273.15), "degF": (5 / 9, 273.15 - 160 / 9)}
_RATIO = {"1": (1.0, 0.0), "-": (1.0, 0.0), "%": (0.01, 0.0), "percent": (0.01, 0.0)}
_SPEED = {"m/s": (1.0, 0.0), "m s-1": (1.0, 0.0), "km/h": (1 / 3.6, 0.0), "mph": (0.44704, 0.0)}
_SPEED |= {"knot": (1852 / 3600, 0.0), "kn": (1852 / 3600, 0.0)}
_ANGLE = {"degree": (1.0, 0.0), "deg": (1.0, 0.0), "degrees": (1.0, 0.0)}
_PRESSURE = {"Pa": (1.0, 0.0), "hPa": (100.0, 0.0), "mbar": (100.0, 0.0), "kPa": (1000.0, 0.0)}
_PRESSURE |= {"inHg": (3386.389, 0.0)}
_FLUX = {"W/m2": (1.0, 0.0), "W/m^2": (1.0, 0.0), "W m-2": (1.0, 0.0), "kW/m2": (1000.0, 0.0)}
_FLUX |= {"Wh/(m2 h)": (1.0, 0.0), "kJ/(m2 h)": (1 / 3.6, 0.0)}
_RAIN = {"kg/(m2 h)": (1.0, 0.0), "mm/h": (1.0, 0.0), "mm": (1.0, 0.0), "kg m-2 h-1": (1.0, 0.0)}
_RAIN |= {"inch/h": (25.4, 0.0), "inch": (25.4, 0.0), "in": (25.4, 0.0), "in/h": (25.4, 0.0)}

#: Units of rain that state the depth of a row, whatever its length; the others are rates.
DEPTHS = ("mm", "inch", "in")
#: Columns a file may hold: those of a climate, and the dew point in place of the humidity.
FILE_COLUMNS = (*COLUMNS, "dew_point")
UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "temperature": _K,
    "dew_point": _K,
    "humidity": _RATIO,
    "wind_speed": _SPEED,
    "wind_direction": _ANGLE,
    "pressure": _PRESSURE,
    "direct_normal": _FLUX,
    "diffuse_horizontal": _FLUX,
    "global_horizontal": _FLUX,
    "longwave_down": _FLUX,
    "rain": _RAIN,
}


def to_si(column: str, unit: str | None, where: str) -> tuple[float, float]:
    """Return factor and offset that bring a column to SI.

    Raises
    ------
    InputError
        Where the column is unknown, or its unit missing or unknown.
    """
    if column not in UNITS:
        raise InputError(f"no weather column is called '{column}'; {nearest(column, FILE_COLUMNS)}", where)
    known = UNITS[column]
    best = f"write it as '{column} [{next(iter(known))}]'"
    if not unit:
        raise InputError(f"column {column} has no unit; {best}", where)
    if unit not in known:
        raise InputError(f"unit '{unit}' does not fit {column}; known: {', '.join(known)}", where)
    return known[unit]
