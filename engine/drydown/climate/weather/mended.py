"""A `Climate` of raw hourly columns, mended."""

from __future__ import annotations

from typing import Any

from ...errors import InputError
from ..model import Climate
from .repair import RepairPolicy, mend


def mended_climate(
    time: Any,
    columns: dict[str, Any],
    policy: RepairPolicy,
    where: str,
    repairs: tuple[str, ...],
    **about: Any,
) -> Climate:
    """Return a `Climate` of raw columns; `repairs` made before are kept in front."""
    t, good, more = mend(time, columns, policy, where)
    try:
        return Climate(**about, **dict[str, Any](good), time=t, repairs=repairs + more)
    except InputError as e:
        raise e.at(where) from None
