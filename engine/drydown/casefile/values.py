"""Single values of a case file: a section read by its keys, and values written so that they read back the same."""

from __future__ import annotations

import dataclasses
import datetime
import difflib
import json
import math
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from ..case.keys import Key
from ..errors import InputError, nearest, renamed
from ..quantities import convert, parse, quantity, unit_label
from ..toml import quoted
from .schema import FIELDS, LISTS, MODELS, RENAMED, SECTIONS

#: Points of the compass, clockwise from north, every 22.5 degrees.
_COMPASS = "n nne ne ene e ese se sse s ssw sw wsw w wnw nw nnw".split()
_WORDS = {"n": "north", "e": "east", "s": "south", "w": "west"}
_POINTS = {
    name: 22.5 * i for i, short in enumerate(_COMPASS) for name in (short, "".join(_WORDS[letter] for letter in short))
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
    data = renamed(data, RENAMED.get(section, {}), where)
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
    if section not in MODELS:
        return keys
    chooser, default = MODELS[section]
    word = data.get(chooser, default)
    read_value(word, keys[chooser], f"{where}, {chooser}")
    of_model = SECTIONS[f"{section} {word}"]
    of_others = {k for name, group in SECTIONS.items() if name.startswith(f"{section} ") for k in group}
    for name in data:
        if name in of_others and name not in of_model:
            rather = "" if chooser in data else _what_would(data, section, chooser, of_others)
            taken = ", which holds where none is named," if rather else ""
            rather = rather or f"it reads {', '.join(of_model)}"
            raise InputError(f"the {chooser} '{word}'{taken} does not read it; {rather}", f"{where}, {name}")
    return keys | of_model


def _what_would(data: dict[str, Any], section: str, chooser: str, of_others: set[str]) -> str:
    """Return which models read all the keys of models that are given; empty where none does."""
    asked = of_others & set(data)
    models = [name.removeprefix(f"{section} ") for name in SECTIONS if name.startswith(f"{section} ")]
    able = [f'"{m}"' for m in models if asked <= set(SECTIONS[f"{section} {m}"])]
    most = f" or {able[-1]}" if len(able) > 1 else ""
    return f"{chooser} = {', '.join(able[:-1] or able)}{most} reads all that is given" if able else ""


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
    if reader is not None:
        return reader(value, where)
    try:
        return parse(value, key.reads, where)
    except InputError as error:
        if key.name == "q50" and str(value).endswith("1/h"):
            raise InputError(f"{error.message}; {value!r} is an air change: n50, with volume and area", where) from None
        raise


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
        hint = "name the layer, as it is called" if where.endswith(", layer") else "write it in quotes"
        raise InputError(f"{value!r} is no text; {hint}", where)
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
        raise InputError(f"{given!r} is no date that exists; write it as 2022-01-15 or as '2022-01-15 06:00'", where)
    return np.datetime64(value, "s")


def direction(value: Any, where: str) -> float:
    """Read a point of the compass or an azimuth [degree], clockwise from north."""
    if isinstance(value, str):
        point = re.sub(r"[\s-]", "", value.casefold())
        if point in _POINTS:
            return _POINTS[point]
        if re.match(r"\s*[-+.\d]", value):
            return parse(value, "angle", where) % 360.0
    raise InputError(f"{value!r} is no direction; write 'north', 'south-west' or '225 deg'", where)


def _years(value: Any, where: str) -> tuple[int, int]:
    """Read one calendar year or two, 2014 or '2012 to 2016'."""
    match = re.fullmatch(r"\s*(\d{4})(?:\s*(?:to|-)\s*(\d{4}))?\s*", str(value))
    if isinstance(value, bool) or match is None:
        raise InputError(f"{value!r} is no year; write 2014 or '2012 to 2016'", where)
    first, last = int(match[1]), int(match[2] or match[1])
    if last < first:
        raise InputError(f"{value!r}: the last year comes before the first", where)
    return first, last


def _share(value: Any, where: str) -> float:
    """Read a fraction of something; whoever writes 1 means a hundredth, or all of it."""
    if type(value) is int and value == 1:
        raise InputError("1 is all of it; write '1 %' or '100 %'", where)
    return parse(value, "fraction", where)


def _points(value: Any, where: str) -> tuple[tuple[np.datetime64, float], ...]:
    """Read dates and air flows, [[2022-01-01, '1e-4 kg/(m2 s)']]."""
    if not isinstance(value, list) or not all(isinstance(v, list) and len(v) == 2 for v in value):
        raise InputError(f"{value!r} is no list of pairs; write [[2022-01-01, '1e-4 kg/(m2 s)']]", where)
    return tuple((_date(t, where), parse(g, "moisture_flux", where)) for t, g in value)


_READERS: dict[str, Callable[[Any, str], Any]] = {
    "text": _text,
    "texts": _texts,
    "number": _number,
    "count": _count,
    "yes or no": _flag,
    "date": _date,
    "direction": direction,
    "years": _years,
    "points": _points,
    "as given": lambda value, where: value,
    "share": _share,
}


def write_value(value: Any, key: Key) -> str:
    """Return a value as it stands in the file; `read_value` gives the same value back."""
    if key.reads in ("text", "texts") or key.reads.startswith("one of "):
        return f"[{', '.join(quoted(v) for v in value)}]" if key.reads == "texts" else quoted(value)
    if key.reads == "yes or no":
        return "true" if value else "false"
    if key.reads in ("number", "count"):
        return repr(int(value) if float(value).is_integer() and abs(value) < 1e15 else float(value))
    if key.reads == "date":
        return _write_date(value)
    if key.reads == "direction":
        names = {degree: name for name, degree in _POINTS.items() if len(name) > 3}
        return json.dumps(names.get(value) or f"{float(value)!r} deg")
    if key.reads == "points":
        pairs = (f"[{_write_date(t)}, {_with_unit(g, 'moisture_flux')}]" for t, g in value)
        return f"[{', '.join(pairs)}]"
    return _with_unit(value, "fraction" if key.reads == "share" else key.reads)


def stated(thing: Any, section: str) -> dict[str, Any]:
    """Return the keys of a section that state a dataclass, where it differs from its defaults."""
    out = {}
    for f in dataclasses.fields(thing):
        default = f.default if f.default_factory is dataclasses.MISSING else f.default_factory()
        value = getattr(thing, f.name)
        keys = [k for k in SECTIONS[section].values() if FIELDS.get(k.name, k.name) == f.name]
        if keys and value is not None and (keys[0].needed or value != default):
            out[keys[0].name] = value
    return out


def write_section(header: str, values: dict[str, Any], section: str) -> str:
    """Return one section as text.

    Parameters
    ----------
    header : str
        Its first line, such as '[inside]' or '[[layer]]'.
    values : dict
        SI values by key.
    section : str
        Its name in `SECTIONS`, with the model where it has one.
    """
    keys = SECTIONS.get(section.partition(" ")[0], {}) | SECTIONS[section]
    lines = [f"{name} = {write_value(value, keys[name])}" for name, value in values.items()]
    return "\n".join([header, *lines]) if header else "\n".join(lines)


def _write_date(value: np.datetime64) -> str:
    text = str(value.astype("datetime64[s]"))
    return text.removesuffix("T00:00:00")


def _with_unit(value: float, name: str) -> str:
    """Return an SI value in the unit people read, as short as reads back the same."""
    value = float(value)
    if quantity(name).unit == "1":
        return repr(value)
    label = unit_label(name)
    for digits in (3, 6, 9, 12, 15):
        text = f"{float(convert(value, name)):.{digits}g} {label}"
        if parse(text, name) == value:
            return json.dumps(text)
    return json.dumps(f"{value!r} {quantity(name).unit}")


def explain_toml(path: Path, error: Exception, text: str | None = None) -> InputError:
    """Turn an error of the TOML reader into one that says what a builder would mend; `text`: that of no file."""
    match = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
    if not match:
        return InputError(f"is no valid TOML: {error}", str(path))
    text = path.read_text(encoding="utf-8", errors="replace") if text is None else text
    lines = text.splitlines()
    number = min(int(match[1]), len(lines))
    line = lines[number - 1].split("#")[0].strip() if lines else ""
    where = f"{path}, line {number}"
    key, _, value = (part.strip() for part in line.partition("="))
    if re.fullmatch(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d", value):
        return InputError(f"a time needs seconds or quotes: {key} = {value}:00", where)
    if quoted := re.fullmatch("[\u201c\u201d\u201e\u00ab\u00bb](.*)[\u201c\u201d\u00ab\u00bb]", value):
        return InputError(f'quotes must be straight: {key} = "{quoted[1]}"', where)
    if re.fullmatch(r"\d\d?[./]\d\d?[./]\d{4}", value):
        return InputError(f"{value} is no date as it is written here; write year-month-day, such as 2022-01-15", where)
    if (head := re.fullmatch(r"\[(\w+)\]", line)) and "twice" in str(error):
        several = f"; of several each begins with [[{head[1]}]]" if head[1] in (*LISTS, "variant") else ""
        return InputError(f"[{head[1]}] is there twice{several}", where)
    if re.fullmatch(r"\d{4}-\d\d?-\d\d?([T ].*)?", value):
        return InputError(f"{value} is no date that exists; write it as 2022-01-15", where)
    if key and value and not re.match(r"[\"'\[{]|\d{4}-", value) and re.search(r"[A-Za-z%]", value):
        return InputError(f'text and values with a unit stand in quotes: {key} = "{value}"', where)
    what = str(error)[: match.start()].strip()
    return InputError(f"is no valid TOML: {what[:1].lower()}{what[1:]}: {line[:60]}", where)
