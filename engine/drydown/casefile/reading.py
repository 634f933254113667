"""The case file: a wall, its climate and what happens to it, in TOML; read into a `Case`.

The keys are those of `drydown.casefile.schema`. Layers are listed from outside to inside; every value
states its unit; file names are seen from the case file; times are local standard time of the climate.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..case.assembly import Assembly
from ..case.case import Case, Initial, Numerics
from ..criteria.limits import parse_limits
from ..errors import InputError, nearest, renamed
from ..toml import read_toml
from .inside import read_inside
from .layers import own_entries, read_layers
from .loads import read_load, read_profile, read_wetting
from .outside import read_outside
from .schema import CATALOGUE, FILES, LISTS, MOST, ONCE, OTHERS, RENAMED, SECTIONS
from .schema import loads as kinds_of_load
from .values import explain_toml, read_section, within

Given = dict[str, Any]

#: Longest period that is taken for meant.
LONGEST = np.timedelta64(73050, "D")


@dataclass(frozen=True)
class CaseFile:
    """A case file that was read once: its sections, its case and its limits.

    Parameters
    ----------
    path : Path
    document : dict
        Its sections as TOML gives them.
    case : Case
    limits : dict of str to float
        Limits of criteria that it sets, in SI.
    """

    path: Path
    document: Given
    case: Case
    limits: dict[str, float]

    @property
    def files(self) -> list[tuple[str, Path]]:
        """The case file and what it names: in words, and where."""
        return files_of(self.document, self.path)


def read_file(path: str | Path) -> CaseFile:
    """Read a case file with all that stands in it but its variants.

    Raises
    ------
    InputError
        As `read_case`; also a limit that no criterion has.
    """
    path = Path(path)
    data = load(path)
    return CaseFile(path, data, case_of(data, path), limits_of(data, path))


def limits_of(data: Given, path: Path) -> dict[str, float]:
    """Return the limits that the sections of a case file set, by name, in SI."""
    return parse_limits(data.get("limits", {}), f"{path}, limits")


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
    for name in LISTS:
        _tables(data, name, file)
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
    profile = read_profile(_tables(data, "profile", file), given["start"], file)
    with within(f"{file}, start"):
        initial = Initial(**given["start"], layers=humidity, profile=profile)
    with within(file):
        numerics = Numerics(**given["numerics"])
        return Case(
            assembly, outside, inside, start, end, wettings, initial, numerics=numerics, name=title, loads=loads
        )


def load(path: Path) -> Given:
    """Return the sections of a case file as TOML gives them.

    Raises
    ------
    InputError
        There is no such file, or it cannot be read as TOML within the bounds of `drydown.toml`.
    """
    if path.is_dir():
        raise InputError("is a folder; name the case file in it", str(path))
    if not path.exists() and not path.is_symlink():
        names = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        hint = nearest(path.name, names) if names else "`drydown new` writes one to start from"
        raise InputError(f"there is no such case file; {hint}", str(path))
    return _named_today(read_toml(path, explain_toml), str(path))


def _named_today(data: Given, file: str) -> Given:
    """Return the sections with today's names of their keys, so that paths find them."""
    for section, names in RENAMED.items():
        given = data.get(section)
        if isinstance(given, dict):
            data[section] = renamed(given, names, f"{file}, {section}")
        elif isinstance(given, list):
            data[section] = [
                renamed(t, names, f"{file}, {section} {i}") if isinstance(t, dict) else t
                for i, t in enumerate(given, 1)
            ]
    return data


def files_of(data: Given, path: Path) -> list[tuple[str, Path]]:
    """Return the case file and the files that it names: what each is, in words, and where.

    Every file counts whose key the schema calls a file, so that a new one is not forgotten.
    """
    out = [("the case file", path)]
    for section, tables in data.items():
        for table in tables if isinstance(tables, list) else [tables]:
            if isinstance(table, dict) and section in ONCE:
                for key in FILES:
                    if isinstance(name := table.get(key), str) and name:
                        out.append((f"the file of [{section}]", path.parent / name))
    listed = data.get("catalogues", ())
    for name in listed if isinstance(listed, list) else [listed]:
        if isinstance(name, str) and name:
            out.append(("a catalogue of the case", path.parent / name))
    return out


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
    if len(tables) > MOST:
        raise InputError(f"there are {len(tables)} of them; at most {MOST} can be run", f"{file}, {name}")
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
