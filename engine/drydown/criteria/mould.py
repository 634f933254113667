"""Mould: the greatest mould index on any surface sheltered from the weather."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..materials.model import Source
from .model import Criterion, Limit, Outcome, Severity, Terms, nothing, worst_layer
from .reading import Block, Wall
from .spots import both, faces, inside
from .worst import Told, Worst, grade

HUKKA = Source(
    "Hukka & Viitanen; Ojanen et al.", 1999, "Wood Sci. Technol. 33; Buildings XI (2010), tables 4 and 6", "fitted"
)
_160 = Source("ANSI/ASHRAE 160", 2016, "addendum e", "from memory")
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
        self.spots = spots.chosen((spots.of(rows)[:, 0] > 0.0) & spots.sheltered)
        self.numbers = self.spots.of(rows)
        self.index, self.since = (np.zeros(len(self.spots.layer)) for _ in range(2))
        self.worst = Worst(wall, self.spots, np.ones(len(self.spots.layer), dtype=bool))

    def start(self) -> Array:
        return self.index.copy()

    def feed(self, block: Block) -> Array:
        from .mould_model import march

        out = np.empty((len(block.hours), len(self.index)))
        march(
            block.hours,
            block.whole,
            self.spots.read(block.temperature),
            100.0 * self.spots.humidity(block.humidity),
            self.numbers,
            self.limits["mould_decline"],
            self.index,
            self.since,
            out,
        )
        self.worst.see(block.time[1:], out)
        return out

    def outcome(self) -> Outcome:
        limit = self.limits["mould_index"]
        if not self.worst.any:
            return nothing("no surface", limit)
        verdict = grade(self.limits["mould_watch"], limit)

        def told(i: int, value: float) -> Told:
            facts = {
                "meaning": MEANING[min(int(value), 6)],
                "class": self.wall.mould_classes[self.spots.layer[i]],
            }
            return verdict(value), "none" if value < 0.01 else "grows", facts

        return worst_layer(self.worst.by_layer(limit, told))


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
            "share of the strongest decline in dry times: 1 pine, 0.5, 0.25, 0.1 almost none",
            Source("Ojanen et al.; ANSI/ASHRAE 160", 2010, "decline classes; k3", "from memory"),
        ),
    ),
    HUKKA,
    "both faces of every layer and insulation all through, out of rain and sun, 0 to 50 degC; found on pine and "
    "spruce, carried over to other materials by classes",
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
        },
    ),
    Severity.MOULD,
)
