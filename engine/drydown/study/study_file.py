"""The study file: a base case, axes, a design and outputs, written in TOML; read into a `Study`."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

import numpy as np

from ..casefile import load
from ..casefile.paths import parts_of
from ..errors import InputError, is_number, nearest
from ..quantities import parse
from ..run.many import DEVICES
from .axes import DISTRIBUTIONS, Axis, Distribution, number_and_unit
from .designs import METHODS, Design, Grid, Listed, Sampled
from .drawn import Drawn, read_drawn
from .functions import FileFunction
from .models import CaseFileModel
from .outputs import KINDS, Output
from .plan import Study

Given = dict[str, Any]
TOP = (
    "title",
    "base",
    "design",
    "samples",
    "seed",
    "outputs",
    "output",
    "axis",
    "correlation",
    "vary",
    "block",
    "device",
)
AXIS = ("name", "path", "paths", "values", "distribution")
OUTPUT = ("of", "name", "layer", "place", "humidity", "above", "criterion", "every")


def read_study(path: str | Path) -> Study:
    """Read a study file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Study

    Raises
    ------
    InputError
        Naming the file, the axis or output, the key, and what would be right.
    """
    path = Path(path)
    file = str(path)
    if not path.is_file():
        names = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        hint = nearest(path.name, names) if names else "`drydown study new` writes one to start from"
        raise InputError(f"there is no such study file; {hint}", file)
    data = load(path)
    _known(data, TOP, file)
    base = _text(data, "base", file, 'the case file that is varied, such as base = "wall.toml"')
    document = load(path.parent / base)
    drawn: dict[str, Drawn] = {}
    axes = tuple(
        _of_draws(table, path.parent, where, drawn) if "posterior" in table else _axis(table, where)
        for where, table in ((f"{file}, axis {i}", table) for i, table in enumerate(_tables(data, "axis", file), 1))
    )
    outputs = _outputs(data, file)
    vary = _vary(data, path)
    try:
        model = CaseFileModel(path.parent / base, document, axes, outputs, vary, drawn)
        return Study(
            axes,
            model,
            _design(data, file, [a.name for a in axes]),
            str(data.get("title", path.stem)),
            _whole(data, "block", file),
            _device(data, file),
        )
    except InputError as error:
        raise (error if error.where.startswith(file) else error.at(file)) from None


def _known(table: Given, keys: tuple[str, ...], where: str) -> None:
    for key in table:
        if key not in keys:
            raise InputError(f"'{key}' is not known here; {nearest(key, keys)}", where)


def _text(table: Given, key: str, where: str, about: str) -> str:
    if key not in table:
        raise InputError(f"'{key}' is missing: {about}", where)
    if not isinstance(table[key], str) or not table[key].strip():
        raise InputError(f"{table[key]!r} is no text; write it in quotes", f"{where}, {key}")
    return str(table[key].strip())


def _whole(table: Given, key: str, where: str) -> int | None:
    value = table.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise InputError(f"{value!r}: a whole number is needed", f"{where}, {key}")
    return value


def _device(data: Given, file: str) -> str:
    word = data.get("device", "cpu")
    if word not in DEVICES:
        raise InputError(f'device is {word!r}; use "cpu" or "cuda"', f"{file}, device")
    return str(word)


def _tables(data: Given, key: str, file: str) -> list[Given]:
    tables = data.get(key, [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise InputError(f"write [[{key}]], with two brackets, above each one", f"{file}, {key}")
    return tables


def _design(data: Given, file: str, names: list[str]) -> Design:
    word = data.get("design", "grid")
    known = ("grid", "list", *METHODS)
    if word not in known:
        raise InputError(f"no design is called {word!r}; {nearest(str(word), known)}", f"{file}, design")
    number, seed = _whole(data, "samples", file), _whole(data, "seed", file)
    if word in ("grid", "list"):
        for key, value in (("samples", number), ("seed", seed)):
            if value is not None:
                raise InputError(f"a {word} takes no {key}; leave it out", f"{file}, {key}")
        if data.get("correlation"):
            raise InputError(f"the axes of a {word} stand as they are written; correlations are for samples", file)
        return Grid() if word == "grid" else Listed()
    if number is None:
        raise InputError(f"'samples' is missing: how many for design = \"{word}\"", file)
    return Sampled(word, number, seed or 0, _correlations(data, file, names))


def _correlations(data: Given, file: str, names: list[str]) -> tuple[tuple[str, str, float], ...]:
    """Return pairs of axes that go together."""
    out = []
    for i, table in enumerate(_tables(data, "correlation", file), 1):
        where = f"{file}, correlation {i}"
        _known(table, ("axes", "value"), where)
        axes: Any = table.get("axes")
        value: Any = table.get("value")
        if not isinstance(axes, list) or len(axes) != 2 or not all(isinstance(a, str) for a in axes):
            raise InputError('it needs the names of two axes, such as axes = ["density", "conductivity"]', where)
        for name in axes:
            if name not in names:
                raise InputError(f"no axis is called '{name}'; {nearest(name, names)}", where)
        if not is_number(value) or not -1.0 < value < 1.0:
            raise InputError(f"value is {value!r}; a number between -1 and 1 is needed", where)
        out.append((axes[0], axes[1], float(value)))
    return tuple(out)


def _vary(data: Given, path: Path) -> FileFunction | None:
    if "vary" not in data:
        return None
    text = _text(data, "vary", str(path), "")
    name, colon, function = text.rpartition(":")
    if not colon or not name.endswith(".py") or not function.isidentifier():
        raise InputError(f"'{text}': write it as \"variants.py:function\"", f"{path}, vary")
    found = FileFunction(str((path.parent / name).resolve()), function)
    try:
        found.look()
    except InputError as error:
        raise error.at(str(path)) from None
    return found


def _axis(table: Given, where: str) -> Axis:
    where = f"{where}, '{table['name']}'" if isinstance(table.get("name"), str) else where
    kind = table.get("distribution")
    parameters = tuple(k.strip("[]") for k in DISTRIBUTIONS.get(kind, ())) if isinstance(kind, str) else ()
    if kind is None:
        for key in table:
            if key in {k.strip("[]") for keys in DISTRIBUTIONS.values() for k in keys}:
                raise InputError(f"'{key}' belongs to a distribution; name it, as distribution = \"uniform\"", where)
    elif kind not in DISTRIBUTIONS:
        raise InputError(f"no distribution is called {kind!r}; {nearest(str(kind), DISTRIBUTIONS)}", where)
    _known(table, (*AXIS, *parameters), where)
    paths = _paths(table, where)
    name = table.get("name") or _name_of(paths, where)
    if not isinstance(name, str):
        raise InputError(f"{name!r} is no text; write it in quotes", f"{where}, name")
    values = table.get("values", [])
    if not isinstance(values, list) or any(isinstance(v, list | dict) for v in values):
        raise InputError('values is a list, such as values = ["50 %", "60 %"]', f"{where}, values")
    try:
        if kind is None:
            return Axis(name, tuple(values), paths=paths)
        given, unit, dates = _parameters({k: table[k] for k in parameters if k in table}, kind, where)
        return Axis(name, tuple(values), Distribution(kind, given), paths, unit, dates)
    except InputError as error:
        raise InputError(error.message, where) from None


def _of_draws(table: Given, folder: Path, where: str, drawn: dict[str, Drawn]) -> Axis:
    """Return the axis of draws from a posterior; the draws are noted under its name."""
    name = table.get("name", "draw")
    if not isinstance(name, str):
        raise InputError(f"{name!r} is no text; write it in quotes", f"{where}, name")
    drawn[name] = read_drawn(table, folder, f"{where}, '{name}'")
    return Axis(name, tuple(range(1, len(drawn[name].z) + 1)))


def _paths(table: Given, where: str) -> tuple[str, ...]:
    if "path" in table and "paths" in table:
        raise InputError("path and paths are both there; give one", where)
    given = table.get("paths", [table["path"]] if "path" in table else [])
    if not isinstance(given, list) or not all(isinstance(p, str) for p in given):
        raise InputError('write it as path = "inside.humidity"', f"{where}, path")
    return tuple(given)


def _name_of(paths: tuple[str, ...], where: str) -> str:
    if not paths:
        raise InputError('it needs a path, such as path = "inside.humidity", or a name that a function takes', where)
    parts = parts_of(paths[0], where)[-2:]
    return re.sub(r"^(?=\d)", "n", re.sub(r"\W+", "_", "_".join(parts)).strip("_"))


def _parameters(given: Given, kind: str, where: str) -> tuple[dict[str, float], str, bool]:
    """Return parameters of a distribution as numbers in one unit, the unit, and whether they are dates."""
    if given and all(isinstance(v, datetime.date) for v in given.values()):
        if kind != "uniform":
            raise InputError('dates are sampled with distribution = "uniform"', where)
        seconds = {k: float(np.datetime64(v, "s").astype(np.int64)) for k, v in given.items()}
        return seconds, "", True
    numbers: dict[str, float] = {}
    units: dict[str, str] = {}
    for key, value in given.items():
        read = number_and_unit(value)
        if read is None:
            raise InputError(f"{value!r} is no number with a unit, such as '40 %'", f"{where}, {key}")
        numbers[key] = read[0]
        if key not in ("a", "b", "shape", "factor"):
            units[key] = read[1]
    if len(set(units.values())) > 1:
        have = ", ".join(f"'{u}' in {k}" for k, u in units.items())
        raise InputError(f"the parameters need one unit; there are {have}", where)
    return numbers, next(iter(units.values()), ""), False


def _outputs(data: Given, file: str) -> tuple[Output, ...]:
    names = data.get("outputs", [])
    if not isinstance(names, list) or not all(isinstance(n, str) for n in names):
        raise InputError('write it as outputs = ["days_to_90_percent_dry", "share_inward"]', f"{file}, outputs")
    out = []
    for name in names:
        try:
            out.append(Output(name))
        except InputError as error:
            raise InputError(error.message, f"{file}, outputs, '{name}'") from None
    for i, table in enumerate(_tables(data, "output", file), 1):
        where = f"{file}, output {i}"
        _known(table, OUTPUT, where)
        kind = _text(table, "of", where, 'what is kept, such as of = "maximum_humidity"')
        if kind in KINDS:
            for key in table:
                if key not in ("of", "name", *KINDS[kind].keys):
                    takes = ", ".join(("name", *KINDS[kind].keys))
                    raise InputError(f"'{kind}' does not take it; it takes {takes}", f"{where}, {key}")
        given = dict(table)
        for key, quantity in (("humidity", "humidity"), ("above", "temperature")):
            if key in given:
                given[key] = parse(given[key], quantity, f"{where}, {key}")
        if "every" in given:
            given["every"] = round(parse(given["every"], "time", f"{where}, every") / 3600.0)
        for key in ("of", "name", "layer", "place", "criterion"):
            if key in given:
                given[key] = _text(given, key, where, "")
        try:
            out.append(Output(**given))
        except InputError as error:
            raise InputError(error.message, where) from None
    if not out:
        raise InputError('no outputs are asked for, such as outputs = ["days_to_90_percent_dry", "share_inward"]', file)
    return tuple(out)
