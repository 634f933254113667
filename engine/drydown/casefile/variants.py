"""Variants of one case, written in its file as changes to it.

    [[variant]]
    name = "polyethylene inside"
    set = { "layer.6.film" = "polyethylene 0.15 mm" }

    [[variant]]
    name = "no membrane, a thicker board"
    remove = ["layer.6"]
    set = { "layer.gypsum board.thickness" = "15 mm" }

    [[variant]]
    name = "a board outside the frame"
    add = { "layer.4" = { material = "wood fibreboard", thickness = "22 mm" } }

A place is a section and a key (``"outside.orientation"``), or an entry of a list, by its number in the file or by its
name (``"layer.6"``, ``"layer.OSB"``), and a key of it. Numbers are those of the file as it stands, in `set`, `remove`
and `add` alike: what is added comes before the entry that has the number there, or last. A variant with another
climate has the indoor air that goes with it, unless it says what it is like inside.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..case.case import Case
from ..errors import InputError, nearest
from . import case_of, load
from .indoor_along import take_along
from .schema import LISTS, ONCE, SECTIONS

Given = dict[str, Any]
BASE = "as written"


@dataclass(frozen=True)
class Variant:
    """One wall of a comparison: its name, its case, and what was changed, in words."""

    name: str
    case: Case
    changes: tuple[str, ...] = ()


def read_variants(path: str | Path) -> list[Variant]:
    """Return the case of a file as it is written, and its variants, in the order of the file.

    Raises
    ------
    InputError
        As `read_case`; also a place that does not exist, or two variants of one name.
    """
    path = Path(path)
    data = load(path)
    tables = data.pop("variant", [])
    if not isinstance(tables, list):
        raise InputError("write [[variant]], with two brackets, above each one", f"{path}, variant")
    if not tables:
        raise InputError(
            'it has no [[variant]]; write one, such as name = "another film" and '
            'set = { "layer.6.film" = "polyethylene 0.15 mm" }',
            str(path),
        )
    kept: dict[Any, Any] = {}
    found = [Variant(BASE, case_of(data, path, kept))]
    for i, table in enumerate(tables, 1):
        name = table.get("name") if isinstance(table, dict) else None
        if not isinstance(name, str) or not name.strip():
            raise InputError('it needs a name, such as name = "another film"', f"{path}, variant {i}")
        where = f"{path}, variant '{name}'"
        if name in (v.name for v in found):
            raise InputError("two variants have this name; give each its own", where)
        changed, words = change(data, table, where)
        try:
            changed, along = take_along(changed, table, path, kept)
            found.append(Variant(name, case_of(changed, path, kept), (*words, *along)))
        except InputError as error:
            raise InputError(error.message, error.where.replace(str(path), where, 1)) from None
    return found


def change(data: Given, table: Given, where: str) -> tuple[Given, tuple[str, ...]]:
    """Return the sections of a case file with the changes of one variant, and the changes in words.

    Parameters
    ----------
    data : dict
        As `drydown.casefile.load` gives it.
    table : dict
        With `name`, and `set`, `remove`, `add`.
    where : str
        For errors.
    """
    for key in table:
        if key not in ("name", "set", "remove", "add"):
            raise InputError(f"'{key}' is not known here; {nearest(key, ('name', 'set', 'remove', 'add'))}", where)
    out = deepcopy(data)
    words = []
    # entries are found by their place in the file as written, so they are marked before anything moves
    lists = {name: list(out.get(name, [])) for name in LISTS}
    for place, value in _mapping(table.get("set", {}), f"{where}, set").items():
        at = f"{where}, set '{place}'"
        section, chooser, key = _split(place, at)
        if section in ONCE:
            out.setdefault(section, {})[key] = deepcopy(value)
        elif not section:
            out[key] = deepcopy(value)
        else:
            entry = lists[section][_position(lists[section], section, chooser, at)]
            if key:
                entry[key] = deepcopy(value)
                if section == "layer" and key in ("film", "material"):
                    entry.pop("material" if key == "film" else "film", None)
                    if key == "film":
                        entry.pop("thickness", None)
            elif isinstance(value, dict):
                entry.clear()
                entry.update(deepcopy(value))
            else:
                raise InputError("name a key of it too, such as 'layer.6.film', or give a whole entry in { }", at)
        words.append(f"{place} = {_shown(value)}")
    gone: list[tuple[str, int]] = []
    removed = table.get("remove", [])
    if not isinstance(removed, list):
        raise InputError('write it as a list, such as remove = ["layer.6"]', f"{where}, remove")
    for place in removed:
        at = f"{where}, remove '{place}'"
        section, chooser, key = _split(str(place), at)
        if section in LISTS and not key:
            gone.append((section, _position(lists[section], section, chooser, at)))
        elif section in ONCE and key in out.get(section, {}):
            del out[section][key]
        else:
            raise InputError("there is nothing of that name to take away", at)
        words.append(f"without {place}")
    put: dict[tuple[str, int], list[Given]] = {}
    for place, value in _mapping(table.get("add", {}), f"{where}, add").items():
        at = f"{where}, add '{place}'"
        section, chooser, key = (place, "", "") if place in LISTS else _split(place, at)
        if section not in LISTS or key or not isinstance(value, dict):
            raise InputError('write it as add = { "layer.4" = { film = "..." } }', at)
        last = len(lists[section])
        before = last if chooser in ("", str(last + 1)) else _position(lists[section], section, chooser, at)
        put.setdefault((section, before), []).append(deepcopy(value))
        words.append(f"with {', '.join(str(v) for v in value.values())} at {place}")
    for name, entries in lists.items():
        new: list[Given] = []
        for i in range(len(entries) + 1):
            new += put.get((name, i), [])
            if i < len(entries) and (name, i) not in gone:
                new.append(entries[i])
        if new or name in out:
            out[name] = new
    return out, tuple(words)


def _mapping(value: Any, where: str) -> Given:
    if not isinstance(value, dict):
        raise InputError('write it as { "layer.6.film" = "..." }', where)
    return value


def _shown(value: Any) -> str:
    return ", ".join(str(v) for v in value.values()) if isinstance(value, dict) else str(value)


def _split(place: str, where: str) -> tuple[str, str, str]:
    """Return section, entry and key of a place; the name of an entry may hold dots."""
    section, dot, rest = place.partition(".")
    if not dot and section in SECTIONS["case"]:
        return "", "", section
    if section in ONCE and rest:
        return section, "", rest
    if section not in LISTS or not rest:
        known = (*ONCE, *LISTS)
        hint = f"; {nearest(section, known)}" if section not in known else ""
        raise InputError(f"a place is a section and what is in it, such as 'layer.6.film'{hint}", where)
    chooser, _, key = rest.rpartition(".")
    if chooser and key in SECTIONS[section]:
        return section, chooser, key
    return section, rest, ""


def _position(entries: Sequence[Given], section: str, chooser: str, where: str) -> int:
    """Return the position of an entry, by its number from 1 or by its name."""
    if chooser.isdigit():
        if not 1 <= int(chooser) <= len(entries):
            raise InputError(f"there is no {section} {chooser}; the file has {len(entries)}", where)
        return int(chooser) - 1
    names = [_names(e) for e in entries]
    hits = [i for i, known in enumerate(names) if chooser.casefold() in known]
    if len(hits) > 1:
        numbers = " and ".join(str(i + 1) for i in hits)
        raise InputError(f"'{chooser}' is {section} {numbers}; say which by its number", where)
    if not hits:
        every = sorted({n for known in names for n in known})
        raise InputError(f"no {section} is called '{chooser}'; {nearest(chooser.casefold(), every)}", where)
    return hits[0]


def _names(entry: Given) -> set[str]:
    keys = ("name", "material", "film", "layer")
    return {str(entry[k]).casefold() for k in keys if k in entry} if isinstance(entry, dict) else set()
