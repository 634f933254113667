"""The commands that run a case: `run` and `dryout`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .cli_frame import Progress, Stop, check_output, of_case, write_whole

if TYPE_CHECKING:
    from .case import Case

FIGURES = (".png", ".pdf", ".svg")
_case = click.argument("case_file", metavar="CASE.toml", type=click.Path(path_type=Path))


def _out(what: str) -> Any:
    return click.option(
        "-o", "--output", metavar="OUT.nc", type=click.Path(path_type=Path), help=f"Keep {what} as netCDF."
    )


def _picture(what: str) -> Any:
    return click.option(
        "--figure",
        metavar="OUT.png",
        type=click.Path(path_type=Path),
        help=f"Draw {what} (.png, .pdf, .svg).",
    )


def _ready(case_file: Path, output: Path | None, figure: Path | None) -> Case:
    from .casefile import read_case

    check_output(output, (".nc",), "--output")
    check_output(figure, FIGURES, "--figure")
    return read_case(case_file)


@click.command(short_help="Run a case: how humid each layer gets.")
@_case
@_out("the hourly state of the wall")
@_picture("the humidity of the wall by depth and time")
def run(case_file: Path, output: Path | None, figure: Path | None) -> None:
    """Run a case and say how humid each layer gets."""
    case = _ready(case_file, output, figure)
    from .answer import run_answer
    from .simulation import SimulationError, simulate

    try:
        with of_case(case_file), Progress("running") as progress:
            results = simulate(case, progress, output)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}; {_kept(error, output, written=True)}") from None
    with results:
        click.echo(run_answer(results, case))
        if figure is not None:
            from .figures import run_figure

            write_whole(figure, lambda part: run_figure(results).savefig(part, dpi=150))
    _written(output, figure)


@click.command(short_help="How fast water dries out, and to which side.")
@_case
@_out("the trial")
@_picture("the trial")
def dryout(case_file: Path, output: Path | None, figure: Path | None) -> None:
    """Run a case with its wettings and without them: how fast the water leaves, and to which side."""
    case = _ready(case_file, output, figure)
    from .answer import trial_answer
    from .simulation import SimulationError
    from .trial import dryout as trial_of

    try:
        with of_case(case_file), Progress("running with the water and without") as progress:
            trial = trial_of(case, progress=progress)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}; {_kept(error, output, written=False)}") from None
    if output is not None:
        write_whole(output, lambda part: trial.to_netcdf(part, engine="netcdf4"))
    if figure is not None:
        from .figures import trial_figure

        write_whole(figure, lambda part: trial_figure(trial).savefig(part, dpi=150))
    click.echo(trial_answer(trial, case))
    _written(output, figure)


def _kept(error: Exception, output: Path | None, written: bool) -> str:
    """Keep what was reached, and say where."""
    partial = getattr(error, "partial", None)
    if output is None or partial is None:
        return "with -o OUT.nc what was reached would be kept"
    path = output.with_name(output.name + ".partial")
    if written:
        partial.close()
    else:
        write_whole(path, lambda part: partial.to_netcdf(part, engine="netcdf4"))
    return f"what was reached is in {path}"


def _written(*paths: Path | None) -> None:
    names = [str(path) for path in paths if path is not None]
    if names:
        click.echo(f"Written: {', '.join(names)}")
