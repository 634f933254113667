"""All limits by name, and the reading of them as a person writes them in the section `[limits]` of a case file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..errors import InputError, nearest
from ..materials.model import Source
from .model import Limit

DIN_68800 = Source("DIN 68800-2", 2012, "100 g/(m2 a) in walls and ceilings, 250 g/(m2 a) in roofs", "from memory")
#: Limits of the drying reserve, which is found by runs of its own (`drydown.trial.reserve`).
RESERVE = (
    Limit(
        "drying_reserve",
        0.10,
        "water_mass",
        "drying reserve a year that a wall should have; roofs 0.25 kg/m2",
        DIN_68800,
    ),
    Limit(
        "reserve_gain",
        0.01,
        "fraction",
        "share of the yearly amount by which what is left of it may grow from one year to the next",
        Source("drydown", None, "as good as nothing", "assumed"),
    ),
)


def known_limits() -> dict[str, Limit]:
    """Return every limit by name: of the criteria that are installed, and of the drying reserve."""
    from ..plugins import criteria

    of_criteria = [limit for criterion in criteria().entries().values() for limit in criterion.limits]
    return {limit.name: limit for limit in (*of_criteria, *RESERVE)}


def parse_limits(table: Any, where: str) -> dict[str, float]:
    """Read limits by name, in SI.

    Parameters
    ----------
    table : dict
        As TOML gives it: ``{"mould_index": 2, "wood_moisture": "18 %"}``.
    where : str
        For errors.

    Raises
    ------
    InputError
        A name that no criterion has, or a value that cannot be read.
    """
    from ..quantities import parse

    if not isinstance(table, Mapping):
        raise InputError("a section with keys is needed here, such as mould_index = 2", where)
    known = known_limits()
    out = {}
    for name, value in table.items():
        if name not in known:
            raise InputError(f"'{name}' is not known here; {nearest(name, known)}", where)
        limit, at = known[name], f"{where}, {name}"
        if limit.quantity != "number":
            out[name] = parse(value, limit.quantity, at)
        elif isinstance(value, bool) or not isinstance(value, int | float) or not value >= 0.0:
            raise InputError(f"{value!r}: a plain number from 0 on is needed, without quotes and without a unit", at)
        else:
            out[name] = float(value)
    return out
