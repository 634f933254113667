"""Decay of wood: whether rot begins, and how much mass it takes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from .model import Criterion, Limit, Outcome, Severity, Terms, nothing, worst_layer
from .reading import Block, Wall
from .spots import WOOD_DEPTH, depths
from .worst import Told, Worst, grade

VIITANEN = Source("Viitanen et al.", 2010, "Eur. J. Wood Prod. 68, 303-313", "from memory")


class _Decay:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        spots = depths(wall, WOOD_DEPTH)
        wood = np.array([k in ("wood", "panel") for k in wall.kinds])
        self.spots = spots.chosen(spots.of(wood) & spots.sheltered)
        n = len(self.spots.layer)
        self.activation, self.loss = np.zeros(n), np.zeros(n)
        self.worst = Worst(wall, self.spots, np.ones(n, dtype=bool))

    def start(self) -> Array:
        return self.activation.copy()

    def feed(self, block: Block) -> Array:
        from .decay_model import march

        out = np.empty((len(block.hours), len(self.activation)))
        march(
            block.hours,
            block.whole,
            self.spots.temperature(block),
            100.0 * self.spots.humidity(block),
            self.activation,
            self.loss,
            out,
        )
        self.worst.see(block.time[1:], out)
        return out

    def outcome(self) -> Outcome:
        limit = self.limits["decay_activation"]
        if not self.worst.any:
            return nothing("no wood", limit)
        grades = grade(self.limits["decay_watch"], limit)

        def told(i: int, value: float) -> Told:
            # activation ends at 1, and there rot begins
            verdict = "exceeded" if value >= limit else grades(value)
            case = "none" if value <= 0.0 else "way" if value < 1.0 else "rot"
            return verdict, case, {"loss": (min(float(self.loss[i]), 100.0), "number")}

        return worst_layer(self.worst.by_layer(limit, told))


DECAY = Criterion(
    "decay",
    "way to the onset of rot",
    "fraction",
    _Decay,
    (
        Limit("decay_activation", 1.0, "fraction", "share of the way to the onset of rot; 1: it sets in", VIITANEN),
        Limit(
            "decay_watch",
            0.5,
            "fraction",
            "share of the way from which to watch",
            Source("drydown", None, "", "assumed"),
        ),
    ),
    VIITANEN,
    "pine sapwood and brown rot, 95 to 100 % and 0 to 30 degC, mean of the outer 10 mm of wood at each face or of a "
    "thinner board; fungi that bring their own water are not in it",
    "Rot weakens what carries load: wood that was wet for long is to be opened and seen by someone licensed.",
    Terms(
        harm="rot can set in",
        short="rot",
        what="the way to the onset of rot",
        column="to rot",
        cases={
            "no wood": "No layer of wood is out of the weather",
            "none": "No wood is above 95 % and above 0 degC long enough for rot to set in",
            "way": "In {place}, wood goes {value} of the way to the onset of rot, by {when}",
            "rot": "In {place}, rot can set in on {when}; it could take {loss} % of the mass",
        },
    ),
    Severity.ROT,
)
