"""The laboratory of the bench: virtual cups and uptake tests, a curve from cup tests."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..text import paragraph, plain, span, table
from .frame import FIGURES, Stop, check_output, of_case, say_written, system, write_figure

if TYPE_CHECKING:
    from ..bench.directions import DirectionalFit
    from ..bench.fitting import Fit

Rows = list[tuple[str, ...]]
#: Humidities in the cup and in the room [%] of the tests that are run where none is asked for.
_USUAL = ((0, 50), (50, 85), (93, 50), (100, 50))

_path = click.Path(path_type=Path)
_units = click.option(
    "--units",
    type=click.Choice(["metric", "us", "si"], case_sensitive=False),
    default="metric",
    help="Units of the values.",
)
_from = click.option(
    "--from", "file", metavar="FILE.toml", type=_path, help="NAME is in this catalogue or case file of yours."
)
_figure = click.option("--figure", metavar="OUT.png", type=_path, help="Draw it (.png, .pdf, .svg).")


@click.command(short_help="Run a cup test of a film or a board.")
@click.argument("name")
@click.option("--thickness", help="Of a material, such as '12.5 mm'.")
@click.option("--cup", metavar="HUMIDITY", help="In the cup, such as '0 %'. Without it: the usual four tests.")
@click.option("--room", metavar="HUMIDITY", help="In the room, such as '50 %'.")
@click.option("--temperature", default="23 degC", show_default=True)
@click.option("--air-layer", default="0 mm", show_default=True, help="Air between specimen and water or salt.")
@click.option("--surface", metavar="PERMEANCE", help="Of the air at the outer face, such as 'sd 5 mm'.")
@_from
@_units
def cup(
    name: str,
    thickness: str | None,
    cup: str | None,
    room: str | None,
    temperature: str,
    air_layer: str,
    surface: str | None,
    file: Path | None,
    units: str,
) -> None:
    """Run the cup test of the film or material called NAME through the engine."""
    from ..bench.cup import CupTest, virtual_cup
    from ..case.assembly import Layer
    from ..casefile.own_materials import named
    from ..materials.model import Material
    from ..quantities import AIR_PERMEABILITY, convert, parse, unit_label
    from ..run.simulation import SimulationError

    entry = named(name, file)
    if isinstance(entry, Material) and thickness is None:
        raise InputError(f"'{entry.name}' is a material; give --thickness, such as '12.5 mm'", "--thickness")
    if not isinstance(entry, Material) and thickness is not None:
        raise InputError(f"'{entry.name}' is a film, which has no thickness here", "--thickness")
    depth = parse(thickness, "thickness", "--thickness") if thickness is not None else 0.0
    specimen = Layer(entry, depth) if isinstance(entry, Material) else entry
    if (cup is None) != (room is None):
        raise InputError("give --cup and --room together", "--room" if room is None else "--cup")
    pairs = [(a / 100.0, b / 100.0) for a, b in _USUAL]
    if cup is not None and room is not None:
        pairs = [(parse(cup, "humidity", "--cup"), parse(room, "humidity", "--room"))]
    beta = parse(surface, "permeance", "--surface") if surface is not None else 0.0
    if surface is not None and not beta > 0.0:
        raise InputError(f"{surface!r}: it must be greater than 0", "--surface")
    settings: dict[str, Any] = {
        "temperature": parse(temperature, "temperature", "--temperature"),
        "air_layer": parse(air_layer, "length", "--air-layer"),
        "surface_resistance": 1.0 / beta if beta else 0.0,
    }
    unit = unit_label("permeance", system(units))
    wet = isinstance(entry, Material) and (entry.liquid is not None or entry.diffusivity is not None)
    rows: Rows = [
        ("cup", "room", "reported", "less the air", *(["vapour alone"] if wet else []), "sd", "steady after"),
        ("%", "%", unit, unit, *([unit] if wet else []), "m", "days"),
    ]
    for a, b in pairs:
        test = CupTest(a, b, **settings)
        try:
            got = [virtual_cup(specimen, test, liquid=liquid) for liquid in ((True, False) if wet else (True,))]
        except SimulationError as error:
            raise Stop(f"the cup at {100 * a:.3g} against {100 * b:.3g} %: {error}") from None
        if not all(r.steady for r in got):
            raise Stop(f"the cup at {100 * a:.3g} against {100 * b:.3g} % is not steady: drift {got[0].drift:.1e}")
        shown = [got[0].apparent, *(r.corrected for r in got)]
        values = (plain(convert(v, "permeance", system(units))) for v in shown)
        sd = plain(AIR_PERMEABILITY / got[0].corrected)
        rows.append((plain(100 * a), plain(100 * b), *values, sd, plain(got[0].days_to_steady, 2)))
    click.echo(f"{entry.name}{', ' + thickness if thickness else ''}: virtual cups at {temperature}\n")
    click.echo(table(rows, left=0))
    if wet:
        click.echo("\n" + paragraph(_LIQUID))


_LIQUID = (
    "A real cup weighs vapour and liquid together. Where the liquid adds to a cup like those behind the permeance, "
    "the material counts the same water twice; over water, beyond those cups, it may."
)


@click.command(short_help="Stand a board in water.")
@click.argument("name")
@click.option("--thickness", default="50 mm", show_default=True, help="Height above the water.")
@click.option("--start", default="50 %", show_default=True, help="Humidity at which it was kept before.")
@_from
def uptake(name: str, thickness: str, start: str, file: Path | None) -> None:
    """Run the water uptake test of the material called NAME through the engine."""
    from ..bench.uptake import virtual_uptake
    from ..case.assembly import Layer
    from ..casefile.own_materials import named
    from ..materials.curves import AbsorptionDiffusivity
    from ..materials.model import Material
    from ..quantities import parse
    from ..run.simulation import SimulationError

    entry = named(name, file)
    if not isinstance(entry, Material):
        raise InputError(f"'{entry.name}' is a film; only a material takes up water", "NAME")
    layer = Layer(entry, parse(thickness, "thickness", "--thickness"))
    at = parse(start, "humidity", "--start")
    if not at > 0.0:
        raise InputError("it must be greater than 0 %", "--start")
    try:
        got = virtual_uptake(layer, start=at)
        wet = entry.liquid is not None or entry.diffusivity is not None
        liquid = virtual_uptake(layer, start=at, vapour=False) if wet else None
    except SimulationError as error:
        raise Stop(f"the uptake test: {error}") from None
    rows: Rows = [("water absorption coefficient", "kg/(m2 s^0.5)"), ("all that goes in", plain(got.absorption))]
    if liquid is not None:
        rows.append(("liquid alone", plain(liquid.absorption)))
    if isinstance(entry.diffusivity, AbsorptionDiffusivity):
        rows.append(("as the entry states it", plain(entry.diffusivity.absorption)))
    click.echo(f"{entry.name}, {thickness} above the water, from {start}\n\n{table(rows)}\n")
    text = f"Weighed over {span(float(got.time[-1]))}; the root of time is kept within {100 * got.bend:.1f} %."
    click.echo(paragraph(text))


@click.command(short_help="Fit a curve to cup tests.")
@click.argument("tests_file", metavar="TESTS.csv", type=_path)
@click.option(
    "--family",
    type=click.Choice(["logistic", "two-level", "exponential", "spline", "constant"]),
    default="logistic",
    show_default=True,
)
@click.option("--directions", is_flag=True, help="A curve for each direction of flow; `turned` says how it lay.")
@click.option("--name", default="", help="What the membrane is called.")
@_figure
@_units
def fit(tests_file: Path, family: str, directions: bool, name: str, figure: Path | None, units: str) -> None:
    """Fit a curve of permeance against humidity to the cup tests in TESTS.csv (or .toml)."""
    import warnings

    check_output(figure, FIGURES, "--figure")
    from ..bench import directions as ways
    from ..bench.cup_file import read_cup_tests
    from ..bench.fitting import FitWarning
    from ..bench.fitting import fit as fitted

    tests = read_cup_tests(tests_file)
    label = name or tests_file.stem
    with of_case(tests_file), warnings.catch_warnings():
        warnings.simplefilter("ignore", FitWarning)
        found = ways.fit_directions(tests, family) if directions else fitted(tests, family)
    if isinstance(found, ways.DirectionalFit):
        lines = directions_answer(found, label, system(units))
    else:
        lines = fit_answer(found, label, system(units))
    click.echo("\n".join([*lines, "", "For the catalogue or the case file:", "", *catalogue_entry(found, label)]))
    if figure is not None:
        from ..bench.figures import directions_figure, fit_figure

        drawn = directions_figure(found, label) if isinstance(found, ways.DirectionalFit) else fit_figure(found, label)
        write_figure(drawn, figure)
        say_written(figure)


def directions_answer(found: DirectionalFit, name: str, system: Any) -> list[str]:
    """Return the fits of both directions in words, and whether they differ."""
    lines: list[str] = []
    for part, way in ((found.inward, "from outside to inside"), (found.outward, "from inside to outside")):
        lines += [*fit_answer(part, f"{name}, flow {way}", system), ""]
    chance = "less than 1" if found.chance < 0.01 else f"{100 * found.chance:.0f}"
    text = f"A film without sides would give a difference like this in {chance} of 100 such series"
    tail = "." if found.chance <= 0.05 else ": the tests do not tell the directions apart."
    return [*lines, paragraph(text + tail)]


def fit_answer(found: Fit, name: str, system: Any) -> list[str]:
    """Return a fit in words: the curve with its band, the tests, what they leave open, a catalogue entry."""
    import numpy as np

    from ..quantities import convert, unit_label

    unit = unit_label("permeance", system)

    def shown(values: Any) -> list[str]:
        return [plain(v) for v in np.atleast_1d(convert(np.asarray(values, dtype=float), "permeance", system))]

    at = np.array([0.1, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9])
    low, high = found.band(at)
    rows: Rows = [
        ("relative humidity, %", *(f"{100 * h:.0f}" for h in at)),
        (f"permeance, {unit}", *shown(found.curve(at))),
        ("95 % band, from", *shown(low)),
        ("to", *shown(high)),
    ]
    tests: Rows = [("cup", "room", "measured", "modelled", "off by"), ("%", "%", unit, unit, "uncertainties")]
    for test, measured, modelled, off in zip(
        found.tests, shown(found.measured), shown(found.modelled), found.residuals, strict=True
    ):
        tests.append((plain(100 * test.cup), plain(100 * test.room), measured, modelled, f"{off:+.1f}"))
    lines = [f"{name}: {found.family} curve through {len(found.tests)} cup tests, by the integral", "", table(rows)]
    lines += ["", table(tests, left=0), ""]
    lines.append(paragraph("The band holds the whole curve, over the humidities that the tests cover."))
    lines += [paragraph(f"Warning: {text}.") for text in found.warnings]
    return lines


def catalogue_entry(found: Fit | DirectionalFit, name: str) -> list[str]:
    """Return the fitted film as it is written in a catalogue or a case file."""
    from ..bench.catalogue_keys import curve_keys
    from ..bench.fitting import Fit
    from ..toml import quoted

    parts = (
        {"permeance": found}
        if isinstance(found, Fit)
        else {"permeance": found.inward, "permeance_outward": found.outward}
    )
    return [
        f"[film.{quoted(name)}]",
        *(f"{key} = {{ {curve_keys(part.family, part.parameters)} }}" for key, part in parts.items()),
    ]
