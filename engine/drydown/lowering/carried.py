"""What a pilot sees of errors that profiles do not show by their bend: of what moving air carries, and of ice.

Both are given as bends (see `pilot`): error over promise per width squared, of a line across a cell.
"""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..kernel.layout import DELTA, LAMBDA
from .lowered import Problem

#: The line across a cell may err by this share of the promise: a cell also carries the errors of its neighbours.
SHARE = 0.18
#: And what half a cell beside a film that air passes may be off by, as a share of the promise.
AT_FILM = 0.36
#: No cell is narrower than this share of its layer for what air carries alone: through what is as good as tight it
#: carries all, whatever the width, and the fronts that it brings are found by their bends.
FINEST = 1 / 300
#: Change of saturation pressure with temperature, over the pressure, at room temperature [1/K].
SATURATION_PER_K = 0.06
#: Heat of fusion [J/kg] (from memory); heat capacity of building materials, to an order of magnitude [J/(m3 K)].
FUSION, CAPACITY = 3.34e5, 2e6
#: Share of the difference to its neighbours that a freezing cell is off by.
LUMPED = 0.12
#: Humidity from which on freezing counts [-].
DAMP = 0.98


def is_blown(problem: Problem) -> bool:
    """Return whether air passes through layers."""
    loads = problem.forcing.loads
    return bool(loads.path.shape[0]) and bool(np.any(loads.stream))


def may_freeze(problem: Problem, temperature: Array) -> Array:
    """Return of every cell whether it is of a material that freezes and was seen on both sides of the melting point."""
    melting = problem.wall.melting
    seen = (temperature.min(axis=0) < melting) & (temperature.max(axis=0) > melting)
    return np.asarray(seen & (problem.wall.freeze[problem.wall.material] == 1))


def _slopes(values: Array, per: Array, layer: Array) -> Array:
    """Return the slope of rows of values in every cell [1/m], from its neighbours in the same layer."""
    step = np.abs(np.diff(values, axis=1)) * per[1, :-1]
    inside = layer[1:] == layer[:-1]
    step = np.where(inside, step, 0.0)
    total = np.zeros_like(values)
    total[:, 1:] += step
    total[:, :-1] += step
    count = np.zeros(values.shape[1])
    count[1:] += inside
    count[:-1] += inside
    return total / np.maximum(count, 1.0)


def _bend(slope: Array, carries: Array, small: float) -> Array:
    """Return as a bend what the air flow between middles of cells errs by.

    slope : of what it carries [1/m]; carries : flow over conductance, the inverse of the length over which diffusion
    holds against it [1/m]; small : the promise. The flux is exact where nothing is taken up on the way (see
    `kernel.air`). Else what passes a face is that of the cell upstream, to a share of about Pe/(6 + Pe) of half a cell,
    Pe = carries times width.
    """
    e = SHARE * small
    strong = np.maximum(slope * carries, 1e-30)
    width = (e * carries + np.sqrt((e * carries) ** 2 + 12.0 * strong * e)) / strong
    return 8.0 * SHARE / width**2


def _at_films(problem: Problem, slope: Array, through: Array, small: float) -> Array:
    """Return squared bends of the cells beside films: air that passes a film comes from the middle of a cell.

    through : of every face, positive inward [kg/(m2 s)], (row, cell + 1).
    """
    n = slope.shape[1]
    half_a_cell = 8.0 * SHARE * (slope / (2.0 * AT_FILM * small)) ** 2
    out = np.zeros(n)
    for face in np.flatnonzero(problem.wall.film >= 0):
        for cell, within, leaves in ((face, 1, through[:, face] < 0.0), (face - 1, -1, through[:, face] > 0.0)):
            if 0 <= cell < n:
                seen = np.sum(half_a_cell[leaves, cell] ** 2)
                out[cell] = max(out[cell], seen)
                next_to = min(max(cell + within, 0), n - 1)
                out[next_to] = max(out[next_to], seen)  # from which a cell at a face gets its bend
    return out


def by_air(problem: Problem, marks: slice, u: Array, phi: Array, temperature: Array, per: Array, small: Array) -> Array:
    """Return squared bends of humidity and of temperature, summed over the rows, (2, cell)."""
    grid, loads, wall, tables = problem.grid, problem.forcing.loads, problem.wall, problem.sampled.tables
    through = loads.stream[marks] @ loads.path
    flow = np.maximum(np.abs(through[:, :-1]), np.abs(through[:, 1:]))
    n = tables.count[wall.material]
    place = np.clip((u.mean(axis=0) - tables.z0) / (tables.z1 - tables.z0) * n, 0, n - 1).astype(np.int64)
    row = tables.offset[wall.material] + place
    lets_vapour, conducts = tables.material[row, DELTA, 0], tables.material[row, LAMBDA, 0]
    warm = _slopes(temperature, per, grid.layer)
    pressure = _slopes(phi, per, grid.layer) + SATURATION_PER_K * phi * warm
    thickness = np.bincount(grid.layer + 1, grid.dx)[grid.layer + 1]
    most = 8.0 * SHARE / (FINEST * thickness) ** 2
    out = np.empty((2, len(grid.dx)))
    out[0] = np.sum(np.minimum(_bend(pressure, flow * loads.ratio / lets_vapour, small[0]), most) ** 2, axis=0)
    out[0] = np.maximum(out[0], _at_films(problem, pressure, through, small[0]))
    out[1] = np.sum(np.minimum(_bend(warm, flow * loads.c_air / conducts, small[1]), most) ** 2, axis=0)
    return out


def by_ice(problem: Problem, phi: Array, temperature: Array, water: Array, per: Array, small: Array) -> Array:
    """Return squared bends of temperature where a front of ice passes, summed over the rows, (cell,).

    A cell in which water freezes stays at the melting point until all of it has.
    """
    melting = problem.wall.melting
    below = temperature < melting
    out = np.zeros(phi.shape[1])
    passes = (below[:, :-2] != below[:, 2:]) & (phi[:, 1:-1] > DAMP)
    step = np.abs(np.diff(temperature, axis=1))
    most = np.maximum(step[:, :-1], step[:, 1:])
    latent = FUSION * water[:, 1:-1] * per[0, 1:-1]
    off = LUMPED * most * latent / (latent + CAPACITY * most + 1e-30)
    bend = 8.0 * off * per[1, 1:-1] * per[2, 1:-1] / small[1]
    out[1:-1] = np.sum(np.where(passes, bend, 0.0) ** 2, axis=0)
    return out
