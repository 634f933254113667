"""The case file: a wall, its climate and what happens to it, in TOML; read into a `Case`, and written from one.

The keys are those of `drydown.casefile.schema`. Layers are listed from outside to inside; every value
states its unit; file names are seen from the case file; times are local standard time of the climate.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np

from ..case.assembly import Assembly
from ..case.case import Case, Initial, Numerics
from ..case.sides import Physics
from ..errors import InputError, nearest
from .inside import read_inside, write_inside
from .layers import own_entries, read_layers, write_layers
from .loads import read_load, read_wetting, write_load, write_wetting
from .outside import read_outside, write_outside
from .schema import CATALOGUE, LISTS, ONCE, SECTIONS
from .schema import loads as kinds_of_load
from .values import explain_toml, read_section, stated, within, write_section

Given = dict[str, Any]

#: Sections that others read: `drydown.criteria.limits`, `drydown.casefile.variants`.
OTHERS = ("limits", "variant")
#: Longest period that is taken for meant.
LONGEST = np.timedelta64(73050, "D")


def read_case(path: str | Path) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Case

    Raises
    ------
    InputError
        Naming the file, the section and the key, and what would be right.
    """
    path = Path(path)
    return case_of(load(path), path)


def case_of(data: Given, path: Path, kept: dict[Any, Any] | None = None) -> Case:
    """Return the case of a file that is loaded already.

    Parameters
    ----------
    data : dict
        What `load` returns, changed or not.
    path : Path
        The file it came from: file names are seen from it, errors name it.
    kept : dict, optional
        Weather and own materials that were read before for this file; what is read now is added. Many
        variants of one file share them through it.

    Raises
    ------
    InputError
        As `read_case`.
    """
    kept = {} if kept is None else kept
    file = str(path)
    for name in data:
        known = (*ONCE, *LISTS, *CATALOGUE, *SECTIONS["case"], *OTHERS)
        if name not in known:
            raise InputError(f"'{name}' is not known here; {nearest(name, known)}", file)
    top = read_section({k: v for k, v in data.items() if k in SECTIONS["case"]}, "case", file)
    given = {name: _section(data, name, file) for name in ONCE}
    start, end = _period(given["period"], f"{file}, period")
    own = own_entries(data, top.get("catalogues", ()), path)
    built = kept.setdefault(("entries", *(repr(data.get(k)) for k in (*CATALOGUE, "catalogues"))), {})
    # holes of a film lead as far as the next layer that holds the air of a side
    airy = [name for name, kind in kinds_of_load().items() if kind.ventilates]
    gaps = [t["layer"] for k in airy for t in _tables(data, k, file) if isinstance(t, dict) and "layer" in t]
    parts, humidity = read_layers(_tables(data, "layer", file), own, file, built, gaps)
    title = top.get("title", path.stem)
    with within(file):
        assembly = Assembly(parts, title)
    wettings = tuple(
        read_wetting(table, f"{file}, wetting {i}", assembly, (start, end))
        for i, table in enumerate(_tables(data, "wetting", file), 1)
    )
    outside = read_outside(given["outside"], given["climate"], path, kept)
    inside = read_inside(given["inside"], path, kept)
    loads = tuple(
        read_load(kind, table, f"{file}, {kind} {i}", assembly, outside)
        for kind in kinds_of_load()
        for i, table in enumerate(_tables(data, kind, file), 1)
    )
    with within(f"{file}, start"):
        initial = Initial(**given["start"], layers=humidity)
    with within(file):
        numerics = Numerics(**given["numerics"])
        return Case(
            assembly, outside, inside, start, end, wettings, initial, numerics=numerics, name=title, loads=loads
        )


def write_case(case: Case, path: str | Path, catalogues: tuple[str, ...] = ()) -> Path:
    """Write a case file that `read_case` reads back as the same case.

    What a file may hold beside its case, [limits] and [[variant]], is not written.

    Parameters
    ----------
    case : Case
    path : str or Path
        Weather and measured indoor air that are not installed are written beside it.
    catalogues : tuple of str
        Catalogue files, seen from the case file, with the materials and films that are not installed.

    Returns
    -------
    Path

    Raises
    ------
    InputError
        Something that a case file cannot state: a material that is in no catalogue, other physics, a side of
        one's own.
    """
    from ..catalogue.file import read_catalogue

    path = Path(path)
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", str(path))
    if case.physics != Physics():
        raise InputError("a case file cannot state physics of your own; keep the default", str(path))
    known: Given = {}
    for name in catalogues:
        known |= read_catalogue(path.parent / name)
    gaps = [layer for load in case.loads if load.ventilates for layer in load.layers]
    head: Given = {"title": case.name} | ({"catalogues": list(catalogues)} if catalogues else {})
    period = {"start": case.start, "end": case.end}
    start, numerics = stated(case.initial, "start"), stated(case.numerics, "numerics")
    with within(str(path)):
        blocks = [
            write_section("", head, "case"),
            *write_outside(case.outside, path),
            *write_inside(case.inside, path),
            write_section("[period]", period, "period"),
            *([write_section("[start]", start, "start")] if start else []),
            *write_layers(case.assembly, case.initial.layers, known, gaps),
            *(write_wetting(w) for w in case.wettings),
            *(write_load(load, case.outside) for load in case.loads),
            *([write_section("[numerics]", numerics, "numerics")] if numerics else []),
        ]
    path.write_text("\n\n".join(blocks) + "\n", encoding="utf-8")
    return path


def load(path: Path) -> Given:
    """Return the sections of a case file as TOML gives them."""
    if path.is_dir():
        raise InputError("is a folder; name the case file in it", str(path))
    if not path.is_file():
        names = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        hint = nearest(path.name, names) if names else "`drydown new` writes one to start from"
        raise InputError(f"there is no such case file; {hint}", str(path))
    try:
        with path.open("rb") as stream:
            return tomllib.load(stream)
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", str(path)) from None
    except UnicodeDecodeError:
        raise InputError("is no UTF-8 text; a case file is plain text in TOML", str(path)) from None
    except tomllib.TOMLDecodeError as error:
        raise explain_toml(path, error) from None


def _section(data: Given, name: str, file: str) -> Given:
    table = data.get(name, {})
    if name == "period" and not table:
        raise InputError("[period] is missing, such as start = 2021-10-01 and years = 2", file)
    if isinstance(table, list):
        raise InputError(f"it stands once, as [{name}], not as [[{name}]]", f"{file}, {name}")
    return read_section(table, name, f"{file}, {name}")


def _tables(data: Given, name: str, file: str) -> list[Given]:
    tables = data.get(name, [])
    if not isinstance(tables, list):
        raise InputError(f"write [[{name}]], with two brackets, above each one", f"{file}, {name}")
    return tables


def _period(given: Given, where: str) -> tuple[np.datetime64, np.datetime64]:
    start: np.datetime64 = given["start"]
    ways = [k for k in ("end", "years", "days") if k in given]
    if len(ways) != 1:
        what = f"{' and '.join(ways)} are both there" if ways else "no end is given"
        raise InputError(f"{what}; give one of end, years and days, such as years = 2", where)
    if "end" in given:
        end = given["end"]
    elif "days" in given:
        end = start + np.timedelta64(given["days"], "D")
    else:
        month = start.astype("datetime64[M]")
        later = (month + np.timedelta64(12 * given["years"], "M")).astype("datetime64[s]")
        end = later + (start - month.astype("datetime64[s]"))
    if not end > start:
        raise InputError(f"{end} is not after the start {start}", f"{where}, {ways[0]}")
    if end - start > LONGEST:
        raise InputError("the period is longer than 200 years; choose a shorter one", f"{where}, {ways[0]}")
    return start, end
