"""The command `materials`: what is installed, and everything known about one entry."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

from .errors import InputError
from .words import paragraph, plain, table

if TYPE_CHECKING:
    from .materials import Film, Material, Source

Rows = list[tuple[str, ...]]

#: Relative humidities [-] on both sides of a dry and of a wet cup (ASTM E96).
DRY_CUP, WET_CUP = (0.0, 0.5), (0.5, 1.0)
#: Relative humidities [-] at which one entry is shown.
LEVELS = (0.2, 0.4, 0.6, 0.8, 0.9, 0.95)

_units = click.option("--units", type=click.Choice(["si", "us"]), default="si", help="Units of the values.")


@click.command(short_help="List materials and films, or show one.")
@click.argument("name", required=False)
@click.option("--kind", type=click.Choice(["material", "film"]), help="Only these.")
@click.option("--below", metavar="PERMEANCE", help="Films below it in a dry cup, such as 1perm or 'sd 5 m'.")
@click.option("--above", metavar="PERMEANCE", help="Films above it in a dry cup.")
@_units
def materials(name: str | None, kind: str | None, below: str | None, above: str | None, units: str) -> None:
    """List the materials and films that are installed, or show the one called NAME."""
    from . import plugins
    from .materials import Film, Material
    from .quantities import parse

    system = units.upper()
    if name is not None:
        click.echo("\n".join(describe(plugins.materials().get_entry(name), system)))
        return
    least = 0.0 if above is None else parse(above, "permeance", "--above")
    most = float("inf") if below is None else parse(below, "permeance", "--below")
    only_films = kind == "film" or above is not None or below is not None
    if only_films and kind == "material":
        raise InputError("permeances are of films; leave out --kind material", "--below or --above")
    entries = plugins.materials().entries().values()
    blocks = []
    if not only_films:
        blocks.append(table(material_rows([e for e in entries if isinstance(e, Material)], system)))
    if kind != "material":
        rows = film_rows([e for e in entries if isinstance(e, Film)], system, least, most)
        blocks.append(table(rows) if len(rows) > 2 else "No film is like that.")
    click.echo("\n\n".join(blocks))
    click.echo("\nDry cup: mean over 0 to 50 % relative humidity; wet cup: over 50 to 100 %.")


def material_rows(found: Sequence[Material], system: Any) -> Rows:
    """Return one row for each material."""
    from .curves import by_humidity
    from .quantities import AIR_PERMEABILITY

    labels = [label(q, system) for q in ("density", "conductivity", "water_content", "water_content")]
    rows: Rows = [
        ("material", "density", "conductivity, dry", "water at 80 %", "saturated", "mu, dry cup", "wet cup"),
        ("", *labels, "", ""),
    ]
    for m in sorted(found, key=lambda m: m.name.casefold()):
        rows.append(
            (
                m.name,
                *short([m.density], "density", system),
                *short([by_humidity(m.conductivity, m.storage)(0.0)], "conductivity", system),
                *short([by_humidity(m.storage)(0.8), m.saturation], "water_content", system),
                *(plain(AIR_PERMEABILITY / p, 2) for p in cups(by_humidity(m.permeability, m.storage))),
            )
        )
    return rows


def film_rows(found: Sequence[Film], system: Any, least: float = 0.0, most: float = float("inf")) -> Rows:
    """Return one row for each film whose permeance in a dry cup lies between `least` and `most`."""
    from .curves import by_humidity
    from .quantities import AIR_PERMEABILITY

    unit = label("permeance", system)
    rows: Rows = [
        ("film", "dry cup", "wet cup", "wet over dry", "sd, dry cup", "wet cup"),
        ("", unit, unit, "", "m", "m"),
    ]
    for pair, name in sorted((cups(by_humidity(film.permeance)), film.name) for film in found):
        if least < pair[0] < most:
            sd = (plain(AIR_PERMEABILITY / p, 2) for p in pair)
            rows.append((name, *short(pair, "permeance", system), plain(pair[1] / pair[0]), *sd))
    return rows


def describe(entry: Material | Film, system: Any) -> list[str]:
    """Return everything known about an entry, in lines."""
    from .curves import by_humidity
    from .materials import Material
    from .quantities import AIR_PERMEABILITY, show

    rows: Rows = [("at relative humidity", *(f"{100 * h:.0f} %" for h in LEVELS))]
    facts: list[str] = []
    if isinstance(entry, Material):
        water = [by_humidity(entry.storage)(h) for h in LEVELS]
        vapour = [by_humidity(entry.permeability, entry.storage)(h) for h in LEVELS]
        dry = by_humidity(entry.conductivity, entry.storage)(0.0)
        facts = [
            f"density {show(entry.density, 'density', system)}",
            f"heat capacity {show(entry.heat_capacity, 'heat_capacity', system)}",
            f"conductivity {show(dry, 'conductivity', system)} when dry",
            f"holds {show(entry.saturation, 'water_content', system)} at most",
            "liquid water flows in it" if entry.liquid or entry.diffusivity else "no liquid water flows in it",
        ]
        rows.append((f"water, {label('water_content', system)}", *short(water, "water_content", system)))
        rows.append(("water, % of dry mass", *(plain(100 * w / entry.density) for w in water)))
        rows.append(("mu", *(plain(AIR_PERMEABILITY / v, 2) for v in vapour)))
    else:
        vapour = [by_humidity(entry.permeance)(h) for h in LEVELS]
        rows.append((f"permeance, {label('permeance', system)}", *short(vapour, "permeance", system)))
        rows.append(("sd, m", *(plain(AIR_PERMEABILITY / v, 2) for v in vapour)))
    lines = [f"{entry.name}: a {'material' if isinstance(entry, Material) else 'film'}"]
    for words, front in ((facts, ""), (entry.tags, "tags: "), (entry.aliases, "also called: ")):
        if words:
            lines.append(paragraph(front + ", ".join(words)))
    low, high = entry.humidity_range
    lines += ["", table(rows), "", f"Data from {100 * low:.0f} to {100 * high:.0f} % relative humidity."]
    for name, (few, many) in entry.spread.items():
        lines.append(f"Known spread of {name}: {few:g} to {many:g} times the value.")
    return lines + [paragraph(text) for text in cited(entry.sources)]


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


def cups(curve: Callable[[Any], Any]) -> tuple[float, float]:
    """Return what a dry and a wet cup measure."""
    from .curves import mean_permeance

    return mean_permeance(curve, *DRY_CUP), mean_permeance(curve, *WET_CUP)


def label(quantity: str, system: Any) -> str:
    """Return the unit in which a quantity is shown."""
    from .quantities import unit_label

    return unit_label(quantity, system)


def short(values: Sequence[float], quantity: str, system: Any) -> tuple[str, ...]:
    """Return SI values in the unit in which they are shown, without it."""
    from .quantities import convert

    return tuple(plain(convert(v, quantity, system)) for v in values)
