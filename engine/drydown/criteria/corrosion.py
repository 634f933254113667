"""Corrosion of metal in the assembly, by time of wetness."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from .model import Criterion, Limit, Outcome, Severity, Terms, nothing, worst_layer
from .reading import Block, Wall
from .spots import faces
from .worst import Told, Worst, grade

ISO_9223 = Source("ISO 9223", 1992, "time of wetness: above 0 degC and above 80 % relative humidity", "from memory")
CLASSES = Source("ISO 9223", 1992, "classes of time of wetness end at 10, 250, 2500 and 5500 h a year", "from memory")


class _Wetness:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        spots = faces(wall)
        above = spots.of(np.array([k != "ground" for k in wall.kinds]))
        self.spots = spots.chosen(spots.sheltered & above)
        self.total = np.zeros(len(self.spots.layer))
        self.worst = Worst(wall, self.spots, np.ones(len(self.total), dtype=bool))

    def start(self) -> Array:
        return self.total.copy()

    def feed(self, block: Block) -> Array:
        from .counting import wet_hours

        out = np.empty((len(block.hours), len(self.total)))
        wet_hours(
            block.hours,
            block.whole,
            self.spots.temperature(block),
            self.spots.humidity(block),
            self.limits["corrosion_humidity"],
            self.total,
            out,
        )
        out /= self.wall.years
        self.worst.see(block.time[1:], out)
        return out

    def outcome(self) -> Outcome:
        limit = self.limits["corrosion_hours"] / 3600.0
        if self.wall.years < 0.98:
            return nothing("short", limit)
        if not self.worst.any:
            return nothing("all in the weather", limit)
        verdict = grade(self.limits["corrosion_watch"] / 3600.0, limit)

        def told(_: int, value: float) -> Told:
            return verdict(value), "wet", {}

        return worst_layer(self.worst.by_layer(limit, told))


CORROSION = Criterion(
    "corrosion",
    "hours a year that metal would be wet",
    "h/a",
    _Wetness,
    (
        Limit("corrosion_humidity", 0.80, "humidity", "relative humidity above which metal is wet", ISO_9223),
        Limit("corrosion_watch", 250.0 * 3600.0, "time", "wet time a year from which to watch", CLASSES),
        Limit(
            "corrosion_hours", 2500.0 * 3600.0, "time", "wet time a year that asks for better protected metal", CLASSES
        ),
    ),
    ISO_9223,
    "unprotected metal at any face in the assembly, if there is any; salt, acids and treated wood are not in it",
    "Fasteners that carry load are chosen by the codes, not by this number.",
    Terms(
        harm="metal can rust",
        short="rust",
        what="the time that metal is wet",
        cases={
            "short": "The time of wetness is counted over whole years; the run is shorter than one",
            "all in the weather": "No layer is out of the weather",
            "wet": "At {place}, metal would be wet for {value} a year",
        },
    ),
    Severity.WATER,
    screening=True,
)
