"""The commands of the membrane bench: those of its laboratory, a map and a sensitivity."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..text import paragraph, plain, table
from .designing import design
from .frame import FIGURES, Progress, Stop, check_output, keep_inputs, of_case, say_written, write_data, write_figure
from .lab import cup, fit, uptake

if TYPE_CHECKING:
    from ..case.case import Case

Rows = list[tuple[str, ...]]

_path = click.Path(path_type=Path)
_figure = click.option("--figure", metavar="OUT.png", type=_path, help="Draw it (.png, .pdf, .svg).")
_output = click.option("-o", "--output", metavar="OUT.nc", type=_path, help="Keep the result as netCDF.")
_film = click.option("--film", metavar="NAME", help="The film of the wall that is varied.")
_direction = click.option(
    "--direction",
    type=click.Choice(["both", "inward", "outward"]),
    default="both",
    show_default=True,
    help="Of the flow whose permeance is changed.",
)
_case = click.argument("case_file", metavar="CASE.toml", type=_path)


@click.group(short_help="Membranes: cup tests, curves, maps.")
def bench() -> None:
    """Find out which permeance a membrane has, and which it should have."""


for _command in (cup, uptake, fit, design):
    bench.add_command(_command)


@bench.command("map", short_help="Dry-out over two parameters of a membrane.")
@_case
@_film
@click.option("--closed", metavar="PERMEANCES", help="When closed, such as '3 30 300 ng/(Pa s m2)'.")
@click.option("--open", "opened", metavar="PERMEANCES", help="When open, such as '500 2000 8000 ng/(Pa s m2)'.")
@click.option("--middle", metavar="HUMIDITIES", help="At which it opens, such as '50 60 70 80 %'.")
@click.option("--width", metavar="HUMIDITIES", help="Width of the change, such as '5 10 %'.")
@_direction
@_output
@_figure
def map_(
    case_file: Path,
    film: str | None,
    closed: str | None,
    opened: str | None,
    middle: str | None,
    width: str | None,
    direction: Any,
    output: Path | None,
    figure: Path | None,
) -> None:
    """Run the dry-out trial with many membranes: two of their four parameters take several values.

    The membrane is a logistic curve; what is not given is that of the film in the wall.
    """
    case, name = _ready(case_file, film, output, figure)
    from ..bench.mapping import membrane_map
    from ..materials.curves import Logistic
    from ..quantities import parse_many
    from ..trial.tries import film_of

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
    found = _worked(case_file, lambda p: membrane_map(case, name, axes, curve=base, direction=direction, progress=p))
    write_data(found, output)
    if figure is not None:
        from ..bench.figures import map_figure

        write_figure(map_figure(found), figure)
    first, second = axes
    days, share = (found[k].values for k in ("days_to_90_percent_dry", "share_inward"))
    rows: Rows = [(first, second, "days until a tenth is left", "inward")]
    for i, a in enumerate(_words(first, axes[first])):
        for j, b in enumerate(_words(second, axes[second])):
            reached = f"{days[i, j]:.0f}" if days[i, j] == days[i, j] else "not reached"
            rows.append((a, b, reached, f"{100 * share[i, j]:.0f} %"))
    click.echo(f"{case.name}: dry-out with other membranes in place of '{name}'\n\n{table(rows, left=0)}")
    say_written(output, figure)


@bench.command(short_help="At which humidities a membrane matters.")
@_case
@_film
@click.option("--at", metavar="HUMIDITIES", default="10 20 30 40 50 60 70 80 90 %", show_default=True)
@_direction
@_output
@_figure
def sensitivity(
    case_file: Path, film: str | None, at: str, direction: Any, output: Path | None, figure: Path | None
) -> None:
    """Raise and lower the permeance of a membrane about each humidity and see what the dry-out trial does."""
    case, name = _ready(case_file, film, output, figure)
    from ..bench.sensitivities import sensitivity as of_points
    from ..quantities import parse_many

    points = parse_many(at, "humidity", "--at")
    found = _worked(case_file, lambda p: of_points(case, name, points, direction=direction, progress=p))
    write_data(found, output)
    if figure is not None:
        from ..bench.figures import sensitivity_figure

        write_figure(sensitivity_figure(found), figure)
    rows: Rows = [("humidity, %", "days", "share inward")]
    for h, d, s in zip(points, found["days_to_90_percent_dry"].values, found["share_inward"].values, strict=True):
        rows.append((plain(100 * h), _percent(d, "not reached"), _percent(s)))
    a = found.attrs
    days = _percent(a["even_days_to_90_percent_dry"], "not reached")
    rows.append(("everywhere", days, _percent(a["even_share_inward"])))
    head = f"{case.name}: change of the result with 10 % more permeance of '{name}' about one humidity"
    click.echo(f"{paragraph(head)}\n\n{table(rows, left=0)}")
    say_written(output, figure)


def _percent(slope: float, unknown: str = "unknown") -> str:
    """Return d ln(result)/d ln P as the change of the result with 10 % more permeance."""
    return f"{round(100.0 * (1.1**slope - 1.0), 2) + 0.0:+.2f} %" if slope == slope else unknown


def _words(name: str, values: Sequence[float]) -> list[str]:
    from ..quantities import show

    quantity = "permeance" if name in ("closed", "open") else "humidity"
    return [show(v, quantity) for v in values]


def _ready(case_file: Path, film: str | None, output: Path | None, figure: Path | None) -> tuple[Case, str]:
    """Return the case and the name of its film, after a look at the names of the files to be written."""
    from ..casefile import read_file

    check_output(output, (".nc",), "--output")
    check_output(figure, FIGURES, "--figure")
    given = read_file(case_file)
    keep_inputs({"--output": output, "--figure": figure}, given.files)
    case = given.case
    if not case.wettings:
        raise InputError("a dry-out trial needs a [[wetting]]; add one", str(case_file))
    names = list(dict.fromkeys(f.name for f in case.assembly.films))
    if film is None:
        if len(names) != 1:
            known = "it has none" if not names else "it has " + ", ".join(f"'{n}'" for n in names)
            raise InputError(f"say which film of the wall; {known}", "--film")
        return case, names[0]
    from ..trial.tries import film_of

    with of_case(case_file):
        return case, film_of(case, film).name


def _worked(case_file: Path, work: Any) -> Any:
    from ..run.simulation import SimulationError

    try:
        with of_case(case_file), Progress("running dry-out trials") as progress:
            return work(progress)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}") from None
