"""What a stage meets: forcing of both sides, sources, air that moves; and what loads brought when it is done."""

from __future__ import annotations

import numpy as np
from numba import cuda, float64

from ..kernel.air import Exchange, brought
from ..kernel.cell import cell_at
from ..kernel.driven import air_change, otherwise
from ..kernel.humidity import ZERO_CELSIUS
from ..kernel.layout import EACH, FREE, LAW, OVERFLOW, RAIN, SIDE_COLUMNS, T_AIR
from ..kernel.uptake import FITS, LATER
from .cells import room
from .exchange import total
from .flows import sides
from .layout import (
    ARRIVES,
    CELL,
    DT,
    DU,
    FACE_AIR,
    GAIN_IN,
    GAIN_OUT,
    INSIDE,
    LOAD,
    LOAD_NOW,
    LOAD_ONE,
    LOAD_SUM,
    LOSE,
    MEET,
    MEET_C,
    ONE,
    OUTSIDE,
    SRC_H,
    SRC_W,
    T0,
    THREE,
    TWO,
    WAS_T,
    WAS_U,
    WIDTH,
)  # fmt: skip
from .uptake import offer


@cuda.jit(device=True)
def force(weather, row, f, to, at):
    """Write a side's forcing at fraction f after a row, to the columns from `at` on; rain is constant in between."""
    for j in range(SIDE_COLUMNS):
        v = weather.side[row, j]
        y = weather.side[row + ONE, j]
        to[at] = y if j == RAIN else v + f * (y - v)
        at += WIDTH


@cuda.jit(device=True)
def admit(tables, many, weather, scratch, shared, me, row, step, on):
    """Write which part of its share of every source each cell takes in a step; all threads of the block call it.

    row : of the rates over the interval.
    """
    for s in range(np.uint64(many.sources)):
        rate = 0.0
        if on:
            rate = weather.rate[row, s]
        limited = many.limited[me.w * np.uint64(many.sources) + s]
        free = on and (limited <= FREE or rate <= 0.0)  # LAW too: see `offer`
        given = 1.0
        if on and limited >= OVERFLOW:
            given -= scratch.sources[me.taken + np.uint64(limited - OVERFLOW) * THREE * WIDTH]
        fits = given > FITS
        part0 = me.s + s * np.uint64(many.longest) * WIDTH
        taken = me.taken + s * THREE * WIDTH
        surplus = 0.0
        spare = 0.0
        if on and fits and not free:
            for j in range(me.count):
                offered = given * rate * many.dx[me.c + j * WIDTH] * many.share[part0 + j * WIDTH] * step
                if offered > 0.0:
                    left = room(tables, many, scratch, me, j) - offered
                    surplus += max(-left, 0.0)
                    spare += max(left, 0.0)
        shared[0, me.t] = surplus
        shared[1, me.t] = spare
        cuda.syncthreads()
        surplus = total(shared, 0, me)
        spare = total(shared, 1, me)
        cuda.syncthreads()
        some = 0.0
        if on and fits and not free:
            more = min(1.0, surplus / spare) if spare > 0.0 and limited != EACH else 0.0
            for j in range(me.count):
                part = many.dx[me.c + j * WIDTH] * many.share[part0 + j * WIDTH]
                offered = given * rate * part * step
                if offered > 0.0:
                    space = room(tables, many, scratch, me, j)
                    takes = space if space <= offered else offered + more * (space - offered)
                    scratch.admitted[part0 + j * WIDTH] = given * takes / offered
                    some += part * (given * takes / offered)
        shared[0, me.t] = some
        cuda.syncthreads()
        if on:
            scratch.sources[taken] = 1.0 if free else total(shared, 0, me)
            if limited == LAW and rate > 0.0:
                scratch.sources[taken] = LATER
        cuda.syncthreads()
    if on and many.law == 1:
        offer(tables, many, weather, scratch, me, row, step)


@cuda.jit(device=True)
def sources(wall, many, weather, scratch, me, row, stage):
    """Write the sources of a stage; water arrives at the temperature of the cell in the columns of `stage`."""
    x = scratch.cells
    for j in range(me.count):
        o = me.o + j * CELL
        w = 0.0
        h = 0.0
        for s in range(np.uint64(many.sources)):
            rate = weather.rate[row, s]
            if rate != 0.0 and scratch.sources[me.taken + s * THREE * WIDTH] > 0.0:
                i = me.s + (s * np.uint64(many.longest) + j) * WIDTH
                g = rate * many.share[i] * scratch.admitted[i]
                w += g
                h += g * wall.c_water * (x[o + T0 + stage] - ZERO_CELSIUS)
        x[o + SRC_W] = w
        x[o + SRC_H] = h
        if many.law == 1:
            x[o + ARRIVES] = wall.c_water * (x[o + T0 + stage] - ZERO_CELSIUS)


@cuda.jit(device=True)
def _gap_air(loads, many, scratch, shared, me, row, f, stage, g, on):
    """Return the air that a gap exchanges at the temperatures of a stage; all threads of the block call it."""
    x = scratch.cells
    gaps = np.uint64(many.gaps)
    own = (me.block * gaps + g) * np.uint64(many.longest) * WIDTH + me.t
    mean = 0.0
    width = 0.0
    if on:
        for j in range(me.count):
            if many.gap_cells[own + j * WIDTH] == 1:
                dx = many.dx[me.c + j * WIDTH]
                mean += dx * x[me.o + j * CELL + T0 + stage]
                width += dx
    shared[0, me.t] = mean
    shared[1, me.t] = width
    cuda.syncthreads()
    mean = total(shared, 0, me)
    width = total(shared, 1, me)
    cuda.syncthreads()
    if not on or width == 0.0:
        return 0.0
    side = INSIDE if many.gap_side[me.w * gaps + g] == 1 else OUTSIDE
    side_t = scratch.march[me.z + side + np.uint64(T_AIR) * WIDTH]
    return air_change(loads, g, row, f, many.gap_lift[me.w * gaps + g], mean / width, side_t)


@cuda.jit(device=True)
def lift_off(loads, many, scratch, shared, me, row, f, stage, on):
    """Return by which part buoyancy would drive a gap otherwise at what a sweep found; all threads call it."""
    most = 0.0
    gaps = np.uint64(many.gaps)
    for g in range(gaps):
        rate = _gap_air(loads, many, scratch, shared, me, row, f, stage, g, on)
        if on and many.gap_lift[me.w * gaps + g] > 0.0:
            most = max(most, otherwise(rate, scratch.air[me.air + g * WIDTH]))
    return most


@cuda.jit(device=True)
def air(loads, many, scratch, shared, me, row, f, stage, on):
    """Fill the coefficients of moving air; `stage`: where the guess stands; all threads of the block call it."""
    x = scratch.cells
    gaps = np.uint64(many.gaps)
    streams = np.uint64(many.streams)
    deposits = np.uint64(many.deposits)
    longest = np.uint64(many.longest)
    if on:
        for j in range(me.count):
            o = me.o + j * CELL
            x[o + FACE_AIR] = 0.0
            x[o + LOSE] = 0.0
            x[o + GAIN_OUT] = 0.0
            x[o + GAIN_IN] = 0.0
            x[o + MEET] = 0.0
            x[o + MEET_C] = 0.0
    for g in range(gaps):
        own = (me.block * gaps + g) * longest * WIDTH + me.t
        rate = _gap_air(loads, many, scratch, shared, me, row, f, stage, g, on)
        if on and rate > 0.0:
            inward = many.gap_side[me.w * gaps + g] == 1
            for j in range(me.count):
                if many.gap_cells[own + j * WIDTH] == 1:
                    o = me.o + j * CELL
                    m = rate * many.dx[me.c + j * WIDTH]
                    x[o + LOSE] += m
                    if inward:
                        x[o + GAIN_IN] += m
                    else:
                        x[o + GAIN_OUT] += m
        if on:
            scratch.air[me.air + g * WIDTH] = rate
    if on:
        for s in range(streams):
            own = (me.block * streams + s) * longest * WIDTH + me.t
            g = (1.0 - f) * loads.stream[row, s] + f * loads.stream[row + ONE, s]
            scratch.air[me.air + (gaps + s) * WIDTH] = g
            for j in range(me.count):
                o = me.o + j * CELL
                i = own + j * WIDTH
                x[o + FACE_AIR] += g * many.path_left[i]
                surplus = g * (many.path_left[i] - many.path_right[i])
                if surplus > 0.0:
                    x[o + LOSE] += surplus
                else:
                    x[o + GAIN_OUT] -= surplus
        for d in range(deposits):
            own = (me.block * deposits + d) * longest * WIDTH + me.t
            v = (1.0 - f) * loads.deposit[row, d] + f * loads.deposit[row + ONE, d]
            c = (1.0 - f) * loads.brought[row, d] + f * loads.brought[row + ONE, d]
            scratch.air[me.air + (gaps + streams + TWO * d) * WIDTH] = v
            scratch.air[me.air + (gaps + streams + TWO * d + ONE) * WIDTH] = c
            for j in range(me.count):
                share = many.deposit_cells[own + j * WIDTH]
                x[me.o + j * CELL + MEET] += v * share
                x[me.o + j * CELL + MEET_C] += v * c * share


@cuda.jit(device=True)
def linear_loads(wall, tables, loads, many, scratch, me):
    """Write what every load brought to the cells of this lane in the last sweep."""
    x = scratch.cells
    z = scratch.loads
    gaps = np.uint64(many.gaps)
    streams = np.uint64(many.streams)
    rows = gaps + streams + np.uint64(many.deposits)
    deposits = np.uint64(many.deposits)
    longest = np.uint64(many.longest)
    out = cuda.local.array(SIDE_COLUMNS, float64)
    inn = cuda.local.array(SIDE_COLUMNS, float64)
    sides(scratch, me, out, inn)
    for r in range(rows):
        z[me.load + r * LOAD + LOAD_NOW] = 0.0
        z[me.load + r * LOAD + LOAD_NOW + WIDTH] = 0.0
    for j in range(me.count):
        o = me.o + j * CELL
        if x[o + LOSE] > 0.0 or x[o + GAIN_OUT] > 0.0 or x[o + MEET] > 0.0:
            c = cell_at(tables, wall, many.material[me.c + j * WIDTH], x[o + WAS_U], x[o + WAS_T])
            for r in range(rows):
                ex = Exchange(0.0, 0.0, 0.0, 0.0, 0.0)
                some = False
                if r < gaps:
                    i = ((me.block * gaps + r) * longest + j) * WIDTH + me.t
                    if many.gap_cells[i] == 1:
                        m = scratch.air[me.air + r * WIDTH] * many.dx[me.c + j * WIDTH]
                        m_in = m if many.gap_side[me.w * gaps + r] == 1 else 0.0
                        ex = Exchange(m, m - m_in, m_in, 0.0, 0.0)
                        some = True
                elif r < gaps + streams:
                    s = r - gaps
                    i = ((me.block * streams + s) * longest + j) * WIDTH + me.t
                    surplus = scratch.air[me.air + r * WIDTH] * (many.path_left[i] - many.path_right[i])
                    ex = Exchange(max(surplus, 0.0), max(-surplus, 0.0), 0.0, 0.0, 0.0)
                    some = surplus != 0.0
                else:
                    d = r - gaps - streams
                    i = ((me.block * deposits + d) * longest + j) * WIDTH + me.t
                    k = me.air + (gaps + streams + TWO * d) * WIDTH
                    m = scratch.air[k] * many.deposit_cells[i]
                    ex = Exchange(0.0, 0.0, 0.0, m, m * scratch.air[k + WIDTH])
                    some = m > 0.0
                if some:
                    w, h = brought(wall, loads, ex, (out, inn), c, x[o + DU], x[o + DT])
                    z[me.load + r * LOAD + LOAD_NOW] += w
                    z[me.load + r * LOAD + LOAD_NOW + WIDTH] += h


@cuda.jit(device=True)
def first_loads(many, scratch, me):
    """Put what loads brought in the first stage by."""
    z = scratch.loads
    for r in range(np.uint64(many.gaps + many.streams + many.deposits)):
        i = me.load + r * LOAD
        z[i + LOAD_ONE] = z[i + LOAD_NOW]
        z[i + LOAD_ONE + WIDTH] = z[i + LOAD_NOW + WIDTH]


@cuda.jit(device=True)
def brought_by_loads(many, scratch, me, k1, a):
    """Return the water and enthalpy that loads bring to this lane in a step."""
    z = scratch.loads
    w = 0.0
    h = 0.0
    for r in range(np.uint64(many.gaps + many.streams + many.deposits)):
        i = me.load + r * LOAD
        w += k1 * z[i + LOAD_ONE] + a * z[i + LOAD_NOW]
        h += k1 * z[i + LOAD_ONE + WIDTH] + a * z[i + LOAD_NOW + WIDTH]
    return w, h


@cuda.jit(device=True)
def book_loads(many, scratch, me, k1, a):
    """Add what loads brought in a step to the cumulative amounts."""
    z = scratch.loads
    for r in range(np.uint64(many.gaps + many.streams + many.deposits)):
        i = me.load + r * LOAD
        z[i + LOAD_SUM] += k1 * z[i + LOAD_ONE] + a * z[i + LOAD_NOW]
        i += WIDTH
        z[i + LOAD_SUM] += k1 * z[i + LOAD_ONE] + a * z[i + LOAD_NOW]
