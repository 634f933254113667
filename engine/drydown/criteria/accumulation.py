"""Accumulation: whether the assembly holds more water from year to year."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from ..text import plain
from .model import Criterion, LayerResult, Limit, Outcome, Place, Verdict, nothing
from .reading import Block, Wall

RULE = Source("DIN 68800-2; ISO 13788", 2012, "an assembly must not gather water over the years", "from memory")


class _Gain:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.years = int(wall.years + 0.01)
        year = np.timedelta64(round(365.2425 * 86400), "s")
        back = (wall.time[-1] - wall.time) / year
        #: whole years counted back from the end, so that what the start brings counts least
        self.number = np.ceil(back - 1e-9).astype(int)
        self.total: Array = np.zeros((self.years + 1, len(wall.names)))
        self.hours: Array = np.zeros(self.years + 1)
        self.seen = 0

    def start(self) -> Array:
        return np.full(len(self.wall.names), np.nan)

    def feed(self, block: Block) -> Array:
        rows = block.layer_water
        number = np.minimum(self.number[self.seen : self.seen + len(block.hours)], self.years + 1)
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
            return nothing("It takes two years to compare one with the other; the run is shorter.", limit)
        mean = self.total[1:] / self.hours[1:, None]  # last year first
        mean = np.concatenate([mean, mean.sum(axis=1, keepdims=True)], axis=1)
        gain = mean[0] - mean[1]
        steady = np.ones(len(gain), dtype=bool) if self.years < 3 else (mean[1] - mean[2]) > watch

        def verdict(j: int) -> Verdict:
            if gain[j] > limit:
                # two years cannot tell gathering from settling in, nor a wet year from a trend
                return "exceeded" if self.years >= 3 and steady[j] else "watch"
            return "watch" if gain[j] > watch else "fine"

        names = (*self.wall.names, "whole assembly")
        grades = [verdict(j) for j in range(len(names))]
        order = ("fine", "watch", "exceeded")
        j = max(range(len(names)), key=lambda i: (order.index(grades[i]), gain[i]))
        if grades[j] == "fine":
            j = len(names) - 1
        value = float(gain[j])
        where = "the whole assembly" if j == len(names) - 1 else f"'{names[j]}'"
        if value > watch:
            words = f"In the mean of the last year {where} holds {plain(value, 2)} kg/m2 more than in the year before"
            if self.years < 3:
                words += "; a third year would tell whether that goes on"
            elif not steady[j]:
                words += ", but it gained nothing in the year before that"
        else:
            total = float(gain[-1])
            how = f"{plain(abs(total), 2)} kg/m2 {'less' if total < 0 else 'more'}"
            words = f"No layer gathers water: in its last year the whole assembly holds {how} than in the year before"
        return Outcome(
            value,
            limit,
            grades[j],
            words + ".",
            Place(names[j]),
            None,
            tuple(LayerResult(n, float(g), v) for n, g, v in zip(names, gain, grades, strict=True)),
        )


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
    places="layer",
)
