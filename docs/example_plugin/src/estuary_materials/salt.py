"""A criterion of damage: how often salt in a face dissolves and crystallises again.

Common salt takes up water from the air above some 75 % relative humidity and crystallises below it; each time its
crystals press on the pores. The limit is invented for the example.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from drydown.criteria import Criterion, Limit, Outcome, Terms
from drydown.criteria.model import worst_layer
from drydown.criteria.spots import faces
from drydown.criteria.worst import Worst, grade
from drydown.materials.model import Source

INVENTED = Source("the authors of this example", 2026, "invented for the example", "demo")
DISSOLVES = Source("handbooks of chemistry", None, "a saturated solution of sodium chloride", "from memory")


class Crystals:
    """Counts at both faces of every layer how often the humidity falls below the limit, a year."""

    def __init__(self, wall: Any, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.spots = faces(wall)
        self.count = np.zeros(len(self.spots.layer))
        self.worst = Worst(wall, self.spots, np.ones(len(self.count), dtype=bool))

    def start(self) -> Any:
        """Return the counts at the first mark."""
        return self.count.copy()

    def feed(self, block: Any) -> Any:
        """Return the counts at the marks of a block but its first."""
        wet = self.spots.humidity(block) > self.limits["salt_humidity"]
        fell = wet[:-1] & ~wet[1:]
        course = self.count + np.cumsum(fell, axis=0)
        self.count = course[-1]
        self.worst.see(block.time[1:], course / max(self.wall.years, 1.0))
        return course / max(self.wall.years, 1.0)

    def outcome(self) -> Outcome:
        """Return what was found."""
        limit = self.limits["salt_cycles"]
        verdict = grade(0.5 * limit, limit)
        return worst_layer(self.worst.by_layer(limit, lambda i, value: (verdict(value), "counted", {})))


SALT = Criterion(
    "salt",
    "salt crystallises, times a year",
    "1/a",
    Crystals,
    (
        Limit("salt_humidity", 0.75, "humidity", "relative humidity above which salt dissolves", DISSOLVES),
        Limit("salt_cycles", 20.0, "number", "times a year that the pores stand it", INVENTED),
    ),
    INVENTED,
    "faces that hold common salt",
    terms=Terms(
        harm="salt crumbles a face",
        short="salt",
        what="the crystals of salt",
        column="salt",
        cases={"counted": "At {place}, salt would crystallise {value} times a year"},
    ),
    severity=25,
)


def criteria() -> Mapping[str, Criterion]:
    """Return the criterion by name."""
    return {"salt": SALT}
