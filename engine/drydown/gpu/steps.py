"""A step of a wall, lane by lane: its guess, what lies between its stages, its error and its end."""

from __future__ import annotations

import numpy as np
from numba import cuda

from ..kernel.advance import COLDEST, GAMMA, HOTTEST, OVERFULL_BY, PER_GAMMA
from ..kernel.humidity import DRIEST_CELL
from ..kernel.layout import FLOWS
from .layout import (
    CELL,
    FACE,
    FACE_WHOLE,
    FLOW_SUM,
    FOUR,
    H0,
    KNOWN_H,
    KNOWN_W,
    LOAD,
    LOAD_SUM,
    OF_LEFT,
    OF_RIGHT,
    ONE,
    PHI_U,
    SLOPE_T,
    SLOPE_U,
    SRC_H,
    SRC_W,
    STAGE,
    T0,
    THREE,
    TWO,
    U0,
    W0,
    WATCH,
    WIDTH,
    ZERO,
)  # fmt: skip


@cuda.jit(device=True)
def _heading(x, me, j):
    """Return the state of cell j of a lane and where the last step was heading."""
    o = me.o + min(j, me.count - ONE) * CELL
    return x[o + U0], x[o + T0], x[o + SLOPE_U], x[o + SLOPE_T]


@cuda.jit(device=True)
def guess(scratch, me, stage, a, still):
    """Begin a first stage where the last step was heading."""
    x = scratch.cells
    by = 0.0 if still else a
    u, t, slope_u, slope_t = _heading(x, me, ZERO)
    for j in range(me.count):
        o = me.o + j * CELL
        following = _heading(x, me, j + ONE)  # asked for a cell ahead, as in `cells`
        x[o + U0 + stage] = u + by * slope_u
        x[o + T0 + stage] = t + by * slope_t
        u, t, slope_u, slope_t = following


@cuda.jit(device=True)
def _state(x, o, stage):
    """Return u, temperature, water and heat of the state (stage 0) or of a stage."""
    return x[o + U0 + stage], x[o + T0 + stage], x[o + W0 + stage], x[o + H0 + stage]


@cuda.jit(device=True)
def _first(many, x, me, j):
    """Return what a second stage begins from."""
    j = min(j, me.count - ONE)
    o = me.o + j * CELL
    return _state(x, o, ZERO), _state(x, o, STAGE), many.dx[me.c + j * WIDTH]


@cuda.jit(device=True)
def between(many, scratch, me, step):
    """Begin a second stage; return the water and heat that sources have added in this lane."""
    x = scratch.cells
    w = 0.0
    h = 0.0
    k0 = (1.0 - GAMMA) * PER_GAMMA
    state, one, dx = _first(many, x, me, ZERO)
    for j in range(me.count):
        o = me.o + j * CELL
        two = o + STAGE + STAGE
        following = _first(many, x, me, j + ONE)
        u0, t0, w0, h0 = state
        u1, t1, w1, h1 = one
        if many.sources > 0:
            w += (1.0 - GAMMA) * step * dx * x[o + SRC_W]
            h += (1.0 - GAMMA) * step * dx * x[o + SRC_H]
        u = u0 + PER_GAMMA * (u1 - u0)
        if abs(u - u1) > 1.0:
            u = u1
        x[two + U0] = min(u, DRIEST_CELL)
        x[two + T0] = t0 + PER_GAMMA * (t1 - t0)
        x[o + KNOWN_W] = w0 + k0 * (w1 - w0)
        x[o + KNOWN_H] = h0 + k0 * (h1 - h0)
        state, one, dx = following
    return w, h


@cuda.jit(device=True)
def _stages(many, x, me, one, j):
    """Return what a step ends with."""
    j = min(j, me.count - ONE)
    o = me.o + j * CELL
    return (
        _state(x, o, ZERO), _state(x, o, STAGE + STAGE), x[o + one + U0], x[o + one + T0], x[o + one + W0],
        x[o + PHI_U], many.dx[me.c + j * WIDTH],
    )  # fmt: skip


@cuda.jit(device=True)
def ended(control, many, scratch, me, a, euler):
    """Return the error of this lane's cells, 1 where one left the range of temperature, which, what the cells gained.

    Of water and of enthalpy, and what sources added to them in the last stage.
    """
    x = scratch.cells
    error = 0.0
    bad = 0.0
    which = 0.0
    gap_w = 0.0
    gap_h = 0.0
    add_w = 0.0
    add_h = 0.0
    per_phi = 1.0 / control.tol_phi
    per_temperature = 1.0 / control.tol_temperature
    one = STAGE + STAGE if euler else STAGE
    state, two, u1, t1, w1, phi_u, dx = _stages(many, x, me, one, ZERO)
    for j in range(me.count):
        following = _stages(many, x, me, one, j + ONE)
        u0, t0, w0, h0 = state
        u2, t2, w2, h2 = two
        e1 = phi_u * (u2 - u0 - PER_GAMMA * (u1 - u0)) * per_phi
        e2 = (t2 - t0 - PER_GAMMA * (t1 - t0)) * per_temperature
        e3 = (w2 - w0 - PER_GAMMA * (w1 - w0)) * (1.0 / (control.tol_water * dx))
        e2 = max(e1 * e1, e2 * e2, e3 * e3)
        error += e2 * e2
        if not (t2 > COLDEST and t2 < HOTTEST):
            bad = 1.0
            which = float(j)
        gap_w += w2 - w0
        gap_h += h2 - h0
        if many.sources > 0:
            o = me.o + j * CELL
            add_w += a * dx * x[o + SRC_W]
            add_h += a * dx * x[o + SRC_H]
        state, two, u1, t1, w1, phi_u, dx = following
    return error, bad, which, gap_w, gap_h, add_w, add_h


@cuda.jit(device=True)
def _both(x, me, j):
    """Return the state of cell j of a lane and what the end of a step makes it."""
    o = me.o + min(j, me.count - ONE) * CELL
    return x[o + U0], x[o + T0], _state(x, o, STAGE + STAGE)


@cuda.jit(device=True)
def take(tables, scratch, me, step):
    """Make the end of a step the state; return how many cells of this lane are overfull."""
    x = scratch.cells
    over = 0
    per = 1.0 / step
    brim = tables.z0 - OVERFULL_BY / tables.overfull
    u0, t0, two = _both(x, me, ZERO)
    for j in range(me.count):
        o = me.o + j * CELL
        following = _both(x, me, j + ONE)
        u, t, w, h = two
        x[o + SLOPE_U] = (u - u0) * per if abs(u - u0) <= 1.0 else 0.0
        x[o + SLOPE_T] = (t - t0) * per
        x[o + U0] = u
        x[o + T0] = t
        x[o + W0] = w
        x[o + H0] = h
        if u < brim:
            over += 1
        u0, t0, two = following
    return over


@cuda.jit(device=True)
def save(many, scratch, kept, me, row):
    """Write what this lane has of the state to a row of the record."""
    x = scratch.cells
    at = row * np.uint64(many.blocks) * np.uint64(many.longest) * WIDTH + me.c
    for j in range(me.count):
        o = me.o + j * CELL
        kept.u[at + j * WIDTH] = x[o + U0]
        kept.temperature[at + j * WIDTH] = x[o + T0]
        kept.water[at + j * WIDTH] = x[o + W0]
    block = row * np.uint64(many.blocks) + me.block
    for s in range(me.slots):
        if many.face_whole[me.fw + s * FACE_WHOLE + WATCH] >= 0:
            to = (block * np.uint64(many.most_slots) + s) * FOUR + me.t
            i = me.f + s * FACE + FLOW_SUM
            for _ in range(FLOWS):
                kept.flow[to] = scratch.faces[i]
                to += WIDTH
                i += WIDTH
        to = (block * np.uint64(many.most_slots) + s) * (WIDTH + WIDTH) + me.t
        kept.held[to] = scratch.faces[me.f + s * FACE + OF_LEFT]
        kept.held[to + WIDTH] = scratch.faces[me.f + s * FACE + OF_RIGHT]
    for s in range(np.uint64(many.sources)):
        to = (block * np.uint64(many.sources) + s) * TWO * WIDTH + me.t
        i = me.taken + s * THREE * WIDTH + WIDTH
        kept.sources[to] = scratch.sources[i]
        kept.sources[to + WIDTH] = scratch.sources[i + WIDTH]
    rows = np.uint64(many.gaps + many.streams + many.deposits)
    for r in range(rows):
        to = (block * rows + r) * TWO * WIDTH + me.t
        i = me.load + r * LOAD + LOAD_SUM
        kept.loads[to] = scratch.loads[i]
        kept.loads[to + WIDTH] = scratch.loads[i + WIDTH]
