"""Places in a case file by dotted path: ``inside.humidity``, ``layer.OSB.thickness``, ``wetting.1.date``.

The parts of a path are the keys of the file. One entry of a list is named by its name, its material or its film,
or by its number, counted from 1 as the messages about case files do. A part with a dot in it stands in quotes:
``layer."polyamide film 0.05 mm".film``.
"""

from __future__ import annotations

import re
from typing import Any

from ..errors import InputError, nearest

Document = dict[str, Any]
Place = tuple[str | int, ...]
_PART = re.compile(r"\s*(?:\"([^\"]*)\"|'([^']*)'|([^.\"']+?))\s*(\.|$)")
#: What names an entry of a list, in this order.
_NAMES = ("name", "material", "film", "layer")


def parts_of(path: str, where: str = "") -> tuple[str, ...]:
    """Return the parts of a dotted path.

    Raises
    ------
    InputError
        If it is empty or a quote is open.
    """
    parts: list[str] = []
    at = 0
    while at < len(path) or not parts:
        match = _PART.match(path, at)
        if match is None:
            raise InputError(f"'{path}' is no path; write it as inside.humidity or layer.\"a b\".thickness", where)
        parts.append(next(g for g in match.groups()[:3] if g is not None))
        at = match.end()
        if match[4] == "." and at == len(path):
            raise InputError(f"'{path}' ends with a dot; a key must follow", where)
    return tuple(parts)


def _number(items: list[Any], part: str, kind: str, where: str) -> int:
    """Return the position of the entry of a list that a part of a path names."""
    if part.isdigit():
        if not 1 <= int(part) <= len(items):
            have = f"there are {len(items)}, counted from 1" if items else "there is none"
            raise InputError(f"there is no {kind} {part}; {have}", where)
        return int(part) - 1
    for key in _NAMES:
        found = [i for i, item in enumerate(items) if item.get(key) == part]
        if len(found) == 1:
            return found[0]
        if found:
            numbers = " and ".join(str(i + 1) for i in found)
            raise InputError(f"{kind}s {numbers} are all '{part}'; use the number, as {kind}.{found[0] + 1}", where)
    known = [str(item[k]) for item in items for k in _NAMES if k in item]
    raise InputError(f"no {kind} is called '{part}'; {nearest(part, known)}", where)


def resolve(document: Document, path: str, where: str = "") -> Place:
    """Return the place in a case file that a dotted path names.

    Parameters
    ----------
    document : dict
        Sections of a case file.
    path : str
    where : str
        For errors.

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
    if len(parts) == 1 and parts[0] not in document:
        raise InputError(f"'{path}' is only a section; name a key in it, as inside.humidity", where)
    here: Any = document
    place: list[str | int] = []
    for i, part in enumerate(parts):
        last = i == len(parts) - 1
        if isinstance(here, list):
            number = _number(here, part, parts[i - 1], where)
            place.append(number)
            here = here[number]
            continue
        if not isinstance(here, dict):
            raise InputError(f"'{parts[i - 1]}' is a value and holds nothing", where)
        place.append(part)
        if part not in here and not last and i > 0:
            raise InputError(f"'{part}' is not there; {nearest(part, here)}", where)
        here = here.get(part, None if last else {})
    if isinstance(here, dict) or (isinstance(here, list) and here and isinstance(here[0], dict)):
        raise InputError(f"'{path}' holds several keys; name one of them, as {path}.thickness", where)
    return tuple(place)


def put(document: Document, place: Place, value: Any) -> None:
    """Set the value at a place; the document is changed."""
    here: Any = document
    for key in place[:-1]:
        here = here[key] if isinstance(key, int) else here.setdefault(key, {})
    here[place[-1]] = value
