"""Every value of a case file put out of joint, one at a time."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Iterator
from typing import Any

Place = tuple[Any, ...]
ODD = (
    None,
    3,
    -1.5,
    True,
    "",
    "nan",
    [],
    ["a"],
    [["a", "b"]],
    [{"a": 1}],
    {},
    {"a": 1},
    datetime.date(2022, 1, 1),
    datetime.time(3),
    float("nan"),
    10**30,
    "1e400 mm",
    "-5 degC",
    "1 mm",
)


def places(data: Any, place: Place = ()) -> Iterator[Place]:
    """Yield the way to every value of nested tables and lists."""
    if place:
        yield place
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        yield from places(value, (*place, key))


def spoilt(base: dict[str, Any], ways: list[Place]) -> Iterator[tuple[Place, Any, dict[str, Any]]]:
    """Yield place, odd value and the data with that value there (taken away for None)."""
    for place in ways:
        for odd in ODD:
            data = copy.deepcopy(base)
            table = data
            for key in place[:-1]:
                table = table[key]
            if odd is None:
                del table[place[-1]]
            else:
                table[place[-1]] = odd
            yield place, odd, data
