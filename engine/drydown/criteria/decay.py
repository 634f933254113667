"""Decay of wood: whether rot begins, and how much mass it takes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from ..text import day, plain, share
from .model import Criterion, Limit, Outcome, Verdict, nothing
from .reading import Block, Wall
from .worst import Worst, grade

VIITANEN = Source("Viitanen et al.", 2010, "Eur. J. Wood Prod. 68, 303-313", "from memory")


class _Decay:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        cells = len(wall.layer)
        self.activation, self.loss = np.zeros(cells), np.zeros(cells)
        self.worst = Worst(wall, wall.of_kind("wood") & ~wall.skin)

    def start(self) -> Array:
        return self.activation.copy()

    def feed(self, block: Block) -> Array:
        from .decay_model import march

        out = np.empty((len(block.hours), len(self.activation)))
        march(
            block.hours,
            block.whole,
            np.ascontiguousarray(block.temperature, dtype=float),
            100.0 * np.ascontiguousarray(block.humidity, dtype=float),
            self.activation,
            self.loss,
            out,
        )
        self.worst.see(block.time[1:], out)
        return out

    def outcome(self) -> Outcome:
        limit = self.limits["decay_activation"]
        if not self.worst.any:
            return nothing("No layer of wood is out of the weather.", limit)
        grades = grade(self.limits["decay_watch"], limit)

        def verdict(value: float) -> Verdict:
            # activation ends at 1, and there rot begins
            return "exceeded" if value >= limit else grades(value)

        judged = self.worst.judged
        lost = np.where(judged, self.loss, 0.0)
        cell = int(lost.argmax()) if lost.max() > 0.0 else self.worst.cell
        value, when, place = float(self.worst.value[cell]), self.worst.when[cell], self.worst.place(cell)
        if value <= 0.0:
            words = "No wood is above 95 % and above 0 degC long enough for rot to set in"
        elif value < 1.0:
            words = f"In {place}, wood goes {share(value)} of the way to the onset of rot, by {day(when)}"
        else:
            words = f"In {place}, rot can set in on {day(when)}; it could take {plain(lost[cell], 2)} % of the mass"
        return Outcome(value, limit, verdict(value), words + ".", place, when, self.worst.by_layer(verdict))


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
    "pine sapwood and brown rot, 95 to 100 % and 0 to 30 degC; fungi that bring their own water are not in it",
    "Rot weakens what carries load: wood that was wet for long is to be opened and seen by someone licensed.",
)
