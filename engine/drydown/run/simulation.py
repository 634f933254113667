"""The one verb: `simulate(case) -> Dataset`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from ..case.case import Case
from ..kernel.layout import Record
from ..lowering.grid import Grid
from ..lowering.lowered import Problem
from ..lowering.marcher import Marcher

if TYPE_CHECKING:
    import xarray as xr

    from .keep import Keep

Progress = Callable[[float], None]

#: Marks between two reports of progress; fixed, so that results do not depend on being watched.
STRETCH = 732


class SimulationError(RuntimeError):
    """The march could not go on; `partial` holds the results up to there (or None)."""

    def __init__(self, message: str, partial: xr.Dataset | None = None) -> None:
        super().__init__(message)
        self.partial = partial


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


def simulate(
    case: Case,
    progress: Progress | None = None,
    path: str | Path | None = None,
    keep: Keep | None = None,
    *,
    grid: Grid | None = None,
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
    grid : Grid, optional
        Mesh of another case of the same assembly, so that the two can be compared cell by cell; see `mesh_of`.

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
    problem = lowered(case, kept, grid)
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
