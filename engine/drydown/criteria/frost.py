"""Frost: how often wet masonry freezes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from ..text import share
from .model import Criterion, Limit, Outcome, nothing
from .reading import Block, Wall
from .worst import Worst, grade

FAGERLUND = Source(
    "Fagerlund", 1977, "critical degree of saturation; concrete some 0.8 to 0.9, clay brick 0.25 to 0.9", "from memory"
)
PRACTICE = Source(
    "drydown", None, "below 0 degC pore water freezes late; 0 and -1 degC are both in use", "common practice"
)


class _Frost:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        cells = len(wall.layer)
        known = np.isfinite(wall.saturation) & (wall.saturation > 0.0)
        judged = wall.of_kind("mineral") & known
        self.saturation = np.where(judged, wall.saturation, np.inf)
        self.frozen = np.zeros(cells, dtype=bool)
        self.count = np.zeros(cells)
        self.worst = Worst(wall, judged)
        self.wettest = Worst(wall, judged)
        self.first = True

    def start(self) -> Array:
        return self.count.copy()

    def feed(self, block: Block) -> Array:
        from .counting import frost_cycles

        freezing = self.limits["frost_freezing"] - 273.15
        t = np.ascontiguousarray(block.temperature, dtype=float)
        saturation = block.water / self.saturation
        if self.first:
            # what is frozen at the start has not frozen in this run
            self.frozen, self.first = t[0] < freezing, False
        out = np.empty((len(block.hours), t.shape[1]))
        frost_cycles(t, saturation, self.limits["frost_saturation"], freezing, 0.0, self.frozen, self.count, out)
        out /= max(self.wall.years, 1.0)
        self.worst.see(block.time[1:], out)
        self.wettest.see(block.time, np.where(t < freezing, saturation, np.nan))
        return out

    def outcome(self) -> Outcome:
        limit = self.limits["frost_cycles"]
        if not np.any(self.worst.judged):
            return nothing("There is no masonry, render or concrete here.", limit)
        verdict = grade(0.0, limit)
        cell = self.worst.cell
        value = float(self.worst.value[cell])
        if value <= 0.0:
            cell = self.wettest.cell if self.wettest.any else cell
            place = self.worst.place(cell)
            words = "Masonry does not freeze"
            if self.wettest.any:
                full = share(float(self.wettest.value[cell]))
                words = f"No masonry freezes while its pores are filled beyond {share(self.limits['frost_saturation'])}"
                words += f"; when it froze they were filled to {full} at most, in {place}"
        else:
            place = self.worst.place(cell)
            level = share(self.limits["frost_saturation"])
            words = f"In {place}, water freezes {value:.0f} times a year with the pores filled beyond {level}"
        return Outcome(value, limit, verdict(value), words + ".", place, None, self.worst.by_layer(verdict))


FROST = Criterion(
    "frost",
    "freezings a year while nearly full",
    "1/a",
    _Frost,
    (
        Limit("frost_saturation", 0.80, "fraction", "share of the pores filled beyond which freezing harms", FAGERLUND),
        Limit("frost_freezing", 272.15, "temperature", "temperature at which the water in the pores freezes", PRACTICE),
        Limit(
            "frost_cycles",
            2.0,
            "number",
            "freezings a year beyond which damage is likely",
            Source("drydown", None, "", "assumed"),
        ),
    ),
    FAGERLUND,
    "brick, stone, render, concrete; the critical saturation is a property of each, and only a test tells it",
    "Pieces that come off fall on people: have it looked at.",
)
