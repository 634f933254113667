"""Places in a case file by dotted path: ``inside.humidity``, ``layer.OSB.thickness``, ``wetting.1.date``.

The one dialect of variants, of the axes of studies and of whoever else names a place. The parts of a path are the
keys of the file. One entry of a list is named by its name, its material, its film or its layer, in small or capital
letters alike, or by its number, counted from 1 as the messages about case files do. A part may stand in quotes:
``layer."polyamide film 0.05 mm".film``; without them a name with dots in it is found as well.
"""

from __future__ import annotations

import re
from typing import Any

from ..catalogue.like import RENAMED as RENAMED_ENTRIES
from ..errors import InputError, nearest, renamed
from .schema import CATALOGUE, LISTS, ONCE, OTHERS, RENAMED, SECTIONS

Document = dict[str, Any]
Place = tuple[str | int, ...]
_PART = re.compile(r"\s*(?:\"([^\"]*)\"|'([^']*)'|([^.\"']+?))\s*(\.|$)")
#: What names an entry of a list, in this order.
_NAMES = ("name", "material", "film", "layer")
#: Longest path, in letters.
LONGEST = 400


def parts_of(path: str, where: str = "") -> tuple[str, ...]:
    """Return the parts of a dotted path.

    Raises
    ------
    InputError
        If it is empty, very long, or a quote is open.
    """
    parts: list[str] = []
    at = 0
    if len(path) > LONGEST:
        raise InputError(f"'{path[:20]}...' is no path; one has at most {LONGEST} letters", where)
    while at < len(path) or not parts:
        match = _PART.match(path, at)
        if match is None:
            raise InputError(f"'{path}' is no path; write it as inside.humidity or layer.\"a b\".thickness", where)
        parts.append(next(g for g in match.groups()[:3] if g is not None))
        at = match.end()
        if match[4] == "." and at == len(path):
            raise InputError(f"'{path}' ends with a dot; a key must follow", where)
    return tuple(parts)


def position(items: list[Any], part: str, kind: str, where: str) -> int:
    """Return the position of the entry of a list that a part of a path names, from 0.

    Raises
    ------
    InputError
        If there is none, or several.
    """
    found = _found(items, part)
    if len(found) == 1:
        return found[0]
    if found:
        numbers = " and ".join(str(i + 1) for i in found)
        raise InputError(f"{kind}s {numbers} are all '{part}'; use the number, as {kind}.{found[0] + 1}", where)
    if part.isdecimal():
        have = f"there are {len(items)}, counted from 1" if items else "there is none"
        raise InputError(f"there is no {kind} {part}; {have}", where)
    known = sorted({str(item[k]) for item in items if isinstance(item, dict) for k in _NAMES if k in item})
    raise InputError(f"no {kind} is called '{part}'; {nearest(part, known)}", where)


def _found(items: list[Any], part: str) -> list[int]:
    """Return the positions that a part names: by number, by a name as it is written, else by its letters alone."""
    if part.isdecimal() and len(part) < 7:
        return [int(part) - 1] if 1 <= int(part) <= len(items) else []
    tables = [item if isinstance(item, dict) else {} for item in items]
    for alike in (str, str.casefold):
        for key in _NAMES:
            found = [i for i, item in enumerate(tables) if key in item and alike(str(item[key])) == alike(part)]
            if found:
                return found
    return []


def resolve(document: Document, path: str, where: str = "", whole: bool = False) -> Place:
    """Return the place in a case file that a dotted path names.

    Parameters
    ----------
    document : dict
        Sections of a case file.
    path : str
    where : str
        For errors.
    whole : bool
        Whether it may name a whole entry of a list.

    Returns
    -------
    tuple of str and int
        Keys, and positions in lists counted from 0.

    Raises
    ------
    InputError
        If the path leads nowhere. The last key may be new; whether a case file knows it is told when the case
        is read.
    """
    parts = parts_of(path, where)
    section = parts[0]
    known = (*ONCE, *LISTS, *CATALOGUE, *OTHERS, *SECTIONS["case"])
    if section not in known:
        raise InputError(f"'{section}' is no section of a case file; {nearest(section, known)}", where)
    if len(parts) == 1 and section not in SECTIONS["case"]:
        raise InputError(f"'{path}' is only a section; name a key in it, as inside.humidity", where)
    here: Any = document
    place: list[str | int] = []
    at = 0
    while at < len(parts):
        part, before = parts[at], parts[at - 1]
        if isinstance(here, list):
            taken, number = _entry(here, parts[at:], before, where)
            place.append(number)
            here = here[number]
            at += taken
            if not isinstance(here, dict):
                raise InputError(f"'{before}' is a list of values and holds no keys", where)
            continue
        if here is not None and not isinstance(here, dict):
            raise InputError(f"'{before}' is a value and holds nothing", where)
        table: dict[str, Any] = here or {}
        if at > 0 and section in CATALOGUE and section != "source":
            at, part = _longest(table, parts, at)
        if at == len(parts) - 1 and at > 0:
            part = _today(section, part, f"{where}, {path}" if where else path)
        if part not in table and at < len(parts) - 1 and at > 0:
            raise InputError(f"'{part}' is not there; {nearest(part, table)}", where)
        place.append(part)
        here = table.get(part, [] if part in LISTS and at == 0 else None)
        at += 1
    last_is_entry = isinstance(place[-1], int)
    if not (whole and last_is_entry) and (
        isinstance(here, dict) or (isinstance(here, list) and here and isinstance(here[0], dict))
    ):
        raise InputError(f"'{path}' holds several keys; name one of them, as {path}.thickness", where)
    return tuple(place)


def _entry(items: list[Any], parts: tuple[str, ...], kind: str, where: str) -> tuple[int, int]:
    """Return how many parts name an entry of a list, and its position; the longest name that is found counts."""
    for taken in range(len(parts), 1, -1):
        if found := _found(items, ".".join(parts[:taken])):
            if len(found) > 1:
                position(items, ".".join(parts[:taken]), kind, where)
            return taken, found[0]
    try:
        return 1, position(items, parts[0], kind, where)
    except InputError:
        if len(parts) > 2 and not _found(items, parts[0]):
            return 1, position(items, ".".join(parts[:-1]), kind, where)
        raise


def _longest(table: dict[str, Any], parts: tuple[str, ...], at: int) -> tuple[int, str]:
    """Return the last part of the longest name with dots in it that a table has, and that name."""
    for end in range(len(parts), at + 1, -1):
        name = ".".join(parts[at:end])
        if name in table:
            return end - 1, name
    return at, parts[at]


def _today(section: str, key: str, where: str) -> str:
    """Return a key by its name of today, with a word where it was called otherwise."""
    names = RENAMED_ENTRIES if section in CATALOGUE else RENAMED.get(section, {})
    return next(iter(renamed({key: None}, names, where)))


def put(document: Document, place: Place, value: Any) -> None:
    """Set the value at a place; the document is changed.

    A layer whose film is set is a film from then on, and one whose material is set is none any more.
    """
    here: Any = document
    for key in place[:-1]:
        here = here[key] if isinstance(key, int) else here.setdefault(key, {})
    if len(place) == 3 and place[0] == "layer" and place[2] in ("film", "material") and place[2] not in here:
        for other in ("material", "thickness") if place[2] == "film" else ("film",):
            here.pop(other, None)
    here[place[-1]] = value
