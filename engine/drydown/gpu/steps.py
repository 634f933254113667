"""A step of a wall, lane by lane: its guess, what lies between its stages, its error and its end."""

from __future__ import annotations

import numpy as np
from numba import cuda

from ..kernel.advance import COLDEST, GAMMA, HOTTEST, OVERFULL_BY
from ..kernel.humidity import DRIEST_CELL
from ..kernel.layout import FLOWS
from .layout import (
    CELL,
    FACE,
    FACE_WHOLE,
    FLOW_SUM,
    FOUR,
    H0,
    LOAD,
    LOAD_SUM,
    OF_LEFT,
    OF_RIGHT,
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
)  # fmt: skip


@cuda.jit(device=True)
def guess(scratch, me, stage, a, still):
    """Begin a first stage where the last step was heading; an Euler step knows of its amounts what the state holds."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        x[o + U0 + stage] = x[o + U0] + (0.0 if still else a * x[o + SLOPE_U])
        x[o + T0 + stage] = x[o + T0] + (0.0 if still else a * x[o + SLOPE_T])
        if stage == STAGE + STAGE:
            x[o + W0 + stage] = x[o + W0]
            x[o + H0 + stage] = x[o + H0]


@cuda.jit(device=True)
def between(many, scratch, me, step):
    """Begin a second stage; return the water and heat that sources have added in this lane."""
    x = scratch.cells
    w = 0.0
    h = 0.0
    k0 = (1.0 - GAMMA) / GAMMA
    for j in range(me.count):
        o = me.o + j * CELL
        one = o + STAGE
        two = o + STAGE + STAGE
        if many.sources > 0:
            dx = many.dx[me.c + j * WIDTH]
            w += (1.0 - GAMMA) * step * dx * x[o + SRC_W]
            h += (1.0 - GAMMA) * step * dx * x[o + SRC_H]
        u = x[o + U0] + (x[one + U0] - x[o + U0]) / GAMMA
        if abs(u - x[one + U0]) > 1.0:
            u = x[one + U0]
        x[two + U0] = min(u, DRIEST_CELL)
        x[two + T0] = x[o + T0] + (x[one + T0] - x[o + T0]) / GAMMA
        x[two + W0] = x[o + W0] + k0 * (x[one + W0] - x[o + W0])
        x[two + H0] = x[o + H0] + k0 * (x[one + H0] - x[o + H0])
    return w, h


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
    for j in range(me.count):
        o = me.o + j * CELL
        two = o + STAGE + STAGE
        one = two if euler else o + STAGE
        dx = many.dx[me.c + j * WIDTH]
        u = x[two + U0] - x[o + U0] - (x[one + U0] - x[o + U0]) / GAMMA
        t = x[two + T0] - x[o + T0] - (x[one + T0] - x[o + T0]) / GAMMA
        w = x[two + W0] - x[o + W0] - (x[one + W0] - x[o + W0]) / GAMMA
        e1 = x[o + PHI_U] * u / control.tol_phi
        e2 = t / control.tol_temperature
        e3 = w / (control.tol_water * dx)
        e2 = max(e1 * e1, e2 * e2, e3 * e3)
        error += e2 * e2
        if not (x[two + T0] > COLDEST and x[two + T0] < HOTTEST):
            bad = 1.0
            which = float(j)
        gap_w += x[two + W0] - x[o + W0]
        gap_h += x[two + H0] - x[o + H0]
        if many.sources > 0:
            add_w += a * dx * x[o + SRC_W]
            add_h += a * dx * x[o + SRC_H]
    return error, bad, which, gap_w, gap_h, add_w, add_h


@cuda.jit(device=True)
def take(tables, scratch, me, step):
    """Make the end of a step the state; return how many cells of this lane are overfull."""
    x = scratch.cells
    over = 0
    for j in range(me.count):
        o = me.o + j * CELL
        two = o + STAGE + STAGE
        slope = (x[two + U0] - x[o + U0]) / step
        if abs(slope) * step > 1.0:
            slope = 0.0
        x[o + SLOPE_U] = slope
        x[o + SLOPE_T] = (x[two + T0] - x[o + T0]) / step
        x[o + U0] = x[two + U0]
        x[o + T0] = x[two + T0]
        x[o + W0] = x[two + W0]
        x[o + H0] = x[two + H0]
        if x[o + U0] < tables.z0 - OVERFULL_BY / tables.overfull:
            over += 1
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
