"""Many problems marched on a GPU: those that are alike together, as many at a time as its memory holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Lock

import numpy as np

from ..kernel.layout import FLOWS, Record
from ..lowering.lowered import Problem
from ..lowering.marcher import Marcher, empty_record
from .card import free_memory, how_many, need_card, using
from .layout import CELL, THREADS
from .marching import STRETCH, ManyMarcher, wanted_lanes
from .packing import lanes_for
from .pools import alike

#: Share of the free memory of the card that walls and their records may take.
SHARE = 0.6
#: Most walls of one launch; fewest that are worth a card of their own where there are several.
MOST, FEWEST = 65536, 2048

Take = Callable[[int, slice, Record], None]


def march_all(problems: Sequence[Problem], take: Take, progress: Callable[[float], None] | None = None) -> list[str]:
    """March problems from their first mark to their last, on every card that this process sees.

    Parameters
    ----------
    problems : sequence of Problem
        Any; those that are alike (see `pools.alike`) share a launch.
    take : callable
        Is given the number of a problem, the range of marks newly reached and its record, as `run.simulation.chunks`
        yields them, the state at the start first. The records of a problem come in their order; with several cards
        `take` is called from a thread of each, never for one problem from two.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    list of str
        For every problem why its march ended early, in one sentence; empty where it did not.

    Raises
    ------
    InputError
        If there is no GPU, or a problem has prescribed sources.
    """
    need_card()
    out = [""] * len(problems)

    def act(batch: list[int]) -> None:
        for i, said in zip(batch, _march([problems[i] for i in batch], batch, take), strict=True):
            out[i] = said

    on_cards(_batches(problems, how_many()), act, progress)
    return out


def on_cards(
    batches: Sequence[list[int]], act: Callable[[list[int]], None], progress: Callable[[float], None] | None = None
) -> None:
    """Do something with each batch, on every card that this process sees, a thread a card.

    Parameters
    ----------
    batches : sequence of list of int
    act : callable
        Is given a batch while a card is in use.
    progress : callable, optional
        Called with the fraction done.
    """
    cards, waiting = how_many(), list(batches)
    whole, done, lock = len(waiting), 0, Lock()

    def work(card: int) -> None:
        nonlocal done
        with using(card):
            while True:
                with lock:
                    if not waiting:
                        return
                    batch = waiting.pop(0)
                act(batch)
                with lock:
                    done += 1
                    if progress is not None:
                        progress(done / whole)

    if min(cards, whole) <= 1:
        work(0)
    else:
        with ThreadPoolExecutor(min(cards, whole)) as pool:
            list(pool.map(work, range(min(cards, whole))))


def room_on_card() -> float:
    """Return how much memory of the card walls may take [bytes]."""
    return SHARE * free_memory()


def _batches(problems: Sequence[Problem], cards: int) -> list[list[int]]:
    """Return numbers of problems to be marched together; those of as many cells beside each other."""
    most = min(MOST, max(FEWEST, -(-len(problems) // cards)))
    groups: dict[tuple[bytes, int], list[int]] = {}
    wanted = wanted_lanes(len(problems))
    for i, p in enumerate(problems):  # a wall of few cells does not take the threads of those beside it
        groups.setdefault((alike(p), lanes_for(len(p.wall.dx), wanted)), []).append(i)
    room = room_on_card()
    out = []
    for group in groups.values():
        group.sort(key=lambda i: (len(problems[i].wall.dx), i))
        some: list[int] = []
        taken = 0.0
        for i in group:
            size = bytes_of(problems[i])
            if some and (taken + size > room or len(some) == most):
                out.append(some)
                some, taken = [], 0.0
            some.append(i)
            taken += size
        out.append(some)
    return out


def bytes_of(problem: Problem) -> float:
    """Return about how much memory of the card a problem takes: its columns, its forcing, the record of a stretch."""
    n, f = len(problem.wall.dx), problem.forcing
    rows = min(int(np.sum(f.keep)), STRETCH)
    kept = rows * (3 * n + (FLOWS + 2) * len(problem.interfaces) + 2 * len(f.share))
    columns = 1.2 * n * int(CELL) // THREADS
    return 8.0 * (kept + columns + f.outside.size + f.inside.size + f.rate.size + f.jump.size)


def _march(problems: Sequence[Problem], numbers: Sequence[int], take: Take) -> list[str]:
    """March a batch."""
    last = max(len(p.forcing.marks) for p in problems) - 1
    for i, p in zip(numbers, problems, strict=True):
        take(i, slice(0, 1), _begun(p))
    many = ManyMarcher(problems)
    over = [False] * len(problems)
    said = [""] * len(problems)
    first = 0
    while first < last:
        stop = min(first + STRETCH, last)
        marks = [many.kept_marks(p, stop) for p in problems]
        kept = many.run_to(stop)
        said = many.troubles()
        reached = many.scratch("reached")
        for w, (i, record) in enumerate(zip(numbers, many.records(kept, marks), strict=True)):
            here = int(reached[w])
            if over[w] or here <= first:
                continue
            over[w] = said[w] != ""
            rows = int(np.searchsorted(marks[w], here, side="right"))
            arrays = ("u", "temperature", "water", "flow", "added", "refused", "load", "faces")
            cut = record._replace(**{name: getattr(record, name)[:rows] for name in arrays})
            take(i, slice(first + 1, here + 1), cut)
        first = stop
    return said


def _begun(problem: Problem) -> Record:
    """Return a record of the state at the start, as `Marcher.begin` does."""
    if len(problem.wall.faces):
        return Marcher(problem).begin()
    record = empty_record(problem, 1)
    for name in ("u", "temperature", "water", "flow", "added", "refused", "load"):
        getattr(record, name)[0] = getattr(problem.state, name)
    return record
