"""A sweep over the cells of a lane: properties, fluxes and elimination going inward, corrections coming back."""

from __future__ import annotations

import numpy as np
from numba import cuda, float64

from ..kernel.air import Exchange, exchanged, through
from ..kernel.cell import Cell, held_by, properties
from ..kernel.faces import Half
from ..kernel.fluxes import interior_flux
from ..kernel.humidity import DRIEST_CELL
from ..kernel.layout import SIDE_COLUMNS
from ..kernel.layout import WATER as WATER_COLUMN
from ..kernel.pores import temperature_of
from ..kernel.stage import MOST_T, MOST_U, by_enthalpy, limited, size_of
from .elimination import ends_of_runs, itself, outside, post, posted, reduced, solved
from .elimination import through as in_terms
from .layout import (
    CELL,
    CONVECTED,
    DT,
    DU,
    E_TT,
    E_TU,
    E_UT,
    E_UU,
    EXCHANGED,
    F_T,
    F_U,
    FACE,
    FACE_AIR,
    GAIN_IN,
    GAIN_OUT,
    H0,
    HEAT,
    HEAT_FLOW,
    HEAT_T,
    HEAT_U,
    INSIDE,
    LIQUID,
    LOSE,
    MEET,
    MEET_C,
    ONE,
    OPEN,
    OUTSIDE,
    PHI_U,
    S_TT,
    S_TU,
    S_UT,
    S_UU,
    SRC_H,
    SRC_W,
    T0,
    THREADS,
    U0,
    VAPOUR,
    W0,
    WATER,
    WATER_U,
    WIDTH,
    ZERO,
)  # fmt: skip

#: Size of a correction that is none.
NO_NUMBER = 1e300


@cuda.jit(device=True)
def sides(scratch, me, out, inn):
    """Read the forcing of both sides in the stage."""
    at = me.z
    for i in range(SIDE_COLUMNS):
        out[i] = scratch.march[at + OUTSIDE]
        inn[i] = scratch.march[at + INSIDE]
        at += WIDTH


@cuda.jit(device=True)
def _inside(wall, loads, m, a, b, ha, hb, air):
    """Return what passes between two cells of one layer, as ten numbers."""
    x = interior_flux(wall, m, a, b, ha + hb)
    g = x.vapour.value + x.liquid.value
    g_ul = x.vapour.ul + x.liquid.ul
    g_tl = x.vapour.tl + x.liquid.tl
    g_ur = x.vapour.ur + x.liquid.ur
    g_tr = x.vapour.tr + x.liquid.tr
    q = x.heat.value
    q_ul = x.heat.ul
    q_tl = x.heat.tl
    q_ur = x.heat.ur
    q_tr = x.heat.tr
    if air != 0.0:
        c = through(wall, loads, air, -1, Half(m, a, ha), Half(m, b, hb))
        g += c.vapour.value
        g_ul += c.vapour.ul
        g_tl += c.vapour.tl
        g_ur += c.vapour.ur
        g_tr += c.vapour.tr
        q += c.heat.value
        q_ul += c.heat.ul
        q_tl += c.heat.tl
        q_ur += c.heat.ur
        q_tr += c.heat.tr
    return g, g_ul, g_tl, g_ur, g_tr, q, q_ul, q_tl, q_ur, q_tr


@cuda.jit(device=True)
def flux_of(faces, me, f):
    """Return moisture and enthalpy through face f of the wall, each with its derivatives, as ten numbers."""
    o = me.face0 + (f // me.lanes) * FACE + f % me.lanes
    w = WIDTH
    v = o + VAPOUR
    q = o + LIQUID
    c = o + CONVECTED
    h = o + HEAT_FLOW
    return (
        faces[v] + faces[q] + faces[c],
        faces[v + w] + faces[q + w] + faces[c + w],
        faces[v + w + w] + faces[q + w + w] + faces[c + w + w],
        faces[v + w + w + w] + faces[q + w + w + w] + faces[c + w + w + w],
        faces[v + w + w + w + w] + faces[q + w + w + w + w] + faces[c + w + w + w + w],
        faces[h], faces[h + w], faces[h + w + w], faces[h + w + w + w], faces[h + w + w + w + w],
    )  # fmt: skip


@cuda.jit(device=True)
def _gain(wall, loads, x, o, c, out, inn):
    """Return what moving air brings to a cell: water and enthalpy with derivatives."""
    ex = Exchange(x[o + LOSE], x[o + GAIN_OUT], x[o + GAIN_IN], x[o + MEET], x[o + MEET_C])
    y = exchanged(wall, loads, ex, (out, inn), c)
    by_u = c.phi_u * c.ps
    by_t = c.phi * c.ps_t
    return y.g, y.g_p * by_u, y.g_p * by_t + y.g_t, y.q, y.q_p * by_u, y.q_p * by_t + y.q_t


@cuda.jit(device=True)
def sweep(wall, tables, loads, many, scratch, shared, me, stage, known, a, on):
    """Linearise about the iterate and solve; corrections go to DU, DT, what a cell holds to WATER and its like.

    stage : offset of the iterate; known : column of the water that is known of the stage, its enthalpy after it; on :
    whether this wall takes part; all threads of the block call it. Returns the size of the corrections of this lane's
    cells, and 1 where one of them is clipped.
    """
    x = scratch.cells
    firsts = cuda.shared.array((EXCHANGED, THREADS), float64)
    post(firsts, me.t, itself())
    e = outside()
    left = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    m = 0
    dx = 1.0
    c = Cell(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    moving = loads.active == 1
    out = cuda.local.array(SIDE_COLUMNS, float64)
    inn = cuda.local.array(SIDE_COLUMNS, float64)
    if on and moving:
        sides(scratch, me, out, inn)
    if on:
        o = me.o
        m = many.material[me.c]
        dx = many.dx[me.c]
        c, content = properties(tables, wall, m, x[o + U0 + stage], x[o + T0 + stage])
        joint = many.joint[me.c]
        if joint >= 0:
            left = flux_of(scratch.faces, me, np.uint64(joint))
        else:
            b = x[me.before + U0 + stage]
            d, _ = properties(tables, wall, m, b, x[me.before + T0 + stage])
            left = _inside(
                wall, loads, m, d, c, 0.5 * many.dx[me.before_c], 0.5 * dx, x[o + FACE_AIR] if moving else 0.0
            )
    if me.lanes > ONE:
        for j in range(10):
            shared[j, me.t] = left[j]
        cuda.syncthreads()
    if on:
        for j in range(me.count):
            o = me.o + j * CELL
            y = held_by(wall, m, dx, c.t, content)
            x[o + WATER] = y.water
            x[o + WATER_U] = y.water_u
            x[o + HEAT] = y.heat
            x[o + HEAT_U] = y.heat_u
            x[o + HEAT_T] = y.heat_t
            x[o + PHI_U] = c.phi_u
            x[o + OPEN] = c.liquid_fraction
            gain_w = 0.0
            gain_wu = 0.0
            gain_wt = 0.0
            gain_h = 0.0
            gain_hu = 0.0
            gain_ht = 0.0
            if moving and (x[o + LOSE] > 0.0 or x[o + GAIN_OUT] > 0.0 or x[o + MEET] > 0.0):
                gain_w, gain_wu, gain_wt, gain_h, gain_hu, gain_ht = _gain(wall, loads, x, o, c, out, inn)
            if many.sources > 0:
                gain_w += dx * x[o + SRC_W]
                gain_h += dx * x[o + SRC_H]
            lg, lg_ul, lg_tl, lg_ur, lg_tr, lq, lq_ul, lq_tl, lq_ur, lq_tr = left
            # all but the face on the right, so that little is held while that is worked out
            b00, b01, b10, b11, r0, r1, s00, s01, s10, s11 = reduced(
                -a * lg_ul, -a * lg_tl, -a * lq_ul, -a * lq_tl,
                y.water_u - a * (lg_ur + gain_wu), y.water_t - a * (lg_tr + gain_wt),
                y.heat_u - a * (lq_ur + gain_hu), y.heat_t - a * (lq_tr + gain_ht),
                -(y.water - x[o + known] - a * (lg + gain_w)),
                -(y.heat - x[o + known + WIDTH] - a * (lq + gain_h)),
                e,
            )  # fmt: skip
            # the face on the right
            d = c
            n = m
            dn = dx
            if j + ONE < me.count:
                i = me.c + (j + ONE) * WIDTH
                n = many.material[i]
                dn = many.dx[i]
                r = o + CELL
                d, content = properties(tables, wall, n, x[r + U0 + stage], x[r + T0 + stage])
                joint = many.joint[i]
                if joint >= 0:
                    right = flux_of(scratch.faces, me, np.uint64(joint))
                else:
                    right = _inside(wall, loads, n, c, d, 0.5 * dx, 0.5 * dn, x[r + FACE_AIR] if moving else 0.0)
            elif me.q + ONE < me.lanes:
                k = me.t + ONE
                right = (
                    shared[0, k], shared[1, k], shared[2, k], shared[3, k], shared[4, k],
                    shared[5, k], shared[6, k], shared[7, k], shared[8, k], shared[9, k],
                )  # fmt: skip
            else:
                right = flux_of(scratch.faces, me, me.faces - ONE)
            rg, rg_ul, rg_tl, rg_ur, rg_tr, rq, rq_ul, rq_tl, rq_ur, rq_tr = right
            e = solved(
                b00 + a * rg_ul, b01 + a * rg_tl, b10 + a * rq_ul, b11 + a * rq_tl, r0 - a * rg, r1 - a * rq,
                (a * rg_ur, a * rg_tr, a * rq_ur, a * rq_tr), (s00, s01, s10, s11),
            )  # fmt: skip
            x[o + E_UU] = e.e00
            x[o + E_UT] = e.e01
            x[o + E_TU] = e.e10
            x[o + E_TT] = e.e11
            x[o + F_U] = e.f0
            x[o + F_T] = e.f1
            if me.lanes > ONE:
                x[o + S_UU] = e.s00
                x[o + S_UT] = e.s01
                x[o + S_TU] = e.s10
                x[o + S_TT] = e.s11
            if j + ONE < me.count:  # kept out of the registers
                post(firsts, me.t, e if j == ZERO else in_terms(posted(firsts, me.t), e))
            c = d
            m = n
            dx = dn
            left = right
    u = e.f0
    t = e.f1
    lu = 0.0
    lt = 0.0
    if me.lanes > ONE:
        cuda.syncthreads()
        u, t, lu, lt = ends_of_runs(shared, me, posted(firsts, me.t), e)
    worst = 0.0
    clipped = 0.0
    if on:
        for r in range(me.count):
            j = me.count - ONE - r
            o = me.o + j * CELL
            if r > ZERO:
                f0 = x[o + F_U] - x[o + E_UU] * u - x[o + E_UT] * t
                f1 = x[o + F_T] - x[o + E_TU] * u - x[o + E_TT] * t
                if me.lanes > ONE:
                    f0 -= x[o + S_UU] * lu + x[o + S_UT] * lt
                    f1 -= x[o + S_TU] * lu + x[o + S_TT] * lt
                u = f0
                t = f1
            x[o + DU] = u
            x[o + DT] = t
            if not (abs(u) < 1e12 and abs(t) < 1e6):
                worst = NO_NUMBER
            else:
                dx = many.dx[me.c + j * WIDTH]
                s = size_of(u, t, x[o + PHI_U], x[o + WATER] / dx, x[o + WATER_U], dx)
                if (me.q == ZERO and j == ZERO) or (me.q + ONE == me.lanes and r == ZERO):
                    s *= 2.0  # rain and dew switch at the surfaces
                worst = max(worst, s)
                now = x[o + U0 + stage]
                if limited(now, u, tables.z0) != now + u or t > MOST_T or t < -MOST_T:
                    clipped = 1.0
    return worst, clipped


@cuda.jit(device=True)
def move(wall, tables, many, scratch, me, stage, done):
    """Take the iterate by the corrections; where done the amounts of the linearised system are those of the stage."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        m = many.material[me.c + j * WIDTH]
        du = x[o + DU]
        dt = x[o + DT]
        t = x[o + T0 + stage]
        if done:
            x[o + W0 + stage] = x[o + WATER] + x[o + WATER_U] * du + x[o + WATER_U] * wall.kappa[m] / t * dt
            x[o + H0 + stage] = x[o + HEAT] + x[o + HEAT_U] * du + x[o + HEAT_T] * dt
        u = min(limited(x[o + U0 + stage], du, tables.z0), DRIEST_CELL)
        du = u - x[o + U0 + stage]
        x[o + U0 + stage] = u
        some = min(max(dt, -MOST_T), MOST_T)
        if by_enthalpy(tables, wall, m, x[o + OPEN], u, t, some):
            heat = (x[o + HEAT] + x[o + HEAT_U] * du + x[o + HEAT_T] * some) / many.dx[me.c + j * WIDTH]
            x[o + T0 + stage] = temperature_of(tables, wall, m, u, heat, t + some)
        else:
            x[o + T0 + stage] = t + some


@cuda.jit(device=True)
def halve(scratch, me):
    """Go half as far as a sweep may."""
    for j in range(me.count):
        o = me.o + j * CELL
        scratch.cells[o + DU] = 0.5 * min(max(scratch.cells[o + DU], -MOST_U), MOST_U)
        scratch.cells[o + DT] *= 0.5


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


@cuda.jit(device=True)
def room(tables, many, scratch, me, j):
    """Return the water that a cell still has room for [kg/m2]."""
    i = me.c + j * WIDTH
    full = tables.material[tables.offset[many.material[i]], WATER_COLUMN, 0]
    return max(many.dx[i] * full - scratch.cells[me.o + j * CELL + W0], 0.0)
