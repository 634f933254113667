"""A problem taken from mark to mark by the kernel, on one workspace."""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar

import numpy as np

from ..kernel.humidity import ZERO_CELSIUS, humidity_of
from ..kernel.layout import COUNTERS, FACE_STATES, STEP_MIN, TOTALS, Record, Status
from .lowered import Problem

#: First step of a march [s].
FIRST_STEP = 600.0
#: Asked before every stretch of a march, of a pilot's too; what it raises ends the march. None: nobody may want to.
HALT: ContextVar[Callable[[], None] | None] = ContextVar("HALT", default=None)


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
        faces=np.empty((rows, len(problem.wall.faces), FACE_STATES)),
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
        from ..kernel.face_states import face_states

        p, work = self.problem, self.work
        state, record = p.state, empty_record(p, 1, self.record)
        for field in ("u", "temperature", "water", "flow", "added", "refused", "load"):
            getattr(record, field)[0] = getattr(state, field)
        work.out[:], work.inn[:] = p.forcing.outside[self.here], p.forcing.inside[self.here]
        face_states(p.wall, p.sampled.tables, state, work, record.faces[0])
        return record

    def run_to(self, stop: int) -> tuple[Record, str]:
        """March to a mark; return the record of the marks kept on the way, and why it ended before (or nothing)."""
        from ..kernel.march import march

        if (halt := HALT.get()) is not None:
            halt()
        p = self.problem
        record = self.record = empty_record(p, int(np.sum(p.forcing.keep[self.here + 1 : stop + 1])), self.record)
        tables = p.sampled.tables
        status, reached, time, self.step, cell = march(
            p.wall, tables, p.forcing, p.control, p.state, record, self.work, self.here, stop, self.step
        )
        self.here = reached
        return record, "" if status == Status.DONE else explain(p, Status(status), time, self.step, cell)


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
