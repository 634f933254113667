"""Everything known about one material or film, in lines of text."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from ..materials.curves import AbsorptionDiffusivity, by_humidity, mean_permeance
from ..materials.model import Film, Material, Source
from ..quantities import AIR_PERMEABILITY, convert, show, unit_label
from ..text import paragraph, plain, table

Rows = list[tuple[str, ...]]

#: Relative humidities [-] on both sides of a dry and of a wet cup (ASTM E96).
DRY_CUP, WET_CUP = (0.0, 0.5), (0.5, 1.0)
#: Relative humidities [-] at which an entry is shown.
LEVELS = (0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.98)
#: Vapour retarder classes by permeance in a dry cup: class and most [kg/(m2 s Pa)]. Source: IRC (from memory), 0.1,
#: 1 and 10 perm; a little more, so that a film of just so many counts in.
CLASSES = (("I", 5.73e-12), ("II", 57.3e-12), ("III", 573e-12))


def cups(curve: Callable[[Any], Any]) -> tuple[float, float]:
    """Return what a dry and a wet cup measure."""
    return mean_permeance(curve, *DRY_CUP), mean_permeance(curve, *WET_CUP)


def retarder_class(dry: float) -> str:
    """Return the vapour retarder class of a permeance in a dry cup, or "none"."""
    return next((name for name, most in CLASSES if dry <= most), "none")


def short(values: Sequence[float], quantity: str, system: Any, digits: int = 3) -> tuple[str, ...]:
    """Return SI values in the unit in which they are shown, without it."""
    return tuple(plain(convert(v, quantity, system), digits) for v in values)


def describe(entry: Material | Film, system: Any) -> list[str]:
    """Return everything known about an entry, in lines.

    Parameters
    ----------
    entry : Material or Film
    system : {'SI', 'US'}
    """
    is_material = isinstance(entry, Material)
    facts, rows = _material(entry, system) if isinstance(entry, Material) else _film(entry, system)
    lines = [f"{entry.name}: a {'material' if is_material else 'film'}"]
    for words, front in ((facts, ""), (entry.tags, "tags: "), (entry.aliases, "also called: ")):
        if words:
            lines.append(paragraph(front + ", ".join(words)))
    head = ("at relative humidity", *(f"{100 * h:.0f} %" for h in LEVELS))
    low, high = entry.humidity_range
    lines += ["", table([head, *rows]), "", f"Data from {100 * low:.0f} to {100 * high:.0f} % relative humidity."]
    for name, (few, many) in entry.spread.items():
        lines.append(f"Known spread of {name}: {few:g} to {many:g} times the value.")
    return lines + [paragraph(text) for text in cited(entry.sources)]


def _material(entry: Material, system: Any) -> tuple[list[str], Rows]:
    water = [by_humidity(entry.storage)(h) for h in LEVELS]
    vapour = [by_humidity(entry.permeability, entry.storage)(h) for h in LEVELS]
    heat = by_humidity(entry.conductivity, entry.storage)
    facts = [
        f"density {show(entry.density, 'density', system)}",
        f"heat capacity {show(entry.heat_capacity, 'heat_capacity', system)}",
        f"conductivity {show(heat(0.0), 'conductivity', system)} when dry",
        f"holds {show(entry.saturation, 'water_content', system)} "
        f"({plain(100 * entry.saturation / entry.density)} % of its dry mass) at most",
        liquid_words(entry),
    ]
    rows: Rows = [
        (f"water, {unit_label('water_content', system)}", *short(water, "water_content", system)),
        ("water, % of dry mass", *(plain(100 * w / entry.density) for w in water)),
        (f"permeability, {unit_label('permeability', system)}", *short(vapour, "permeability", system)),
        ("mu", *(plain(AIR_PERMEABILITY / v, 2) for v in vapour)),
        (
            f"conductivity, {unit_label('conductivity', system)}",
            *short([heat(h) for h in LEVELS], "conductivity", system),
        ),
    ]
    return facts, rows


def liquid_words(entry: Material) -> str:
    """Say whether liquid water flows in a material, from which humidity on, and how fast a wet face drinks."""
    curve = entry.diffusivity
    if isinstance(curve, AbsorptionDiffusivity):
        text = f"water absorption coefficient {show(curve.absorption, 'absorption')}"
        if curve.above > 0.0:
            text += f" (liquid flows above {100 * _humidity_at(entry, curve.above):.0f} % relative humidity)"
        return text
    return "no liquid water flows in it" if entry.liquid is None and curve is None else "liquid water flows in it"


def _humidity_at(entry: Material, water: float) -> float:
    """Return the humidity [-] at which a material holds so much water [kg/m3]."""
    read = by_humidity(entry.storage)
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if read(middle) < water else (low, middle)
    return high


def _film(entry: Film, system: Any) -> tuple[list[str], Rows]:
    unit = unit_label("permeance", system)
    dry, wet = cups(by_humidity(entry.permeance))
    words = retarder_class(dry)
    facts = [
        f"dry cup {show(dry, 'permeance', system)}",
        f"wet cup {show(wet, 'permeance', system)}",
        "no vapour retarder by its dry cup (IRC)" if words == "none" else f"vapour retarder class {words} (IRC)",
    ]
    rows: Rows = []
    ways = [("", entry.permeance)]
    if entry.permeance_outward is not None:
        ways = [(" inward", entry.permeance), (" outward", entry.permeance_outward)]
    for way, curve in ways:
        vapour = [by_humidity(curve)(h) for h in LEVELS]
        rows.append((f"permeance{way}, {unit}", *short(vapour, "permeance", system)))
        sd = [AIR_PERMEABILITY / v for v in vapour]
        rows.append((f"sd{way}, {unit_label('sd', system)}", *short(sd, "sd", system, 2)))
    if entry.permeance_temperature is not None:
        facts.append("its permeance depends on temperature; the table is at 23 degC")
    return facts, rows


def cited(sources: Sequence[Source]) -> list[str]:
    """Return one line for each source, with all the properties that rest on it."""
    about: dict[str, list[str]] = {}
    for s in sources:
        year = f" ({s.year})" if s.year else ""
        note = f"; {s.note}" if s.note else ""
        about.setdefault(f"{s.authors}{year}, {s.where} [{s.kind}]{note}", []).append(s.about)
    return [
        f"Source of {', '.join(names)}: {text}" if all(names) else f"Source: {text}" for text, names in about.items()
    ]
