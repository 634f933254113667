"""The one verb: `simulate(case) -> Dataset`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ..case.case import Case
from ..kernel.layout import Record, Status
from ..lowering.problem import Problem, lower

if TYPE_CHECKING:
    import xarray as xr

Progress = Callable[[float], None]

#: Marks between two reports of progress; fixed, so that results do not depend on being watched.
STRETCH = 732


class SimulationError(RuntimeError):
    """The march could not go on; `partial` holds the results up to there (or None)."""

    def __init__(self, message: str, partial: xr.Dataset | None = None) -> None:
        super().__init__(message)
        self.partial = partial


def empty_record(problem: Problem, rows: int, totals: np.ndarray, counters: np.ndarray) -> Record:
    """Return a record with room for `rows` kept marks; totals and counters run on."""
    n = len(problem.grid.dx)
    return Record(
        np.empty((rows, n)),
        np.empty((rows, n)),
        np.empty((rows, n)),
        np.empty((rows, *problem.state.flow.shape)),
        np.empty((rows, *problem.state.added.shape)),
        np.empty((rows, *problem.state.refused.shape)),
        np.empty((rows, *problem.state.load.shape)),
        totals,
        counters,
    )


def chunks(problem: Problem, progress: Progress | None = None, first: int = 0) -> Iterator[tuple[slice, Record]]:
    """March in chunks; yield the range of marks newly reached and its record.

    Begins with a record of the state at mark `first`, which `problem.state` must hold.

    Raises
    ------
    SimulationError
        If a step cannot be solved; the message names time, layer and state.
    """
    from ..kernel.march import march

    forcing = problem.forcing
    totals = np.array([0.0, 0.0, 0.0, 0.0, 0.0, np.inf])
    counters = np.zeros(5, dtype=np.int64)
    state = problem.state
    first_row = empty_record(problem, 1, totals, counters)
    first_row.u[0], first_row.temperature[0], first_row.water[0] = state.u, state.temperature, state.water
    first_row.flow[0], first_row.added[0] = state.flow, state.added
    first_row.refused[0], first_row.load[0] = state.refused, state.load
    yield slice(first, first + 1), first_row
    step = min(600.0, problem.control.max_step) if problem.control.fixed == 0 else problem.control.max_step
    last = len(forcing.marks) - 1
    while first < last:
        stop = min(first + STRETCH, last)
        rows = int(np.sum(forcing.keep[first + 1 : stop + 1]))
        record = empty_record(problem, rows, totals, counters)
        status, reached, time, step, cell = march(
            problem.wall, problem.sampled.tables, forcing, problem.control, state, record, first, stop, step
        )
        if status != Status.DONE:
            yield slice(first + 1, reached + 1), record
            raise SimulationError(explain(problem, Status(status), time, step, cell))
        yield slice(first + 1, stop + 1), record
        first = stop
        if progress is not None:
            progress(first / last)


def explain(problem: Problem, status: Status, time: float, step: float, cell: int) -> str:
    """Say in one sentence when, where and in which state the march stopped."""
    when = problem.stamps[0] + np.timedelta64(int(time), "s")
    layer = int(problem.grid.layer[cell])
    name = problem.case.assembly.layers[layer].name if layer >= 0 else "the air between two films"
    state = problem.state
    humidity = float(np.exp(-np.exp(state.u[cell])))
    what = {
        Status.STEP_TOO_SMALL: f"no step down to {step:.2g} s converges",
        Status.OUT_OF_RANGE: "the temperature leaves 190 to 410 K",
    }.get(status, "the march stopped")
    return (
        f"{when}: {what}; worst in layer '{name}', {problem.grid.x[cell] * 1e3:.1f} mm from outside, "
        f"at {state.temperature[cell] - 273.15:.2f} degC and {100 * humidity:.2f} % relative humidity"
    )


def simulate(case: Case, progress: Progress | None = None, path: str | Path | None = None) -> xr.Dataset:
    """Run a case.

    Parameters
    ----------
    case : Case
    progress : callable, optional
        Called with the fraction done, about once a month of simulated time.
    path : path-like, optional
        Stream the results to this netCDF file instead of keeping them in memory; the Dataset returned is opened
        lazily from it. Without it everything stays in memory.

    Returns
    -------
    xarray.Dataset
        See `drydown.run.results` for its variables.

    Raises
    ------
    InputError
        If the case cannot be lowered.
    SimulationError
        If a step cannot be solved; its `partial` holds what was reached (without `path`), or the file is kept
        under the name ``<path>.partial``.
    """
    from .results import FileSink, MemorySink

    problem = lower(case)
    sink = MemorySink(problem) if path is None else FileSink(problem, Path(path))
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
