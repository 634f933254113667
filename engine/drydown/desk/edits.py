"""Changes of the case on the desk: each makes a new document of an old one, and says in words what it did."""

from __future__ import annotations

import re
from copy import deepcopy
from pathlib import PurePath
from typing import Any

from ..casefile.paths import parts_of, position, put, resolve
from ..casefile.schema import FILES, LISTS, MOST, ONCE
from ..errors import InputError, nearest
from ..materials.kinds import kind_of
from ..materials.model import Material
from ..plugins import materials
from ..toml import GREATEST
from .document import Document, name_of, rename

#: Usual thicknesses by kind, taken where none is said. Source: common practice.
USUAL = {
    "air": "25 mm", "cement": "12.5 mm", "foam": "60 mm", "fibre": "140 mm", "panel": "12 mm", "wood": "20 mm",
    "concrete": "150 mm", "masonry": "115 mm", "plaster": "15 mm", "board": "12.5 mm", "metal": "0.6 mm",
    "ground": "150 mm", "other": "20 mm",
}  # fmt: skip
#: Deepest nesting of `many`, and most changes in one.
MANY = 200


def changed(document: Document, edit: Any) -> tuple[Document, str]:
    """Return a document with one change, and what was changed, in words.

    Parameters
    ----------
    document : dict
        It stays as it is.
    edit : dict
        `op` and, by what it is, `at`, `value`, `to`, `edits`.

    Raises
    ------
    InputError
        The change cannot be read, or its place is not there.
    """
    out = deepcopy(document)
    return out, _apply(out, edit, whole=True)


def _apply(document: Document, edit: Any, whole: bool) -> str:
    if not isinstance(edit, dict):
        raise InputError("an edit is a table with op, at and value", "edit")
    op = edit.get("op")
    if op == "many" and whole:
        edits = edit.get("edits")
        if not isinstance(edits, list) or not 0 < len(edits) <= MANY:
            raise InputError(f"edits holds one to {MANY} changes", "edit")
        words = [_apply(document, one, whole=False) for one in edits]
        return words[0] if len(words) == 1 else f"{words[0]} and more"
    known = {"set": _set, "insert": _insert, "remove": _remove, "move": _move}
    if op not in known:
        raise InputError(f"op is {op!r}; {nearest(str(op), (*known, 'many', 'ask', 'new'))}", "edit")
    at = edit.get("at")
    if not isinstance(at, str):
        raise InputError("at is missing: a place such as layer.3.thickness", "edit")
    return known[op](document, at, edit)


def _set(document: Document, at: str, edit: Document) -> str:
    value = edit.get("value")
    _check_value(value, at)
    if at in ONCE:
        if value is None:
            document.pop(at, None)
        elif isinstance(value, dict):
            document[at] = value
        else:
            raise InputError("a whole section is a table of keys", at)
        return at
    where = resolve(document, at, "", whole=True)
    if value is None:
        _drop(document, where, at)
    elif isinstance(where[-1], int):
        if not isinstance(value, dict):
            raise InputError("a whole entry is a table of keys", at)
        old = document[str(where[0])][where[-1]]
        document[str(where[0])][where[-1]] = value
        if where[0] == "layer":
            _settle(document, where[-1], name_of(old))
    else:
        old_name = name_of(document["layer"][where[1]]) if where[0] == "layer" and isinstance(where[1], int) else ""
        put(document, where, value)
        if old_name and isinstance(where[1], int):
            if where[-1] in ("material", "film"):
                _as_it_is(document, where[1], str(where[-1]))
            _settle(document, where[1], old_name)
    return _said(document, where)


def _drop(document: Document, where: tuple[str | int, ...], at: str) -> None:
    """Take a key away; a section that it leaves empty goes too, where the file may do without it."""
    here: Any = document
    for key in where[:-1]:
        here = here[key] if isinstance(key, int) else here.get(key, {})
    if isinstance(where[-1], int):
        raise InputError("a whole entry is taken away by remove", at)
    here.pop(where[-1], None)
    if len(where) == 2 and where[0] in ("start", "numerics") and not here:
        document.pop(str(where[0]), None)


def _insert(document: Document, at: str, edit: Document) -> str:
    section, *names = parts_of(at, "at")
    value = edit.get("value")
    if section not in (*LISTS, "variant") or not isinstance(value, dict):
        raise InputError("insert takes a place in a list, such as layer.3, and a table of keys", at)
    _check_value(value, at)
    entries = document.setdefault(section, [])
    if len(entries) >= MOST:
        raise InputError(f"there are {len(entries)} of them already; that is the most", at)
    chooser = ".".join(names)
    before = len(entries) if chooser in ("", str(len(entries) + 1)) else position(entries, chooser, section, at)
    entries.insert(before, dict(value))
    if section == "layer":
        if "material" in value and "thickness" not in value:
            entries[before]["thickness"] = usual_thickness(str(value["material"]))
        _own_name(document, before)
        return f"{_short(name_of(entries[before]))} put in"
    return f"{section.replace('_', ' ')} put in"


def _remove(document: Document, at: str, _: Document) -> str:
    where = resolve(document, at, "", whole=True)
    if not isinstance(where[-1], int):
        words = _said(document, where)
        _drop(document, where, at)
        return f"{words} taken away"
    entries = document[str(where[0])]
    gone = entries.pop(where[-1])
    if not entries and where[0] != "layer":
        del document[str(where[0])]
    return f"{_short(name_of(gone)) if where[0] == 'layer' else str(where[0]).replace('_', ' ')} taken out"


def _move(document: Document, at: str, edit: Document) -> str:
    where, to = resolve(document, at, "", whole=True), edit.get("to")
    if len(where) != 2 or not isinstance(where[1], int):
        raise InputError("move takes a place in a list, such as layer.3", at)
    entries = document[str(where[0])]
    if isinstance(to, bool) or not isinstance(to, int) or not 1 <= to <= len(entries):
        raise InputError(f"to is {to!r}; a number from 1 to {len(entries)} is needed", at)
    entry = entries.pop(where[1])
    entries.insert(to - 1, entry)
    return f"{_short(name_of(entry))} moved"


def _as_it_is(document: Document, number: int, kind: str) -> None:
    """Let a layer that was made of something else be what it now is: a thickness where it needs one, no name of old."""
    table = document["layer"][number]
    table.pop("name", None)
    if kind == "film":
        for key in [k for k in table if k not in ("film", "covered")]:
            del table[key]
        return
    table.pop("covered", None)
    # water at the start was that of the material before
    table.pop("start_water", None)
    found = materials().get(str(table["material"]))
    if "thickness" not in table or (isinstance(found, Material) and kind_of(found.tags, found.name) == "air"):
        table["thickness"] = usual_thickness(str(table["material"]))


def usual_thickness(name: str) -> str:
    """Return a usual thickness of a material; an air gap says its own."""
    if match := re.search(r"(\d+(?:\.\d+)?) ?mm", name):
        return f"{match[1]} mm"
    try:
        found = materials().get_entry(name)
    except InputError:
        return USUAL["other"]
    kind = kind_of(found.tags, found.name) if isinstance(found, Material) else "other"
    return USUAL[kind]


def _settle(document: Document, number: int, old: str) -> None:
    """Give a layer a name of its own where another has it, and let what named it follow."""
    _own_name(document, number)
    new = name_of(document["layer"][number])
    if new != old and not any(name_of(t) == old for t in document["layer"]):
        rename(document, old, new)


def _own_name(document: Document, number: int) -> None:
    table = document["layer"][number]
    if "material" not in table:
        return
    others = {called(t).casefold() for i, t in enumerate(document["layer"]) if i != number and "film" not in t}
    name = called(table)
    if name.casefold() in others:
        base = re.sub(r" \d+$", "", name)
        table["name"] = next(n for i in range(2, MOST + 3) if (n := f"{base} {i}").casefold() not in others)


def called(table: Document) -> str:
    """Return the name that a layer has in the case: its own, a word of the trade, else that of its material."""
    if "name" in table:
        return str(table["name"])
    said = str(table.get("material", ""))
    registry = materials()
    if registry.is_word(said):
        return said
    found = registry.get(said)
    return found.name if found is not None else said


def _check_value(value: Any, at: str) -> None:
    """Refuse what no case file holds, and names of files that lead out of the folder of the case."""
    waiting = [(value, at.rpartition(".")[2], 0)]
    while waiting:
        one, key, depth = waiting.pop()
        if depth > 4 or not isinstance(one, str | int | float | bool | dict | list | None):
            raise InputError("a text, a number or a table of them is needed", at)
        if (one is None and depth) or (isinstance(one, int | float) and not abs(one) <= GREATEST):
            raise InputError(f"{one!r} stands in no case file", at)
        if isinstance(one, dict):
            waiting += [(v, str(k), depth + 1) for k, v in one.items()]
        elif isinstance(one, list):
            waiting += [(v, key, depth + 1) for v in one]
        elif isinstance(one, str) and len(one) > 2000:
            raise InputError("a text has at most 2000 letters", at)
        elif isinstance(one, str) and key in (*FILES, "catalogues"):
            check_name(one, at)


def check_name(name: str, at: str) -> None:
    """Raise InputError unless a name is that of a file and nothing of a path."""
    if not name or PurePath(name).name != name or "\\" in name or name.startswith("."):
        raise InputError(f"'{name}' is no plain name of a file; hand the file in, then name it", at)


def _said(document: Document, where: tuple[str | int, ...]) -> str:
    """Return a place in words: thickness of OSB."""
    if len(where) > 1 and isinstance(where[1], int):
        entry = document[str(where[0])][where[1]]
        what = _short(name_of(entry)) if where[0] == "layer" else str(where[0]).replace("_", " ")
        key = str(where[-1]) if len(where) > 2 else ""
        if key in ("material", "film", ""):
            return what
        return f"{key.replace('_', ' ')} of {what}"
    return " ".join(str(w) for w in where).replace("_", " ")


def _short(name: str) -> str:
    return name if len(name) <= 60 else f"{name[:57]}..."
