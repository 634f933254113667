"""Problems laid out for a GPU: cells dealt out to lanes, faces dealt out to lanes, what is shared kept once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from ..kernel.layout import COUNTERS, LAW, SIDE_COLUMNS, STEP_MIN, TOTALS, Loads, Tables, Wall
from ..lowering.lowered import Problem
from ..lowering.marcher import FIRST_STEP
from .layout import (
    CELL,
    FACE,
    FACE_LENGTH,
    FACE_WHOLE,
    FILM,
    H0,
    H_LEFT,
    H_RIGHT,
    LAST_STEP,
    LOAD,
    M_LEFT,
    M_RIGHT,
    MARCH,
    PLACE_LEFT,
    PLACE_RIGHT,
    T0,
    U0,
    W0,
    WATCH,
    Many,
    Scratch,
    Weather,
)  # fmt: skip
from .layout import THREADS as WIDTH
from .pools import Media, Rows

Array = np.ndarray
#: Whole numbers of a wall, in the order of `Many`: rows at which what it shares begins, its last mark.
PER_WALL = ("outside", "inside", "marks", "jump", "rate", "air", "last")


class Packed(NamedTuple):
    """Walls of one launch, in arrays of the host."""

    wall: Wall
    tables: Tables
    loads: Loads
    many: Many
    weather: Weather
    scratch: Scratch
    cells: list[Array]  # of each wall: where its cells stand in [block, cell, thread]
    faces: list[Array]  # of each wall: where the faces of its record of fluxes stand in [block, face, thread]
    own: list[tuple[Array, Array]]  # of each wall: its faces with a state of their own, and where they stand there


def lanes_for(cells: int, wanted: int) -> int:
    """Return a power of two of lanes, no more than wanted and no more than there are cells."""
    lanes = 1
    while 2 * lanes <= min(cells, wanted, WIDTH):
        lanes *= 2
    return lanes


def _own_faces(problem: Problem) -> Array:
    """Return the faces with a state of their own or a row in the record, the two surfaces among them."""
    w = problem.wall
    n = len(w.dx)
    inside = np.arange(1, n)
    own = (w.material[1:] != w.material[:-1]) | (w.film[1:n] >= 0) | (w.watch[1:n] >= 0)
    return np.concatenate([[0], inside[own], [n]])


def pack(problems: Sequence[Problem], lanes: int) -> Packed:
    """Lay problems out.

    Parameters
    ----------
    problems : sequence of Problem
        Alike (see `pools.alike`), each at its start.
    lanes : int
        Threads of a wall: a power of two up to 32, no more than any wall has cells.
    """
    per_block = WIDTH // lanes
    blocks = -(-len(problems) // per_block)
    walls = blocks * per_block
    n = np.zeros(walls, dtype=np.int32)
    n[: len(problems)] = [len(p.wall.dx) for p in problems]
    faces = [_own_faces(p) for p in problems]
    longest, most = int(-(-n.max() // lanes)), -(-max(len(f) for f in faces) // lanes)
    loads = [p.forcing.loads for p in problems]
    size = {
        "source": max(p.forcing.share.shape[0] for p in problems),
        "gap": max(len(x.gap_lift) for x in loads),
        "stream": max(len(x.path) for x in loads),
        "deposit": max(len(x.deposit_cells) for x in loads),
    }
    media = Media(problems[0])
    side, jump, rate = Rows(SIDE_COLUMNS), Rows(None, np.int32), Rows(size["source"])
    marks = Rows(2)
    air = Air(size)

    def cells(dtype: Any, *kinds: int) -> Array:
        return np.zeros((blocks, *kinds, longest, WIDTH), dtype=dtype)

    one = {
        name: np.zeros(walls, dtype=np.int64) for name in ("outside", "inside", "marks", "jump", "rate", "air", "last")
    }
    kinds = np.zeros((2, walls), dtype=np.int32)
    control = np.zeros((walls, len(problems[0].control)))
    wanted = np.zeros(walls)
    count = np.zeros(walls, dtype=np.int32)
    dx, material, joint = cells(float), cells(np.int32), np.full((blocks, longest, WIDTH), -1, dtype=np.int32)
    whole = np.zeros((blocks, most, int(FACE_WHOLE) // WIDTH, WIDTH), dtype=np.int32)
    whole[:, :, int(FILM) // WIDTH] = whole[:, :, int(WATCH) // WIDTH] = -1
    length = np.zeros((blocks, most, int(FACE_LENGTH) // WIDTH, WIDTH))
    share, limited = cells(float, size["source"]), np.zeros((walls, size["source"]), dtype=np.int32)
    gap_cells = cells(np.int32, size["gap"])
    gap_side, gap_lift = np.zeros((walls, size["gap"]), dtype=np.int32), np.zeros((walls, size["gap"]))
    path_left, path_right = cells(float, size["stream"]), cells(float, size["stream"])
    path_face = np.zeros((blocks, size["stream"], most, WIDTH))
    deposit_cells = cells(float, size["deposit"])
    state = np.zeros((blocks, longest, int(CELL) // WIDTH, WIDTH))
    at_cells, at_faces, own = [], [], []
    for w, p in enumerate(problems):
        b, home = w // per_block, (w % per_block) * lanes
        m, f, x = p.wall, p.forcing, p.forcing.loads
        each, more = divmod(int(n[w]), lanes)
        q = np.repeat(np.arange(lanes), [each + (i < more) for i in range(lanes)])
        j = np.arange(n[w]) - (q * each + np.minimum(q, more))
        t = home + q
        mine, films = media.add(p)
        number = np.full(n[w] + 1, -1, dtype=np.int32)
        number[faces[w]] = np.arange(len(faces[w]))
        dx[b, j, t], material[b, j, t], joint[b, j, t] = m.dx, mine[m.material], number[:-1]
        for column, values in ((U0, p.state.u), (T0, p.state.temperature), (W0, p.state.water), (H0, p.state.heat)):
            state[b, j, int(column) // WIDTH, t] = values
        place = j * int(CELL) + q
        k = np.arange(len(faces[w]))
        fs, ft = k // lanes, home + k % lanes
        left, right = np.maximum(faces[w] - 1, 0), np.minimum(faces[w], n[w] - 1)
        film = m.film[faces[w]]
        film = np.where(film >= 0, films[np.maximum(film, 0)] if len(films) else -1, -1)
        for column, values in (
            (PLACE_LEFT, place[left]), (PLACE_RIGHT, place[right]), (M_LEFT, mine[m.material[left]]),
            (M_RIGHT, mine[m.material[right]]), (FILM, film), (WATCH, m.watch[faces[w]]),
        ):  # fmt: skip
            whole[b, fs, int(column) // WIDTH, ft] = values
        length[b, fs, int(H_LEFT) // WIDTH, ft], length[b, fs, int(H_RIGHT) // WIDTH, ft] = (
            0.5 * m.dx[left],
            0.5 * m.dx[right],
        )
        control[w] = c = p.control
        wanted[w] = c.max_step if c.fixed else min(FIRST_STEP, c.max_step)
        count[w], kinds[0, w], kinds[1, w] = len(faces[w]), m.kind_out, m.kind_in
        one["outside"][w], one["inside"][w] = side.add(f.outside, True), side.add(f.inside, True)
        one["marks"][w] = marks.add(np.stack([f.marks, f.keep], axis=1))
        one["last"][w] = len(f.marks) - 1
        one["jump"][w], one["rate"][w], one["air"][w] = (
            jump.add(f.jump, True),
            rate.add(f.rate, True),
            air.add(x, len(f.marks)),
        )
        for s in range(len(f.share)):
            share[b, s, j, t] = f.share[s]
            limited[w, s] = f.limited[s]
        for s in range(len(x.gap_lift)):
            gap_cells[b, s, j, t], gap_side[w, s], gap_lift[w, s] = x.gap_cells[s], x.gap_side[s], x.gap_lift[s]
        for s in range(len(x.path)):
            path_left[b, s, j, t], path_right[b, s, j, t] = x.path[s, :-1], x.path[s, 1:]
            path_face[b, s, fs, ft] = x.path[s, faces[w]]
        for s in range(len(x.deposit_cells)):
            deposit_cells[b, s, j, t] = x.deposit_cells[s]
        at_cells.append((b * longest + j) * WIDTH + t)
        own.append((faces[w], (b * most + fs) * WIDTH + ft))
        kept = np.argsort(m.watch[faces[w]], kind="stable")
        kept = kept[m.watch[faces[w]][kept] >= 0]
        at_faces.append((b * most + fs[kept]) * WIDTH + ft[kept])
    wall, tables = media.packed()
    made: tuple[Any, ...] = (
        lanes, longest, blocks, most, size["source"], int(np.any(limited == LAW)), size["gap"], size["stream"],
        size["deposit"], n, count,
        *one.values(), _flat(control), kinds[0].copy(), kinds[1].copy(),
        _flat(dx), _flat(material), _flat(joint), _flat(whole), _flat(length), _flat(share), _flat(limited),
        _flat(gap_cells), _flat(gap_side), _flat(gap_lift), _flat(path_left), _flat(path_right), _flat(path_face),
        _flat(deposit_cells),
    )  # fmt: skip
    many = Many(*made)
    totals = np.zeros((walls, TOTALS))
    totals[:, STEP_MIN] = np.inf
    ends = np.zeros((walls, 4))
    ends[:, int(LAST_STEP)] = wanted
    rows = size["gap"] + size["stream"] + size["deposit"]
    scratch = Scratch(
        cells=_flat(state),
        faces=np.zeros(blocks * most * int(FACE)),
        admitted=_some(np.ones(share.size)),
        sources=_some(np.zeros(blocks * size["source"] * 3 * WIDTH)),
        air=_some(np.zeros(blocks * (rows + size["deposit"]) * WIDTH)),
        loads=_some(np.zeros(blocks * rows * int(LOAD))),
        totals=_flat(totals),
        counters=np.zeros(walls * COUNTERS, dtype=np.int64),
        ends=_flat(ends),
        reached=np.zeros(walls, dtype=np.int64),
        march=np.zeros(blocks * int(MARCH)),
        alive=np.zeros(1, dtype=np.int64),
    )
    when = marks.array()
    weather = Weather(
        np.ascontiguousarray(when[:, 0]), when[:, 1].astype(np.int32), jump.array(), side.array(), _wide(rate.array())
    )
    return Packed(
        wall, tables, air.packed(loads), many, weather, scratch, at_cells, at_faces, own,
    )  # fmt: skip


class Air:
    """Rows of the air that moves, of all walls."""

    def __init__(self, size: dict[str, int]) -> None:
        self.widths = (size["gap"], size["gap"], size["stream"], size["deposit"], size["deposit"])
        self.rows = Rows(sum(self.widths))

    def add(self, x: Loads, marks: int) -> int:
        """Return the first row of the loads of a wall."""
        if sum(self.widths) == 0:
            return 0
        block = np.zeros((marks, sum(self.widths)))
        at = 0
        for width, values in zip(self.widths, (x.gap, x.gap_wind, x.stream, x.deposit, x.brought), strict=True):
            if values.size:
                block[:, at : at + values.shape[1]] = values
            at += width
        return self.rows.add(block)

    def packed(self, loads: Sequence[Loads]) -> Loads:
        """Return them as the tuple of one wall, with the constants that all have in common."""
        rows = self.rows.array()
        at = np.cumsum([0, *self.widths])
        gap, wind, stream, deposit, brought = (_wide(np.ascontiguousarray(rows[:, a:b])) for a, b in pairwise(at))
        nothing, whole = np.zeros((0, 0)), np.zeros((0, 0), dtype=np.int64)
        return loads[0]._replace(
            active=max(x.active for x in loads), gap=gap, gap_wind=wind, gap_lift=np.zeros(0), gap_cells=whole,
            gap_side=np.zeros(0, dtype=np.int64), stream=stream, path=nothing, deposit=deposit, brought=brought,
            deposit_cells=nothing,
        )  # fmt: skip


def _flat(x: Array) -> Array:
    """Return an array as one row, of one number where there is none: a launch takes no empty arrays."""
    return _some(np.ascontiguousarray(x).reshape(-1))


def _some(x: Array) -> Array:
    return x if x.size else np.zeros(1, dtype=x.dtype)


def _wide(x: Array) -> Array:
    return x if x.size else np.zeros((1, 1))
