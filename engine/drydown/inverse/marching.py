"""A case marched once with derivatives by its free inputs; or again, in the steps of another march."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..kernel.layout import CONVECTED, HEAT, LIQUID, SWEEPS, VAPOUR, Status
from ..kernel.tangent import TangentRecord, tangent_of, tangent_work
from ..kernel.workspace import workspace
from ..lowering.lowered import Problem
from ..lowering.marcher import FIRST_STEP, empty_record, explain
from ..run.simulation import SimulationError
from .stacking import stacked

#: How closely a stage is solved: the last correction over 0.4 % of humidity, 0.01 of u and 0.05 K. Newton's method
#: leaves its square; the matrix of the last sweep is that of the stage to this much of what bends over such a
#: correction.
NEWTON = 1e-2
#: Marks between two reports of progress.
STRETCH = 732
#: Steps that are kept for a mark at most, in the mean of a stretch.
STEPS_A_MARK = 60


@dataclass(frozen=True)
class Courses:
    """What was kept of a march, and its derivatives by the inputs it was marched with, the input last.

    Parameters
    ----------
    problem : Problem
    cells : array of shape (observed,)
        Of which the state was kept.
    time : array of shape (row,)
        datetime64[s].
    u, temperature, water : array of shape (row, observed)
        ln(-ln humidity), [K], water of the cell [kg/m2].
    layer_water : array of shape (row, layer)
        [kg/m2].
    passed : array of shape (row, face, 2)
        Moisture [kg/m2] and enthalpy [J/m2] that passed each watched face so far, positive inward.
    added : array of shape (row, source)
        [kg/m2].
    d_u, d_temperature, d_water : array of shape (row, observed, input)
    d_layer_water : array of shape (row, layer, input)
    d_passed : array of shape (row, face, 2, input)
    steps : list of array
        Steps of every stretch, to march others by.
    sweeps : int
    """

    problem: Problem
    cells: np.ndarray
    time: np.ndarray
    u: Array
    temperature: Array
    water: Array
    layer_water: Array
    passed: Array
    added: Array
    d_u: Array
    d_temperature: Array
    d_water: Array
    d_layer_water: Array
    d_passed: Array
    steps: list[Array]
    sweeps: int


def march(
    problem: Problem,
    cases: Sequence[Case] = (),
    size: Array | None = None,
    cells: Sequence[int] = (),
    *,
    steps: list[Array] | None = None,
    newton: float = NEWTON,
    progress: Callable[[float], None] | None = None,
) -> tuple[Courses, list[int]]:
    """March a problem, with derivatives by inputs that are each changed in one of `cases`.

    Parameters
    ----------
    problem : Problem
        Its state is left as it is.
    cases : sequence of Case
        The case of the problem with one input changed each.
    size : array of shape (input,), optional
        By how much each is changed.
    cells : sequence of int
        Cells of which the state is kept.
    steps : list of array, optional
        Of another march over the same marks; by default the control chooses.
    newton : float
        How closely a stage is solved.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    courses : Courses
    left_out : list of int
        Inputs whose derivatives could not be had this way; they are zero.

    Raises
    ------
    SimulationError
        If a step cannot be solved.
    """
    from ..kernel.tangent_march import NO_ROOM, STEP_COLUMNS, march_with_tangents

    inputs, start, left_out = stacked(problem, cases, np.zeros(0) if size is None else size)
    state = problem.state._replace(**{k: v.copy() for k, v in problem.state._asdict().items()})
    n, count, faces = len(problem.wall.dx), len(cases), state.flow.shape[0]
    tangent = tangent_of(n, faces, count)
    for row, name in enumerate(("u", "t", "water", "heat")):
        getattr(tangent, name)[:] = start[row]
    control = problem.control._replace(newton=newton)
    work, tw = (
        workspace(problem.wall, problem.forcing, state),
        tangent_work(problem.wall, problem.forcing, state, count),
    )
    hold = np.zeros(n), np.zeros(n), np.zeros(n)
    chosen = np.asarray(cells, dtype=np.int64)
    layers = len(problem.case.assembly.layers)

    def kept(rows: int) -> TangentRecord:
        shape = rows, len(chosen), count
        return TangentRecord(
            chosen, np.asarray(problem.grid.layer, dtype=np.int64), np.zeros(shape), np.zeros(shape), np.zeros(shape),
            np.zeros((rows, layers, count)), np.zeros((rows, faces, 2, count)),
        )  # fmt: skip

    first_kept = kept(1)
    first_kept.u[0], first_kept.t[0], first_kept.water[0] = start[0][chosen], start[1][chosen], start[2][chosen]
    for j in range(layers):
        first_kept.layer_water[0, j] = start[2][problem.grid.cells(j)].sum(axis=0)
    record = empty_record(problem, 1)
    for field in ("u", "temperature", "water", "flow", "added", "refused", "load"):
        getattr(record, field)[0] = getattr(state, field)
    records, tangents = [record], [first_kept]
    taken: list[Array] = []
    h, here, last = min(FIRST_STEP, control.max_step), 0, len(problem.forcing.marks) - 1
    keep = problem.forcing.keep
    while here < last:
        stop = min(here + STRETCH, last)
        rows = int(keep[here + 1 : stop + 1].sum())
        record, more = empty_record(problem, rows, record), kept(rows)
        given = np.zeros((STEPS_A_MARK * (stop - here), STEP_COLUMNS)) if steps is None else steps[len(taken)]
        status, _, time, h, cell, used = march_with_tangents(
            inputs, problem.forcing, control, state, record, work, tangent, tw, more, hold, given,
            0 if steps is None else 1, (here, stop), h,
        )  # fmt: skip
        if status == NO_ROOM:
            raise SimulationError("the steps of the other march do not lead to its end")
        if status != Status.DONE:
            raise SimulationError(explain(problem._replace(state=state), Status(status), time, h, cell))
        taken.append(given[:used].copy())
        records.append(record)
        tangents.append(more)
        here = stop
        if progress is not None:
            progress(here / last)

    def joined(name: str) -> Array:
        return np.concatenate([getattr(r, name) for r in records])

    def derived(name: str) -> Array:
        return np.concatenate([getattr(r, name) for r in tangents])

    water, flow = joined("water"), joined("flow")
    passed = np.stack([flow[:, :, [VAPOUR, LIQUID, CONVECTED]].sum(axis=2), flow[:, :, HEAT]], axis=2)
    rows_kept = np.flatnonzero(keep)
    by_layer = [water[:, problem.grid.cells(j)].sum(axis=1) for j in range(layers)]
    return Courses(
        problem, chosen, problem.stamps[rows_kept], joined("u")[:, chosen], joined("temperature")[:, chosen],
        water[:, chosen], np.stack(by_layer, axis=1), passed, joined("added"), derived("u"), derived("t"),
        derived("water"), derived("layer_water"), derived("passed"), taken, int(record.counters[SWEEPS]),
    ), left_out  # fmt: skip
