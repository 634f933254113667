"""Twelve assemblies on which the accuracy of the default settings is measured (demo constructions).

Each stands a year in an invented climate of the library, from the first of October, so that its first winter,
spring and summer count. They differ in what is hard about them: rain on masonry, foils, paint, full pores,
frost, a layer of steel.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from drydown import Assembly, Case, Film, Initial, Layer
from drydown.case.loads import VentilatedGap
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.ground import Ground
from drydown.sides.indoor import CEILING, FLOOR, FromOutdoor, Indoor

#: What a part is written as: a film's name, or a material's name and a thickness [mm].
Part = str | tuple[str, float]


def assembly(name: str, *parts: Part) -> Assembly:
    """Return an assembly of library materials, outside to inside."""
    out: list[Layer | Film] = []
    for part in parts:
        if isinstance(part, str):
            out.append(film(part))
        else:
            number = sum(isinstance(p, Layer) for p in out)
            out.append(Layer(material(part[0]), part[1] / 1000.0, f"{number}: {part[0]}"))
    return Assembly(tuple(out), name)


def year(
    what: Assembly,
    place: str,
    azimuth: float = 180.0,
    tilt: float = 90.0,
    inside: Any = None,
    outside: Any = None,
    wet: dict[int, float] | None = None,
    absorptance: float = 0.6,
) -> Case:
    """Return the case of a year; `wet` gives the humidity at the start by number of layer."""
    weather = climate(place)
    start = weather.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273, "D")
    names = [layer.name for layer in what.layers]
    return Case(
        what,
        outside or Outdoor(weather, Exposure(azimuth=azimuth, tilt=tilt, absorptance=absorptance)),
        inside or Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(365, "D"),
        initial=Initial(283.15, 0.75, {names[i]: phi for i, phi in (wet or {}).items()}),
        name=what.name,
    )


def masonry() -> Case:
    """Brick facing in driving rain before a cavity and a sand-lime leaf."""
    parts = (
        ("clay brick", 102),
        ("air gap 50 mm", 50),
        ("calcium silicate brick", 175),
        ("gypsum plaster", 12),
    )
    return year(assembly("masonry", *parts), "kelpwick", 225.0)


def timber_frame() -> Case:
    """Cladding, membrane, sheathing, insulation behind a humidity-dependent film."""
    what = assembly(
        "timber frame",
        ("fibre cement", 8),
        ("air gap 25 mm", 25),
        "weather-resistive membrane",
        ("OSB", 11),
        ("mineral wool", 140),
        "polyamide film 0.05 mm",
        ("gypsum board", 12.5),
        "latex paint",
    )
    return year(what, "fernmoor", 0.0)


def roof() -> Case:
    """Flat roof, vapour-tight outside, humidity-dependent retarder inside; wet deck."""
    what = assembly(
        "flat roof",
        "bitumen roofing",
        ("softwood plywood 18 mm", 18),
        ("mineral wool", 240),
        "humidity-dependent vapour retarder",
        ("gypsum board", 12.5),
        "emulsion paint",
    )
    exposure = {"azimuth": 180.0, "tilt": 2.0, "absorptance": 0.8}
    return year(what, "thornvale", **exposure, inside=Indoor(FromOutdoor(), *CEILING), wet={0: 0.9})


def slab() -> Case:
    """Concrete slab on insulation on the ground, with a wood floor; the concrete still wet."""
    what = assembly(
        "slab on ground",
        ("gravel", 150),
        ("extruded polystyrene", 100),
        "polyethylene 0.2 mm",
        ("concrete", 120),
        ("cement plaster", 40),
        "primer",
        ("hardwood", 14),
    )
    under = Ground(climate("fernmoor"), depth=0.5, humidity=0.99)
    return year(what, "fernmoor", outside=under, inside=Indoor(FromOutdoor(), *FLOOR), wet={2: 0.96, 3: 0.9})


def interior_insulation() -> Case:
    """Old brick wall in rain with capillary-active insulation inside."""
    what = assembly(
        "interior insulation",
        ("absorbent brick", 365),
        ("mortar", 10),
        ("calcium silicate insulation", 60),
        ("lime plaster", 8),
    )
    return year(what, "fernmoor", 270.0)


def thin_films() -> Case:
    """Paint on paint outside and inside, paper behind the board: six films."""
    what = assembly(
        "paint films",
        "exterior acrylic paint",
        "primer",
        ("hardboard siding", 11),
        ("air gap 10 mm", 10),
        "building paper 30 min",
        ("plywood", 12),
        ("loose cellulose", 90),
        "kraft paper facing",
        ("gypsum plaster", 13),
        "primer-sealer",
        "semigloss enamel",
    )
    return year(what, "saltreed", 180.0)


def near_saturation() -> Case:
    """Cellar wall begun with full pores: concrete at 99.9 %, block work at 99.5 %."""
    what = assembly(
        "near saturation",
        ("cement plaster", 15),
        ("reinforced concrete", 150),
        ("mineral wool board", 80),
        ("aerated concrete", 100),
        ("gypsum plaster", 10),
        "latex paint",
    )
    return year(what, "kelpwick", 0.0, wet={0: 0.99, 1: 0.999, 3: 0.995})


def freezing() -> Case:
    """Subarctic frame wall with kraft paper: frost in the sheathing for months."""
    what = assembly(
        "freezing weather",
        ("spruce cladding", 22),
        ("air gap 25 mm", 25),
        "weather-resistive membrane",
        ("gypsum board", 9.5),
        ("mineral wool", 250),
        "kraft paper facing",
        ("plywood", 12),
    )
    return year(what, "rimefell", 0.0)


def cross_laminated() -> Case:
    """Cross-laminated timber, still moist, wood fibre insulation outside; outdoor air passes behind the cladding."""
    what = assembly(
        "cross-laminated",
        ("western red cedar", 20),
        ("air gap 25 mm", 25),
        "breather membrane",
        ("wood fibre insulation", 160),
        ("cross-laminated timber", 100),
    )
    case = year(what, "fernmoor", 180.0, wet={3: 0.85})
    return replace(case, loads=(VentilatedGap(what.layers[1].name, air_changes=30.0 / 3600.0),))


def vented_cladding() -> Case:
    """Wood cladding before a gap that wind and buoyancy ventilate; fibreboard, cellulose and board inside."""
    what = assembly(
        "vented cladding",
        ("eastern white cedar", 18),
        ("air gap 50 mm", 50),
        ("wood fibreboard", 22),
        ("dense cellulose", 240),
        ("OSB 12.3 mm", 15),
        ("gypsum board", 12.5),
        "emulsion paint",
    )
    gap = VentilatedGap(what.layers[1].name, height=5.0, pressure_coefficient=0.2)
    return replace(year(what, "ochreflat", 90.0), loads=(gap,))


def metal_faced() -> Case:
    """Steel outside, board insulation, a foil and plaster board inside."""
    what = assembly(
        "metal-faced",
        ("steel sheet", 0.7),
        ("polyisocyanurate", 100),
        "aluminium foil",
        ("air gap 25 mm", 25),
        ("gypsum board", 12.5),
        "vinyl wallpaper",
    )
    return year(what, "saltreed", 270.0, absorptance=0.8)


def aerated_concrete() -> Case:
    """Rendered aerated concrete, wet from the works."""
    what = assembly(
        "aerated concrete",
        ("stucco", 15),
        ("aerated concrete", 300),
        ("gypsum plaster", 10),
        "emulsion paint",
    )
    return year(what, "thornvale", 225.0, wet={1: 0.97})


ASSEMBLIES: dict[str, Callable[[], Case]] = {
    "masonry": masonry,
    "timber frame": timber_frame,
    "flat roof": roof,
    "slab on ground": slab,
    "interior insulation": interior_insulation,
    "paint films": thin_films,
    "near saturation": near_saturation,
    "freezing weather": freezing,
    "cross-laminated": cross_laminated,
    "vented cladding": vented_cladding,
    "metal-faced": metal_faced,
    "aerated concrete": aerated_concrete,
}
