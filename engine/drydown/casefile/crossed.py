"""A set of walls: a case file, its variants, and every combination of what is varied."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from pathlib import Path
from typing import Any, NamedTuple

from ..case.case import Case
from ..errors import InputError
from .indoor_along import take_along
from .reading import case_of, load
from .variants import change

Given = dict[str, Any]
#: Most walls of a set.
MOST_WALLS = 400


class OfSet(NamedTuple):
    """A wall of a set: what tells it from the others, its case, the limits that its file states as they are written."""

    name: str
    case: Case
    limits: Given


def crossed(path: str | Path, vary: Mapping[str, Sequence[Any]]) -> list[OfSet]:
    """Return a case as written and its variants, each in every combination of what is varied.

    A climate that is varied takes the indoor air along that goes with it, as in a variant.

    Parameters
    ----------
    path : str or Path
        Case file.
    vary : mapping of str to sequence
        Paths of the case file, such as ``"climate.name"``, and the values that each takes.

    Raises
    ------
    InputError
        As `read_variants`; also where too many walls come of it.
    """
    path = Path(path)
    data = load(path)
    variants = data.pop("variant", [])
    if not isinstance(variants, list) or not all(isinstance(v, dict) for v in variants):
        raise InputError("write [[variant]], with two brackets, above each one", f"{path}, variant")
    combinations = list(product(*vary.values()))
    number = (1 + len(variants)) * len(combinations)
    if number > MOST_WALLS:
        raise InputError(f"that makes {number} walls; at most {MOST_WALLS} can be run", str(path))
    kept: dict[Any, Any] = {}
    out = []
    for table in ({}, *variants):
        for values in combinations:
            name = ", ".join([*([str(table["name"])] if table.get("name") else []), *map(str, values)])
            where = f"{path}, '{name}'" if name else str(path)
            own = {key: table[key] for key in ("set", "remove", "add") if key in table}
            both = {**own, "set": {**own.get("set", {}), **dict(zip(vary, values, strict=True))}}
            changed, _ = change(data, both, where)
            try:
                changed, _ = take_along(changed, both, path, kept)
                out.append(OfSet(name or path.stem, case_of(changed, path, kept), dict(changed.get("limits", {}))))
            except InputError as error:
                raise InputError(error.message, error.where.replace(str(path), where, 1)) from None
    return out
