"""Is an entry complete, and does it lie where its kind lies? What a slip of a unit or of a power of ten would not.

The bounds of a kind span its rows in handbook tables, a little rounded outward: ASHRAE Handbook - Fundamentals (2021),
chapter 26, tables 1, 5 and 7; ISO 10456 (2007), tables 3 and 4 (from memory); CIBSE Guide A, tables 3.36 and 3.37; the
tables of Oliva and Courgey (2021) for stone and of SNiP II-3-79 for concrete and fibres. An entry that lies outside
says why in `unusual`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from ..moist_air import vapour_permeability_din52615
from .contract import problems
from .curves import AbsorptionDiffusivity, by_humidity, mean_permeance
from .model import REFERENCE_TEMPERATURE, Film, Material

Bounds = Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Kind:
    """A kind of material and the bounds of its properties.

    Parameters
    ----------
    name : str
    tags : tuple of frozenset of str
        An entry with all tags of one of the sets is of this kind.
    bounds : mapping
        Property to (least, most), in the units of `UNITS`.
    mineral : bool
        Its pores take water that freezes.
    """

    name: str
    tags: tuple[frozenset[str], ...]
    bounds: Bounds
    mineral: bool = False


#: What is compared, and its unit. `mu` at 50 %; `water` at 80 % humidity as a share of the dry mass.
UNITS = {
    "density": "kg/m3",
    "heat_capacity": "J/(kg K)",
    "conductivity": "W/(m K)",
    "mu": "",
    "water": "kg/kg",
    "absorption": "kg/(m2 s^0.5)",
    "permeance": "kg/(m2 s Pa)",
}


def _kind(name: str, tags: str, mineral: bool = False, **bounds: tuple[float, float]) -> Kind:
    sets = tuple(frozenset(one.split("+")) for one in tags.split())
    return Kind(name, sets, MappingProxyType(bounds), mineral)


#: In the order in which they are tried.
KINDS: tuple[Kind, ...] = (
    _kind("air", "air", density=(1.0, 1.4), heat_capacity=(1000, 1010), conductivity=(0.02, 4), mu=(0.2, 1.01)),
    _kind(
        "metal", "metal", density=(2500, 12000), heat_capacity=(120, 950), conductivity=(10, 400), mu=(1e4, 1e7)
    ),
    _kind(
        "foam", "insulation+foam", density=(5, 120), heat_capacity=(1300, 1700), conductivity=(0.018, 0.056),
        mu=(1.5, 300), water=(0, 0.06), absorption=(0, 0.01),
    ),
    _kind(
        "fibrous insulation", "insulation+fibre", density=(7, 300), heat_capacity=(750, 2200),
        conductivity=(0.03, 0.09), mu=(1, 10), water=(0, 0.25), absorption=(1e-4, 0.3),
    ),
    _kind(
        "other insulation", "insulation", density=(30, 500), heat_capacity=(750, 2000), conductivity=(0.004, 0.16),
        mu=(1.5, 1e6), water=(0, 0.2), absorption=(1e-4, 1.5),
    ),
    _kind(
        "wood-based panel", "wood+panel", density=(200, 1400), heat_capacity=(1200, 2000), conductivity=(0.045, 0.35),
        mu=(4, 600), water=(0.02, 0.2), absorption=(3e-4, 0.05),
    ),
    _kind(
        "wood", "wood", density=(300, 1000), heat_capacity=(1200, 2800), conductivity=(0.08, 0.26), mu=(15, 1500),
        water=(0.06, 0.2), absorption=(5e-4, 0.03),
    ),
    _kind(
        "stone", "stone", True, density=(1000, 3100), heat_capacity=(700, 1050), conductivity=(0.4, 3.6),
        mu=(10, 12000), water=(0, 0.06), absorption=(1e-4, 1.2),
    ),
    _kind(
        "earth", "earth", True, density=(300, 2200), heat_capacity=(800, 1600), conductivity=(0.07, 1.4), mu=(3, 40),
        water=(0.003, 0.12), absorption=(0.01, 1.0),
    ),
    _kind(
        "concrete", "concrete", True, density=(300, 2600), heat_capacity=(750, 1200), conductivity=(0.07, 3.0),
        mu=(4, 320), water=(0.002, 0.08), absorption=(0.002, 0.15),
    ),
    _kind(
        "plaster or mortar", "plaster mortar screed", True, density=(200, 2300), heat_capacity=(800, 1650),
        conductivity=(0.025, 2.0), mu=(3, 130), water=(0.001, 0.1), absorption=(3e-4, 1.0),
    ),
    _kind(
        "masonry", "masonry brick", True, density=(400, 2500), heat_capacity=(700, 1100), conductivity=(0.08, 1.7),
        mu=(4, 320), water=(2e-4, 0.08), absorption=(2e-4, 1.2),
    ),
    _kind(
        "mineral board", "board", True, density=(350, 2000), heat_capacity=(750, 1200), conductivity=(0.09, 0.7),
        mu=(4, 320), water=(0.003, 0.2), absorption=(3e-4, 0.5),
    ),
    _kind(
        "ground", "ground", True, density=(1200, 2300), heat_capacity=(750, 2000), conductivity=(0.15, 3.8), mu=(1, 80),
        water=(0, 0.15), absorption=(0.001, 2.0),
    ),
    _kind(
        "solid", "glass plastic bitumen", density=(100, 2700), heat_capacity=(800, 2300), conductivity=(0.05, 1.6),
        mu=(1000, 1e7), water=(0, 0.05),
    ),
)  # fmt: skip
#: Kinds of films, by the permeance in a dry cup [kg/(m2 s Pa)]: ASHRAE table 6 and, for what is tighter, metal foils.
FILM_KINDS: tuple[Kind, ...] = (
    _kind("vapour retarder", "retarder vapour+retarder", permeance=(1e-15, 600e-12)),
    _kind("roof or floor sheet", "roof floor sub-slab", permeance=(1e-15, 600e-12)),
    _kind("weather barrier", "weather+barrier barrier", permeance=(20e-12, 20e-9)),
    _kind("paint or coating", "paint coating", permeance=(0.5e-12, 60e-9)),
    _kind("paper or lining", "paper lining", permeance=(1e-12, 20e-9)),
    _kind("membrane", "membrane", permeance=(1e-15, 20e-9)),
)
#: What decides how a wall dries, by name of the spread.
DECIDES = ("permeability", "storage", "conductivity")


def kind_of(entry: Material | Film) -> Kind | None:
    """Return the kind that the tags of an entry name, or None."""
    words = {word for tag in entry.tags for word in (tag, *tag.split())}
    kinds = FILM_KINDS if isinstance(entry, Film) else KINDS
    return next((k for k in kinds if any(tags <= words for tags in k.tags)), None)


def values_of(entry: Material | Film) -> dict[str, float]:
    """Return what is compared with the bounds of a kind, in the units of `UNITS`."""
    if isinstance(entry, Film):
        return {"permeance": mean_permeance(by_humidity(entry.permeance), 0.0, 0.5)}
    curve = entry.diffusivity
    found = {
        "density": entry.density,
        "heat_capacity": entry.heat_capacity,
        "conductivity": float(by_humidity(entry.conductivity, entry.storage)(0.0)),
        "mu": float(vapour_permeability_din52615(REFERENCE_TEMPERATURE))
        / float(by_humidity(entry.permeability, entry.storage)(0.5)),
        "water": float(by_humidity(entry.storage)(0.8)) / entry.density,
    }
    if isinstance(curve, AbsorptionDiffusivity):
        found["absorption"] = curve.absorption
    return found


def doubts(entry: Material | Film) -> list[str]:
    """Return what an entry lacks, and what of it lies outside its kind without a reason; each in one line.

    Parameters
    ----------
    entry : Material or Film
        One that is sound (`contract.problems`); else the breaches of the contract are returned alone.
    """
    return problems(entry) or list(_doubts(entry))


def _doubts(entry: Material | Film) -> Iterator[str]:
    kind = kind_of(entry)
    if kind is None:
        kinds = FILM_KINDS if isinstance(entry, Film) else KINDS
        words = sorted({"+".join(sorted(one)) for k in kinds for one in k.tags})
        yield f"no tag says of what kind it is; tag it as one of {', '.join(words)}"
    else:
        yield from _bounds(entry, kind)
    yield from _reasons(entry)
    if isinstance(entry, Film):
        if "permeance" not in entry.spread:
            yield "no spread of the permeance; say how far other tables lie from it"
        return
    if kind is not None and kind.name == "air":
        return
    wet = entry.liquid is not None or entry.diffusivity is not None
    for name in (*DECIDES, *(("liquid",) if wet else ())):
        if name not in entry.spread:
            yield f"no spread of the {name}; say how far other tables lie from it"
    if not (wet or entry.sheds_rain):
        yield "it would shed rain in silence: give liquid, or sheds_rain = true with its source"
    if entry.sheds_rain and not any(s.about in ("", "sheds rain") for s in entry.sources):
        yield "it sheds rain without a source that says why"
    if kind is not None and kind.mineral and not entry.freezing and "freezing" not in entry.unusual:
        yield "its pores are mineral, but freezing is not true"
    if not entry.mould_class:
        yield "its mould_class is not stated"


def _bounds(entry: Material | Film, kind: Kind) -> Iterator[str]:
    with np.errstate(all="ignore"):
        values = values_of(entry)
    for name, (low, high) in kind.bounds.items():
        value = values.get(name)
        if value is None or low <= value <= high or name in entry.unusual:
            continue
        unit = f" {UNITS[name]}" if UNITS[name] else ""
        yield f"{name} is {value:.3g}{unit}; of the kind '{kind.name}' it is {low:g} to {high:g}{unit}"


def _reasons(entry: Material | Film) -> Iterator[str]:
    for name in entry.unusual:
        if name not in UNITS and name != "freezing":
            yield f"unusual names '{name}'; use {', '.join(UNITS)} or freezing"
    bare = sorted({s.about or "the entry" for s in entry.sources if s.kind == "from memory" and not s.note})
    if bare:
        yield f"from memory without a reason in the note of the source: {', '.join(bare)}"
