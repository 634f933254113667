"""The command `materials`: what is installed, and everything known about one entry."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError, nearest
from ..text import plain, table
from .frame import FIGURES, check_output, say, say_written, write_figure

if TYPE_CHECKING:
    from ..materials.model import Film, Material

Rows = list[tuple[str, ...]]


@click.command(short_help="List materials and films, or show one.")
@click.argument("name", required=False)
@click.option("--kind", type=click.Choice(["material", "film"]), help="Only these.")
@click.option("--tag", metavar="WORD", help="Only those with this tag, such as cladding or membrane.")
@click.option("--below", metavar="PERMEANCE", help="Films below it in a dry cup, such as 1perm or 'sd 5 m'.")
@click.option("--above", metavar="PERMEANCE", help="Films above it in a dry cup.")
@click.option(
    "--from",
    "file",
    metavar="FILE.toml",
    type=click.Path(path_type=Path),
    help="Those of a catalogue or case file of yours, checked.",
)
@click.option(
    "--check", is_flag=True, help="Say of each entry, or of those in FILE.toml, what it lacks or what is odd."
)
@click.option("--provenance", is_flag=True, help="Print, as Markdown, how each property is known and what is recalled.")
@click.option(
    "--units",
    type=click.Choice(["metric", "us", "si"], case_sensitive=False),
    default="metric",
    help="Units of the values.",
)
@click.option(
    "--figure",
    metavar="OUT.png",
    type=click.Path(path_type=Path),
    help="Draw the curves of the one called NAME (.png, .pdf, .svg).",
)
def materials(
    name: str | None,
    kind: str | None,
    tag: str | None,
    below: str | None,
    above: str | None,
    file: Path | None,
    check: bool,
    provenance: bool,
    units: str,
    figure: Path | None,
) -> None:
    """List the materials and films that are installed, or show the one called NAME.

    With --check, NAME may also be a file of your own.
    """
    from .. import plugins
    from ..casefile.own_materials import named
    from ..quantities import parse
    from ..units import system_of

    system = system_of(units)
    if check:
        check_entries(name, file)
        return
    if provenance:
        from ..catalogue.provenance import page

        if name is not None:
            raise InputError("it is a page of all entries; leave out the name", "--provenance")
        click.echo("\n".join(page((plugins.materials().entries() if file is None else own_entries(file)).values())))
        return
    if name is not None:
        for option, value in (("--kind", kind), ("--tag", tag), ("--below", below), ("--above", above)):
            if value is not None:
                raise InputError("it sorts the list; leave it out to show one entry, or leave out the name", option)
        _show(named(name, file), system, figure)
        return
    if figure is not None:
        raise InputError("say of which material or film: drydown materials NAME --figure OUT.png", "--figure")
    least = 0.0 if above is None else parse(above, "permeance", "--above")
    most = float("inf") if below is None else parse(below, "permeance", "--below")
    only_films = kind == "film" or above is not None or below is not None
    if only_films and kind == "material":
        raise InputError("permeances are of films; leave out --kind material", "--below or --above")
    entries = plugins.materials().entries() if file is None else own_entries(file)
    _list(list(entries.values()), kind, only_films, tag, system, least, most)


def check_entries(name: str | None, file: Path | None) -> None:
    """Print what is lacking or odd, and end with status 1 where something is."""
    from .. import plugins
    from ..casefile.own_materials import catalogue_of, named
    from ..materials.plausible import doubts

    if name is not None and file is None and (name.endswith(".toml") or Path(name).exists()):
        file, name = Path(name), None
    entries: dict[str, Any]
    if name is not None:
        entries = {name: lambda: named(name, file)}
    else:
        entries = dict(plugins.materials().entries() if file is None else catalogue_of(file))
    if not entries:
        raise InputError("there is nothing to check", "--check")
    bad = 0
    for key, entry in entries.items():
        try:
            found = doubts(entry() if callable(entry) else entry)
        except InputError as error:
            found = [str(error)]
        bad += bool(found)
        for line in found:
            click.echo(f"'{key}': {line}")
    whole = "1 entry" if len(entries) == 1 else f"{len(entries)} entries"
    click.echo(f"{whole} checked: " + (f"{bad} with something to say" if bad else "complete and plausible"))
    if bad:
        raise SystemExit(1)


def own_entries(file: Path) -> dict[str, Material | Film]:
    """Return what is sound of a file of one's own; the rest is named on stderr."""
    from ..casefile.own_materials import catalogue_of, own_entry

    found: dict[str, Material | Film] = {}
    for name in catalogue_of(file):
        try:
            found[name] = own_entry(file, name)
        except InputError as error:
            say(f"warning: {error}")
    return found


def _show(entry: Material | Film, system: Any, figure: Path | None) -> None:
    from ..catalogue.page import describe

    check_output(figure, FIGURES, "--figure")
    click.echo("\n".join(describe(entry, system)))
    if figure is not None:
        from ..figures.entry import entry_figure

        write_figure(entry_figure(entry, system), figure)
        say_written(figure)


def _list(
    entries: list[Any], kind: str | None, only_films: bool, tag: str | None, system: Any, least: float, most: float
) -> None:
    from ..materials.model import Film, Material

    if tag is not None:
        known = sorted({t for e in entries for t in e.tags})
        if tag not in known:
            raise InputError(f"nothing has the tag '{tag}'; {nearest(tag, known)}", "--tag")
        entries = [e for e in entries if tag in e.tags]
    blocks, cups = [], False
    if not only_films:
        found = [e for e in entries if isinstance(e, Material)]
        if found or kind == "material":
            blocks.append(table(material_rows(found, system)) if found else "No material is like that.")
            cups = cups or bool(found)
    if kind != "material":
        rows = film_rows([e for e in entries if isinstance(e, Film)], system, least, most)
        if len(rows) > 2 or only_films or not blocks:
            blocks.append(table(rows) if len(rows) > 2 else "No film is like that.")
            cups = cups or len(rows) > 2
    click.echo("\n\n".join(blocks))
    if cups:
        click.echo("\nDry cup: mean over 0 to 50 % relative humidity; wet cup: over 50 to 100 %.")


def material_rows(found: Sequence[Material], system: Any) -> Rows:
    """Return one row for each material."""
    from ..catalogue.page import cups, short
    from ..materials.curves import by_humidity
    from ..quantities import AIR_PERMEABILITY, unit_label

    us = system == "US"
    shown = ["density", "conductivity", "water_content", "water_content", *(["permeability"] * 2 if us else [])]
    labels = [unit_label(q, system) for q in shown]
    cup = "permeability, dry cup" if us else "mu, dry cup"
    rows: Rows = [
        ("material", "density", "conductivity, dry", "water at 80 %", "saturated", cup, "wet cup"),
        ("", *labels, *([] if us else ["", ""])),
    ]
    for m in sorted(found, key=lambda m: m.name.casefold()):
        pair = cups(by_humidity(m.permeability, m.storage))
        rows.append(
            (
                m.name,
                *short([m.density], "density", system),
                *short([by_humidity(m.conductivity, m.storage)(0.0)], "conductivity", system),
                *short([by_humidity(m.storage)(0.8), m.saturation], "water_content", system),
                *(short(pair, "permeability", system) if us else (plain(AIR_PERMEABILITY / p, 2) for p in pair)),
            )
        )
    return rows


def film_rows(found: Sequence[Film], system: Any, least: float = 0.0, most: float = float("inf")) -> Rows:
    """Return one row for each film whose permeance in a dry cup lies between `least` and `most`."""
    from ..catalogue.page import cups, retarder_class, short
    from ..materials.curves import by_humidity
    from ..quantities import AIR_PERMEABILITY, unit_label

    unit, sd_unit = unit_label("permeance", system), unit_label("sd", system)
    rows: Rows = [
        ("film", "dry cup", "wet cup", "wet over dry", "sd, dry cup", "wet cup", "class"),
        ("", unit, unit, "", sd_unit, sd_unit, "IRC"),
    ]
    for pair, name in sorted((cups(by_humidity(film.permeance)), film.name) for film in found):
        if least < pair[0] < most:
            sd = short([AIR_PERMEABILITY / p for p in pair], "sd", system, 2)
            values = (*short(pair, "permeance", system), plain(pair[1] / pair[0]), *sd)
            rows.append((name, *values, retarder_class(pair[0])))
    return rows
