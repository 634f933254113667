"""Problems taken from mark to mark on a GPU, all at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ..kernel.layout import COUNTERS, FACE_STATES, FLOWS, LOAD_COLUMNS, TOTALS, Record, Status
from ..kernel.tangent_march import NO_ROOM
from ..lowering.lowered import Problem
from ..lowering.marcher import explain
from .layout import H0, T0, U0, W0, Kept
from .layout import THREADS as WIDTH
from .packing import Packed, pack

Array = np.ndarray
#: Threads of a wall where there are walls enough to fill a card with so many each; more threads where there are not.
LANES, FILLS = 8, 32768
#: Marks after which a march begins from the state alone, as one on the processor does (`run.simulation.STRETCH`).
STRETCH = 732


def wanted_lanes(walls: int) -> int:
    """Return the threads of a wall that fill a card."""
    lanes = LANES
    while lanes < WIDTH and lanes * walls < FILLS:
        lanes *= 2
    return lanes


class ManyMarcher:
    """Takes the states of alike problems from mark to mark.

    Parameters
    ----------
    problems : sequence of Problem
        Alike (see `pools.alike`); what they are given as state is where they begin.
    lanes : int
        Threads of a wall; 0: as many as fill a card.
    """

    def __init__(self, problems: Sequence[Problem], lanes: int = 0) -> None:
        from numba import cuda

        from .packing import lanes_for

        self.problems = list(problems)
        lanes = lanes_for(min(len(p.wall.dx) for p in problems), lanes or wanted_lanes(len(problems)))
        self.packed: Packed = pack(self.problems, lanes)
        self.here = 0
        self._cuda = cuda
        p = self.packed
        self.on_card = tuple(self._sent(x) for x in (p.wall, p.tables, p.loads, p.many, p.weather, p.scratch))

    def _sent(self, parts: Any) -> Any:
        """Return a tuple whose arrays lie on the card."""
        return type(parts)(*(self._cuda.to_device(_full(x)) if isinstance(x, np.ndarray) else x for x in parts))

    def _record(self, rows: int) -> Kept:
        m, new = self.packed.many, self._cuda.device_array
        loads = m.gaps + m.streams + m.deposits
        if rows == 0:
            return Kept(*(new(1) for _ in Kept._fields))
        cells = rows * m.blocks * m.longest * WIDTH
        return Kept(
            new(cells), new(cells), new(cells), new(rows * m.blocks * m.most_slots * FLOWS * WIDTH),
            new(max(rows * m.blocks * m.sources * 2 * WIDTH, 1)), new(max(rows * m.blocks * loads * 2 * WIDTH, 1)),
            new(rows * m.blocks * m.most_slots * 2 * WIDTH),
        )  # fmt: skip

    def run_to(self, stop: int, keep: bool = True, steps: Any = ()) -> Kept:
        """March to a mark; return what was kept on the way, on the card.

        Parameters
        ----------
        stop : int
            Mark.
        keep : bool
            Whether anything is kept; where nothing is, the arrays hold one number.
        steps : Steps, optional
            On the card: stages are solved closely, and steps kept or followed, for no longer than a stretch.
        """
        from .rounds import run

        rows = max(len(self.kept_marks(p, stop)) for p in self.problems) if keep else 0
        record = self._record(rows)
        run(self.on_card, record, self.here, stop, STRETCH, steps)
        self.here = stop
        return record

    def kept_marks(self, problem: Problem, stop: int) -> Array:
        """Return the marks of a problem that are kept on the way from here to a mark."""
        keep = problem.forcing.keep[self.here + 1 : stop + 1]
        found: Array = np.flatnonzero(keep) + self.here + 1
        return found

    def wait(self) -> None:
        """Wait until the card has done what was asked of it."""
        self._cuda.synchronize()

    def scratch(self, name: str) -> Array:
        """Return an array of `Scratch` as it stands on the card."""
        found: Array = getattr(self.on_card[-1], name).copy_to_host()
        return found

    def states(self) -> list[dict[str, Array]]:
        """Return u, temperature, water and heat of every wall as they stand."""
        m = self.packed.many
        x = self.scratch("cells").reshape(m.blocks, m.longest, -1, WIDTH)
        columns = {"u": U0, "temperature": T0, "water": W0, "heat": H0}
        parts = {name: np.ascontiguousarray(x[:, :, int(c) // WIDTH]).reshape(-1) for name, c in columns.items()}
        return [{name: part[at] for name, part in parts.items()} for at in self.packed.cells]

    def efforts(self) -> tuple[Array, Array]:
        """Return totals and counters, shape (walls, columns)."""
        n = len(self.problems)
        return self.scratch("totals").reshape(-1, TOTALS)[:n], self.scratch("counters").reshape(-1, COUNTERS)[:n]

    def troubles(self) -> list[str]:
        """Return for every wall why its march ended early, in one sentence; empty where it did not."""
        ends = self.scratch("ends").reshape(-1, 4)
        out = []
        states = self.states() if np.any(ends[: len(self.problems), 2] != 0.0) else []
        for i, p in enumerate(self.problems):
            time, step, status, cell = ends[i]
            if status == 0.0:
                out.append("")
                continue
            if status == NO_ROOM:
                out.append("there is no room for so many steps, or there are none to follow")
                continue
            now = p._replace(state=p.state._replace(u=states[i]["u"], temperature=states[i]["temperature"]))
            out.append(explain(now, Status(int(status)), time, step, int(cell)))
        return out

    def records(self, kept: Kept, marks: Sequence[Array]) -> list[Record]:
        """Return what was kept of every wall, as the march of one wall records it.

        Parameters
        ----------
        kept : Kept
            Of `run_to`.
        marks : sequence of array of int
            The marks kept of each.
        """
        m = self.packed.many
        loads = m.gaps + m.streams + m.deposits
        on_card: Sequence[Any] = kept
        host = [np.asarray(x.copy_to_host()) for x in on_card]
        rows = len(host[0]) // (m.blocks * m.longest * WIDTH)
        cells = [x.reshape(rows, -1) for x in host[:3]]
        flow = host[3].reshape(rows, m.blocks, m.most_slots, FLOWS, WIDTH).transpose(0, 1, 2, 4, 3)
        flow = flow.reshape(rows, -1, FLOWS)
        sources = host[4][: rows * m.blocks * m.sources * 2 * WIDTH].reshape(rows, m.blocks, m.sources, 2, WIDTH)
        brought = host[5][: rows * m.blocks * loads * 2 * WIDTH].reshape(rows, m.blocks, loads, 2, WIDTH)
        held = host[6].reshape(rows, m.blocks, m.most_slots, 2, WIDTH).transpose(0, 1, 2, 4, 3).reshape(rows, -1, 2)
        totals, counters = self.efforts()
        out = []
        for i, p in enumerate(self.problems):
            n = len(marks[i])
            block, home = divmod(i, WIDTH // m.lanes)
            home *= m.lanes
            mine = brought[:n, block, :, :, home : home + m.lanes].sum(axis=-1)
            u, temperature, water = (x[:n, self.packed.cells[i]] for x in cells)
            out.append(
                Record(
                    u,
                    temperature,
                    water,
                    flow=flow[:n, self.packed.faces[i]],
                    added=sources[:n, block, : len(p.state.added), 0, home],
                    refused=sources[:n, block, : len(p.state.added), 1, home],
                    load=_loads_of(mine, p, m),
                    faces=_faces_of(
                        p, marks[i], u, temperature, self.packed.own[i][0], held[:n, self.packed.own[i][1]]
                    ),
                    totals=totals[i],
                    counters=counters[i],
                )
            )
        return out


def _loads_of(brought: Array, p: Problem, m: Any) -> Array:
    """Return the loads of a wall out of the places that all have."""
    x = p.forcing.loads
    rows = [*range(len(x.gap_lift)), *(m.gaps + i for i in range(len(x.path)))]
    rows += [m.gaps + m.streams + i for i in range(len(x.deposit_cells))]
    return brought[:, rows] if rows else np.zeros((len(brought), 0, LOAD_COLUMNS))


def _faces_of(p: Problem, marks: Array, u: Array, temperature: Array, own: Array, held: Array) -> Array:
    """Return the states of faces at the marks kept, found on the processor from what a march holds of them."""
    out = np.empty((len(marks), len(p.wall.faces), FACE_STATES))
    if out.size:
        from ..kernel.face_states import face_states_of
        from ..kernel.workspace import workspace

        all_faces = np.zeros((len(marks), len(p.wall.dx) + 1, 2))
        all_faces[:, own] = held
        state = p.state._replace(u=np.empty_like(p.state.u), temperature=np.empty_like(p.state.u))
        work = workspace(p.wall, p.forcing, p.state)
        side = (p.forcing.outside[marks], p.forcing.inside[marks])
        face_states_of(p.wall, p.sampled.tables, *side, u, temperature, all_faces, state, work, out)
    return out


def _full(x: Array) -> Array:
    """Return an array that is not empty: a launch takes none that is."""
    return np.ascontiguousarray(x) if x.size else np.zeros((1,) * x.ndim, dtype=x.dtype)
