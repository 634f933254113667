"""The commands of the membrane bench: virtual cups, a curve from cup tests, a map, a sensitivity."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .cli_frame import Progress, Stop, check_output, of_case, write_whole
from .errors import InputError
from .words import paragraph, plain, table

if TYPE_CHECKING:
    from .bench.fitting import Fit
    from .case import Case

Rows = list[tuple[str, ...]]
_FIGURES = (".png", ".pdf", ".svg")
#: Humidities in the cup and in the room [%] of the tests that are run where none is asked for.
_USUAL = ((0, 50), (50, 85), (93, 50), (100, 50))

_path = click.Path(path_type=Path)
_units = click.option("--units", type=click.Choice(["si", "us"]), default="si", help="Units of the values.")
_figure = click.option("--figure", metavar="OUT.png", type=_path, help="Draw it (.png, .pdf, .svg).")
_output = click.option("-o", "--output", metavar="OUT.nc", type=_path, help="Keep the result as netCDF.")
_film = click.option("--film", metavar="NAME", help="The film of the wall that is varied.")
_case = click.argument("case_file", metavar="CASE.toml", type=_path)


@click.group(short_help="Membranes: cup tests, curves, maps.")
def bench() -> None:
    """Find out which permeance a membrane has, and which it should have."""


@bench.command(short_help="Run a cup test of a film or a board.")
@click.argument("name")
@click.option("--thickness", help="Of a material, such as '12.5 mm'.")
@click.option("--cup", metavar="HUMIDITY", help="In the cup, such as '0 %'. Without it: the usual four tests.")
@click.option("--room", metavar="HUMIDITY", help="In the room, such as '50 %'.")
@click.option("--temperature", default="23 degC", show_default=True)
@click.option("--air-layer", default="0 mm", show_default=True, help="Air between specimen and water or salt.")
@click.option("--surface", metavar="PERMEANCE", help="Of the air at the outer face, such as 'sd 5 mm'.")
@_units
def cup(
    name: str,
    thickness: str | None,
    cup: str | None,
    room: str | None,
    temperature: str,
    air_layer: str,
    surface: str | None,
    units: str,
) -> None:
    """Run the cup test of the film or material called NAME through the engine."""
    from .assembly import Layer
    from .bench.cup import CupTest, virtual_cup
    from .materials import Material
    from .plugins import materials
    from .quantities import AIR_PERMEABILITY, convert, parse, unit_label
    from .simulation import SimulationError

    entry = materials().get_entry(name)
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
    unit = unit_label("permeance", units.upper())  # type: ignore[arg-type]
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
        values = (plain(convert(v, "permeance", units.upper())) for v in shown)  # type: ignore[arg-type]
        sd = plain(AIR_PERMEABILITY / got[0].corrected)
        rows.append((plain(100 * a), plain(100 * b), *values, sd, plain(got[0].days_to_steady, 2)))
    click.echo(f"{entry.name}{', ' + thickness if thickness else ''}: virtual cups at {temperature}\n")
    click.echo(table(rows, left=0))
    if wet:
        click.echo()
        text = "A real cup measures all that passes; where the liquid adds much, the permeance and the liquid "
        click.echo(paragraph(text + "flow of this material count the same water twice."))


@bench.command(short_help="Fit a curve to cup tests.")
@click.argument("tests_file", metavar="TESTS.csv", type=_path)
@click.option(
    "--family",
    type=click.Choice(["logistic", "two-level", "exponential", "spline"]),
    default="logistic",
    show_default=True,
)
@click.option("--name", default="", help="What the membrane is called.")
@_figure
@_units
def fit(tests_file: Path, family: str, name: str, figure: Path | None, units: str) -> None:
    """Fit a curve of permeance against humidity to the cup tests in TESTS.csv (or .toml)."""
    import warnings

    check_output(figure, _FIGURES, "--figure")
    from .bench.cup_file import read_cup_tests
    from .bench.fitting import FitWarning
    from .bench.fitting import fit as fitted

    tests = read_cup_tests(tests_file)
    with of_case(tests_file), warnings.catch_warnings():
        warnings.simplefilter("ignore", FitWarning)
        found = fitted(tests, family)
    label = name or tests_file.stem
    click.echo("\n".join(fit_answer(found, label, units.upper())))
    if figure is not None:
        from .bench.figures import fit_figure

        write_whole(figure, lambda part: fit_figure(found, label).savefig(part, dpi=150))
        click.echo(f"Written: {figure}")


def fit_answer(found: Fit, name: str, system: Any) -> list[str]:
    """Return a fit in words: the curve with its band, the tests, what they leave open, a catalogue entry."""
    import numpy as np

    from .quantities import convert, unit_label

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
    return [*lines, "", "For the catalogue or the case file:", "", *catalogue_entry(found, name)]


def catalogue_entry(found: Fit, name: str) -> list[str]:
    """Return the fitted film as it is written in a catalogue or a case file."""
    import json

    p = found.parameters
    if found.family == "spline":
        humidity = " ".join(key.removeprefix("at ").removesuffix(" %") for key in p)
        permeance = " ".join(f"{1e12 * v:.4g}" for v in p.values())
        keys = f'humidity = "{humidity} %", permeance = "{permeance} ng/(Pa s m2)"'
    else:
        kinds = {"closed": "p", "open": "p", "dry": "p", "rise": "p", "growth": "n"}
        words = {"p": '"{:.4g} ng/(Pa s m2)"', "n": "{:.4g}", "h": '"{:.4g} %"'}
        scale = {"p": 1e12, "n": 1.0, "h": 100.0}
        parts = [f'family = "{found.family}"']
        for key, value in p.items():
            kind = kinds.get(key, "h")
            parts.append(f"{key} = {words[kind].format(scale[kind] * value)}")
        keys = ", ".join(parts)
    return [f"[film.{json.dumps(name)}]", f"permeance = {{ {keys} }}"]


@bench.command("map", short_help="Dry-out over two parameters of a membrane.")
@_case
@_film
@click.option("--closed", metavar="PERMEANCES", help="When closed, such as '3 30 300 ng/(Pa s m2)'.")
@click.option("--open", "opened", metavar="PERMEANCES", help="When open, such as '500 2000 8000 ng/(Pa s m2)'.")
@click.option("--middle", metavar="HUMIDITIES", help="At which it opens, such as '50 60 70 80 %'.")
@click.option("--width", metavar="HUMIDITIES", help="Width of the change, such as '5 10 %'.")
@_output
@_figure
def map_(
    case_file: Path,
    film: str | None,
    closed: str | None,
    opened: str | None,
    middle: str | None,
    width: str | None,
    output: Path | None,
    figure: Path | None,
) -> None:
    """Run the dry-out trial with many membranes: two of their four parameters take several values.

    The membrane is a logistic curve; what is not given is that of the film in the wall.
    """
    case, name = _ready(case_file, film, output, figure)
    from .bench.mapping import membrane_map
    from .bench.vary import film_of
    from .curves import Logistic
    from .quantities import parse_many

    own = film_of(case, name).permeance
    asked: dict[str, tuple[float, ...]] = {}
    for key, text in (("closed", closed), ("open", opened), ("middle", middle), ("width", width)):
        if text is not None:
            asked[key] = parse_many(text, "permeance" if key in ("closed", "open") else "humidity", f"--{key}")
    axes = {k: v for k, v in asked.items() if len(v) > 1}
    if len(axes) != 2:
        raise InputError(
            f"two of them need several values, not {len(axes)}, such as --closed '3 30 300 ng/(Pa s m2)' "
            "--middle '50 60 70 %'",
            "--closed, --open, --middle, --width",
        )
    if not isinstance(own, Logistic):
        for key in ("closed", "open"):
            if key not in asked:
                raise InputError(f"the curve of '{name}' is not logistic; give its permeance", f"--{key}")
    values = {k: getattr(own, k) for k in ("closed", "open", "middle", "width")} if isinstance(own, Logistic) else {}
    base = Logistic(**(values | {k: v[0] for k, v in asked.items()}))
    found = _worked(case_file, lambda p: membrane_map(case, name, axes, curve=base, progress=p))
    _kept(found, output)
    if figure is not None:
        from .bench.figures import map_figure

        write_whole(figure, lambda part: map_figure(found).savefig(part, dpi=150))
    first, second = axes
    days, share = (found[k].values for k in ("days_to_tenth", "share_inward"))
    rows: Rows = [(first, second, "days until a tenth is left", "inward")]
    for i, a in enumerate(_words(first, axes[first])):
        for j, b in enumerate(_words(second, axes[second])):
            reached = f"{days[i, j]:.0f}" if days[i, j] == days[i, j] else "not reached"
            rows.append((a, b, reached, f"{100 * share[i, j]:.0f} %"))
    click.echo(f"{case.name}: dry-out with other membranes in place of '{name}'\n\n{table(rows, left=0)}")
    _written(output, figure)


@bench.command(short_help="At which humidities a membrane matters.")
@_case
@_film
@click.option("--at", metavar="HUMIDITIES", default="10 20 30 40 50 60 70 80 90 %", show_default=True)
@_output
@_figure
def sensitivity(case_file: Path, film: str | None, at: str, output: Path | None, figure: Path | None) -> None:
    """Raise and lower the permeance of a membrane about each humidity and see what the dry-out trial does."""
    case, name = _ready(case_file, film, output, figure)
    from .bench.sensitivities import sensitivity as of_points
    from .quantities import parse_many

    points = parse_many(at, "humidity", "--at")
    found = _worked(case_file, lambda p: of_points(case, name, points, progress=p))
    _kept(found, output)
    if figure is not None:
        from .bench.figures import sensitivity_figure

        write_whole(figure, lambda part: sensitivity_figure(found).savefig(part, dpi=150))
    rows: Rows = [("humidity, %", "days", "share inward")]
    for h, d, s in zip(points, found["days_to_tenth"].values, found["share_inward"].values, strict=True):
        rows.append((plain(100 * h), _percent(d), _percent(s)))
    a = found.attrs
    rows.append(("everywhere", _percent(a["even_days_to_tenth"]), _percent(a["even_share_inward"])))
    head = f"{case.name}: change of the result with 10 % more permeance of '{name}' about one humidity"
    click.echo(f"{paragraph(head)}\n\n{table(rows, left=0)}")
    _written(output, figure)


def _percent(slope: float) -> str:
    """Return d ln(result)/d ln P as the change of the result with 10 % more permeance."""
    return f"{round(100.0 * (1.1**slope - 1.0), 2) + 0.0:+.2f} %" if slope == slope else "unknown"


def _words(name: str, values: Sequence[float]) -> list[str]:
    from .quantities import show

    quantity = "permeance" if name in ("closed", "open") else "humidity"
    return [show(v, quantity) for v in values]


def _ready(case_file: Path, film: str | None, output: Path | None, figure: Path | None) -> tuple[Case, str]:
    """Return the case and the name of its film, after a look at the names of the files to be written."""
    from .casefile import read_case

    check_output(output, (".nc",), "--output")
    check_output(figure, _FIGURES, "--figure")
    case = read_case(case_file)
    if not case.wettings:
        raise InputError("a dry-out trial needs a [[wetting]]; add one", str(case_file))
    names = list(dict.fromkeys(f.name for f in case.assembly.films))
    if film is None:
        if len(names) != 1:
            known = "it has none" if not names else "it has " + ", ".join(f"'{n}'" for n in names)
            raise InputError(f"say which film of the wall; {known}", "--film")
        return case, names[0]
    from .bench.vary import film_of

    with of_case(case_file):
        return case, film_of(case, film).name


def _worked(case_file: Path, work: Any) -> Any:
    from .simulation import SimulationError

    try:
        with of_case(case_file), Progress("running dry-out trials") as progress:
            return work(progress)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}") from None


def _kept(found: Any, output: Path | None) -> None:
    if output is not None:
        write_whole(output, lambda part: found.to_netcdf(part, engine="netcdf4"))


def _written(*paths: Path | None) -> None:
    names = [str(path) for path in paths if path is not None]
    if names:
        click.echo(f"Written: {', '.join(names)}")
