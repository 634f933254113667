"""Free inputs lowered for the kernel: where the wall with an input changed differs from the wall itself.

Every input is set a small step away and the case lowered on the same cells (a layer that gets thicker has thicker
cells). What comes out equal is shared; a material or film that differs is added to the tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..kernel.columns import BLOCK
from ..kernel.layout import FREE, Forcing, Tables, Wall
from ..kernel.tangent import (
    AFTER,
    AIR_MOVES,
    FIRST,
    INSIDE,
    OTHER,
    OUTSIDE,
    SOURCES,
    TOUCHES,
    Inputs,
    Others,
)
from ..lowering.grid import Grid
from ..lowering.lowered import Problem
from ..lowering.problem import lower
from ..lowering.site import met_once

#: Fields of `Wall` that hold one number a material.
_OF_MATERIAL = (
    "heat", "kappa", "temperature_power", "kappa_v", "temperature_factor", "slope", "conductivity_factor", "liquid",
    "freeze", "resolve", "frozen",
)  # fmt: skip
_OF_LOADS = ("gap", "gap_wind", "gap_lift", "stream", "path", "deposit", "brought", "deposit_cells")


class NotAlike(Exception):
    """A changed case that cannot stand beside the other: other tables of air, other marks."""


def scaled_grid(grid: Grid, old: Case, new: Case) -> Grid:
    """Return the cells of a case for one whose layers have other thicknesses."""
    dx = grid.dx.copy()
    for j, (a, b) in enumerate(zip(old.assembly.layers, new.assembly.layers, strict=True)):
        if a.thickness != b.thickness:
            dx[grid.layer == j] *= b.thickness / a.thickness
    return Grid(dx, grid.layer, grid.film, np.cumsum(dx) - 0.5 * dx)


def lowered_beside(problem: Problem, case: Case) -> Problem:
    """Return another case of the same layers, lowered on the cells of a problem."""
    out = lower(case, grid=scaled_grid(problem.grid, problem.case, case))
    same = out.forcing.marks.shape == problem.forcing.marks.shape and np.array_equal(
        out.forcing.marks, problem.forcing.marks
    )
    same = same and np.array_equal(out.forcing.limited, problem.forcing.limited)
    if not same or out.wall.dx.shape != problem.wall.dx.shape:
        raise NotAlike
    return out


class _Extended:
    """Tables and properties of a wall, with what others differ in added behind."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        tables = problem.sampled.tables
        self.pieces, self.counts = [tables.material], list(tables.count)
        self.numbers = {name: [getattr(problem.wall, name)] for name in _OF_MATERIAL}
        self.films, self.film_factors = [tables.film], [problem.wall.film_temperature_factor]
        self.offset = list(tables.offset)
        self.rows = len(tables.material)
        self.film_count = len(problem.wall.film_temperature_factor)

    def material(self, other: Problem, m: int, base: int) -> int:
        """Return the number of material m of another problem; `base` where it is the same."""
        ours, theirs = self.problem, other
        a, b = _table(ours.sampled.tables, base), _table(theirs.sampled.tables, m)
        numbers = {name: getattr(theirs.wall, name)[m] for name in _OF_MATERIAL}
        same = all(numbers[name] == getattr(ours.wall, name)[base] for name in _OF_MATERIAL)
        if same and a.shape == b.shape and np.array_equal(a, b):
            return base
        self.pieces.append(b)
        self.counts.append(len(b))
        self.offset.append(self.rows)
        self.rows += len(b)
        for name, value in numbers.items():
            self.numbers[name].append(np.array([value]))
        return len(self.counts) - 1

    def film(self, other: Problem, f: int, base: int) -> int:
        """Return the number of film f of another problem; `base` where it is the same."""
        n = self.problem.sampled.tables.film_count
        if other.sampled.tables.film_count != n:
            raise NotAlike
        a = self.problem.sampled.tables.film[base * n : (base + 1) * n]
        b = other.sampled.tables.film[f * n : (f + 1) * n]
        if np.array_equal(a, b):
            return base
        self.films.append(b)
        self.film_factors.append(other.wall.film_temperature_factor[f : f + 1])
        self.film_count += 1
        return self.film_count - 1

    def made(self) -> tuple[Wall, Tables]:
        """Return wall and tables."""
        tables = self.problem.sampled.tables._replace(
            material=np.concatenate(self.pieces),
            offset=np.array(self.offset, dtype=np.int64),
            count=np.array(self.counts, dtype=np.int64),
            film=np.concatenate(self.films),
        )
        numbers: dict[str, Any] = {name: np.concatenate(v) for name, v in self.numbers.items()}
        wall = self.problem.wall._replace(
            **numbers,
            film_temperature_factor=np.concatenate(self.film_factors),
        )
        return wall, tables


def _table(tables: Tables, m: int) -> Array:
    return tables.material[tables.offset[m] : tables.offset[m] + tables.count[m]]


def _others(forcings: Sequence[Forcing], like: Forcing) -> Others:
    """Return the forcing of those that differ, stacked; one row of the like where none does."""
    rows = list(forcings) or [like]
    return Others(
        *(np.stack([getattr(f, name) for f in rows]) for name in ("outside", "inside", "rate", "share")),
        *(np.stack([getattr(f.loads, name) for f in rows]) for name in _OF_LOADS),
    )


def stacked(problem: Problem, cases: Sequence[Case], steps: Array) -> tuple[Inputs, Array, list[int]]:
    """Return inputs for the kernel of cases with one number changed each.

    Parameters
    ----------
    problem : Problem
        Of the case itself.
    cases : sequence of Case
        Each with one input changed.
    steps : array of shape (input,)
        By how much, in any coordinate of the input.

    Returns
    -------
    inputs : Inputs
    start : array of shape (4, cell, input)
        Derivatives of u, temperature, water and heat at the start.
    left_out : list of int
        Positions of inputs whose walls do not stand beside the other; they are as if they did nothing.
    """
    with met_once():  # most inputs leave both sides as they are
        return _stacked(problem, cases, steps)


def _stacked(problem: Problem, cases: Sequence[Case], steps: Array) -> tuple[Inputs, Array, list[int]]:
    extended = _Extended(problem)
    wall, n = problem.wall, len(problem.wall.dx)
    count = len(cases)
    touches = np.full((count, TOUCHES), -1, dtype=np.int64)
    touches[:, AFTER] = -1
    touches[:, [OUTSIDE, INSIDE, SOURCES, AIR_MOVES]] = 0
    material, dx = np.tile(wall.material, (count, 1)), np.tile(wall.dx, (count, 1))
    film = np.tile(wall.film, (count, 1))
    start = np.zeros((4, n, count))
    forcings: list[Forcing] = []
    left_out = []
    for j, case in enumerate(cases):
        try:
            other = lowered_beside(problem, case)
            if not np.array_equal(other.sampled.tables.air, problem.sampled.tables.air):
                raise NotAlike
            _cells(extended, problem, other, touches[j], material[j], dx[j], film[j])
        except NotAlike:
            left_out.append(j)
            continue
        changed = _forcing_changed(problem.forcing, other.forcing)
        if any(changed):
            touches[j, OTHER] = len(forcings)
            touches[j, [OUTSIDE, INSIDE, SOURCES, AIR_MOVES]] = changed
            forcings.append(other.forcing)
        touches[j, SOURCES] |= _room_differs(problem.forcing, touches[j])
        touches[j, AIR_MOVES] = _air_moves(problem.forcing, touches[j])
        for row, name in enumerate(("u", "temperature", "water", "heat")):
            start[row, :, j] = (getattr(other.state, name) - getattr(problem.state, name)) / steps[j]
    longer, tables = extended.made()
    others = _others(forcings, problem.forcing)
    runs, single = _faces(problem.wall, touches, material)
    made = Inputs(longer, tables, np.asarray(steps, float), touches, material, dx, film, runs, single, others)
    return made, start, left_out


def _faces(wall: Wall, touches: np.ndarray, material: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the faces that every input touches: runs inside layers, and all others."""
    runs: list[list[list[int]]] = []
    single: list[list[int]] = []
    for t, theirs in zip(touches, material, strict=True):
        first, after = int(t[FIRST]), int(t[AFTER])
        mine: list[list[int]] = []
        rest = []
        for i in range(first, after + 1) if first >= 0 else ():
            alike = first < i < after and wall.material[i] == wall.material[i - 1] and theirs[i] == theirs[i - 1]
            if not alike or wall.film[i] >= 0 or wall.watch[i] >= 0 or (i - first) % BLOCK == 0 or i % BLOCK == 0:
                rest.append(i)
            elif mine and sum(mine[-1]) == i - first:
                mine[-1][1] += 1
            else:
                mine.append([i - first, 1])
        runs.append(mine)
        single.append(rest)
    out = np.zeros((len(runs), max([1, *map(len, runs)]), 2), dtype=np.int64)
    others = np.full((len(runs), max([1, *map(len, single)])), -1, dtype=np.int64)
    for j, (mine, rest) in enumerate(zip(runs, single, strict=True)):
        out[j, : len(mine)] = np.array(mine, dtype=np.int64).reshape(-1, 2)
        others[j, : len(rest)] = rest
    return out, others


def _cells(
    extended: _Extended, problem: Problem, other: Problem, touches: Array, material: Array, dx: Array, film: Array
) -> None:
    """Write which cells and faces differ, and by what."""
    wall, theirs = problem.wall, other.wall
    known: dict[tuple[int, int], int] = {}
    for i in range(len(wall.dx)):
        pair = int(theirs.material[i]), int(wall.material[i])
        if pair not in known:
            known[pair] = extended.material(other, *pair)
        material[i] = known[pair]
    dx[:] = theirs.dx
    films: dict[tuple[int, int], int] = {}
    for i in range(len(wall.film)):
        f, g = int(theirs.film[i]), int(wall.film[i])
        if (f < 0) != (g < 0):
            raise NotAlike
        if g >= 0:
            if (f, g) not in films:
                films[f, g] = extended.film(other, f, g)
            film[i] = films[f, g]
    cells = np.flatnonzero((material != wall.material) | (dx != wall.dx))
    faces = np.flatnonzero(film != wall.film)
    first = [int(x.min()) for x in (cells, faces) if len(x)]
    after = [int(cells.max()) + 1] if len(cells) else []
    after += [int(faces.max())] if len(faces) else []
    if first:
        touches[FIRST], touches[AFTER] = min(first), max(after)


def _air_moves(forcing: Forcing, touches: Array) -> int:
    """Return whether moving air meets anything that an input touches."""
    loads = forcing.loads
    if loads.active == 0 or touches[AIR_MOVES] or touches[OUTSIDE] or touches[INSIDE]:
        return int(loads.active)
    if touches[FIRST] < 0:
        return 0
    n = loads.gap_cells.shape[1]
    met = np.zeros(n + 2, dtype=bool)  # cells, and one more on both ends
    met[1:-1] |= (loads.gap_cells > 0).any(axis=0) | (loads.deposit_cells > 0.0).any(axis=0)
    flown = (loads.path != 0.0).any(axis=0)
    met[:-1] |= flown
    met[1:] |= flown
    return int(met[touches[FIRST] + 1 : touches[AFTER] + 1].any())


def _room_differs(forcing: Forcing, touches: Array) -> int:
    """Return whether a source that is admitted as far as there is room meets cells that an input touches."""
    cells = slice(max(int(touches[FIRST]), 0), max(int(touches[AFTER]), 0))
    return int((forcing.share[forcing.limited != FREE, cells] > 0.0).any())


def _forcing_changed(a: Forcing, b: Forcing) -> tuple[int, int, int, int]:
    """Return whether sides, sources and moving air of two forcings differ."""

    def differ(x: Any, y: Any, names: Sequence[str]) -> int:
        return int(any(not np.array_equal(getattr(x, name), getattr(y, name)) for name in names))

    return (
        differ(a, b, ("outside",)),
        differ(a, b, ("inside",)),
        differ(a, b, ("rate", "share")),
        differ(a.loads, b.loads, _OF_LOADS),
    )
