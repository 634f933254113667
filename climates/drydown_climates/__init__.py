"""Synthetic hourly climates for drydown, invented places only."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, partial
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drydown.climate.model import Climate

#: Name of the climate to use where none is asked for.
DEFAULT = "fernmoor"


@lru_cache(maxsize=8)
def _make(name: str) -> Climate:
    from .generator import generate
    from .places import PLACES

    return generate(next(p for p in PLACES if p.name == name))


def catalogue() -> dict[str, Callable[[], Climate]]:
    """Return the climates of this package by name, each made when it is called.

    Returns
    -------
    dict of str to callable
        The callable takes nothing and returns a `drydown.climate.Climate`.
    """
    from .places import PLACES

    return {place.name: partial(_make, place.name) for place in PLACES}
