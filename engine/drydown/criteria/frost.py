"""Frost: how often wet masonry freezes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from ..text import plain
from .model import Criterion, Limit, Outcome, Severity, Terms, nothing, worst_layer
from .reading import Block, Wall
from .spots import FROST_DEPTH, slices
from .worst import Told, Worst, grade

FAGERLUND = Source(
    "Fagerlund", 1977, "critical degree of saturation; concrete some 0.8 to 0.9, clay brick 0.25 to 0.9", "from memory"
)
PRACTICE = Source(
    "drydown", None, "below 0 degC pore water freezes late; 0 and -1 degC are both in use", "common practice"
)


class _Frost:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        spots = slices(wall, FROST_DEPTH)
        full = spots.read(np.where(np.isfinite(wall.saturation), wall.saturation, 0.0)[None, :])[0]
        mineral = spots.of(np.array([k == "mineral" for k in wall.kinds]))
        self.spots = spots.chosen(mineral & (full > 0.0))
        self.full = full[mineral & (full > 0.0)]
        n = len(self.full)
        self.critical = self.spots.of(
            np.where(np.isfinite(wall.critical), wall.critical, limits["frost_saturation"])
        ).astype(float)
        self.frozen, self.count = np.zeros(n, dtype=bool), np.zeros(n)
        self.worst = Worst(wall, self.spots, np.ones(n, dtype=bool))
        self.wettest = Worst(wall, self.spots, np.ones(n, dtype=bool))
        self.first = True

    def start(self) -> Array:
        return self.count.copy()

    def feed(self, block: Block) -> Array:
        from .counting import frost_cycles

        freezing = self.limits["frost_freezing"] - 273.15
        t = self.spots.temperature(block)
        saturation = self.spots.read(block.water) / self.full
        if self.first:
            # what is frozen at the start has not frozen in this run
            self.frozen, self.first = t[0] < freezing, False
        out = np.empty((len(block.hours), t.shape[1]))
        frost_cycles(t, saturation, self.critical, freezing, 0.0, self.frozen, self.count, out)
        out /= max(self.wall.years, 1.0)
        self.worst.see(block.time[1:], out)
        self.wettest.see(block.time, np.where(t < freezing, saturation, np.nan))
        return out

    def outcome(self) -> Outcome:
        limit = self.limits["frost_cycles"]
        if not len(self.full):
            return nothing("no masonry", limit)
        verdict = grade(0.0, limit)

        def told(i: int, value: float) -> Told:
            times = plain(value, 2)
            facts: dict[str, Any] = {
                "level": (float(self.critical[i]), "fraction"),
                "times": "once" if times == "1" else f"{times} times",
            }
            if value > 0.0:
                return verdict(value), "freezes", facts
            mine = self.spots.layer == self.spots.layer[i]
            full = float(np.max(self.wettest.value[mine]))
            if not np.isfinite(full):
                return "fine", "no frost", facts
            return "fine", "not full", {**facts, "full": (full, "fraction")}

        return worst_layer(self.worst.by_layer(limit, told))


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
    "brick, stone, render, concrete, boards of cement, in slices of some 10 mm; the critical saturation is a property "
    "of each, and only a test tells it",
    "Pieces that come off fall on people: have it looked at.",
    Terms(
        harm="frost can burst what is full of water",
        short="frost",
        what="the freezing of wet masonry",
        cases={
            "no masonry": "There is no masonry, render or concrete here",
            "no frost": "Masonry does not freeze",
            "not full": "No masonry freezes while its pores are filled beyond {level}; when it froze, those of {layer} "
            "were filled to {full} at most",
            "freezes": "In {place}, water freezes {times} a year with the pores filled beyond {level}",
        },
    ),
    Severity.FROST,
    in_calendar=False,
)
