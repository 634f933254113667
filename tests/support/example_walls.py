"""Timber-frame walls of the example scenario (demo): the extension of a village library."""

from __future__ import annotations

import numpy as np
from drydown import Assembly, Case, Layer, Wetting
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor


def frame_wall(
    *,
    inside_film: str | None = None,
    outside_film: str | None = None,
    insulation: float = 0.14,
    outer: str = "OSB",
) -> Assembly:
    """Cladding, gap, membrane, sheathing, [film], insulation, [film], gypsum board, paint; outside to inside."""
    parts: list = [
        Layer(material("fibre cement"), 0.008, "cladding"),
        Layer(material("air gap 25 mm"), 0.025, "gap"),
        film("weather-resistive membrane"),
        Layer(material(outer), 0.011, "sheathing"),
    ]
    if outside_film:
        parts.append(film(outside_film))
    parts.append(Layer(material("mineral wool"), insulation, "insulation"))
    if inside_film:
        parts.append(film(inside_film))
    parts += [Layer(material("gypsum board"), 0.0125, "lining"), film("latex paint")]
    return Assembly(tuple(parts))


def case_of(
    assembly: Assembly,
    *,
    place: str = "fernmoor",
    indoor: Indoor | None = None,
    azimuth: float = 0.0,
    start_day: int = 273,
    days: int = 365,
    wetting: Wetting | None = None,
) -> Case:
    """A run from `start_day` (days after the first of January) of the place's first year."""
    c = climate(place)
    start = c.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(start_day, "D")
    return Case(
        assembly,
        Outdoor(c, Exposure(azimuth=azimuth)),
        indoor or Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(days, "D"),
        (wetting,) if wetting else (),
    )


def wet_sheathing(assembly: Assembly, *, day: int, amount: float = 1.0, **options) -> Case:
    """`case_of` with a wetting of the sheathing `day` days after the start of the run."""
    from dataclasses import replace

    case = case_of(assembly, **options)
    event = Wetting("sheathing", amount, case.start + np.timedelta64(day, "D"), 6 * 3600.0)
    return replace(case, wettings=(event,))
