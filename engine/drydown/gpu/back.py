"""Corrections of a sweep, coming back outward: their size, and the iterate taken by them."""

from __future__ import annotations

from typing import NamedTuple

from numba import cuda

from ..kernel.humidity import DRIEST_CELL
from ..kernel.pores import temperature_of
from ..kernel.stage import MOST_T, MOST_U, SURPRISE, by_enthalpy, limited, size_of
from .elimination import Run
from .layout import (
    CELL,
    DT,
    DU,
    E_TT,
    E_TU,
    E_UT,
    E_UU,
    F_T,
    F_U,
    H0,
    HEAT,
    HEAT_T,
    HEAT_U,
    NEWTON,
    OFFER,
    ONE,
    OPEN,
    PHI_U,
    S_TT,
    S_TU,
    S_UT,
    S_UU,
    T0,
    U0,
    W0,
    WAS_T,
    WAS_U,
    WATER,
    WATER_U,
    WIDTH,
    ZERO,
)  # fmt: skip
from .uptake import full_of, settle

#: Size of a correction that is none.
NO_NUMBER = 1e300
#: What a cell says that no sweep but the last of all may end with.
SURPRISED = 0.5


class Linearised(NamedTuple):
    """What a sweep knows of a cell when it comes back: factors; what it holds, derivatives; its iterate."""

    e: Run
    phi_u: float
    water: float
    water_u: float
    heat: float
    heat_u: float
    heat_t: float
    u: float
    t: float
    dx: float
    m: int


@cuda.jit(device=True)
def _read(many, x, me, stage, j):
    """Return what a sweep left of cell j of a lane, all asked for at once."""
    o = me.o + j * CELL
    i = me.c + j * WIDTH
    s00 = 0.0
    s01 = 0.0
    s10 = 0.0
    s11 = 0.0
    if me.lanes > ONE:
        s00 = x[o + S_UU]
        s01 = x[o + S_UT]
        s10 = x[o + S_TU]
        s11 = x[o + S_TT]
    return Linearised(
        Run(x[o + F_U], x[o + F_T], x[o + E_UU], x[o + E_UT], x[o + E_TU], x[o + E_TT], s00, s01, s10, s11),
        x[o + PHI_U], x[o + WATER], x[o + WATER_U], x[o + HEAT], x[o + HEAT_U], x[o + HEAT_T],
        x[o + U0 + stage], x[o + T0 + stage], many.dx[i], many.material[i],
    )  # fmt: skip


@cuda.jit(device=True)
def _moved(wall, tables, x, o, c, du, dt):
    """Return u and temperature of an iterate taken by its corrections, and by how much enthalpy says otherwise [K]."""
    u = min(limited(c.u, du, tables.z0), DRIEST_CELL)
    some = min(max(dt, -MOST_T), MOST_T)
    t = c.t + some
    if wall.freeze[c.m] == 1 and by_enthalpy(tables, wall, c.m, x[o + OPEN], u, c.t, some):
        heat = (c.heat + c.heat_u * (u - c.u) + c.heat_t * some) / c.dx
        found = temperature_of(tables, wall, c.m, u, heat, t)
        return u, found, abs(found - t)
    return u, t, 0.0


@cuda.jit(device=True)
def corrected(wall, tables, many, scratch, me, stage, u, t, lu, lt, keep, per_u):
    """Solve a lane's cells from its last, of corrections (u, t), and from that of the lane on the left, (lu, lt).

    Writes the corrections to DU and DT, the iterate taken by them, and the amounts of the linearised system, which are
    those of the stage where this sweep is its last; keep : whether the iterate of the sweep stays in WAS_U, WAS_T;
    per_u : size that a correction of u counts as, None in an ordinary march.
    Returns the size of the corrections, 1 where one of them is clipped, 1 where a cell does not end on its piece of the
    law of what nearly full cells take, `SURPRISED` where enthalpy asks for another temperature than the sweep.
    """
    x = scratch.cells
    worst = 0.0
    clipped = 0.0
    unsettled = 0.0
    last = me.count - ONE
    c = _read(many, x, me, stage, last)
    for r in range(me.count):
        j = last - r
        o = me.o + j * CELL
        following = _read(many, x, me, stage, j - ONE if j > ZERO else ZERO)
        if r > ZERO:
            e = c.e
            u, t = (
                e.f0 - e.e00 * u - e.e01 * t - e.s00 * lu - e.s01 * lt,
                e.f1 - e.e10 * u - e.e11 * t - e.s10 * lu - e.s11 * lt,
            )
        x[o + DU] = u
        x[o + DT] = t
        if keep:
            x[o + WAS_U] = c.u
            x[o + WAS_T] = c.t
        water = c.water + c.water_u * u + c.water_u * (wall.kappa[c.m] * (1.0 / c.t)) * t
        x[o + W0 + stage] = water
        if many.law == 1 and x[o + OFFER] > 0.0:
            unsettled = max(unsettled, settle(x, o, full_of(tables, many, me.c + j * WIDTH), water))
        x[o + H0 + stage] = c.heat + c.heat_u * u + c.heat_t * t
        if not (abs(u) < 1e12 and abs(t) < 1e6):
            worst = NO_NUMBER
        else:
            s = size_of(u, t, c.phi_u, c.water / c.dx, c.water_u, c.dx)
            if per_u is not None:
                s = max(s, per_u * abs(u))
            if (me.q == ZERO and j == ZERO) or (me.q + ONE == me.lanes and r == ZERO):
                s *= 2.0  # rain and dew switch at the surfaces
            worst = max(worst, s)
            if limited(c.u, u, tables.z0) != c.u + u or t > MOST_T or t < -MOST_T:
                clipped = 1.0
            x[o + U0 + stage], x[o + T0 + stage], surprise = _moved(wall, tables, x, o, c, u, t)
            if surprise > SURPRISE * scratch.march[me.z + NEWTON]:
                unsettled = max(unsettled, SURPRISED)
        c = following
    return worst, clipped, unsettled


@cuda.jit(device=True)
def halve(wall, tables, many, scratch, me, stage):
    """Go from the iterate of the sweep half as far as a sweep may."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        x[o + DU] = 0.5 * min(max(x[o + DU], -MOST_U), MOST_U)
        x[o + DT] *= 0.5
        x[o + U0 + stage] = x[o + WAS_U]
        x[o + T0 + stage] = x[o + WAS_T]
        c = _read(many, x, me, stage, j)
        x[o + U0 + stage], x[o + T0 + stage], _ = _moved(wall, tables, x, o, c, x[o + DU], x[o + DT])


@cuda.jit(device=True)
def worst_cell(scratch, me):
    """Return the greatest correction of u in this lane's cells, and which it is."""
    worst = 0.0
    which = 0.0
    for j in range(me.count):
        d = abs(scratch.cells[me.o + j * CELL + DU])
        if not (d <= worst):
            worst = d if d < 1e300 else 1e300
            which = float(j)
    return worst, which
