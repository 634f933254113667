"""What was logged in a wall: readings at named places, from a table of columns that say what they are.

A column of the table is headed by quantity, place and unit:

    time, humidity at OSB inner [%], temperature at OSB inner + 3 mm [degC], moisture at OSB middle [%MC]

The place is a layer and its outer face, middle or inner face, with a distance inward (+) or outward (-). Times are
local standard time of the climate. What is missing is left empty.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..quantities import parse
from .log_table import read_table
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
#: What a reading in a wall can be, SI: what lies beyond is the code of a logger that failed (our choice, wide).
_POSSIBLE: dict[str, tuple[float, float]] = {
    "relative_humidity": (0.001, 1.1),
    "temperature": (213.15, 373.15),
    "vapour_pressure": (0.0, 1e5),
    "water_content": (0.0, 1000.0),
    "moisture_content": (0.0, 3.0),
}
#: Greatest share of a column that is left out for being no reading; beyond it the column is refused.
MOST_LEFT_OUT = 0.1
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
    left_out : str
        What is said of readings that could not be; empty where there were none.
    """

    sensor: Sensor
    time: np.ndarray
    value: Array
    left_out: str = ""

    def between(self, first: Any, last: Any) -> Log:
        """Return the readings from `first` until before `last`."""
        kept = (self.time >= np.datetime64(first, "s")) & (self.time < np.datetime64(last, "s"))
        return replace(self, time=self.time[kept], value=self.value[kept])


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
        Hourly means about the full hours; what is missing is left out, and what cannot be, which each log tells.

    Raises
    ------
    InputError
        Naming file and column, and what would be right.
    """
    path = Path(path)
    if not path.is_file():
        raise InputError("there is no such file", str(path))
    time, columns = read_table(path)
    out = []
    for head, values in columns.items():
        where = f"{path}, {head}"
        try:
            sensor, (factor, plus) = sensor_of(head)
        except InputError as error:
            raise error.at(str(path)) from None
        _check_unit(sensor.quantity, values, head, where)
        known, said = _without_codes(sensor.quantity, time, values, head, where)
        log = replace(hourly(sensor, time, factor * known + plus), left_out=said)
        if len(log.time) < FEWEST:
            raise InputError(f"it holds {len(log.time)} hours; at least {FEWEST} are needed", where)
        out.append(log)
    return out


def _without_codes(quantity: str, time: np.ndarray, values: Array, head: str, where: str) -> tuple[Array, str]:
    """Return readings less those that cannot be, such as codes of a logger that failed, and what is said of it."""
    unit = head.rpartition("[")[2].rstrip("] ")
    factor, plus = _UNITS[quantity][unit]
    low, high = ((x - plus) / factor for x in _POSSIBLE[quantity])
    bad = np.isfinite(values) & ((values < low) | (values > high))
    count, known = int(bad.sum()), int(np.isfinite(values).sum())
    if not count:
        return values, ""
    first = int(bad.argmax())
    shown = "" if unit in ("1", "-") else f" {unit}"
    said = f"{values[first]:g}{shown} at {str(time[first])[:16].replace('T', ' ')} cannot be"
    if count > MOST_LEFT_OUT * known:
        raise InputError(
            f"{said}, and {count} of {known} readings lie outside {low:g} to {high:g}{shown}; check the unit, and "
            "leave missing ones empty", where,
        )  # fmt: skip
    are = "1 such reading was" if count == 1 else f"{count} such readings were"
    return np.where(bad, np.nan, values), f"{where}: {said}; {are} left out"


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
