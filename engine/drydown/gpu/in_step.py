"""Walls that march in step with others: these choose their steps in a first launch, those follow in a second.

Stages are solved closely (`closely`), so that walls that differ a little differ smoothly: their differences are
derivatives. A stretch at a time, so that the steps of no more than that lie on the card.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from ..lowering.lowered import Problem
from .card import need_card
from .layout import THREADS as WIDTH
from .layout import Steps
from .marching import STRETCH, ManyMarcher, wanted_lanes
from .packing import lanes_for
from .pools import alike, are_alike
from .together import bytes_of, on_cards, room_on_card

Array = np.ndarray
#: Steps that are kept for a mark at most, in the mean of a stretch.
STEPS_A_MARK = 60
#: Most walls of one launch.
MOST = 65536

#: Is given numbers of walls, the range of their kept rows, and u, temperature, water (row, wall, cell) of the cells
#: asked for there.
Take = Callable[[list[int], slice, Array, Array, Array], None]


def march_in_step(
    problems: Sequence[Problem],
    of: Sequence[int],
    cells: Sequence[Array],
    take: Take,
    progress: Callable[[float], None] | None = None,
) -> list[str]:
    """March problems from their first mark to their last, some in the steps of others.

    Parameters
    ----------
    problems : sequence of Problem
        What `control.newton` of each says is how closely its stages are solved.
    of : sequence of int
        The number of the problem whose steps are taken, over the same marks; its own number where it chooses them.
    cells : sequence of array of int
        Cells of each whose state is kept.
    take : callable
        Is given what was kept, in the order of time for each problem, the state at the start first; with several cards
        from a thread of each. Problems that take the steps of one come together, where as much was kept of each.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    list of str
        For every problem why its march ended early, in one sentence; empty where it did not.

    Raises
    ------
    InputError
        If there is no GPU.
    """
    need_card()
    out = [""] * len(problems)

    def act(batch: list[int]) -> None:
        for i, said in _march(problems, of, batch, cells, take).items():
            out[i] = said

    on_cards(_batches(problems, of), act, progress)
    return out


def _batches(problems: Sequence[Problem], of: Sequence[int]) -> list[list[int]]:
    """Return numbers of problems to be marched together: some that choose their steps, alike, and all that follow."""
    followers: dict[int, list[int]] = {}
    for i, j in enumerate(of):
        if i != j:
            followers.setdefault(j, []).append(i)
    room = room_on_card()
    out = []
    for group in _alike(problems, of, [i for i, j in enumerate(of) if i == j]):
        some: list[int] = []
        taken = 0.0
        for i in group:
            mine = [i, *followers.get(i, ())]
            size = sum(_bytes(problems[k]) for k in mine)
            if some and (taken + size > room or len(some) + len(mine) > MOST):
                out.append(some)
                some, taken = [], 0.0
            some += mine
            taken += size
        out.append(some)
    return out


def _bytes(problem: Problem) -> float:
    """Return about how much memory of the card a problem takes, its steps and its own tables of a material with it."""
    tables = problem.sampled.tables
    of_a_material: float = 8.0 * tables.material[0].size * float(np.max(tables.count))
    return bytes_of(problem) + 9.0 * _room(problem, 0) + of_a_material


def _room(problem: Problem, first: int) -> int:
    """Return for how many steps there is room in the stretch that begins at a mark."""
    return STEPS_A_MARK * max(min(STRETCH, len(problem.forcing.marks) - 1 - first), 1)


def _alike(problems: Sequence[Problem], of: Sequence[int], numbers: Sequence[int]) -> list[list[int]]:
    """Return numbers of problems in groups that share a launch, in their order."""
    groups: dict[tuple[bytes, int], list[int]] = {}
    wanted = wanted_lanes(len(numbers))
    known: dict[int, bytes] = {}
    for i in numbers:
        p, leader = problems[i], problems[of[i]]
        if of[i] not in known:
            known[of[i]] = alike(leader)
        key = known[of[i]] if p is leader or are_alike(p, leader) else alike(p)
        groups.setdefault((key, lanes_for(len(p.wall.dx), wanted)), []).append(i)
    return list(groups.values())


def _march(
    problems: Sequence[Problem], of: Sequence[int], batch: Sequence[int], cells: Sequence[Array], take: Take
) -> dict[int, str]:
    """March a batch; return for every problem why its march ended early."""
    from numba import cuda

    leaders = [i for i in batch if of[i] == i]
    followers = _alike(problems, of, [i for i in batch if of[i] != i])
    place = {i: row for row, i in enumerate(leaders)}
    groups = [_Group(problems, leaders, cells, [place[i] for i in leaders])]
    groups += [_Group(problems, some, cells, [place[of[i]] for i in some]) for some in followers]
    last = max(len(problems[i].forcing.marks) for i in leaders) - 1
    room = max(_room(problems[i], 0) for i in leaders)
    walls = len(groups[0].of)
    end, kind = cuda.device_array(walls * room), cuda.device_array(walls * room, dtype=np.int8)
    first = 0
    while first < last:
        first = min(first + STRETCH, last)
        count = cuda.to_device(np.zeros(walls, dtype=np.int64))
        for given, g in enumerate(groups):
            g.run_to(first, Steps(min(given, 1), room, end, kind, count, cuda.to_device(g.of)), take)
    out: dict[int, str] = {}
    for g in groups:
        out |= g.said
    return {i: out[of[i]] or out[i] for i in batch}


class _Group:
    """Alike problems of a batch."""

    def __init__(
        self, problems: Sequence[Problem], numbers: Sequence[int], cells: Sequence[Array], of: Sequence[int]
    ) -> None:
        self.numbers = list(numbers)
        self.problems = [problems[i] for i in numbers]
        self.many = ManyMarcher(self.problems)
        self.cells = [cells[i] for i in numbers]
        self.said = dict.fromkeys(self.numbers, "")
        m = self.many.packed.many
        self.of = np.zeros(len(m.cells), dtype=np.int64)  # lanes that are nobody's among them
        self.of[: len(of)] = of
        self.at = np.concatenate([x[c] for x, c in zip(self.many.packed.cells, self.cells, strict=True)])
        self.begins = np.concatenate([[0], np.cumsum([len(c) for c in self.cells])])
        self.rows = [0] * len(self.numbers)

    def run_to(self, stop: int, steps: Any, take: Take) -> None:
        """March to a mark, and give away what was kept on the way."""
        from .picking import picked

        m, first = self.many.packed.many, self.many.here
        marks = [self.many.kept_marks(p, stop) for p in self.problems]
        kept = self.many.run_to(stop, steps=steps)
        reached = self.many.scratch("reached")
        for i, trouble in zip(self.numbers, self.many.troubles(), strict=True):
            self.said[i] = self.said[i] or trouble
        rows = max(map(len, marks))
        size = m.blocks * m.longest * WIDTH
        found = picked(kept[:3], size, rows, self.at) if rows else [np.zeros((0, len(self.at)))] * 3
        together: dict[tuple[int, int, int, int], list[int]] = {}
        for k in range(len(self.numbers)):
            here = int(reached[k])
            n = int(np.searchsorted(marks[k], here, side="right")) if here > first else 0
            if n or not self.rows[k]:
                together.setdefault((int(self.of[k]), self.rows[k], n, len(self.cells[k])), []).append(k)
        for (_, before, n, _), some in together.items():
            columns = np.stack([np.arange(*self.begins[k : k + 2]) for k in some])
            u, t, w = (x[:n, columns] for x in found)
            if not before:  # the state at the start
                start = [self.problems[k].state for k in some]
                at = [self.cells[k] for k in some]
                u, t, w = (
                    np.concatenate([[[getattr(x, name)[c] for x, c in zip(start, at, strict=True)]], some_rows])
                    for name, some_rows in (("u", u), ("temperature", t), ("water", w))
                )
            take([self.numbers[k] for k in some], slice(before, before + len(u)), u, t, w)
            for k in some:
                self.rows[k] = before + len(u)
