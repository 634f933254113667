"""Condensate: water beyond what a layer holds at 98 % relative humidity, its most and what stays over a year."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from .model import Criterion, LayerResult, Limit, Outcome, Place, Severity, Terms, Verdict, nothing, worst_layer
from .reading import Block, Wall
from .spots import wholes

DIN = Source("DIN 4108-3", 2018, "1.0 kg/m2, 0.5 kg/m2 where the layer takes up no water", "from memory")
ISO = Source("ISO 13788", 2012, "what condenses is to evaporate within the year", "from memory")
#: Days up to the end of a run through which free water that stands is to be watched, where the year before it was not
#: yet there: half a year holds a part of the warm season (assumed).
HALF_YEAR = 182


class _Condensate:
    """Water above the hygroscopic range, summed over each layer; in walls of wood that is free water in its pores.

    It counts beyond the least that the layer has held so far: a screed that starts wet and dries has gathered none.
    """

    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.known = np.isfinite(wall.water_content_at_98)
        layers = len(wall.names)
        # the air between two films belongs to no layer and is left to the criterion of its neighbours
        self.member = np.stack([(wall.layer == j) & self.known & ~wall.skin for j in range(layers)]).astype(float)
        self.member *= wall.width
        self.spots = wholes(wall)
        # masonry that rain soaks from outside is not wet by condensation; frost, mould and rot judge it
        ground = np.array([k == "ground" or j < wall.slab for j, k in enumerate(wall.kinds)])
        self.judged = self.member.any(axis=1) & ~np.array(wall.rained) & ~ground
        self.lowest: Array = np.full(layers, np.inf)
        self.most: Array = np.full(layers, -np.inf)
        self.when = np.full(layers, wall.time[0])
        self.least: list[Array] = []
        self.year_of = np.minimum(
            (wall.time - wall.time[0]) // np.timedelta64(365, "D"), max(int(wall.years + 0.01) - 1, 0)
        ).astype(int)
        self.late = wall.time > wall.time[-1] - np.timedelta64(HALF_YEAR, "D")
        self.low: Array = np.full((int(self.year_of[-1]) + 1, layers), np.inf)
        self.low_of_late: Array = np.full(layers, np.inf)
        self.seen = 0

    def _sum(self, water: Array) -> Array:
        free = np.maximum(water - np.where(self.known, self.wall.water_content_at_98, np.inf), 0.0)
        found: Array = np.einsum("mc,lc->ml", free, self.member)  # as `Spots.read`: no threads for a sum of so few
        return found

    def start(self) -> Array:
        return np.full(len(self.wall.names), np.nan)

    def feed(self, block: Block) -> Array:
        rows = self._sum(block.water)
        # what a layer was built with and is losing has not condensed; whether it ever leaves `_Residue` judges
        low = np.minimum.accumulate(np.minimum(rows, self.lowest), axis=0)
        self.lowest = low[-1]
        gathered = rows - low
        at = np.argmax(gathered, axis=0)
        top = gathered[at, np.arange(rows.shape[1])]
        better = top > self.most
        self.most[better], self.when[better] = top[better], block.time[at[better]]
        years = self.year_of[self.seen : self.seen + len(rows)]
        for year in np.unique(years):
            self.low[year] = np.minimum(self.low[year], rows[years == year].min(axis=0))
        late = rows[self.late[self.seen : self.seen + len(rows)]]
        self.low_of_late = np.minimum(self.low_of_late, late.min(axis=0, initial=np.inf))
        self.seen += len(rows) - 1
        found: Array = gathered[1:]
        return found

    def outcome(self) -> Outcome:
        wet, dry = self.limits["condensate"], self.limits["condensate_smooth"]
        if not np.any(self.judged):
            return nothing("unknown" if not np.any(self.known) else "all in the rain", wet)
        takes_up = [kind in ("wood", "panel", "mineral") for kind in self.wall.kinds]
        takes_up = [a or b for a, b in zip(takes_up, self.wall.takes_up, strict=True)]
        limit = np.where(takes_up, wet, dry)

        def told(j: int) -> LayerResult:
            over = self.most[j] > limit[j]
            verdict: Verdict = "exceeded" if over else "watch" if self.most[j] > 0.1 * limit[j] else "fine"
            case = "none" if self.most[j] < 5e-4 else "stands"
            name = self.wall.names[j]
            return LayerResult(
                name, float(self.most[j]), verdict, float(limit[j]), Place(name), self.when[j], case, {}, j
            )

        return worst_layer(tuple(told(int(j)) for j in np.flatnonzero(self.judged)))


class _Residue(_Condensate):
    """What of the free water never leaves within the last year: its least in each layer.

    A year that begins dry says little of that: there its least in the last half year is to be watched.
    """

    def outcome(self) -> Outcome:
        limit = self.limits["condensate_left"]
        if not np.any(self.judged):
            return nothing("unknown" if not np.any(self.known) else "all in the rain", limit)
        if self.wall.years < 0.98:
            return nothing("short run", limit)

        def told(j: int) -> LayerResult:
            left, of_late, name = float(self.low[-1, j]), float(self.low_of_late[j]), self.wall.names[j]
            if left <= limit < of_late:
                facts = {"stood": (of_late, "kg/m2")}
                return LayerResult(name, left, "watch", limit, Place(name), None, "stands", facts, j)
            verdict: Verdict = "exceeded" if left > limit else "fine"
            case = "leaves" if left < 5e-4 else "stays"
            return LayerResult(name, left, verdict, limit, Place(name), None, case, {}, j)

        return worst_layer(tuple(told(int(j)) for j in np.flatnonzero(self.judged)))


CONDENSATION = Criterion(
    "condensation",
    "most free water gathered in a layer",
    "kg/m2",
    _Condensate,
    (
        Limit(
            "condensate",
            1.0,
            "water_mass",
            "free water in a layer that takes up water: wood, masonry, render, boards and fill that suck",
            DIN,
        ),
        Limit("condensate_smooth", 0.5, "water_mass", "free water in a layer that takes up none", DIN),
    ),
    DIN,
    "every layer but the outer skin, masonry that rain soaks from outside, and layers that a trial wets; not what a "
    "layer was built with and loses",
    terms=Terms(
        harm="too much free water stands in it",
        short="free water",
        what="the free water in a layer",
        cases={
            "unknown": "The results do not say what the layers hold at 98 % relative humidity",
            "all in the rain": "All layers are soaked by rain from outside, or lie in the ground",
            "none": "Nothing condenses that would weigh a gram: no layer gets wetter than it does at 98 % humidity",
            "stands": "Up to {value} of free water gathers in {layer}, by {when}",
        },
    ),
    severity=Severity.WATER,
    in_reserve=False,
    in_calendar=False,
    wetted_counts=False,
)
RESIDUE = Criterion(
    "free water left",
    "free water that never leaves",
    "kg/m2",
    _Residue,
    (Limit("condensate_left", 0.01, "water_mass", "free water that may stay all through the last year", ISO),),
    ISO,
    "every layer but the outer skin and masonry that rain soaks from outside",
    terms=Terms(
        harm="free water stays in it all year",
        short="water stays",
        what="the free water that stays",
        cases={
            "unknown": "The results do not say what the layers hold at 98 % relative humidity",
            "all in the rain": "All layers are soaked by rain from outside, or lie in the ground",
            "short run": "The run is too short to tell whether free water leaves within the year",
            "leaves": "No free water stays in a layer all through the last year",
            "stays": "{value} of free water stays in {layer} all through the last year; {limit} may",
            "stands": "{stood} of free water or more has stood in {layer} for the last half year, up to the end of "
            "the run; a year more tells whether it leaves",
        },
    ),
    severity=Severity.TOO_WET,
    in_reserve=False,
    in_calendar=False,
)
