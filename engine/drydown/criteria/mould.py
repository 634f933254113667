"""Mould: the greatest mould index on any surface sheltered from the weather."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..materials.model import Source
from .model import Criterion, Limit, Outcome, Severity, Terms, Verdict, nothing, worst_layer
from .reading import Block, Wall, years_back
from .spots import SIDES, both, faces, inside
from .worst import Told, Worst, grade

HUKKA = Source(
    "Hukka & Viitanen; Ojanen et al.", 1999, "Wood Sci. Technol. 33; Buildings XI (2010), tables 4 and 6", "fitted"
)
_160 = Source("ANSI/ASHRAE 160", 2016, "addendum e", "from memory")
DECLINE = Source(
    "Ojanen et al.", 2010, "decline: wood 0.5 to 1, panels and paper 0.25 to 0.5, mineral 0.1", "from memory"
)
#: A face that is too dry for mould for this long in the warm months of every year dries out each year [h] (assumed:
#: five months, as for wood); warm, where mould would grow if it were humid [degC] (the range of ANSI/ASHRAE 160, 2009).
DRY_AGAIN, WARM = 3652.0, 5.0
#: Density from which insulation comes as boards that are bedded in mortar [kg/m3] (assumed: wood fibre and calcium
#: silicate have more, batts and blown fill less).
BOARD = 100.0
MEANING = (
    "no growth to be seen",
    "first growth under the microscope",
    "several colonies under the microscope",
    "visible mould on up to 10 % of the surface",
    "visible mould on 10 to 50 % of the surface",
    "visible mould on more than half of the surface",
    "mould on the whole surface",
)


class _Mould:
    def __init__(self, wall: Wall, limits: Mapping[str, float]) -> None:
        from .mould_model import CLASSES

        self.wall, self.limits = wall, limits
        dead = (0.0,) * 8
        for layer, name in zip(wall.names, wall.mould_classes, strict=True):
            if name and name not in CLASSES:
                raise InputError(f"no mould class is called '{name}'; {nearest(name, CLASSES)}", f"layer '{layer}'")
        rows = np.array([tuple(CLASSES[c]) if c in CLASSES else dead for c in wall.mould_classes], dtype=float)
        spots = both(faces(wall), inside(wall))
        # the face that a slab or a cellar wall turns to the ground is a surface of no room
        outer, inner = (np.array([w == side for w in spots.what], dtype=bool) for side in SIDES)
        of_ground = (spots.layer == wall.slab) & outer
        # plaster and screed are laid wet on what carries them: mould needs air (common practice)
        bonded = (spots.of(wall.bonded[:, 0]) & outer) | (spots.of(wall.bonded[:, 1]) & inner)
        self.spots = spots.chosen((spots.of(rows)[:, 0] > 0.0) & spots.sheltered & ~of_ground & ~bonded)
        self.numbers = self.spots.of(rows)
        self.decline = self.spots.of(np.array([limits[DECLINE_OF[d]] for d in wall.declines], dtype=float))
        n = len(self.spots.layer)
        self.index, self.since = np.zeros(n), np.zeros(n)
        self.worst = Worst(wall, self.spots, np.ones(n, dtype=bool))
        self.closed = np.array(
            [_closed(wall, int(j), w) for j, w in zip(self.spots.layer, self.spots.what, strict=True)]
        )
        self.number, self.seen = years_back(wall), 0
        self.hours, self.dry = np.zeros(int(self.number.max()) + 1), np.zeros((int(self.number.max()) + 1, n))

    def start(self) -> Array:
        return self.index.copy()

    def feed(self, block: Block) -> Array:
        from .mould_model import march

        out = np.empty((len(block.hours), len(self.index)))
        t, rh = self.spots.temperature(block), 100.0 * self.spots.humidity(block)
        self._count_dry(block, t, rh)
        march(
            block.hours,
            block.whole,
            t,
            rh,
            self.numbers,
            self.decline,
            self.index,
            self.since,
            out,
        )
        self.worst.see(block.time[1:], out)
        return out

    def _count_dry(self, block: Block, t: Array, rh: Array) -> None:
        """Add up the hours of each year that are warm enough for mould and too dry."""
        t, rh = 0.5 * (t[1:] + t[:-1]), 0.5 * (rh[1:] + rh[:-1])
        polynomial = ((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0
        lowest = self.numbers[:, 5]
        needed = np.where(t > 20.0, lowest, np.maximum(polynomial, lowest))
        dry = (t > WARM) & (rh < needed)
        number = self.number[self.seen : self.seen + len(block.hours)]
        hours = np.where(block.whole, block.hours, 0.0)
        for k in np.unique(number):
            here = number == k
            self.hours[k] += hours[here].sum()
            self.dry[k] += hours[here] @ dry[here]
        self.seen += len(block.hours)

    def _dry_again(self, i: int) -> float:
        """Return the fewest hours of a whole year in which a spot is warm and too dry for mould; 0: no whole year."""
        years = [k for k in range(1, len(self.hours)) if self.hours[k] > 8000.0]
        return min((float(self.dry[k, i]) for k in years), default=0.0)

    def outcome(self) -> Outcome:
        limit = self.limits["mould_index"]
        if not self.worst.any:
            return nothing("no surface", limit)
        verdict = grade(self.limits["mould_watch"], limit)

        def told(i: int, value: float) -> Told:
            dry = self._dry_again(i)
            facts = {
                "meaning": MEANING[min(int(value), 6)],
                "class": self.wall.mould_classes[self.spots.layer[i]],
                "dry": (dry / 24.0, "d"),
            }
            found: Verdict = verdict(value)
            if found == "exceeded" and self.closed[i] and dry >= DRY_AGAIN:
                return "watch", "seasonal", facts
            if found != "fine" and _bedded(self.wall, int(self.spots.layer[i]), self.spots.what[i]):
                return found, "bedded", facts
            return found, "none" if value < 0.01 else "grows", facts

        return worst_layer(self.worst.by_layer(limit, told))


#: Limit that holds the decline of a kind of surface.
DECLINE_OF = {"wood": "mould_decline_wood", "paper": "mould_decline_paper", "": "mould_decline"}


def _closed(wall: Wall, j: int, what: str) -> bool:
    """Return whether a spot lies closed in: no room, no air layer and no water that got in beside it.

    What was found sound when opened were such faces, wet by the vapour of winter; mould in attics and where water got
    in was not.
    """
    beside = {"outer face": (j - 1,), "inner face": (j + 1,)}.get(what, (j - 1, j + 1))
    if any(not 0 <= k < len(wall.names) or wall.kinds[k] == "air" for k in beside) or wall.kinds[j] == "air":
        return False
    return not any(wall.bulk[k] for k in (j, *beside))


def _bedded(wall: Wall, j: int, what: str) -> bool:
    """Return whether a face is that of a board of insulation to masonry or plaster, on which it is bedded.

    Such boards are laid in a full bed of mortar, for mould needs air (a rule of the trade for insulation inside;
    common practice). Whether it was done so no run can tell.
    """
    k = j - 1 if what == "outer face" else j + 1
    if what not in SIDES or not 0 <= k < len(wall.names):
        return False
    pair = {wall.kinds[j]: j, wall.kinds[k]: k}
    return set(pair) == {"mineral", "insulation"} and bool(wall.density[pair["insulation"]] >= BOARD)


MOULD = Criterion(
    "mould",
    "mould index",
    "index",
    _Mould,
    (
        Limit("mould_index", 3.0, "number", "mould index that must not be passed; from 3 on mould is visible", _160),
        Limit(
            "mould_watch", 1.0, "number", "mould index from which to watch: growth begins under the microscope", HUKKA
        ),
        Limit(
            "mould_decline",
            0.1,
            "fraction",
            "share of the strongest decline in dry times, on what is neither wood nor paper: almost none",
            Source("Ojanen et al.; ANSI/ASHRAE 160", 2010, "decline classes; k3", "from memory"),
        ),
        Limit("mould_decline_paper", 0.25, "fraction", "the same on panels of wood, paper and the like", DECLINE),
        Limit("mould_decline_wood", 0.5, "fraction", "the same on solid wood", DECLINE),
    ),
    HUKKA,
    "both faces of every layer and insulation all through, out of rain, sun and ground, 0 to 50 degC; found on pine "
    "and spruce, carried over to other materials by classes",
    "The index is a mean of samples in a laboratory: dirt and dust bring mould earlier. Whoever is ill or allergic "
    "needs a stricter limit, and a doctor.",
    Terms(
        harm="mould grows too much",
        short="mould",
        what="the mould index",
        column="mould",
        cases={
            "no surface": "No layer here offers mould a surface out of the weather",
            "none": "Mould finds no conditions to grow in any layer",
            "grows": "The mould index reaches {value} of 6 at {place}, on {when}: {meaning} (as on a material of the "
            "class '{class}')",
            "bedded": "The mould index reaches {value} of 6 at {place}, on {when}: {meaning} (as on a material of the "
            "class '{class}'); the index was found on faces in air, and is cautious where this one lies in a full "
            "bed of mortar or plaster without a gap",
            "seasonal": "The mould index reaches {value} of 6 at {place}, on {when} (as on a material of the class "
            "'{class}'), over the cautious limit of {limit}; the damp comes in the cold months alone, and in every "
            "year that face is warm and too dry for mould for {dry} or more",
        },
        harms={
            "seasonal": "the mould index is over its cautious limit after winter, on a face inside the wall that dries "
            "out each summer, as in walls that were found sound when they were opened",
        },
        severities={"seasonal": Severity.CAUTIOUS},
        of_water={"seasonal": "grows"},
    ),
    Severity.MOULD,
)
