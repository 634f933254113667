"""The one verb: `simulate(case) -> Dataset`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ..case.case import Case
from ..kernel.humidity import ZERO_CELSIUS, humidity_of
from ..kernel.layout import COUNTERS, STEP_MIN, TOTALS, Record, Status
from ..lowering.problem import Problem

if TYPE_CHECKING:
    import xarray as xr

    from .keep import Keep

Progress = Callable[[float], None]

#: Marks between two reports of progress; fixed, so that results do not depend on being watched.
STRETCH = 732
#: First step of a march [s].
FIRST_STEP = 600.0


class SimulationError(RuntimeError):
    """The march could not go on; `partial` holds the results up to there (or None)."""

    def __init__(self, message: str, partial: xr.Dataset | None = None) -> None:
        super().__init__(message)
        self.partial = partial


def empty_record(problem: Problem, rows: int, runs_on: Record | None = None) -> Record:
    """Return a record with room for `rows` kept marks; totals and counters are those of `runs_on`, or begin."""
    n = len(problem.grid.dx)
    totals = np.zeros(TOTALS)
    totals[STEP_MIN] = np.inf
    return Record(
        u=np.empty((rows, n)),
        temperature=np.empty((rows, n)),
        water=np.empty((rows, n)),
        flow=np.empty((rows, *problem.state.flow.shape)),
        added=np.empty((rows, *problem.state.added.shape)),
        refused=np.empty((rows, *problem.state.refused.shape)),
        load=np.empty((rows, *problem.state.load.shape)),
        totals=totals if runs_on is None else runs_on.totals,
        counters=np.zeros(COUNTERS, dtype=np.int64) if runs_on is None else runs_on.counters,
    )


class Marcher:
    """Takes the state of a problem from mark to mark, on one workspace.

    Parameters
    ----------
    problem : Problem
        Its state is updated in place.
    first : int
        Mark at which the state stands.
    """

    def __init__(self, problem: Problem, first: int = 0) -> None:
        from ..kernel.workspace import workspace

        self.problem, self.here = problem, first
        control = problem.control
        self.step = min(FIRST_STEP, control.max_step) if control.fixed == 0 else control.max_step
        self.work = workspace(problem.wall, problem.forcing, problem.state)
        self.record = empty_record(problem, 0)

    def begin(self) -> Record:
        """Return a record of the state as it stands."""
        state, record = self.problem.state, empty_record(self.problem, 1, self.record)
        for field in ("u", "temperature", "water", "flow", "added", "refused", "load"):
            getattr(record, field)[0] = getattr(state, field)
        return record

    def run_to(self, stop: int) -> tuple[Record, str]:
        """March to a mark; return the record of the marks kept on the way, and why it ended before (or nothing)."""
        from ..kernel.march import march

        p = self.problem
        record = self.record = empty_record(p, int(np.sum(p.forcing.keep[self.here + 1 : stop + 1])), self.record)
        tables = p.sampled.tables
        status, reached, time, self.step, cell = march(
            p.wall, tables, p.forcing, p.control, p.state, record, self.work, self.here, stop, self.step
        )
        self.here = reached
        return record, "" if status == Status.DONE else explain(p, Status(status), time, self.step, cell)


def chunks(problem: Problem, progress: Progress | None = None, first: int = 0) -> Iterator[tuple[slice, Record]]:
    """March in chunks; yield the range of marks newly reached and its record.

    Begins with a record of the state at mark `first`, which `problem.state` must hold.

    Raises
    ------
    SimulationError
        If a step cannot be solved; the message names time, layer and state.
    """
    marcher = Marcher(problem, first)
    yield slice(first, first + 1), marcher.begin()
    last = len(problem.forcing.marks) - 1
    while first < last:
        stop = min(first + STRETCH, last)
        record, trouble = marcher.run_to(stop)
        yield slice(first + 1, marcher.here + 1), record
        if trouble:
            raise SimulationError(trouble)
        first = stop
        if progress is not None:
            progress(first / last)


def explain(problem: Problem, status: Status, time: float, step: float, cell: int) -> str:
    """Say in one sentence when, where and in which state the march stopped."""
    when = problem.stamps[0] + np.timedelta64(int(time), "s")
    layer = int(problem.grid.layer[cell])
    name = problem.case.assembly.layers[layer].name if layer >= 0 else "the air between two films"
    state = problem.state
    humidity = float(humidity_of(state.u[cell]))
    what = {
        Status.STEP_TOO_SMALL: f"no step down to {step:.2g} s converges",
        Status.OUT_OF_RANGE: "the temperature leaves 190 to 410 K",
    }.get(status, "the march stopped")
    return (
        f"{when}: {what}; worst in layer '{name}', {problem.grid.x[cell] * 1e3:.1f} mm from outside, "
        f"at {state.temperature[cell] - ZERO_CELSIUS:.2f} degC and {100 * humidity:.2f} % relative humidity"
    )


def simulate(
    case: Case, progress: Progress | None = None, path: str | Path | None = None, keep: Keep | None = None
) -> xr.Dataset:
    """Run a case.

    Parameters
    ----------
    case : Case
    progress : callable, optional
        Called with the fraction done, about once a month of simulated time.
    path : path-like, optional
        Stream the results to this netCDF file instead of keeping them in memory; the Dataset returned is opened
        lazily from it. Without it everything stays in memory.
    keep : Keep, optional
        What of it is kept, how often and how packed; by default every variable, at every `Numerics.output_every`.

    Returns
    -------
    xarray.Dataset
        See `drydown.run.variables` for its variables, and `results.drydown` for places, depths, budget, the case.

    Raises
    ------
    InputError
        If the case cannot be lowered, or has not what is to be kept.
    SimulationError
        If a step cannot be solved; its `partial` holds what was reached (without `path`), or the file is kept
        under the name ``<path>.partial``.
    """
    from .keep import ALL_OF_IT, lowered
    from .results import FileSink, MemorySink

    kept = ALL_OF_IT if keep is None else keep
    problem = lowered(case, kept)
    sink = MemorySink(problem, kept) if path is None else FileSink(problem, Path(path), kept)
    try:
        for marks, record in chunks(problem, progress):
            sink.append(marks, record)
    except SimulationError as error:
        error.partial = sink.abandon()
        raise
    except BaseException:
        sink.discard()
        raise
    return sink.close()
