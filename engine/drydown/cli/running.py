"""The commands that run a case: `run` and `dryout`."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from .frame import (
    FIGURES,
    Progress,
    Stop,
    check_output,
    in_units_of,
    keep_inputs,
    line_of,
    of_case,
    say_long,
    say_written,
    tell,
    write_data,
    write_figure,
)

if TYPE_CHECKING:
    import xarray as xr

    from ..case.case import Case
    from ..casefile import CaseFile

F = TypeVar("F", bound=Callable[..., Any])

_case = click.argument("case_file", metavar="CASE.toml", type=click.Path(path_type=Path))


def _out(what: str) -> Callable[[F], F]:
    return click.option(
        "-o", "--output", metavar="OUT.nc", type=click.Path(path_type=Path), help=f"Keep {what} as netCDF."
    )


def _picture(what: str) -> Callable[[F], F]:
    return click.option(
        "--figure",
        metavar="OUT.png",
        type=click.Path(path_type=Path),
        help=f"Draw {what} (.png, .pdf, .svg).",
    )


def _ready(case_file: Path, output: Path | None, figure: Path | None, calendar: Path | None = None) -> CaseFile:
    from ..casefile import read_file

    check_output(output, (".nc",), "--output")
    check_output(figure, FIGURES, "--figure")
    check_output(calendar, FIGURES, "--calendar-figure")
    given = read_file(case_file)
    keep_inputs({"--output": output, "--figure": figure, "--calendar-figure": calendar}, given.files)
    in_units_of(given.document, case_file, given.case)
    return given


@click.command(short_help="Run a case: how humid each layer gets.")
@_case
@_out("the hourly state of the wall")
@_picture("the humidity of the wall by depth and time")
@click.option("--check-mesh", is_flag=True, help="Also: the error of the mesh, by a run in three times the cells.")
@click.option("--sources", is_flag=True, help="Also: how it was computed, and where the criteria come from.")
def run(case_file: Path, output: Path | None, figure: Path | None, check_mesh: bool, sources: bool) -> None:
    """Run a case and say how humid each layer gets."""
    given = _ready(case_file, output, figure)
    case, limits = given.case, given.limits
    from ..criteria import assess, exposed
    from ..run.simulation import SimulationError, simulate
    from ..trial.leaks import leak_bounds
    from ..trial.unknown import unknowns
    from ..wording.answer import run_answer
    from ..wording.leaks import leak_words

    try:
        say_long(case)
        with of_case(case_file), Progress("running") as progress:
            results = simulate(case, progress, output)
        mesh = _mesh(case, results, check_mesh)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}; {_kept(error, output, written=True)}") from None
    if mesh and output is not None:
        from ..run.mesh_error import keep

        results = keep(results, output, mesh)
    with results:
        found = assess(results, limits)
        known = unknowns(case, results, found)
        leaks = leak_words(leak_bounds(case))
        tell(run_answer(results, case, found, limits, exposed(results), known, sources, leaks))
        if figure is not None:
            from ..figures import run_figure

            write_figure(run_figure(results), figure)
    if said := line_of(given.document, case_file):
        tell(said)
    _mesh_said(mesh)
    say_written(output, figure)


def _mesh(case: Case, results: Any, asked: bool) -> dict[str, float | str]:
    """Return the estimate of the error of the mesh, where it is asked for."""
    if not asked:
        return {}
    from ..run.mesh_error import mesh_error

    with Progress("once more in three times the cells") as progress:
        return mesh_error(case, results, progress)


def _mesh_said(mesh: dict[str, float | str]) -> None:
    if mesh:
        from ..wording.uncertainty import error_of_the_mesh

        tell(error_of_the_mesh(mesh))


def _flag(name: str, text: str) -> Callable[[F], F]:
    return click.option(f"--{name}", is_flag=True, help=text)


@click.command(short_help="Does it dry, to which side, and does it stay sound?")
@_case
@_out("the trial")
@_picture("the trial")
@_flag("calendar", "Also: in which month and layer a wetting lasts longest (some 40 runs).")
@click.option(
    "--calendar-figure",
    metavar="OUT.png",
    type=click.Path(path_type=Path),
    help="Draw that calendar (.png, .pdf, .svg).",
)
@_flag("reserve", "Also: how much water may get in every year (some ten runs).")
@_flag("check", "Also: the numerical error, by a run in finer cells and steps.")
@_flag("check-mesh", "Also: the error of the mesh in every cell, by a run in three times the cells.")
@_flag("spread", "Also: what the spread of the material data does to the answer.")
@click.option(
    "--posterior",
    metavar="FIT.json",
    type=click.Path(path_type=Path),
    help="Also: what is left open by a fit, drawn from what `drydown fit --posterior` wrote.",
)
@_flag("sources", "Also: how it was computed, and where the criteria come from.")
def dryout(
    case_file: Path,
    output: Path | None,
    figure: Path | None,
    calendar: bool,
    calendar_figure: Path | None,
    reserve: bool,
    check: bool,
    check_mesh: bool,
    spread: bool,
    posterior: Path | None,
    sources: bool,
) -> None:
    """Run a case with its wettings and without them: does it dry, how fast, to which side, and does it stay sound?"""
    given = _ready(case_file, output, figure, calendar_figure)
    case, limits = given.case, given.limits
    from ..trial.built_in import wet_at_start

    if not case.wettings and wet_at_start(case):
        _built_in(case, limits, case_file, output)
        return
    from ..criteria import assess, exposed
    from ..run.simulation import SimulationError
    from ..trial.dryout import account, held_twins, of_both
    from ..trial.judging import judge_trial
    from ..trial.leaks import leak_bounds
    from ..trial.unknown import unknowns
    from ..wording.answer import trial_answer
    from ..wording.leaks import leak_words

    try:
        say_long(case, 2)
        with of_case(case_file):
            with ExitStack() as runs:
                with Progress("running with the water and without") as progress:
                    reference, wetted = runs.enter_context(held_twins(case, progress=progress))
                    trial = account(case, reference, wetted)
                    both = reference, wetted
                    found = of_both(lambda run: assess(run, limits), both)
                    before, after = judge_trial(case, both, *found, limits)
                    weathered, unknown = exposed(wetted), unknowns(case, wetted, after)
                mesh = _mesh(case, wetted, check_mesh)
            trial.attrs.update(mesh)
            more = [*leak_words(leak_bounds(case)), *_calendar(case, limits, calendar, calendar_figure)]
            more += _reserve(case, limits, reserve)
            sure = _sure(case, trial, check, spread, posterior)
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}; {_kept(error, output, written=False)}") from None
    write_data(trial, output)
    if figure is not None:
        from ..figures import trial_figure

        write_figure(trial_figure(trial), figure)
    tell(trial_answer(trial, case, before, after, more, sure, limits, weathered, unknown, sources))
    if said := line_of(given.document, case_file):
        tell(said)
    _mesh_said(mesh)
    say_written(output, figure, calendar_figure)


def _built_in(case: Case, limits: dict[str, float], case_file: Path, output: Path | None) -> None:
    """Say when water that was built in has left; the case has no wetting but a layer that starts wet."""
    from ..criteria import assess, exposed
    from ..run.simulation import SimulationError
    from ..trial.built_in import account, built_in_runs
    from ..trial.dryout import of_both
    from ..trial.unknown import unknowns
    from ..wording.answer import built_in_answer

    try:
        with of_case(case_file), Progress("as built, and at its usual moisture") as progress:
            base, built = built_in_runs(case, progress)
            found = account(case, base, built)
            before, after = of_both(lambda run: assess(run, limits), (base, built))
    except SimulationError as error:
        raise Stop(f"{case_file}: {error}; {_kept(error, output, written=False)}") from None
    write_data(found, output)
    tell(built_in_answer(found, case, before, after, limits, exposed(built), unknowns(case, built, after)))
    say_written(output)


def _calendar(case: Case, limits: dict[str, float], asked: bool, figure: Path | None) -> list[str]:
    """Return the paragraph on the months, and draw the calendar."""
    if not asked and figure is None:
        return []
    from ..figures.calendar import calendar_figure
    from ..trial.calendar import wetting_calendar
    from ..wording.calendar import calendar_answer

    with Progress("a wetting in each month and layer") as progress:
        found = wetting_calendar(case, limits=limits, progress=progress)
    if figure is not None:
        write_figure(calendar_figure(found), figure)
    return [calendar_answer(found)]


def _reserve(case: Case, limits: dict[str, float], asked: bool) -> list[str]:
    """Return the paragraph on the drying reserve."""
    if not asked:
        return []
    from ..trial.reserve import drying_reserve
    from ..wording.reserve import reserve_answer

    with Progress("looking for the drying reserve") as progress:
        return [reserve_answer(drying_reserve(case, limits, progress=progress))]


def _sure(case: Case, trial: xr.Dataset, check: bool, spread: bool, posterior: Path | None) -> list[str]:
    """Return the paragraphs on how sure the answer is, where they were asked for."""
    from ..text import paragraph
    from ..trial.uncertainty import finer_trial, spread_of_materials
    from ..wording.uncertainty import numerical_error, spread_answer

    lines: list[str] = []
    if check:
        with Progress("running in finer cells and steps") as progress:
            lines.append(paragraph(numerical_error(trial, finer_trial(case, progress))))
    if spread:
        with Progress("trying the spread of the materials") as progress:
            lines += spread_answer(spread_of_materials(case, progress), trial)
    if posterior is not None:
        from ..inverse.posterior import of_wall, read_posterior, spread_of_posterior
        from ..wording.fit import posterior_words

        known = read_posterior(posterior)
        with Progress("drawing from the fit") as progress:
            lines.append(posterior_words(spread_of_posterior(case, known, progress=progress), of_wall(known)))
    return lines


def _kept(error: Exception, output: Path | None, written: bool) -> str:
    """Keep what was reached, and say where."""
    partial = getattr(error, "partial", None)
    if output is None or partial is None:
        return "with -o OUT.nc what was reached would be kept"
    path = output.with_name(output.name + ".partial")
    if written:
        partial.close()
    else:
        write_data(partial, path)
    return f"what was reached is in {path}"
