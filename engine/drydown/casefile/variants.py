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

A place is a path (`drydown.casefile.paths`): a section and a key (``"outside.orientation"``), or an entry of a list, by
its number in the file or by its name (``"layer.6"``, ``"layer.OSB"``), and a key of it. Numbers are those of the file
as it stands, in `set`, `remove` and `add` alike: what is added comes before the entry that has the number, or last. A
variant with another climate has the indoor air that goes with it, unless it says what it is like inside.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..case.case import Case
from ..errors import InputError, nearest
from .indoor_along import take_along
from .paths import Place, parts_of, position, put, resolve
from .reading import case_of, load
from .schema import LISTS, MOST

Given = dict[str, Any]
BASE = "as written"


@dataclass(frozen=True)
class Variant:
    """One wall of a comparison: its name, its case, and what was changed, in words.

    Parameters
    ----------
    name : str
    case : Case
    changes : tuple of str
    """

    name: str
    case: Case
    changes: tuple[str, ...] = ()


def read_variants(path: str | Path) -> list[Variant]:
    """Return the case of a file as it is written, and its variants, in the order of the file.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    InputError
        As `read_case`; also a place that does not exist, or two variants of one name.
    """
    path = Path(path)
    return variants_of(load(path), path)


def variants_of(data: Given, path: Path) -> list[Variant]:
    """Return the case of a file that is loaded already, and its variants; see `read_variants`."""
    tables = data.get("variant", [])
    data = {key: value for key, value in data.items() if key != "variant"}
    if not isinstance(tables, list):
        raise InputError("write [[variant]], with two brackets, above each one", f"{path}, variant")
    if not tables:
        raise InputError(
            'it has no [[variant]]; write one, such as name = "another film" and '
            'set = { "layer.6.film" = "polyethylene 0.15 mm" }',
            str(path),
        )
    if len(tables) > MOST:
        raise InputError(f"there are {len(tables)} of them; at most {MOST} can be run", f"{path}, variant")
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
    lists = {name: _tables_in(out, name, where) for name in LISTS}
    for path, value in _mapping(table.get("set", {}), f"{where}, set").items():
        at = f"{where}, set '{path}'"
        place = resolve(data, path, at, whole=True)
        if not isinstance(place[-1], int):
            put(out, place, deepcopy(value))
        elif isinstance(value, dict):
            entry = lists[str(place[0])][place[-1]]
            entry.clear()
            entry.update(deepcopy(value))
        else:
            raise InputError("name a key of it too, such as 'layer.6.film', or give a whole entry in { }", at)
        words.append(f"{path} = {_shown(value)}")
    gone: list[tuple[str, int]] = []
    removed = table.get("remove", [])
    if not isinstance(removed, list):
        raise InputError('write it as a list, such as remove = ["layer.6"]', f"{where}, remove")
    for path in removed:
        at = f"{where}, remove '{path}'"
        place = resolve(data, str(path), at, whole=True)
        if isinstance(place[-1], int):
            gone.append((str(place[0]), place[-1]))
        elif not (isinstance(found := _at(out, place[:-1]), dict) and found.pop(place[-1], None) is not None):
            raise InputError("there is nothing of that name to take away", at)
        words.append(f"without {path}")
    more: dict[tuple[str, int], list[Given]] = {}
    for path, value in _mapping(table.get("add", {}), f"{where}, add").items():
        at = f"{where}, add '{path}'"
        section, *names = parts_of(path, at)
        if section not in LISTS or not isinstance(value, dict):
            raise InputError('write it as add = { "layer.4" = { film = "..." } }', at)
        chooser, last = ".".join(names), len(lists[section])
        before = last if chooser in ("", str(last + 1)) else position(lists[section], chooser, section, at)
        more.setdefault((section, before), []).append(deepcopy(value))
        words.append(f"with {', '.join(str(v) for v in value.values())} at {path}")
    for name, entries in lists.items():
        new: list[Given] = []
        for i in range(len(entries) + 1):
            new += more.get((name, i), [])
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


def _tables_in(data: Given, name: str, where: str) -> list[Given]:
    tables = data.get(name, [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise InputError(f"write [[{name}]], with two brackets, above each one", where)
    return list(tables)


def _at(document: Given, place: Place) -> Any:
    """Return what stands at a place, None where nothing does."""
    here: Any = document
    for key in place:
        here = here[key] if isinstance(key, int) else here.get(key)
        if here is None:
            return None
    return here
