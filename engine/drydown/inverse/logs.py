"""What was logged in a wall: readings at named places, from a table of columns that say what they are.

A column of the table is headed by quantity, place and unit:

    time, humidity at OSB inner [%], temperature at OSB inner + 3 mm [degC], moisture at OSB middle [%MC]

The place is a layer and its outer face, middle or inner face, with a distance inward (+) or outward (-). Times are
local standard time of the climate. What is missing is left empty.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..quantities import parse
from .sensors import Quantity, Sensor

_WORDS: dict[str, Quantity] = {
    "humidity": "relative_humidity",
    "relative humidity": "relative_humidity",
    "temperature": "temperature",
    "vapour pressure": "vapour_pressure",
    "water content": "water_content",
    "moisture": "moisture_content",
    "moisture content": "moisture_content",
}
_HEAD = re.compile(
    r"^\s*(?P<what>[a-z ]+?) at (?P<layer>.+?) (?P<place>outer|middle|inner)"
    r"(?:\s*(?P<sign>[+-])\s*(?P<depth>[\d.]+)\s*mm)?\s*\[(?P<unit>[^\]]+)\]\s*$"
)
#: Factors to SI, and what is added after, by unit.
_UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "relative_humidity": {"%": (0.01, 0.0), "1": (1.0, 0.0), "-": (1.0, 0.0)},
    "temperature": {"degC": (1.0, 273.15), "°C": (1.0, 273.15), "K": (1.0, 0.0), "degF": (5 / 9, 273.15 - 160 / 9)},
    "vapour_pressure": {"Pa": (1.0, 0.0), "hPa": (100.0, 0.0), "kPa": (1000.0, 0.0)},
    "water_content": {"kg/m3": (1.0, 0.0)},
    "moisture_content": {"%MC": (0.01, 0.0), "%": (0.01, 0.0), "1": (1.0, 0.0)},
}
#: Between which the middle of what a logger in a wall reads lies, SI: beyond it the unit of the column is taken for a
#: slip (no weather and no room is outside; our choice). Of water contents none can be told.
_LIKELY: dict[str, tuple[float, float]] = {
    "relative_humidity": (0.02, 1.1),
    "temperature": (223.15, 338.15),
    "vapour_pressure": (20.0, 20000.0),
    "moisture_content": (0.01, 3.0),
}
#: Readings are taken as means over this [s], about the hour.
HOUR = 3600
#: Fewest readings that a fit is tried with.
FEWEST = 48


@dataclass(frozen=True)
class Log:
    """Readings of one logger.

    Parameters
    ----------
    sensor : Sensor
        Where it stands and what it reads.
    time : array of shape (reading,)
        datetime64[s], rising.
    value : array of shape (reading,)
        SI, all finite.
    """

    sensor: Sensor
    time: np.ndarray
    value: Array

    def between(self, first: Any, last: Any) -> Log:
        """Return the readings from `first` until before `last`."""
        kept = (self.time >= np.datetime64(first, "s")) & (self.time < np.datetime64(last, "s"))
        return Log(self.sensor, self.time[kept], self.value[kept])


def sensor_of(head: str) -> tuple[Sensor, tuple[float, float]]:
    """Return the sensor that the head of a column tells, and what its readings become SI by.

    Raises
    ------
    InputError
        If the head is none, with what one looks like.
    """
    match = _HEAD.match(head)
    if match is None:
        raise InputError("it tells no place; write 'humidity at OSB inner [%]' or '... at OSB inner + 3 mm [%]'", head)
    what = match["what"].strip()
    if what not in _WORDS:
        raise InputError(f"'{what}' is no quantity of a log; {nearest(what, _WORDS)}", head)
    quantity = _WORDS[what]
    units = _UNITS[quantity]
    if match["unit"].strip() not in units:
        raise InputError(f"[{match['unit']}] is no unit of it; {nearest(match['unit'], units)}", head)
    depth = parse(f"{match['depth']} mm", "thickness") if match["depth"] else 0.0
    depth = -depth if match["sign"] == "-" else depth
    name = head.rpartition("[")[0].strip()
    place: Any = match["place"]
    logger = name.partition(" at ")[2]
    return Sensor(name, quantity, match["layer"].strip(), place, depth, logger=logger), units[match["unit"].strip()]


def read_logs(path: str | Path) -> list[Log]:
    """Read a table of readings (.csv); its columns are described above.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    list of Log
        Hourly means about the full hours; what is missing is left out.

    Raises
    ------
    InputError
        Naming file and column, and what would be right.
    """
    import pandas as pd

    path = Path(path)
    if not path.is_file():
        raise InputError("there is no such file", str(path))
    try:
        table = pd.read_csv(path, comment="#")
    except (ValueError, UnicodeDecodeError) as error:
        raise InputError(
            f"it is no table of comma separated values ({' '.join(str(error).split())[:80]})", str(path)
        ) from None
    table.columns = [str(c).strip() for c in table.columns]
    if not len(table.columns) or table.columns[0] != "time" or len(table.columns) < 2:
        raise InputError("its first column must be 'time', followed by what was read", str(path))
    try:
        time = pd.to_datetime(table["time"], format="mixed")
    except (ValueError, TypeError):
        raise InputError("a time cannot be read; write it as 2022-01-15 06:00", f"{path}, time") from None
    if getattr(time.dt, "tz", None) is not None:
        raise InputError("leave out the UTC offset: times are local standard time of the climate", f"{path}, time")
    out = []
    for head in table.columns[1:]:
        try:
            sensor, (factor, plus) = sensor_of(head)
        except InputError as error:
            raise error.at(str(path)) from None
        values = pd.to_numeric(table[head], errors="coerce").to_numpy(dtype=float)
        _check_unit(sensor.quantity, values, head, f"{path}, {head}")
        log = hourly(sensor, time.to_numpy().astype("datetime64[s]"), factor * values + plus)
        if len(log.time) < FEWEST:
            raise InputError(f"it holds {len(log.time)} hours; at least {FEWEST} are needed", f"{path}, {head}")
        out.append(log)
    return out


def _check_unit(quantity: str, values: Array, head: str, where: str) -> None:
    """Refuse readings that can hardly be in the unit that their column states; say which unit would fit."""
    known = values[np.isfinite(values)]
    if quantity not in _LIKELY or not len(known):
        return
    low, high = _LIKELY[quantity]
    middle, unit = float(np.median(known)), head.rpartition("[")[2].rstrip("] ")

    def fits(by: tuple[float, float]) -> bool:
        return low <= by[0] * middle + by[1] <= high

    def far(name: str) -> float:
        return abs(float(np.log((units[name][0] * middle + units[name][1]) ** 2 / (low * high))))

    units = _UNITS[quantity]
    if fits(units[unit]):
        return
    said = f"its readings are about {middle:.3g} {'' if unit in ('1', '-') else unit}".rstrip()
    other = min((u for u, by in units.items() if fits(by)), key=far, default="")
    if not other:
        raise InputError(f"{said}, which no wall has in any unit that is read ({', '.join(units)})", where)
    right = head.rpartition("[")[0]
    raise InputError(f"{said}, which no wall has; if they are in {other}, head the column '{right}[{other}]'", where)


def hourly(sensor: Sensor, time: np.ndarray, value: Array) -> Log:
    """Return readings as means about the full hours; what is no number is left out."""
    known = np.isfinite(value) & ~np.isnat(time)
    hour = ((time[known].astype("int64") + HOUR // 2) // HOUR).astype("int64")
    marks, place = np.unique(hour, return_inverse=True)
    sums = np.bincount(place, weights=value[known], minlength=len(marks))
    counts = np.bincount(place, minlength=len(marks))
    return Log(sensor, (marks * HOUR).astype("datetime64[s]"), sums / np.maximum(counts, 1))


def beyond(logs: Sequence[Log], first: np.datetime64, last: np.datetime64) -> list[Log]:
    """Return logs with the readings that lie in a period; those without any are left out."""
    kept = [log.between(first, last + np.timedelta64(1, "s")) for log in logs]
    return [log for log in kept if len(log.time) >= FEWEST]
