"""A sweep over the cells of a lane: properties, fluxes and elimination, going inward.

What the next cell needs of the card's memory is asked for one cell ahead, so that it is there when its turn comes; a
GPU that waits for every number in turn spends most of its time on that.
"""

from __future__ import annotations

import numpy as np
from numba import cuda, float64

from ..kernel.cell import Cell, held_by, properties
from ..kernel.layout import SIDE_COLUMNS
from .back import corrected
from .elimination import ends_of_runs, itself, outside, post, posted, reduced, solved
from .elimination import through as in_terms
from .flows import flux_of, gain, inside, sides
from .layout import (
    CELL,
    E_TT,
    E_TU,
    E_UT,
    E_UU,
    EXCHANGED,
    F_T,
    F_U,
    FACE_AIR,
    GAIN_OUT,
    HEAT,
    HEAT_T,
    HEAT_U,
    LOSE,
    MEET,
    OFFER,
    ONE,
    OPEN,
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
    W0,
    WATER,
    WATER_U,
    WIDTH,
    ZERO,
)  # fmt: skip
from .uptake import full_of, taken_up


@cuda.jit(device=True)
def _given(many, x, me, stage, j):
    """Return what is known of cell j of a lane before its properties: material, width, u, temperature, its face."""
    j = min(j, me.count - ONE)
    i = me.c + j * WIDTH
    o = me.o + j * CELL
    return many.material[i], many.dx[i], x[o + U0 + stage], x[o + T0 + stage], many.joint[i]


@cuda.jit(device=True)
def sweep(wall, tables, loads, many, scratch, shared, me, stage, known, a, on, keep, per_u):
    """Linearise about the iterate, solve, and take the iterate by the corrections (see `back.corrected`).

    stage : offset of the iterate; known : column of the water that is known of the stage, its enthalpy after it; on :
    whether this wall takes part; all threads of the block call it; keep : whether the iterate of the sweep is kept;
    per_u : as `corrected` takes it.
    Returns the size of the corrections of this lane's cells, 1 where one of them is clipped, and 1 where one does not
    end on its piece of the law of what nearly full cells take.
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
        m, dx, u, t, joint = _given(many, x, me, stage, ZERO)
        b = x[me.before + U0 + stage]
        before_t = x[me.before + T0 + stage]
        before_dx = many.dx[me.before_c]
        c, content = properties(tables, wall, m, u, t)
        if joint >= 0:
            left = flux_of(scratch.faces, me, np.uint64(joint))
        else:
            d, _ = properties(tables, wall, m, b, before_t)
            left = inside(wall, loads, m, d, c, 0.5 * before_dx, 0.5 * dx, x[me.o + FACE_AIR] if moving else 0.0)
    if me.lanes > ONE:
        for j in range(10):
            shared[j, me.t] = left[j]
        cuda.syncthreads()
    if on:
        n, dn, u, t, joint = _given(many, x, me, stage, ONE)
        known_w = x[me.o + known]
        known_h = x[me.o + known + WIDTH]
        for j in range(me.count):
            o = me.o + j * CELL
            r = me.o + min(j + ONE, me.count - ONE) * CELL
            after_n, after_dn, after_u, after_t, after_joint = _given(many, x, me, stage, j + ONE + ONE)
            after_w = x[r + known]
            after_h = x[r + known + WIDTH]
            y = held_by(wall, m, dx, c.t, content)
            x[o + WATER] = y.water
            x[o + WATER_U] = y.water_u
            x[o + HEAT] = y.heat
            x[o + HEAT_U] = y.heat_u
            x[o + HEAT_T] = y.heat_t
            x[o + PHI_U] = c.phi_u
            if wall.freeze[m] == 1:
                x[o + OPEN] = c.liquid_fraction
            gain_w = 0.0
            gain_wu = 0.0
            gain_wt = 0.0
            gain_h = 0.0
            gain_hu = 0.0
            gain_ht = 0.0
            if moving and (x[o + LOSE] > 0.0 or x[o + GAIN_OUT] > 0.0 or x[o + MEET] > 0.0):
                gain_w, gain_wu, gain_wt, gain_h, gain_hu, gain_ht = gain(wall, loads, x, o, c, out, inn)
            if many.sources > 0:
                gain_w += dx * x[o + SRC_W]
                gain_h += dx * x[o + SRC_H]
                if many.law == 1 and x[o + OFFER] > 0.0:
                    g, by_w, h = taken_up(x, o, full_of(tables, many, me.c + j * WIDTH), y.water)
                    gain_w += g
                    gain_wu += by_w * y.water_u
                    gain_wt += by_w * y.water_t
                    gain_h += g * h
                    gain_hu += by_w * h * y.water_u
                    gain_ht += by_w * h * y.water_t
            lg, lg_ul, lg_tl, lg_ur, lg_tr, lq, lq_ul, lq_tl, lq_ur, lq_tr = left
            # all but the face on the right, so that little is held while that is worked out
            b00, b01, b10, b11, r0, r1, s00, s01, s10, s11 = reduced(
                -a * lg_ul, -a * lg_tl, -a * lq_ul, -a * lq_tl,
                y.water_u - a * (lg_ur + gain_wu), y.water_t - a * (lg_tr + gain_wt),
                y.heat_u - a * (lq_ur + gain_hu), y.heat_t - a * (lq_tr + gain_ht),
                -(y.water - known_w - a * (lg + gain_w)),
                -(y.heat - known_h - a * (lq + gain_h)),
                e,
            )  # fmt: skip
            # the face on the right
            d = c
            if j + ONE < me.count:
                d, content = properties(tables, wall, n, u, t)
                if joint >= 0:
                    right = flux_of(scratch.faces, me, np.uint64(joint))
                else:
                    right = inside(wall, loads, n, c, d, 0.5 * dx, 0.5 * dn, x[r + FACE_AIR] if moving else 0.0)
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
            n = after_n
            dn = after_dn
            u = after_u
            t = after_t
            joint = after_joint
            known_w = after_w
            known_h = after_h
    u = e.f0
    t = e.f1
    lu = 0.0
    lt = 0.0
    if me.lanes > ONE:
        cuda.syncthreads()
        u, t, lu, lt = ends_of_runs(shared, me, posted(firsts, me.t), e)
    if on:
        return corrected(wall, tables, many, scratch, me, stage, u, t, lu, lt, keep, per_u)
    return 0.0, 0.0, 0.0


@cuda.jit(device=True)
def room(tables, many, scratch, me, j):
    """Return the water that a cell still has room for [kg/m2]."""
    return max(full_of(tables, many, me.c + j * WIDTH) - scratch.cells[me.o + j * CELL + W0], 0.0)
