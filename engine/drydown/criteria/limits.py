"""The section `[limits]` of a case file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..errors import InputError, nearest
from .model import Limit


def known_limits() -> dict[str, Limit]:
    """Return every limit of the criteria that are installed, by name."""
    from ..plugins import criteria

    return {limit.name: limit for criterion in criteria().entries().values() for limit in criterion.limits}


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


def read_limits(path: str | Path) -> dict[str, float]:
    """Return the limits that a case file sets, by name, in SI; empty where it sets none.

    Raises
    ------
    InputError
        As `parse_limits`.
    """
    from ..casefile import load

    table = load(Path(path)).get("limits", {})
    return parse_limits(table, f"{path}, limits")
