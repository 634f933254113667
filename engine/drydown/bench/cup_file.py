"""Cup tests from a small file: CSV with one test a row, or TOML with one ``[[test]]`` each.

Both have the same keys; values state their units, or the head of a CSV column does: ``permeance [perm]``.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ..errors import InputError, nearest
from ..quantities import parse
from ..toml import parse_toml, read_text
from .cup import CupTest

#: key -> (field of CupTest, quantity)
KEYS = {
    "cup": ("cup", "humidity"),
    "room": ("room", "humidity"),
    "permeance": ("permeance", "permeance"),
    "uncertainty": ("uncertainty", "fraction"),
    "temperature": ("temperature", "temperature"),
    "air layer": ("air_layer", "length"),
    "surface": ("surface_resistance", "permeance"),
    "corrected": ("corrected", ""),
    "turned": ("turned", ""),
    "name": ("name", ""),
}
_WORDS = {"yes": True, "true": True, "no": False, "false": False}
_EXAMPLE = "begin with a line such as 'cup,room,permeance,uncertainty'"


def read_cup_tests(path: str | Path) -> tuple[CupTest, ...]:
    """Read cup tests from a ``.csv`` or ``.toml`` file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    tuple of CupTest

    Raises
    ------
    InputError
        Naming the file, the line or test, the key, and what would be right.

    Notes
    -----
    Keys: ``cup`` and ``room`` (humidities), ``permeance``, ``uncertainty`` (relative), and where they apply
    ``temperature`` (23 degC where not given), ``air layer`` (thickness), ``surface`` (permeance of the air at the
    outer face), ``corrected`` and ``turned`` (yes or no), ``name``. Lines of a CSV that begin with # are left out.
    """
    path = Path(path)
    text = read_text(path)
    readers = {".csv": _csv_rows, ".toml": _toml_rows}
    if path.suffix.lower() not in readers:
        raise InputError("the name must end in .csv or .toml", str(path))
    tests = tuple(_test(row, where) for where, row in readers[path.suffix.lower()](text, str(path)))
    if not tests:
        raise InputError("there is no test in it", str(path))
    return tests


def _csv_rows(text: str, file: str) -> Iterator[tuple[str, dict[str, Any]]]:
    lines = [(i, line) for i, line in enumerate(text.splitlines(), 1) if line.strip() and line.strip()[0] != "#"]
    if not lines:
        raise InputError(f"it is empty; {_EXAMPLE}", file)
    rows = csv.reader(io.StringIO("\n".join(line for _, line in lines)), skipinitialspace=True)
    head = [cell.partition("[") for cell in next(rows)]
    names = [_key(name.strip(), f"{file}, line {lines[0][0]}") for name, _, _ in head]
    units = [unit.strip(" ]") for _, _, unit in head]
    twice = sorted({n for n in names if names.count(n) > 1})
    if twice:
        raise InputError(f"column '{twice[0]}' is there twice", f"{file}, line {lines[0][0]}")
    for (number, _), row in zip(lines[1:], rows, strict=True):
        where = f"{file}, line {number}"
        if len(row) > len(names):
            raise InputError(f"{len(row)} values for {len(names)} columns", where)
        cells = {
            n: f"{c.strip()} {u}" if u and c.strip() else c.strip() for n, c, u in zip(names, row, units, strict=False)
        }
        yield where, {n: c for n, c in cells.items() if c}


def _toml_rows(text: str, file: str) -> Iterator[tuple[str, dict[str, Any]]]:
    data = parse_toml(text, file)
    tests = data.pop("test", [])
    if data or not isinstance(tests, list) or not all(isinstance(t, dict) for t in tests):
        raise InputError("write [[test]] above the keys of each test, and nothing else", file)
    for i, table in enumerate(tests, 1):
        where = f"{file}, test {i}"
        yield where, {_key(k, where): v for k, v in table.items()}


def _key(name: str, where: str) -> str:
    name = name.replace("_", " ")
    if name not in KEYS:
        raise InputError(f"'{name}' is not known here; {nearest(name, KEYS)}", where)
    return name


def _test(row: dict[str, Any], where: str) -> CupTest:
    for key in ("cup", "room"):
        if key not in row:
            raise InputError(f"'{key}' is missing: the relative humidity in the {key}, such as '50 %'", where)
    fields: dict[str, Any] = {}
    for key, given in row.items():
        name, quantity = KEYS[key]
        at = f"{where}, {key}"
        if quantity:
            value = parse(given, quantity, at)
            if key == "surface":
                if not value > 0.0:
                    raise InputError(f"{given!r}: it must be greater than 0; leave it out for none", at)
                value = 1.0 / value
            fields[name] = value
        elif name == "name":
            fields[name] = str(given)
        else:
            word = str(given).strip().lower()
            if word not in _WORDS:
                raise InputError(f"'{given}'; write yes or no", at)
            fields[name] = _WORDS[word]
    fields.setdefault("name", "")
    try:
        return CupTest(**fields)
    except InputError as error:
        raise InputError(error.message, where) from None
