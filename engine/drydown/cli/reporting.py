"""The command that writes the page: `report`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..errors import InputError
from ..files import work_folder, write_text
from .frame import Progress, Stop, check_output, in_units_of, keep_inputs, of_case

if TYPE_CHECKING:
    import xarray as xr

    from ..case.case import Case
    from ..casefile import CaseFile
    from ..lowering.grid import Grid
    from ..report.further import Further

#: Runs longer than this are kept in a file while the page is made [years].
LONG = 4.0


@click.command(short_help="Write the page that explains a wall: one HTML file.")
@click.argument("source", metavar="CASE.toml|RUN.nc", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", metavar="OUT.html", type=click.Path(path_type=Path),
    help="Where to write it; by default beside the source, ending in .html.",
)  # fmt: skip
@click.option(
    "--case", "case_file", metavar="CASE.toml", type=click.Path(path_type=Path),
    help="With RUN.nc: the case it was run from, for films, inputs and sources.",
)  # fmt: skip
@click.option(
    "--trial", "trial_file", metavar="TRIAL.nc", type=click.Path(path_type=Path),
    help="With RUN.nc: what `drydown dryout -o` kept of the same case.",
)  # fmt: skip
@click.option("--changes/--no-changes", default=True, help="Try what would change the answer, and tell (default).")
@click.option("--calendar", is_flag=True, help="Also: in which month a wetting lasts longest (some 40 runs).")
@click.option("--reserve", is_flag=True, help="Also: how much water may get in every year (some ten runs).")
@click.option("--spread", is_flag=True, help="Also: what the spread of the material data does to the answer.")
def report(
    source: Path,
    output: Path | None,
    case_file: Path | None,
    trial_file: Path | None,
    changes: bool,
    calendar: bool,
    reserve: bool,
    spread: bool,
) -> None:
    """Write the page of a wall: the answer in plain words, the wall over time, figures, inputs, sources.

    One HTML file that opens without a connection, on a phone as on a desk, and prints. From a case file the wall is run
    with its water and without it; from the results of `drydown run` the page is made of what is there.
    """
    output = source.with_suffix(".html") if output is None else output
    check_output(output, (".html", ".htm"), "--output")
    named = (("what is read", source), ("the case file", case_file), ("the trial", trial_file))
    keep_inputs({"--output": output}, [(what, path) for what, path in named if path is not None])
    asked = tuple(n for n, on in (("calendar", calendar), ("reserve", reserve), ("spread", spread)) if on)
    if source.suffix.lower() == ".nc":
        if asked:
            raise InputError(f"asks for more runs of the case; give the case file, not {source}", f"--{asked[0]}")
        text = _of_results(source, case_file, trial_file)
    else:
        for path, option in ((case_file, "--case"), (trial_file, "--trial")):
            if path is not None:
                raise InputError(f"goes with results, such as wall.nc; {source} is run anew", f"{option} {path}")
        text = _of_case(source, changes, output, asked)
    write_text(output, text)
    click.echo(f"Written: {output}, {len(text.encode()) / 1e6:.1f} MB. Open it in a browser.")


def _of_results(source: Path, case_file: Path | None, trial_file: Path | None) -> str:
    from ..casefile import read_file
    from ..figures.courses import follow
    from ..report import page

    given = read_file(case_file) if case_file is not None else None
    case = given.case if given is not None else None
    if given is not None:
        in_units_of(given.document, given.path, case)
    trial = _opened(trial_file, "excess", "drydown dryout -o trial.nc") if trial_file is not None else None
    with _opened(source, "relative_humidity", "drydown run -o wall.nc") as results:
        limits = None
        if given is not None:
            _same(given.case, results, case_file, source)
            limits = given.limits
        return page(results, trial, case, follow(results, limits))


def _opened(path: Path, needed: str, verb: str) -> xr.Dataset:
    from ..run.opening import open_result

    dataset = open_result(path)
    if needed not in dataset:
        dataset.close()
        raise InputError(f"holds no '{needed}'; use what `{verb}` writes", str(path))
    return dataset


def _same(case: Case, results: xr.Dataset, case_file: Path | None, source: Path) -> None:
    """Raise InputError unless a result has the layers of the case."""
    here = [layer.name for layer in case.assembly.layers]
    there = [str(n) for n in results["layer"].values]
    if here != there:
        raise InputError(
            f"its layers are {', '.join(here)}, those of {source} are {', '.join(there)}; give the case it was "
            f"run from",
            f"--case {case_file}",
        )


def _of_case(source: Path, changes: bool, output: Path, asked: Sequence[str] = ()) -> str:
    from ..casefile import read_file
    from ..casefile.heading import heading_of
    from ..figures.courses import follow
    from ..report import page
    from ..run.simulation import SimulationError
    from ..trial.advice import advise
    from ..trial.judging import judge_trial

    given = read_file(source)
    keep_inputs({"--output": output}, given.files)
    case, limits = given.case, given.limits
    in_units_of(given.document, source, case)
    heading = heading_of(given.document, source)
    try:
        with of_case(source), work_folder() as folder:
            if not case.wettings:
                for name in asked[:1]:
                    raise InputError("asks what becomes of water; the case has no wetting", f"{source}, --{name}")
                with Progress("running") as progress:
                    results = _simulated(case, folder / "run.nc", progress)
                with results:
                    more = _further(case, limits, None, ())
                    return page(results, None, case, follow(results, limits), heading=heading, further=more)
            with Progress("running with the water and without") as progress:
                reference, wetted, trial = _tried(case, folder, progress)
            with reference, wetted:
                before = follow(reference, limits).findings
                followed = follow(wetted, limits)
                before, after = judge_trial(case, (reference, wetted), before, followed.findings, limits)
                followed = followed._replace(findings=after)
                advice = None
                if changes:
                    with Progress("trying changes") as progress:
                        advice = advise(case, limits, progress, _variants(given))
                more = _further(case, limits, trial, asked)
                return page(wetted, trial, case, followed, before, advice, heading, more)
    except SimulationError as error:
        raise Stop(f"{source}: {error}; no page was written") from None


def _further(
    case: Case, limits: Mapping[str, float] | None, trial: xr.Dataset | None, asked: Sequence[str]
) -> list[Further]:
    """Return what is told beside the trial: leaks and built-in water where there are any, and what was asked for."""
    from ..report import further
    from ..trial.built_in import built_in, wet_at_start
    from ..trial.leaks import leak_bounds

    out = []
    bounds = leak_bounds(case)
    if bounds:
        out.append(further.of_leaks(bounds))
    if wet_at_start(case):
        with Progress("counting the water that was built in") as progress:
            out.append(further.of_built_in(built_in(replace(case, wettings=()), progress)))
    if trial is not None and "calendar" in asked:
        from ..trial.calendar import wetting_calendar

        with Progress("a wetting in each month and layer") as progress:
            out.append(further.of_calendar(wetting_calendar(case, limits=limits, progress=progress)))
    if trial is not None and "reserve" in asked:
        from ..trial.reserve import drying_reserve

        with Progress("looking for the drying reserve") as progress:
            out.append(further.of_reserve(drying_reserve(case, limits, progress=progress)))
    if trial is not None and "spread" in asked:
        from ..trial.uncertainty import spread_of_materials

        with Progress("trying the spread of the materials") as progress:
            out.append(further.of_spread(spread_of_materials(case, progress), trial))
    return out


def _variants(given: CaseFile) -> list[tuple[str, Case]]:
    """Return the variants that the case file itself lists."""
    from ..casefile.variants import variants_of

    if not given.document.get("variant"):
        return []
    return [(v.name, v.case) for v in variants_of(given.document, given.path)[1:]]


def _simulated(case: Case, path: Path, progress: Callable[[float], None], grid: Grid | None = None) -> xr.Dataset:
    """Return a run, kept in a file where it is long; `grid`: its mesh, if not its own."""
    import numpy as np

    from ..run.simulation import simulate

    years = (case.end - case.start) / np.timedelta64(1, "D") / 365.25
    return simulate(case, progress, path if years > LONG else None, grid=grid)


def _tried(case: Case, folder: Path, progress: Progress) -> tuple[xr.Dataset, xr.Dataset, xr.Dataset]:
    """Return the runs without and with the water, and the trial."""
    from ..lowering.problem import mesh_of
    from ..trial.dryout import account

    grid = mesh_of(case)
    reference = _simulated(replace(case, wettings=()), folder / "without.nc", lambda x: progress(0.5 * x), grid)
    wetted = _simulated(case, folder / "with.nc", lambda x: progress(0.5 + 0.5 * x), grid)
    return reference, wetted, account(case, reference, wetted)
