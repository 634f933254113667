"""What a material or film is good for, in a line that a builder reads."""

from __future__ import annotations

from typing import Any

from ..catalogue.page import cups, retarder_class
from ..materials.curves import AbsorptionDiffusivity, by_humidity
from ..materials.model import Film, Material
from ..quantities import AIR_PERMEABILITY, show
from ..text import plain

#: Uses by tag, in the order in which they are told; the first two that fit are. Words of the trade: common practice.
_USES = {
    "cladding": "outermost, in the weather", "weather barrier": "behind the cladding, against rain and wind",
    "vapour retarder": "vapour control, inside of the insulation", "sheathing": "sheathing", "insulation": "insulation",
    "lining": "lining of the room", "plaster": "plaster or render", "screed": "screed", "mortar": "mortar",
    "lumber": "lumber", "masonry": "masonry", "slab": "slab", "concrete": "concrete", "floor": "floor covering",
    "paint": "paint", "coating": "coating", "sub-slab": "under the slab", "roof": "roofing", "ground": "ground",
    "air": "a gap of air",
}  # fmt: skip
#: What is said of those that no use fits.
_PLAIN = ("wood", "membrane", "paper", "board", "fibre", "earth", "metal")
#: How much vapour passes a film, by its class. Classes are those of the International Residential Code by the dry cup.
_PASSES = {"I": "next to no vapour passes", "II": "little vapour passes", "III": "some vapour passes"}
#: Water absorption coefficients [kg/(m2 s^0.5)] up to which water is taken up very slowly, and slowly: 0.5 and 2.0
#: kg/(m2 h^0.5). Source: classes of renders in DIN 4108-3, from memory.
_VERY, _SLOWLY = 0.5 / 60.0, 2.0 / 60.0
#: From this ratio of wet to dry cup on a film opens when damp (ours).
_OPENS = 3.0


def good_for(entry: Material | Film, system: Any) -> str:
    """Return what an entry is good for, how open to vapour it is and whether it takes up water.

    Parameters
    ----------
    entry : Material or Film
    system : {'SI', 'US'}
    """
    uses = [words for tag, words in _USES.items() if tag in entry.tags]
    uses = uses or [tag for tag in _PLAIN if tag in entry.tags][:1]
    front = ["; or ".join(uses[:2])] if uses else []
    return "; ".join(front + (_film(entry, system) if isinstance(entry, Film) else _material(entry, system)))


def _film(film: Film, system: Any) -> list[str]:
    dry, wet = cups(by_humidity(film.permeance))
    name = retarder_class(dry)
    passes = _PASSES.get(name, "open to vapour")
    if wet > _OPENS * dry:
        passes += f", {plain(wet / dry, 2)} times as much when damp"
    out = [f"class {name}: {passes}" if name in _PASSES else passes]
    if system == "US":
        return [*out, f"{show(dry, 'permeance', system)} dry, {show(wet, 'permeance', system)} damp"]
    a, b = (plain(AIR_PERMEABILITY / x, 2) for x in (dry, wet))
    return [*out, f"sd {a} m" if a == b else f"sd {a} m dry, {b} m damp"]


def _material(entry: Material, system: Any) -> list[str]:
    out: list[str] = []
    if "air" in entry.tags:
        return out
    if "insulation" in entry.tags:
        dry = float(by_humidity(entry.conductivity, entry.storage)(0.0))
        out.append(show(dry, "conductivity", system))
    low, high = cups(by_humidity(entry.permeability, entry.storage))
    if system == "US":
        out.append(f"{show(low, 'permeability', system)} dry, {show(high, 'permeability', system)} damp")
    elif AIR_PERMEABILITY / low > 1e4:
        out.append("no vapour passes")
    else:
        a, b = (plain(AIR_PERMEABILITY / x, 2) for x in (low, high))
        out.append(f"vapour: mu {a}" if a == b else f"vapour: mu {a} dry, {b} damp")
    return [*out, _water(entry)]


def _water(entry: Material) -> str:
    curve = entry.diffusivity
    if isinstance(curve, AbsorptionDiffusivity):
        rate = curve.absorption
        return f"takes up water {'very slowly' if rate <= _VERY else 'slowly' if rate <= _SLOWLY else 'fast'}"
    return "takes up water" if entry.liquid is not None or curve is not None else "takes up no water"
