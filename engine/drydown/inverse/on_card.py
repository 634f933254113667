"""Derivatives at many draws on a GPU: walls on both sides of every input march in step with the wall itself.

A card is good at many walls that do the same, and carries no derivatives along. So they are central differences of
walls that take the same steps, with stages solved closely: what those differ by is smooth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..lowering.grid import Grid
from ..lowering.lowered import Problem
from ..lowering.problem import lower
from ..lowering.site import met_once
from ..systems import free_memory
from .between_cells import ON_FACE
from .free import Free, put_all
from .marching import STRETCH
from .sensors import Sensor, by_place_and_offset, cells_for, read_all, with_inputs
from .setting import each_once
from .stacking import NotAlike, lowered_beside, scaled_grid

#: How far the walls on both sides stand from the wall itself, in the coordinate of the input. Over ten times as much a
#: wall bends; over a tenth what a stage leaves over is seen.
BESIDE = 5e-5
#: Most walls that are laid out at a time, and the share of the memory that is free which they may take.
AT_ONCE, SHARE = 32768, 0.3
#: Forcing that walls on both sides of an input mostly have in common with the wall.
SHARED = ("marks", "keep", "jump", "outside", "inside", "rate")
#: Cells that are kept about a sensor, about.
CELLS_OF_ONE = 10


@dataclass(frozen=True)
class ManyObserved:
    """What sensors read at many draws, and its derivatives.

    Parameters
    ----------
    time : array of shape (row,)
        datetime64[s].
    value : array of shape (draw, row, sensor)
        In the unit of each quantity; not a number where a march ended early.
    by : array of shape (draw, row, sensor, free)
        Derivatives by the coordinates of the inputs.
    bend : array of shape (draw, sensor, free)
        By how much the differences to both sides differ from each other, over what they come to, root mean square;
        much more than its neighbours': there is a kink, or what is left over of the stages.
    trouble : tuple of str
        Of each draw why a march ended early, in one sentence; empty where none did.
    """

    time: np.ndarray
    value: Array
    by: Array
    bend: Array
    trouble: tuple[str, ...]


class Drawn(NamedTuple):
    """A draw: its wall, those on both sides of every input of the wall in turn; its inputs and sensors."""

    walls: list[Problem]
    free: Sequence[Free]
    sensors: Sequence[Sensor]
    z: Array


class Read(NamedTuple):
    """What `ManyObserved` holds, of one draw."""

    time: np.ndarray
    value: Array
    by: Array
    bend: Array
    trouble: str


def observed_on_card(
    case: Case,
    free: Sequence[Free],
    sensors: Sequence[Sensor],
    z: Array,
    newton: float,
    *,
    grid: Grid | None = None,
    progress: Callable[[float], None] | None = None,
) -> ManyObserved:
    """Return what sensors read and its derivatives by the coordinates of free inputs, at many draws of them.

    Parameters
    ----------
    case : Case
    free : sequence of Free
    sensors : sequence of Sensor
    z : array of shape (draw, free)
        Coordinates at which the derivatives are taken.
    newton : float
        How closely stages are solved.
    grid : Grid, optional
        Cells of the case; found by pilots of the case otherwise. All walls have them, as thick as their layers are.
    progress : callable, optional
        Called with the fraction done.

    Raises
    ------
    InputError
        If a path leads nowhere, an input moves what walls in step must have in common, or there is no GPU.
    """
    each_once(case, [x.path for x in free])
    mesh = lower(case).grid if grid is None else grid
    found: list[Read] = []
    for some in _batches(case, free, sensors, z, mesh, newton):

        def told(done: float, before: int = len(found), now: int = len(some)) -> None:
            if progress is not None:
                progress((before + done * now) / len(z))

        found += marched(some, told)
    value, by, bend = (np.stack([getattr(f, name) for f in found]) for name in ("value", "by", "bend"))
    return ManyObserved(found[0].time, value, by, bend, tuple(f.trouble for f in found))


def marched(drawn: Sequence[Drawn], progress: Callable[[float], None] | None = None) -> list[Read]:
    """March draws, of one wall or of several, and difference what is read of them.

    Parameters
    ----------
    drawn : sequence of Drawn
    progress : callable, optional
        Called with the fraction done.
    """
    from ..gpu.in_step import march_in_step

    walls: list[Problem] = []
    of: list[int] = []
    whose: list[int] = []
    for d, draw in enumerate(drawn):
        of += [len(walls)] * len(draw.walls)
        whose += [d] * len(draw.walls)
        walls += draw.walls
    placed = [with_inputs(d.sensors, d.free, d.z) for d in drawn]
    cells = [_cells(d, s) for d, s in zip(drawn, placed, strict=True)]
    kept = [np.flatnonzero(d.walls[0].forcing.keep) for d in drawn]
    reading = [np.full((len(kept[d]), len(placed[d])), np.nan) for d in whose]
    by = [np.full((len(k), len(d.sensors), len(d.free)), np.nan) for d, k in zip(drawn, kept, strict=True)]

    def take(numbers: list[int], rows: slice, u: Array, temperature: Array, water: Array) -> None:
        d = whose[numbers[0]]
        for some in _read_alike([walls[i] for i in numbers]):
            p = walls[numbers[some[0]]]
            course = [x[:, some].swapaxes(0, 1).reshape(-1, x.shape[2]) for x in (u, temperature, water)]

            def read(
                sensors: Sequence[Sensor], p: Problem = p, course: list[Array] = course, n: int = len(some)
            ) -> Array:
                return read_all(sensors, p, p.grid, cells[d], *course).reshape(n, -1, len(sensors))

            for k, values in zip(some, read(placed[d]), strict=True):
                reading[numbers[k]][rows] = values
            first = numbers[some[0]]
            if of[first] == first:
                draw = drawn[d]
                for j, values in by_place_and_offset(draw.sensors, draw.free, draw.z, lambda s: read(s)[0]).items():
                    by[d][rows, :, j] = values

    said = march_in_step(walls, of, [cells[d] for d in whose], take, progress)
    out: list[Read] = []
    first = 0
    for d, draw in enumerate(drawn):
        mine = slice(first, first + len(draw.walls))
        first = mine.stop
        bend, trouble = _differences(draw, reading[mine], said[mine], by[d])
        out.append(Read(draw.walls[0].stamps[kept[d]], reading[mine.start], by[d], bend, trouble))
    return out


def _read_alike(walls: Sequence[Problem]) -> list[list[int]]:
    """Return positions of walls in groups whose readings follow from their states in the same way."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for k, p in enumerate(walls):
        densities = tuple(layer.material.density for layer in p.case.assembly.layers)
        groups.setdefault((p.grid.dx.tobytes(), densities, id(p.case.physics)), []).append(k)
    return list(groups.values())


def _cells(draw: Drawn, placed: Sequence[Sensor]) -> np.ndarray:
    """Return the cells about sensors: few, where their places are known, for all that is kept leaves the card."""
    if any(x.of_sensor for x in draw.free):
        return cells_for(draw.walls[0], placed)
    return cells_for(draw.walls[0], placed, ON_FACE)


def _differences(draw: Drawn, reading: Sequence[Array], said: Sequence[str], by: Array) -> tuple[Array, str]:
    """Write the differences of what the walls of a draw read; return by how much both sides differ, and any trouble.

    Where one of the two sides could not be solved in the steps of the wall, the other is held against the wall.
    """
    bend = np.zeros(by.shape[1:])
    trouble = [said[0]]
    here = reading[0]
    for k, j in enumerate(j for j, x in enumerate(draw.free) if not x.of_sensor):
        up, down = reading[1 + 2 * k], reading[2 + 2 * k]
        ended = said[1 + 2 * k], said[2 + 2 * k]
        if all(ended):
            trouble.append(ended[0])
        wide = 2.0 * BESIDE if not any(ended) else BESIDE
        up, down = here if ended[0] else up, here if ended[1] else down
        by[..., j] = np.nan if all(ended) else (up - down) / wide
        apart = np.sqrt(np.mean((up - 2.0 * here + down) ** 2, axis=0))
        size = np.sqrt(np.mean((up - down) ** 2, axis=0))
        bend[:, j] = apart / np.where(size > 0.0, size, np.inf)
    return bend, "; ".join(dict.fromkeys(x for x in trouble if x))


def _batches(
    case: Case, free: Sequence[Free], sensors: Sequence[Sensor], z: Array, mesh: Grid, newton: float
) -> Iterator[list[Drawn]]:
    """Yield draws, lowered: as many at a time as memory holds."""
    some: list[Drawn] = []
    walls, taken, room = 0, 0.0, SHARE * free_memory()
    with met_once():  # most inputs leave both sides as they are
        for at in z:
            new = drawn_at(case, free, sensors, at, mesh, newton)
            some.append(new)
            walls += len(new.walls)
            taken += _bytes(new.walls, len(sensors))
            if walls + len(new.walls) > AT_ONCE or taken > room:
                yield some
                some, walls, taken = [], 0, 0.0
    if some:
        yield some


def _bytes(walls: Sequence[Problem], sensors: int) -> float:
    """Return how much memory a draw takes: its tables, once more as they are laid out, what is kept of its cells."""
    tables = {id(p.sampled.tables.material): p.sampled.tables.material.nbytes for p in walls}
    own = sum(p.sampled.tables.film.nbytes + p.forcing.outside.nbytes + p.forcing.inside.nbytes for p in walls)
    rows = int(np.sum(walls[0].forcing.keep))
    of_cells = min(rows, STRETCH) * 3 * CELLS_OF_ONE * sensors
    return 2.0 * sum(tables.values()) + own + 8.0 * len(walls) * (rows * sensors + of_cells)


def drawn_at(case: Case, free: Sequence[Free], sensors: Sequence[Sensor], z: Array, mesh: Grid, newton: float) -> Drawn:
    """Return the wall of a draw and those on both sides of each input, lowered on the same cells.

    Parameters
    ----------
    case : Case
    free : sequence of Free
    sensors : sequence of Sensor
    z : array of shape (free,)
    mesh : Grid
        Cells of the case.
    newton : float
        How closely stages are solved.
    """
    base = put_all(case, free, z)
    wall = lower(base, grid=scaled_grid(mesh, case, base))
    walls = [wall]
    for j, x in enumerate(free):
        if x.of_sensor:
            continue
        e = BESIDE * np.eye(len(free))[j]
        for way in (e, -e):
            try:
                walls.append(lowered_beside(wall, put_all(case, free, z + way)))
            except NotAlike:
                raise InputError(
                    "it moves the hours of the run or where water overflows to; walls on both sides of it do not march "
                    "in step. Leave it out", x.path,
                ) from None  # fmt: skip
    return Drawn(
        [p._replace(control=p.control._replace(newton=newton)) for p in sharing_tables(walls)], free, sensors, z
    )


def sharing_tables(problems: Sequence[Problem]) -> list[Problem]:
    """Return problems that hold each table of a material, and their forcing, but once between them.

    Most have those of the first.

    Parameters
    ----------
    problems : sequence of Problem
    """
    first = problems[0].sampled.tables
    pieces, length, made = [first.material], len(first.material), []
    for p in problems:
        t = p.sampled.tables
        offset = t.offset.copy()
        for m in range(len(t.count)):
            own = t.material[t.offset[m] : t.offset[m] + t.count[m]]
            if m < len(first.count):
                theirs = first.material[first.offset[m] : first.offset[m] + first.count[m]]
                if own.shape == theirs.shape and np.array_equal(own, theirs):
                    offset[m] = first.offset[m]
                    continue
            pieces.append(own)
            offset[m] = length
            length += len(own)
        made.append(offset)
    material = np.concatenate(pieces)
    out = []
    for p, offset in zip(problems, made, strict=True):
        met, of_first = p.forcing._asdict(), problems[0].forcing._asdict()
        same = {x: of_first[x] for x in SHARED if np.array_equal(met[x], of_first[x])}
        tables = p.sampled.tables._replace(material=material, offset=offset)
        out.append(p._replace(sampled=p.sampled._replace(tables=tables), forcing=p.forcing._replace(**same)))
    return out
