"""Moisture content of wood: how long above its limit, and how near to fibre saturation.

Judged over the outer 10 mm at each face, or the whole of a thinner board, by the mean of a day. A limit of 20 % is no
sharper than its last digit: from half a percent of mass below it to half a percent above, an hour counts in
proportion. What runs along its limit for weeks is so told alike by two meshes, or two people with the same wall.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..materials.model import Source
from .humidity import RunningMean
from .model import Criterion, Limit, Outcome, Severity, Terms, nothing, worst_layer
from .reading import Block, Wall, years_back
from .spots import WOOD_DEPTH, Spots, both, depths, wholes
from .worst import Told, Worst, grade

SAFE = Source("ASHRAE Handbook - Fundamentals", 2021, "chapter 25: 20 % as safe maximum", "common practice")
PANELS = Source("DIN 68800-2", 2012, "18 % for wood-based panels such as OSB/3 and plywood", "from memory")
MONTHS = Source("DIN 68800-2", 2012, "wood that got wet is to dry to 20 % within three months", "from memory")
OPENED = Source(
    "Ueno", 2015, "BA-1501: sheathing above 20 to 30 % each winter and dry each summer, sound when opened", "measured"
)
HANDBOOK = Source(
    "USDA Forest Products Laboratory, Wood Handbook", 2021, "chapter 4: fibre saturation near 30 %", "measured"
)
_VALID = (
    "wood and panels of wood, the mean of a day over the outer 10 mm at each face or the whole of a thinner board, as "
    "a share of the dry mass"
)
_CAUTION = "Studs, sills and corners are not in a run of one dimension and stay wet longer."
#: Within this of its limit [share of dry mass] an hour of wood counts in proportion: half of the last digit in which
#: the limit is given, and of what a meter on site tells apart (assumed).
EDGE = 0.005
#: Hours below the limit in each whole year from which a wall counts as dry again each year (assumed: five
#: months; sheathing found sound had dried by May).
YEAR, DRY_AGAIN = 8766.0, 3652.0
#: Greatest moisture content of sheathing that was wet each winter and sound when opened (Ueno 2015: near 30 %).
FOUND_SOUND = 0.30
#: Rise of the mean of a whole year over that before from which wood wets up, twice in a row [share of dry mass]
#: (assumed).
RISE = 0.01


class _Moisture:
    """Moisture content of wood at its spots, as the mean of a day; the layers as a whole beside them."""

    def __init__(self, wall: Wall) -> None:
        of_wood = np.array([k in ("wood", "panel") for k in wall.kinds])
        wood = of_wood & np.isfinite(wall.density) & (np.nan_to_num(wall.density) > 0.0)
        spots, whole = depths(wall, WOOD_DEPTH), wholes(wall)
        self.spots: Spots = spots.chosen(spots.of(wood) & spots.sheltered)
        kept = whole.chosen(whole.of(wood) & np.isin(whole.layer, self.spots.layer))
        self.both = both(self.spots, kept)
        self.judged = np.array([np.isfinite(x) for x in self.both.x], dtype=bool)
        self.density = self.both.of(wall.density)
        self.mean = RunningMean(24.0)

    def feed(self, block: Block) -> Array:
        """Return the means of a day at the marks of a block but its first, shape (marks - 1, spots and layers)."""
        return self.mean.feed(block.hours, block.whole, self.both.read(block.water) / self.density)


class _TimeAbove:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.moisture = _Moisture(wall)
        self.spots = self.moisture.spots
        n = len(self.spots.layer)
        panel = self.spots.of(np.array([k == "panel" for k in wall.kinds]))
        self.level = np.where(panel, limits["panel_moisture"], limits["wood_moisture"]).astype(float)
        self.length, self.low, self.broken, self.longest, self.breaks, self.total = (np.zeros(n) for _ in range(6))
        judged = np.ones(n, dtype=bool)
        self.worst, self.peak, self.bulk = (Worst(wall, self.spots, judged) for _ in range(3))
        year = np.timedelta64(round(3600.0 * YEAR), "s")
        self.bulk_until = self.spots.of(wall.put_in) + year
        self.layer_peak = np.full(len(self.moisture.both.layer), -np.inf)
        self.last: Array = np.full(n, np.nan)
        self.number = years_back(wall)
        years = int(self.number.max())
        self.hours, self.above, self.sum = np.zeros(years + 1), np.zeros((years + 1, n)), np.zeros((years + 1, n))
        self.seen = 0

    def start(self) -> Array:
        return np.zeros(len(self.level))

    def feed(self, block: Block) -> Array:
        from .counting import PAUSE, spells

        every = self.moisture.feed(block)
        mean = every[:, self.moisture.judged]
        rows = np.concatenate([self.last[None, :], mean])
        known = np.asarray(~np.isnan(rows).any(axis=1))
        whole = block.whole & known[1:] & known[:-1]
        out = np.empty((len(block.hours), len(self.level)))
        filled = np.where(np.isnan(rows), 0.0, rows)
        spells(
            block.hours, whole, filled, self.level, EDGE, PAUSE, self.length, self.low, self.broken, self.longest,
            self.breaks, self.total, out,
        )  # fmt: skip
        out /= 24.0
        self.worst.see(block.time[1:], out)
        self.bulk.see(block.time[1:], np.where(block.time[1:, None] <= self.bulk_until, out, np.nan))
        self.peak.see(block.time[1:], mean)
        if len(every) and every.shape[1]:
            self.layer_peak = np.fmax(self.layer_peak, np.fmax.reduce(every, axis=0))
        self._count_years(block, whole, filled)
        if len(mean):
            self.last = mean[-1]
        return out

    def _count_years(self, block: Block, whole: np.ndarray, rows: Array) -> None:
        number = self.number[self.seen : self.seen + len(block.hours)]
        middle = 0.5 * (rows[1:] + rows[:-1])
        hours = np.where(whole, block.hours, 0.0)
        for k in np.unique(number):
            here = number == k
            self.hours[k] += hours[here].sum()
            share = np.clip(0.5 + 0.5 * (middle[here] - self.level) / EDGE, 0.0, 1.0)
            self.above[k] += (hours[here, None] * share).sum(axis=0)
            self.sum[k] += (hours[here, None] * middle[here]).sum(axis=0)
        self.seen += len(block.hours)

    def _season(self, i: int) -> str:
        """Return how a spot that is too wet for long goes on over whole years: dry again each, wetter, or neither."""
        years = [k for k in range(1, len(self.hours)) if self.hours[k] > 8000.0]
        mean = [self.sum[k, i] / self.hours[k] for k in years]  # the last year first
        # twice in a row: once may be a wet year, or settling in
        if len(mean) >= 3 and mean[0] - mean[1] > RISE and mean[1] - mean[2] > RISE:
            return "gains"
        if self._of_bulk(i):
            # water that got in is to leave within the three months; a wet winter is what vapour does
            return "stays"
        dry = all(self.hours[k] - self.above[k, i] >= DRY_AGAIN for k in years)
        return "seasonal" if years and dry and self.longest[i] <= YEAR - DRY_AGAIN else "stays"

    def _wet_at_the_end(self, i: int) -> str:
        pause = self.wall.time[-1] - self.worst.when[i] > np.timedelta64(1, "D")
        return f"{'again' if pause else 'still'} above it at the end of the run"

    def _of_bulk(self, i: int) -> bool:
        """Return whether water that was put in kept a spot wet too long, in a spell within a year of it."""
        return bool(self.bulk.value[i] > self.limits["wood_days"] / 86400.0)

    def outcome(self) -> Outcome:
        limit = self.limits["wood_days"] / 86400.0
        if not self.peak.any:
            return nothing("no wood", limit)
        grades = grade(self.limits["wood_days_watch"] / 86400.0, limit)
        layers = self.moisture.both.layer[~self.moisture.judged]
        mean = dict(zip(layers.tolist(), self.layer_peak[~self.moisture.judged].tolist(), strict=True))

        def told(i: int, value: float) -> Told:
            verdict, in_all = grades(value), round(float(self.total[i]) / 24.0)
            facts = {
                "level": (float(self.level[i]), "fraction"),
                "peak": (float(self.peak.value[i]), "fraction", float(self.level[i])),
                "peak_when": self.peak.when[i],
                "layer_mean": (mean[int(self.spots.layer[i])], "fraction"),
                "total": (float(self.total[i]) / 24.0, "d"),
                "in_all": f"; {in_all} days in all" if in_all != round(value) else "",
                "how": "on end" if self.breaks[i] <= 0.0 else "with breaks of at most a week",
                "end": "and then dries" if self.last[i] <= self.level[i] else self._wet_at_the_end(i),
            }
            if self.peak.value[i] <= self.level[i]:
                # hours near the limit count in part, but a limit that is never passed is kept
                return ("watch", "near", facts) if verdict != "fine" else (verdict, "below", facts)
            if verdict != "exceeded":
                return verdict, "short", facts
            case = self._season(i)
            if case != "seasonal":
                return "exceeded", case, facts
            return "watch", case if self.peak.value[i] <= FOUND_SOUND else "seasonal, wetter", facts

        self.worst.value[~np.isfinite(self.worst.value)] = 0.0
        # among spots that are never too wet the wettest one is told
        rows = self.worst.by_layer(limit, told)
        found = worst_layer(rows)
        if found.case == "below":
            best = max(rows, key=lambda r: r.facts["peak"][0] / r.facts["level"][0])
            return Outcome(
                best.value, limit, best.verdict, best.place, best.facts["peak_when"], rows, best.case, best.facts,
                best.column,
            )  # fmt: skip
        return found


class _Saturation:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        self.wall, self.limits = wall, limits
        self.moisture = _Moisture(wall)
        self.spots = self.moisture.spots
        self.worst = Worst(wall, self.spots, np.ones(len(self.spots.layer), dtype=bool))

    def start(self) -> Array:
        return np.full(len(self.spots.layer), np.nan)

    def feed(self, block: Block) -> Array:
        mean = self.moisture.feed(block)[:, self.moisture.judged]
        self.worst.see(block.time[1:], mean)
        return mean

    def outcome(self) -> Outcome:
        limit = self.limits["wood_saturation"]
        if not self.worst.any:
            return nothing("no wood", limit)
        verdict = grade(self.limits["wood_near_saturation"], limit)

        def told(_: int, value: float) -> Told:
            return verdict(value), verdict(value), {}

        return worst_layer(self.worst.by_layer(limit, told))


MOISTURE = Criterion(
    "wood moisture",
    "longest spell of too wet wood",
    "d",
    _TimeAbove,
    (
        Limit("wood_moisture", 0.20, "moisture_content", "moisture content of wood up to which it keeps", SAFE),
        Limit("panel_moisture", 0.18, "moisture_content", "the same of wood-based panels", PANELS),
        Limit(
            "wood_days",
            90.0 * 86400.0,
            "time",
            "longest spell above it (breaks of up to a week do not end it; within 0.5 % of mass of it an hour counts "
            "in proportion)",
            MONTHS,
        ),
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
    Terms(
        harm="wood stays too wet for too long",
        short="wood wet too long",
        what="the time that wood is wet",
        column="wet wood",
        cases={
            "no wood": "No layer of wood whose density is known is out of the weather",
            "below": "Wood stays at or below {level}; it holds at most {peak}, on {peak_when}, in {place}",
            "near": "In {place}, wood comes close to {level} for long: it holds at most {peak}, on {peak_when}; days "
            "so close count in part, as {value} above it",
            "short": "In {place}, wood is above {level} for {value} {how}, until {when}, {end}; it holds at most "
            "{peak} there, {layer_mean} in the mean of the layer",
            "seasonal": "In {place}, wood is above the cautious limit of {level} for {value} {how}, and dry again "
            "for five months of each year or more; it holds at most {peak} there, {layer_mean} in the mean of the "
            "layer",
            "seasonal, wetter": "In {place}, wood is above the cautious limit of {level} for {value} {how}, and dry "
            "again for five months of each year or more; but it holds up to {peak} there, more than the 30 % of walls "
            "that were found sound, {layer_mean} in the mean of the layer",
            "gains": "In {place}, wood is above {level} for {value} {how}, and wetter in each of the last years "
            "than in the one before; it holds at most {peak} there, {layer_mean} in the mean of the layer",
            "stays": "In {place}, wood is above {level} for {value} {how}, until {when}, {end}{in_all}; it "
            "holds at most {peak} there, {layer_mean} in the mean of the layer",
        },
        harms={
            "seasonal": "wood is over a cautious limit for a part of each year and dry again after, as in walls "
            "that were found sound when they were opened",
            "seasonal, wetter": "wood is over a cautious limit for a part of each year and dry again after, but "
            "wetter than in walls that were found sound when they were opened",
            "gains": "wood wets up from year to year",
        },
        severities={
            "seasonal": Severity.CAUTIOUS,
            "seasonal, wetter": Severity.CAUTIOUS,
            "short": Severity.CAUTIOUS,
            "near": Severity.CAUTIOUS,
            "gains": Severity.GATHERS,
        },
        of_water={"seasonal": "stays", "seasonal, wetter": "stays"},
    ),
    Severity.TOO_WET,
)
SATURATION = Criterion(
    "fibre saturation",
    "wood moisture on its wettest day",
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
    Terms(
        harm="wood gets soaked",
        short="soaked wood",
        what="the moisture of wood on its wettest day",
        cases={
            "no wood": "No layer of wood whose density is known is out of the weather",
            "fine": "The wettest day of the wood is {value} in {place}, on {when}: well below fibre saturation",
            "watch": "The wettest day of the wood is {value} in {place}, on {when}: near fibre saturation",
            "exceeded": "The wettest day of the wood is {value} in {place}, on {when}: above fibre saturation, where "
            "wood rots if it stays so",
        },
    ),
    Severity.TOO_WET,
    screening=True,
)
