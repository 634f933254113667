"""Walls of timber drawn at random as they are built, for tests of what is judged."""

from __future__ import annotations

import numpy as np
from drydown import Assembly, Case, Initial, Layer, Wetting
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
