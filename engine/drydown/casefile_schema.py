"""What may stand in a case file: every section and key in one table, and the reading of one section by it."""

from __future__ import annotations

import datetime
import difflib
import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from .errors import InputError, nearest
from .quantities import parse

#: Models of the indoor air by their word in the file.
INDOOR = ("constant", "normal occupancy", "high occupancy", "humidity class", "annual", "air conditioned")

#: section, and model where it depends on one | key, * where it is needed | what it reads | what it means
_TABLE = """
case | title | text | what the case is called
case | catalogues | texts | catalogue files with materials and films of your own, seen from the case file

climate | name | text | a climate that is installed: `drydown climates` lists them
climate | file | text | an hourly weather file (.epw, .csv, .nc), seen from the case file
climate | repeat | yes or no | whether its years repeat where the period goes beyond them

outside | model | one of weather, constant | the climate, or a chamber at constant conditions
outside weather | faces* | direction | where the surface faces: 'north', 'south-west', '225 deg'
outside weather | tilt | angle | '90 deg' is a wall, '0 deg' a flat roof
outside weather | absorptance | fraction | share of the sun that is absorbed: 0.3 light, 0.6 middle, 0.9 dark
outside weather | emissivity | fraction | long-wave emissivity
outside weather | ground_reflectance | fraction | share of the sun that the ground throws back
outside weather | wind_factor | number | wind along the surface over wind at 10 m in the open
outside weather | rain_exposure | number | driving rain: 0.7 sheltered, 1.0 medium, 1.3 severe
outside weather | rain_deposition | number | 0.35 below a steep roof, 0.5 a low one, 1 run-down, 0 no rain
outside weather | snow_below | temperature | air temperature up to which it snows and nothing is taken up
outside constant | temperature* | temperature | air temperature
outside constant | humidity* | humidity | relative humidity
outside constant | heat_transfer | heat_transfer | heat transfer coefficient, radiation included
outside constant | vapour_transfer | permeance | permeance of the air film at the surface

inside | model | one of @INDOOR | what the indoor air is like
inside | heat_transfer | heat_transfer | heat transfer coefficient of the surface, radiation included
inside | vapour_transfer | permeance | permeance of the air film at the surface
inside constant | temperature* | temperature | air temperature
inside constant | humidity* | humidity | relative humidity
inside normal occupancy | margin | fraction | added to the relative humidity
inside high occupancy | margin | fraction | added to the relative humidity
inside humidity class | class* | count | 1, 2, 3 or 4
inside humidity class | temperature | temperature | air temperature
inside annual | temperature | temperature | mean air temperature
inside annual | temperature_amplitude | temperature_difference | how far it swings from the mean
inside annual | humidity | humidity | mean relative humidity
inside annual | humidity_amplitude | fraction | how far it swings from the mean
inside air conditioned | heating | temperature | set point of heating
inside air conditioned | cooling | temperature | set point of cooling
inside air conditioned | humidity_cap | humidity | humidity that the cooling holds
inside air conditioned | excess | vapour_pressure | vapour pressure above that outside

period | start* | date | first hour, such as 2021-10-01
period | end | date | last hour, instead of years or days
period | years | count | length in years
period | days | count | length in days

layer | material | text | what it is made of: `drydown materials` lists them
layer | film | text | a membrane, paper or paint instead; it has no thickness
layer | thickness | thickness | of the material
layer | name | text | its own name, where two layers are of one material
layer | cells | count | number of cells; left out, the grid decides
layer | start_humidity | humidity | relative humidity at the start, where it differs from [start]
layer | start_water | as given | water at the start instead: '18 %MC' or '80 kg/m3'

wetting | layer* | text | name of the layer that gets wet
wetting | amount* | water_mass | how much water
wetting | date* | date | when it begins
wetting | duration | time | how long it takes
wetting | place | one of whole, outer, inner | all of the layer, or its outer or inner edge
wetting | depth | thickness | how deep that edge goes

start | temperature | temperature | of all layers
start | humidity | humidity | relative humidity of all layers that do not state their own

numerics | tolerance | number | 1 is the default; smaller is tighter and slower
numerics | refine | number | factor on the number of cells
numerics | film_reading | one of integral, mean | how a permeance that varies with humidity is read
numerics | output_every | time | interval of the kept results, whole hours
numerics | max_step | time | longest step
"""


@dataclass(frozen=True)
class Key:
    """One key of a section: its name, what it reads, what it means, whether it must be there."""

    name: str
    reads: str
    about: str
    needed: bool


def _sections() -> dict[str, dict[str, Key]]:
    out: dict[str, dict[str, Key]] = {}
    for line in filter(None, _TABLE.replace("@INDOOR", ", ".join(INDOOR)).splitlines()):
        section, name, reads, about = (part.strip() for part in line.split("|"))
        key = Key(name.rstrip("*"), reads, about, name.endswith("*"))
        out.setdefault(section, {})[key.name] = key
    return out


#: Keys by section; "case" holds those that stand before the first section, "inside constant" those that
#: belong to the model "constant" of the section "inside".
SECTIONS: dict[str, dict[str, Key]] = _sections()
#: Sections that stand once, those that are lists of tables, and those written as in a catalogue file.
ONCE = ("climate", "outside", "inside", "period", "start", "numerics")
LISTS = ("layer", "wetting")
CATALOGUE = ("material", "film", "source")
#: Model of a section where none is named.
DEFAULT_MODEL = {"outside": "weather", "inside": "normal occupancy"}

#: Points of the compass, clockwise from north, every 22.5 degrees.
_COMPASS = "n nne ne ene e ese se sse s ssw sw wsw w wnw nw nnw".split()
_WORDS = {"n": "north", "e": "east", "s": "south", "w": "west"}
_POINTS = {
    name: 22.5 * i
    for i, short in enumerate(_COMPASS)
    for name in (short, "".join(_WORDS[letter] for letter in short))
}


def read_section(data: Any, section: str, where: str) -> dict[str, Any]:
    """Read one section: SI values, dates and texts of the keys that are given.

    Parameters
    ----------
    data : dict
        The table as TOML gives it.
    section : str
        Its name in `SECTIONS`.
    where : str
        File and section, for errors.

    Returns
    -------
    dict
        Only the keys that are given, so that the defaults stay in one place: the objects that are built.

    Raises
    ------
    InputError
        A key that is not known or missing, or a value that cannot be read.
    """
    if not isinstance(data, dict):
        raise InputError(f"a section with keys is needed here, not {data!r}", where)
    keys = _keys(data, section, where)
    for name in data:
        if name not in keys:
            raise InputError(f"'{name}' is not known here; {nearest(name, keys)}", where)
    for key in keys.values():
        if key.needed and key.name not in data:
            raise InputError(f"'{key.name}' is missing: {key.about}", where)
    return {name: read_value(value, keys[name], f"{where}, {name}") for name, value in data.items()}


def _keys(data: dict[str, Any], section: str, where: str) -> dict[str, Key]:
    """Return the keys that may stand in a section; where it has models, those of its model."""
    keys = SECTIONS[section]
    if section not in DEFAULT_MODEL:
        return keys
    word = data.get("model", DEFAULT_MODEL[section])
    read_value(word, keys["model"], f"{where}, model")
    of_model = SECTIONS[f"{section} {word}"]
    of_others = {k for name, group in SECTIONS.items() if name.startswith(f"{section} ") for k in group}
    for name in data:
        if name in of_others and name not in of_model:
            reads = ", ".join(of_model)
            raise InputError(f"the model '{word}' does not read it; it reads {reads}", f"{where}, {name}")
    return keys | of_model


def read_value(value: Any, key: Key, where: str) -> Any:
    """Read one value by its key."""
    if key.reads.startswith("one of "):
        words = key.reads.removeprefix("one of ").split(", ")
        if value not in words:
            close = difflib.get_close_matches(str(value), words, 1, 0.5)
            hint = f"; did you mean '{close[0]}'?" if close else ""
            raise InputError(f"{value!r} is none of {', '.join(words)}{hint}", where)
        return value
    reader = _READERS.get(key.reads)
    return parse(value, key.reads, where) if reader is None else reader(value, where)


@contextmanager
def within(where: str) -> Iterator[None]:
    """Put file and section in front of an error that does not name them yet."""
    try:
        yield
    except InputError as error:
        if error.where.startswith(where):
            raise
        raise error.at(where) from None


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise InputError(f"{value!r} is no text; write it in quotes", where)
    return value.strip()


def _texts(value: Any, where: str) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise InputError(f'{value!r} is no list; write it as ["one", "two"]', where)
    return tuple(_text(v, where) for v in value)


def _number(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(f"{value!r}: a plain number is needed, without quotes and without a unit", where)
    return float(value)


def _count(value: Any, where: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 99999:
        raise InputError(f"{value!r}: a whole number from 1 to 99999 is needed", where)
    return value


def _flag(value: Any, where: str) -> bool:
    if not isinstance(value, bool):
        raise InputError(f"{value!r}: write true or false, without quotes", where)
    return value


def _date(value: Any, where: str) -> np.datetime64:
    """Read a date or time of TOML, or a text such as '2022-01-15 06:00'; local standard time."""
    given = value
    if isinstance(given, str):
        try:
            value = datetime.datetime.fromisoformat(given.strip())
        except ValueError:
            value = None
    if isinstance(value, datetime.datetime) and value.tzinfo is not None:
        raise InputError("leave out the UTC offset: times are local standard time of the climate", where)
    if not isinstance(value, datetime.date):
        raise InputError(
            f"{given!r} is no date that exists; write it as 2022-01-15 or as '2022-01-15 06:00'", where
        )
    return np.datetime64(value, "s")


def _direction(value: Any, where: str) -> float:
    """Read a point of the compass or an azimuth [degree], clockwise from north."""
    if isinstance(value, str):
        point = re.sub(r"[\s-]", "", value.casefold())
        if point in _POINTS:
            return _POINTS[point]
        if re.match(r"\s*[-+.\d]", value):
            return parse(value, "angle", where) % 360.0
    raise InputError(f"{value!r} is no direction; write 'north', 'south-west' or '225 deg'", where)


_READERS = {
    "text": _text,
    "texts": _texts,
    "number": _number,
    "count": _count,
    "yes or no": _flag,
    "date": _date,
    "direction": _direction,
    "as given": lambda value, where: value,
}


def explain_toml(path: Path, error: Exception) -> InputError:
    """Turn an error of the TOML reader into one that says what a builder would mend."""
    match = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
    if not match:
        return InputError(f"is no valid TOML: {error}", str(path))
    lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    number = min(int(match[1]), len(lines))
    line = lines[number - 1].split("#")[0].strip() if lines else ""
    where = f"{path}, line {number}"
    key, _, value = (part.strip() for part in line.partition("="))
    if re.fullmatch(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d", value):
        return InputError(f"a time needs seconds or quotes: {key} = {value}:00", where)
    if re.fullmatch(r"\d{4}-\d\d?-\d\d?([T ].*)?", value):
        return InputError(f"{value} is no date that exists; write it as 2022-01-15", where)
    if key and value and not re.match(r"[\"'\[{]|\d{4}-", value) and re.search(r"[A-Za-z%]", value):
        return InputError(f'text and values with a unit stand in quotes: {key} = "{value}"', where)
    what = str(error)[: match.start()].strip()
    return InputError(f"is no valid TOML: {what[:1].lower()}{what[1:]}: {line[:60]}", where)
