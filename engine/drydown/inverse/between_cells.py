"""The state of a place in a wall from that of its cells: within a layer, at its faces, on one side of a film.

Temperature and vapour pressure are straight lines from the middle of a cell to that of the next, and from the last two
cells of a layer on to its face. Where two layers touch, the face has what both lines come to, that of the thinner cell
weighing more. Where a film lies there, each side has its own vapour pressure; the film does not resist heat. At the
surface of the wall the line of the outermost layer ends.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..lowering.grid import Grid

#: A place this near to a face [m] lies on it, on the side of the layer that it is told in.
ON_FACE = 1e-6


class Weights(NamedTuple):
    """How much each cell of a grid counts, shape (cell,): of temperatures, and of vapour pressures."""

    temperature: Array
    vapour: Array

    @property
    def cells(self) -> np.ndarray:
        """The cells that count."""
        return np.flatnonzero((self.temperature != 0.0) | (self.vapour != 0.0))


def weights(grid: Grid, layer: int, told: float, x: float) -> Weights:
    """Return the weights of the cells at a place.

    Parameters
    ----------
    grid : Grid
    layer : int
        Number of the layer that the place is told in.
    told : float
        Where it is told to lie [m from the outer surface]: it decides the side of a face, and of a film.
    x : float
        Where it lies [m]. It may lie in a layer beside; beyond a film or the wall the line of its own side goes on.
    """
    parts = _parts(grid)
    side = _part_of(grid, parts, layer, told)
    first = last = side
    while first > 0 and grid.film[parts[first][0]] < 0:
        first -= 1
    while last + 1 < len(parts) and grid.film[parts[last][1]] < 0:
        last += 1
    edges = _edges(grid)
    while side > first and x < edges[parts[side][0]]:
        side -= 1
    while side < last and x > edges[parts[side][1]]:
        side += 1
    return Weights(*(_line(grid, edges, parts, side, x, through) for through in (True, False)))


def _edges(grid: Grid) -> Array:
    return np.concatenate([[0.0], np.cumsum(grid.dx)])


def _parts(grid: Grid) -> list[tuple[int, int]]:
    """Return first cell and that after the last one of every layer, and of the air between two films."""
    return list(pairwise(grid.faces.tolist()))


def _part_of(grid: Grid, parts: list[tuple[int, int]], layer: int, told: float) -> int:
    """Return the part that a place lies in; on a face that of its layer, or the one nearer to it."""
    edges = _edges(grid)
    own = next(k for k, (a, _) in enumerate(parts) if grid.layer[a] == layer)
    while own > 0 and told < edges[parts[own][0]] - ON_FACE:
        own -= 1
    while own + 1 < len(parts) and told > edges[parts[own][1]] + ON_FACE:
        own += 1
    return own


def _line(grid: Grid, edges: Array, parts: list[tuple[int, int]], k: int, x: float, through: bool) -> Array:
    """Return the weights on the broken line of a part; `through`: as if there were no films."""
    out = np.zeros(len(grid.dx))
    a, b = parts[k]
    if grid.x[a] <= x <= grid.x[b - 1]:
        i = min(max(int(np.searchsorted(grid.x[a:b], x)) - 1, 0), max(b - a - 2, 0)) + a
        share = (x - grid.x[i]) / (grid.x[i + 1] - grid.x[i]) if b - a > 1 else 0.0
        out[i] = 1.0 - share
        if share > 0.0:
            out[i + 1] = share
        return out
    cell, face = (a, a) if x < grid.x[a] else (b - 1, b)
    share = (x - grid.x[cell]) / (edges[face] - grid.x[cell])
    out[cell] = 1.0 - share
    out += share * _at_face(grid, parts, k, face, through)
    return out


def _at_face(grid: Grid, parts: list[tuple[int, int]], k: int, face: int, through: bool) -> Array:
    """Return the weights at a face of a part, on its side where a film lies there and they are not `through` it."""
    beside = k - 1 if face == parts[k][0] else k + 1
    sides = [k]
    if 0 <= beside < len(parts) and (through or grid.film[face] < 0):
        sides.append(beside)
    lines = [parts[s] for s in sides if parts[s][1] - parts[s][0] > 1]
    known = [_onward(grid, part, face) for part in lines]
    if not known:  # single cells: between their middles
        known = [np.eye(len(grid.dx))[parts[s][0]] for s in sides]
        lines = [parts[s] for s in sides]
    nearness = np.array([2.0 / grid.dx[_beside(part, face)] for part in lines])
    return np.asarray(nearness @ np.array(known) / nearness.sum())


def _beside(part: tuple[int, int], face: int) -> int:
    """Return the cell of a part at one of its faces."""
    return part[0] if face == part[0] else part[1] - 1


def _onward(grid: Grid, part: tuple[int, int], face: int) -> Array:
    """Return the weights of the line through the last two cells of a part, at its face."""
    near = _beside(part, face)
    after = near + 1 if face == part[0] else near - 1
    beyond = 0.5 * grid.dx[near] / abs(grid.x[after] - grid.x[near])
    out = np.zeros(len(grid.dx))
    out[near], out[after] = 1.0 + beyond, -beyond
    return out
