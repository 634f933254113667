"""Accumulation: whether the assembly holds more water from year to year."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from .model import Criterion, LayerResult, Limit, Outcome, Place, Severity, Terms, Verdict, nothing, worst_layer
from .reading import Block, Wall, years_back
from .spots import wholes

RULE = Source("DIN 68800-2; ISO 13788", 2012, "an assembly must not gather water over the years", "from memory")


class _Gain:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.years = int(wall.years + 0.01)
        self.spots = wholes(wall)
        self.number = years_back(wall)
        self.total: Array = np.zeros((self.years + 1, len(wall.names)))
        self.hours: Array = np.zeros(self.years + 1)
        self.seen = 0

    def start(self) -> Array:
        return np.full(len(self.wall.names), np.nan)

    def feed(self, block: Block) -> Array:
        rows = block.layer_water
        number = self.number[self.seen : self.seen + len(block.hours)]
        for k in np.unique(number):
            if 1 <= k <= self.years:
                here = (number == k) & block.whole
                self.hours[k] += block.hours[here].sum()
                self.total[k] += (0.5 * (rows[1:] + rows[:-1])[here] * block.hours[here, None]).sum(axis=0)
        self.seen += len(block.hours)
        return rows[1:]

    def outcome(self) -> Outcome:
        limit, watch = self.limits["yearly_gain"], self.limits["yearly_gain_watch"]
        if self.years < 2:
            return nothing("short", limit)
        mean = self.total[1:] / self.hours[1:, None]  # last year first
        # a slab or a cellar wall is as moist as the ground in the end, which takes years; what stands on it is judged
        first = self.wall.slab + 1
        whole = () if first else ("whole assembly",)
        names = (*self.wall.names[first:], *whole)
        if not names:
            return nothing("in the ground", limit)
        mean = np.concatenate([mean, mean.sum(axis=1, keepdims=True)], axis=1)[:, first : first + len(names)]
        gain = mean[0] - mean[1]
        steady = np.ones(len(gain), dtype=bool) if self.years < 3 else (mean[1] - mean[2]) > watch
        total = float(gain[-1])
        facts = {"amount": (abs(total), "kg/m2"), "more": "less" if total < 0 else "more"}

        def told(j: int) -> tuple[Verdict, str]:
            if gain[j] <= watch:
                return "fine", "steady"
            case = "gains, third year" if self.years < 3 else "gains" if steady[j] else "gains, once"
            # two years cannot tell gathering from settling in, nor a wet year from a trend
            return "exceeded" if gain[j] > limit and case == "gains" else "watch", case

        rows = tuple(
            LayerResult(n, float(g), told(j)[0], limit, Place(n), None, told(j)[1], facts)
            for j, (n, g) in enumerate(zip(names, gain, strict=True))
        )
        found = worst_layer(rows)
        if found.verdict == "fine":
            last = rows[-1]
            case = "steady on the ground" if first else last.case
            return Outcome(last.value, limit, "fine", last.place, None, rows, case, facts)
        return found


ACCUMULATION = Criterion(
    "accumulation",
    "water gained from year to year",
    "kg/(m2 a)",
    _Gain,
    (
        Limit(
            "yearly_gain",
            0.10,
            "water_mass",
            "gain of a layer or the whole in the mean of a year",
            Source("drydown", None, "within what wet years bring", "assumed"),
        ),
        Limit(
            "yearly_gain_watch", 0.02, "water_mass", "gain from which to watch", Source("drydown", None, "", "assumed")
        ),
    ),
    RULE,
    "runs of two years and more; three tell gathering from settling in",
    terms=Terms(
        harm="water gathers from year to year",
        short="water gathers",
        what="the water gained from year to year",
        cases={
            "in the ground": "All layers lie in the ground",
            "short": "It takes two years to compare one with the other; the run is shorter",
            "steady": "No layer gathers water: in its last year the whole assembly holds {amount} {more} than in the "
            "year before",
            "steady on the ground": "No layer inward of the concrete or masonry in the ground gathers water",
            "gains": "In the mean of the last year {layer} holds {value} more than in the year before",
            "gains, third year": "In the mean of the last year {layer} holds {value} more than in the year before; a "
            "third year would tell whether that goes on",
            "gains, once": "In the mean of the last year {layer} holds {value} more than in the year before, but it "
            "gained nothing in the year before that",
        },
    ),
    severity=Severity.GATHERS,
    in_reserve=False,
    in_calendar=False,
)
