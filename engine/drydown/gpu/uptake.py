"""What nearly full cells take of the water that limited sources offer them, as `drydown.kernel.uptake` says it."""

from __future__ import annotations

import numpy as np
from numba import cuda

from ..kernel.advance import GAMMA
from ..kernel.layout import LAW
from ..kernel.layout import WATER as WATER_COLUMN
from ..kernel.uptake import ALL, LATER, NONE, PART, PAST, RANGE
from .layout import ARRIVES, CELL, LESS, OFFER, PIECE, SRC_H, SRC_W, THREE, UPTAKE, W0, WIDTH


@cuda.jit(device=True)
def full_of(tables, many, i):
    """Return the water that the pores of a cell hold [kg/m2]; i : where it stands in arrays of one number a cell."""
    return many.dx[i] * tables.material[tables.offset[many.material[i]], WATER_COLUMN, 0]


@cuda.jit(device=True)
def offer(tables, many, weather, scratch, me, row, step):
    """Write what sources that are taken by the law offer the cells of this lane in a step; row : of the rates."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        i = me.c + j * WIDTH
        x[o + LESS] = 0.0
        offered = 0.0
        for s in range(np.uint64(many.sources)):
            rate = weather.rate[row, s]
            if many.limited[me.w * np.uint64(many.sources) + s] == LAW and rate > 0.0:
                offered += rate * many.dx[i] * many.share[me.s + (s * np.uint64(many.longest) + j) * WIDTH]
        x[o + OFFER] = offered
        if offered > 0.0:
            full = full_of(tables, many, i)
            room = full - x[o + W0]
            x[o + PIECE] = PART if room <= RANGE * full or room < step * offered else ALL


@cuda.jit(device=True)
def second_offers(scratch, me):
    """Make offers those of the second stage: less what the first has taken."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        if x[o + OFFER] > 0.0:
            x[o + LESS] = (1.0 - GAMMA) / GAMMA * x[o + UPTAKE]
            x[o + OFFER] /= GAMMA


@cuda.jit(device=True)
def taken_up(x, o, full, water):
    """Return what a cell takes up at the state of a sweep, its derivative by the water there, and its enthalpy."""
    g = -x[o + LESS]
    by_w = 0.0
    if x[o + PIECE] == ALL:
        g += x[o + OFFER]
    elif x[o + PIECE] == PART:
        by_w = -x[o + OFFER] / (RANGE * full)
        g += by_w * (water - full)
    return g, by_w, x[o + ARRIVES]


@cuda.jit(device=True)
def settle(x, o, full, water):
    """Write what a cell takes up at the end of a sweep; return 1 where it does not end on its piece of the law."""
    share = (full - water) / (RANGE * full)
    where = x[o + PIECE]
    took = share
    to = where
    if where == ALL:
        took = 1.0
        if share < 1.0 - PAST:
            to = PART
    elif where == NONE:
        took = 0.0
        if share > PAST:
            to = PART
    elif share > 1.0 + PAST:
        to = ALL
    elif share < -PAST:
        to = NONE
    x[o + PIECE] = to
    x[o + UPTAKE] = x[o + OFFER] * took - x[o + LESS]
    return 0.0 if to == where else 1.0


@cuda.jit(device=True)
def book_uptake(many, scratch, me):
    """Add what cells took up in the stage to its sources."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        if x[o + OFFER] > 0.0:
            g = x[o + UPTAKE] / many.dx[me.c + j * WIDTH]
            x[o + SRC_W] += g
            x[o + SRC_H] += g * x[o + ARRIVES]


@cuda.jit(device=True)
def taken_of(many, scratch, me, s):
    """Return which part of the rate of a source the cells of this lane took over the step, as the law says."""
    x = scratch.cells
    some = 0.0
    if scratch.sources[me.taken + s * THREE * WIDTH] == LATER:
        for j in range(me.count):
            o = me.o + j * CELL
            part = many.dx[me.c + j * WIDTH] * many.share[me.s + (s * np.uint64(many.longest) + j) * WIDTH]
            if part > 0.0 and x[o + OFFER] > 0.0:
                some += part * ((x[o + UPTAKE] + x[o + LESS]) / x[o + OFFER])
    return some
