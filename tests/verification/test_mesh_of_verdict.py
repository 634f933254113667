"""No verdict hangs on a cell: judged numbers of walls drawn anew each time, on the mesh and on it halved twice."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Case, Initial, Layer, Wetting, simulate
from drydown.criteria import assess
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor

CLIMATES = ("fernmoor", "kelpwick", "thornvale")
SHEATHINGS = (
    ("OSB", 0.011),
    ("plywood", 0.015),
    ("spruce", 0.024),
    ("gypsum board", 0.0125),
    ("wood fibreboard", 0.022),
)
FILLS = ("dense cellulose", "mineral wool", "wood fibre insulation")
INNER = ("polyethylene 0.15 mm", "polyamide film 0.05 mm", "kraft paper facing", "")
#: Share of its limit by which a judged number may move.
MOVES = 0.02


def drawn(seed: int) -> Case:
    """Return a wall of timber as they are built, with a leak into its sheathing in some; a year and a month."""
    draw = np.random.default_rng(seed)
    sheathing, thickness = SHEATHINGS[draw.integers(len(SHEATHINGS))]
    inner = INNER[draw.integers(len(INNER))]
    parts = [
        Layer(material("spruce cladding"), 0.020, "cladding"),
        Layer(material("air gap 25 mm"), 0.025, "gap"),
        film("weather-resistive membrane"),
        Layer(material(sheathing), thickness, "sheathing"),
        Layer(material(FILLS[draw.integers(len(FILLS))]), float(draw.uniform(0.09, 0.24)), "fill"),
        *((film(inner),) if inner else ()),
        Layer(material("gypsum board"), 0.0125, "lining"),
        film("latex paint"),
    ]
    start = np.datetime64("2021-10-01T00", "s")
    leak = Wetting("sheathing", float(draw.uniform(0.2, 0.8)), start + np.timedelta64(60, "D"), 6 * 3600.0)
    return Case(
        Assembly(tuple(parts), "drawn wall"),
        Outdoor(climate(CLIMATES[draw.integers(len(CLIMATES))]), Exposure(azimuth=float(draw.uniform(0.0, 360.0)))),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(400, "D"),
        wettings=(leak,) if draw.random() < 0.5 and sheathing != "gypsum board" else (),
        initial=Initial(283.15, 0.75),
    )


def moved(seed: int, refine: tuple[float, ...] = (1.0, 2.0, 4.0)) -> list[tuple[str, float, tuple[float, ...], bool]]:
    """Return criterion, greatest move as a share of the limit, values, and whether the verdict changed."""
    case = drawn(seed)
    runs = [assess(simulate(replace(case, numerics=replace(case.numerics, refine=r)))) for r in refine]
    out = []
    for found in zip(*runs, strict=True):
        if found[0].verdict == "not applicable":
            continue
        values = tuple(f.value for f in found)
        limit = found[0].limit
        out.append(
            (
                found[0].criterion,
                (max(values) - min(values)) / limit,
                values,
                len({f.verdict for f in found}) > 1 and min(abs(v - limit) for v in values) > MOVES * limit,
            )
        )
    return out


@pytest.mark.slow
def test_judged_numbers_do_not_hang_on_the_mesh():
    seed = int(os.environ.get("DRYDOWN_SEED", np.random.SeedSequence().entropy % 10**9))
    rows = [(seed + k, *row) for k in range(3) for row in moved(seed + k)]
    rows.sort(key=lambda r: -r[2])
    for wall, name, share, values, _ in rows[:8]:
        print(f"wall {wall}: {name} moves by {100 * share:.2f} % of its limit: {', '.join(f'{v:.4g}' for v in values)}")
    assert rows[0][2] < MOVES, rows[0]
    assert not any(r[4] for r in rows)
