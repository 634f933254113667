"""All limits by name, and the reading of them as a person writes them in the section `[limits]` of a case file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..errors import InputError, nearest, need, need_number
from ..materials.model import Source
from ..quantities import QUANTITIES
from .model import Limit, check_names

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

#: Drying reserve asked for a roof [kg/m2 a], and the tilt [degree] below which a surface is one: ISO 6946 counts heat
#: within 30 degrees of the level as flowing sideways, as through a wall.
ROOF_RESERVE, ROOF_TILT = 0.25, 60.0


def reserve_asked_for(tilt: float | None) -> float:
    """Drying reserve that a part should have [kg/m2 a] by the tilt of its outer surface [degree], as of a wall if None.

    Notes
    -----
    0.25 for roofs, 0.10 for walls and ceilings. Source: DIN 68800-2 (from memory; the former as quoted in
    Bauphysik-Kalender 2022).
    """
    return ROOF_RESERVE if tilt is not None and tilt < ROOF_TILT else RESERVE[0].value


def known_limits() -> dict[str, Limit]:
    """Return every limit by name: of the criteria that are installed, and of the drying reserve."""
    from ..plugins import criteria

    of_criteria = [limit for criterion in criteria().entries().values() for limit in criterion.limits]
    return {limit.name: limit for limit in (*of_criteria, *RESERVE)}


#: What a limit of a quantity may be: least, most, unit. A share beyond is a slip of percent, a temperature one of degC.
RANGES: dict[str, tuple[float, float, str]] = {
    "fraction": (0.0, 1.0, ""),
    "humidity": (0.0, 1.0, ""),
    "moisture_content": (0.0, 3.0, ""),
    "temperature": (200.0, 400.0, " K"),
    "water_mass": (0.0, 1000.0, " kg/m2"),
    "time": (0.0, 100.0 * 366.0 * 86400.0, " s"),
}


def check_limit(limit: Limit, value: Any, where: str) -> None:
    """Raise InputError where a value [SI] cannot be the limit of its quantity."""
    need_number(value, "it", where, QUANTITIES[limit.quantity].unit if limit.quantity in QUANTITIES else "")
    low, high, unit = RANGES.get(limit.quantity, (0.0, np.inf, ""))
    if low <= value <= high and np.isfinite(value):
        return
    share = limit.quantity in ("fraction", "humidity", "moisture_content") and low <= 0.01 * value <= high
    hint = f"; {value:g} % is written {0.01 * value:g}" if share else ""
    if limit.quantity == "temperature" and -90.0 < value < 130.0:
        hint = f"; {value:g} degC is {value + 273.15:g} K"
    most = "below infinity" if high == np.inf else f"to {high:g}{unit}"
    raise InputError(f"it is {value:g}{unit}; a value from {low:g} {most} is needed{hint}", where)


def check_limits(limits: Any) -> None:
    """Raise InputError where limits by name [SI] name none, or cannot be.

    Parameters
    ----------
    limits : mapping of str to float
    """
    need(limits, Mapping, "it", "a mapping of names to values, such as {'mould_index': 2.0},", "limits")
    known = known_limits()
    check_names(limits, list(known))
    for name, value in limits.items():
        check_limit(known[name], value, f"limit '{name}'")


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
        check_limit(limit, out[name], at)
    return out
