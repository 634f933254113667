"""What the desk hands over of a case: the page, the one sheet, the results. The case is run for it anew, by itself."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..case.case import Case
from ..casefile.heading import heading_of
from ..criteria import assess
from ..figures.courses import follow
from ..files import work_folder
from ..report import further, page
from ..report.document import one_sheet
from ..run.simulation import simulate
from ..trial.built_in import built_in, wet_at_start
from ..trial.dryout import account, held_twins, of_both
from ..trial.judging import judge_trial
from ..trial.leaks import leak_bounds
from ..units import told_in
from .answering import names_in
from .desk import Desk

if TYPE_CHECKING:
    import xarray as xr


def page_of(desk: Desk) -> str:
    """Return the page of the case, with what would change it where that is known.

    Raises
    ------
    InputError, SimulationError
        The case cannot be run.
    """
    return _written(desk, page)


def sheet_of(desk: Desk) -> str:
    """Return the one sheet to print; errors as for `page_of`."""
    return _written(desk, one_sheet)


def _written(desk: Desk, write: Any) -> str:
    with desk.lock:
        given, advice = desk.given(), desk.doing.advice(desk.version)
    heading = heading_of(given.document, given.path)
    with desk.doing.alone(), told_in(heading.system, names_in(given.case)):
        case, limits = given.case, given.limits
        more = _further(case)
        if not case.wettings:
            results = simulate(case)
            return str(write(results, None, case, follow(results, limits), heading=heading, further=more))
        with held_twins(case) as (reference, wetted):
            trial = account(case, reference, wetted)

            def judged(run: xr.Dataset) -> Any:
                return follow(run, limits) if run is wetted else assess(run, limits)

            before, followed = of_both(judged, (reference, wetted))
            before, after = judge_trial(case, (reference, wetted), before, followed.findings, limits)
            return str(write(wetted, trial, case, followed._replace(findings=after), before, advice, heading, more))


def _further(case: Case) -> list[further.Further]:
    bounds = leak_bounds(case)
    out = [further.of_leaks(bounds)] if bounds else []
    if wet_at_start(case):
        out.append(further.of_built_in(built_in(replace(case, wettings=()))))
    return out


def results_of(desk: Desk) -> bytes:
    """Return the results as netCDF, as `drydown run -o` keeps them; errors as for `page_of`."""
    case = desk.given().case
    with desk.doing.alone(), work_folder() as folder:
        file = folder / "results.nc"
        simulate(case, None, file).close()
        return file.read_bytes()
