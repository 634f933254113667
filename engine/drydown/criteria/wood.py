"""Moisture content of wood: how long above 20 %, and how near to fibre saturation."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from ..text import day, share
from .humidity import RunningMean
from .model import Criterion, Limit, Outcome, nothing
from .reading import Block, Wall
from .worst import Worst, grade

SAFE = Source("ASHRAE Handbook - Fundamentals", 2021, "chapter 25: 20 % as safe maximum", "common practice")
MONTHS = Source("DIN 68800-2", 2012, "wood that got wet is to dry to 20 % within three months", "from memory")
HANDBOOK = Source(
    "USDA Forest Products Laboratory, Wood Handbook", 2021, "chapter 4: fibre saturation near 30 %", "measured"
)
_VALID = "wood and panels of wood; water content of one cell over its dry density"
_CAUTION = "Studs, sills and corners are not in a run of one dimension and stay wet longer."


def _moisture(wall: Wall) -> tuple[Array, np.ndarray]:
    """Return the density of every cell [kg/m3] and which cells are wood whose density is known."""
    density = np.array([wall.density[j] if j >= 0 else np.nan for j in wall.layer])
    return density, wall.of_kind("wood") & np.isfinite(density) & (density > 0.0)


class _TimeAbove:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.density, judged = _moisture(wall)
        self.divide = np.where(judged, self.density, np.inf)
        cells = len(wall.layer)
        self.length, self.low, self.longest, self.total = (np.zeros(cells) for _ in range(4))
        self.worst = Worst(wall, judged & ~wall.skin)
        self.peak = Worst(wall, judged & ~wall.skin)
        self.last: Array = np.zeros(cells)

    def start(self) -> Array:
        return np.zeros(len(self.wall.layer))

    def feed(self, block: Block) -> Array:
        from .counting import PAUSE, spells

        moisture = block.water / self.divide
        out = np.empty((len(block.hours), moisture.shape[1]))
        level = self.limits["wood_moisture"]
        spells(block.hours, block.whole, moisture, level, PAUSE, self.length, self.low, self.longest, self.total, out)
        out /= 24.0
        self.worst.see(block.time[1:], out)
        self.peak.see(block.time, moisture)
        self.last = moisture[-1]
        return out

    def outcome(self) -> Outcome:
        limit, level = self.limits["wood_days"] / 86400.0, self.limits["wood_moisture"]
        if not self.worst.any:
            return nothing("No layer of wood whose density is known is out of the weather.", limit)
        verdict = grade(self.limits["wood_days_watch"] / 86400.0, limit)
        cell = self.worst.cell if self.worst.value[self.worst.cell] > 0.0 else self.peak.cell
        value, place = float(self.worst.value[cell]), self.worst.place(cell)
        peak = f"{share(float(self.peak.value[cell]))}, on {day(self.peak.when[cell])}"
        if value <= 0.0:
            words = f"Wood stays at or below {share(level)}; it holds at most {peak}, in {place}"
        else:
            end = "still above it at the end" if self.last[cell] > level else f"until {day(self.worst.when[cell])}"
            words = (
                f"In {place}, wood is above {share(level)} for {value:.0f} days on end, {end}; "
                f"{self.total[cell] / 24.0:.0f} days in all; it holds at most {peak}"
            )
        when = self.worst.when[cell] if value > 0.0 else self.peak.when[cell]
        return Outcome(value, limit, verdict(value), words + ".", place, when, self.worst.by_layer(verdict))


class _Saturation:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        density, judged = _moisture(wall)
        self.divide = np.where(judged, density, np.inf)
        self.mean = RunningMean(24.0)
        self.worst = Worst(wall, judged & ~wall.skin)

    def start(self) -> Array:
        return np.full(len(self.wall.layer), np.nan)

    def feed(self, block: Block) -> Array:
        mean = self.mean.feed(block.hours, block.whole, block.water / self.divide)
        self.worst.see(block.time[1:], mean)
        return mean

    def outcome(self) -> Outcome:
        limit = self.limits["wood_saturation"]
        if not self.worst.any:
            return nothing("No layer of wood whose density is known is out of the weather.", limit)
        verdict = grade(self.limits["wood_near_saturation"], limit)
        cell = self.worst.cell
        value, when, place = float(self.worst.value[cell]), self.worst.when[cell], self.worst.place(cell)
        what = {
            "fine": "well below fibre saturation",
            "watch": "near fibre saturation",
            "exceeded": "above fibre saturation, where wood rots",
        }[verdict(value)]
        words = f"The wettest day of the wood is {share(value)} in {place}, on {day(when)}: {what}."
        return Outcome(value, limit, verdict(value), words, place, when, self.worst.by_layer(verdict))


MOISTURE = Criterion(
    "wood moisture",
    "wood too wet, longest spell",
    "d",
    _TimeAbove,
    (
        Limit("wood_moisture", 0.20, "moisture_content", "moisture content of wood up to which it keeps", SAFE),
        Limit("wood_days", 90.0 * 86400.0, "time", "longest spell above it (pauses of up to a week count in)", MONTHS),
        Limit(
            "wood_days_watch",
            14.0 * 86400.0,
            "time",
            "longest spell from which to watch",
            Source("drydown", None, "what is gone in two weeks is ordinary", "assumed"),
        ),
    ),
    MONTHS,
    _VALID,
    _CAUTION,
)
SATURATION = Criterion(
    "fibre saturation",
    "wood moisture, wettest day",
    "fraction",
    _Saturation,
    (
        Limit(
            "wood_saturation",
            0.30,
            "moisture_content",
            "moisture content that the mean of a day must not pass",
            HANDBOOK,
        ),
        Limit(
            "wood_near_saturation",
            0.25,
            "moisture_content",
            "moisture content from which it is near saturation",
            Source("drydown", None, "species saturate at some 25 to 35 %", "assumed"),
        ),
    ),
    HANDBOOK,
    _VALID,
    _CAUTION,
    screening=True,
)
