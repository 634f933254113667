"""Advance by one step: two-stage SDIRK of order 2, or implicit Euler; then the budget of what was accepted.

The method (L-stable, stiffly accurate, gamma = 1 - 1/sqrt 2) in conserved form:
    y1 = y0 + gamma h F(y1),  y2 = y0 + (1 - gamma) h F(y1) + gamma h F(y2).
After two failures in a row one step of implicit Euler is taken, which keeps water positive.
The error indicator is the bend of the state over the step, y2 - y0 - (y1 - y0)/gamma, in relative humidity
and temperature: it falls with h^2, as the global error does.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from . import columns as at
from .controller import off
from .driven import TRIES, aired, prepare
from .humidity import DRIEST_CELL, ZERO_CELSIUS
from .jit import compiled
from .layout import (
    CONVECTED,
    ERROR_MAX,
    ERROR_SQUARES,
    FLOWS,
    HEAT,
    HEAT_CLOSURE_MAX,
    LIQUID,
    LOAD_HEAT,
    LOAD_WATER,
    OVERFLOW,
    OVERFULL,
    RAIN,
    SHORT_FACES,
    SIDE_COLUMNS,
    STEP_MIN,
    STEPS,
    VAPOUR,
    WATER_CLOSURE_MAX,
    WATER_CLOSURE_SUM,
)  # fmt: skip
from .saving import copy
from .stage import stage
from .sweep import short_faces
from .uptake import FITS, LATER, admit, arrives_at, begin_second, taken_of

GAMMA = 1.0 - math.sqrt(0.5)
PER_GAMMA = 1.0 / GAMMA
#: Range of temperature that a step may end in [K].
COLDEST, HOTTEST = 190.0, 410.0
#: A cell counts as overfull when it holds more than its pores by this [kg/m3].
OVERFULL_BY = 5.0


class Piece(NamedTuple):
    """The part of an interval between marks that a step covers."""

    k: int  # mark at which the interval begins
    done: float  # seconds into the interval at which the step begins
    end: float  # and at which it ends
    length: float  # s of the interval
    step: float  # s
    euler: bool  # one stage instead of two
    newton: float  # how closely a stage is solved


class Advanced(NamedTuple):
    """What a step took and brought in: sweeps (-1: failed), faces short of tolerance, sources."""

    sweeps: int
    short: int
    added_water: float  # kg/m2, of the first stage
    added_heat: float  # J/m2


@compiled(_nrt=False)
def _force(side, k, x, out):
    """Write a side's forcing at fraction x between marks k and k + 1; rain is constant in between."""
    for j in range(SIDE_COLUMNS):
        out[j] = side[k, j] + x * (side[k + 1, j] - side[k, j])
    out[RAIN] = side[k + 1, RAIN]


@compiled(_nrt=False)
def _refused(forcing, taken, s):
    """Return which part of the rate of a source found no room, neither in its place nor where it overflows to."""
    left = 1.0 - taken[s]
    for over in range(s + 1, forcing.share.shape[0]):
        if forcing.limited[over] == OVERFLOW + s:
            left -= taken[over]
    return left if left > FITS else 0.0


@compiled(_nrt=False)
def _sources(wall, forcing, k, x, t, work):
    """Write the sources of water and heat that come as amounts; water arrives at the temperature of the cell."""
    n = wall.dx.shape[0]
    work.src_w[:] = 0.0
    work.src_h[:] = 0.0
    for s in range(forcing.share.shape[0]):
        rate = forcing.rate[k + 1, s]
        if rate != 0.0 and work.taken[s] > 0.0:
            for i in range(n):
                g = rate * forcing.share[s, i] * work.admitted[s, i]
                work.src_w[i] += g
                work.src_h[i] += g * wall.c_water * (t[i] - ZERO_CELSIUS)
    if forcing.water_source.shape[0] > 0:
        for i in range(n):
            work.src_w[i] += (1.0 - x) * forcing.water_source[k, i] + x * forcing.water_source[k + 1, i]
            work.src_h[i] += (1.0 - x) * forcing.heat_source[k, i] + x * forcing.heat_source[k + 1, i]


@compiled(_nrt=False, forceinline=True)
def _surroundings(wall, forcing, k, x, t_source, t_guess, offering, work):
    """Write forcing, sources and moving air of a stage at fraction x of the interval."""
    _force(forcing.outside, k, x, work.out)
    _force(forcing.inside, k, x, work.inn)
    if forcing.share.shape[0] > 0 or forcing.water_source.shape[0] > 0:
        _sources(wall, forcing, k, x, t_source, work)
    if offering:
        arrives_at(wall, work, t_source)
    if forcing.loads.active == 1:
        prepare(wall, forcing.loads, k, x, t_guess, (work.out, work.inn), work.air)


@compiled(_nrt=False, forceinline=True)
def _added(wall, forcing, work):
    """Return what sources bring to all cells [kg/(m2 s), W/m2]."""
    w = 0.0
    h = 0.0
    if forcing.share.shape[0] > 0 or forcing.water_source.shape[0] > 0:
        for i in range(wall.dx.shape[0]):
            w += wall.dx[i] * work.src_w[i]
            h += wall.dx[i] * work.src_h[i]
    return w, h


@compiled(_nrt=False, forceinline=True)
def known(state, work):
    """Write the water and heat that the second stage begins from."""
    k0 = (1.0 - GAMMA) / GAMMA
    one = work.one
    two = work.two
    for i in range(one.water.shape[0]):
        two.water[i] = state.water[i] + k0 * (one.water[i] - state.water[i])
    for i in range(one.water.shape[0]):
        two.heat[i] = state.heat[i] + k0 * (one.heat[i] - state.heat[i])


@compiled(_nrt=False, forceinline=True)
def between(wall, forcing, state, work, piece, offering):
    """Write what the second stage begins from, and its guess; return the water and heat that sources have added."""
    n = wall.dx.shape[0]
    one = work.one
    two = work.two
    copy(work.flow_one, work.flow)
    copy(work.load_one, work.load)
    for i in range(n):
        u = state.u[i] + PER_GAMMA * (one.u[i] - state.u[i])
        two.u[i] = min(one.u[i] if abs(u - one.u[i]) > 1.0 else u, DRIEST_CELL)
    for i in range(n):
        two.t[i] = state.temperature[i] + PER_GAMMA * (one.t[i] - state.temperature[i])
    known(state, work)
    added_w, added_h = _added(wall, forcing, work)
    added_w *= (1.0 - GAMMA) * piece.step
    added_h *= (1.0 - GAMMA) * piece.step
    if offering:
        begin_second(wall, work, GAMMA)
    return added_w, added_h


@compiled(_nrt=False)
def again(wall, forcing, piece, x, tries, state, work, second):
    """Return whether a stage is to be solved again, from what it found, with air that moves as that asks for.

    In a call of its own: within the march it costs those without loads, too.
    """
    t = work.two.t if second else work.one.t
    if tries == TRIES or aired(wall, forcing.loads, piece.k, x, t, piece.newton, (work.out, work.inn), work.air):
        return False
    if second:
        known(state, work)
    if forcing.share.shape[0] > 0:  # without what the stage took up
        _sources(wall, forcing, piece.k, x, work.one.t if second else state.temperature, work)
    return True


@compiled(_nrt=False, forceinline=True)
def advance(wall, tables, forcing, control, state, work, piece):
    """Try one step; its end is in work.two, the state untouched. Returns `Advanced`."""
    n = wall.dx.shape[0]
    loads = forcing.loads
    one = work.one
    two = work.two
    a = piece.step if piece.euler else GAMMA * piece.step
    offering = admit(wall, tables, forcing, piece, state.water, work) if forcing.share.shape[0] > 0 else False
    for i in range(n):
        one.u[i] = state.u[i] + a * work.slope[0, i]
        one.t[i] = state.temperature[i] + a * work.slope[1, i]
    sweeps = 0
    short = 0
    added_w = 0.0
    added_h = 0.0
    # one call for both stages: what is inlined here is most of the march
    number = 0
    tries = 0  # how often a stage was solved again, because air moves otherwise than at the guess
    while number < (1 if piece.euler else 2):
        second = number == 1
        if second and tries == 0:
            added_w, added_h = between(wall, forcing, state, work, piece, offering)
        y = two if second else one
        water = y.water if second else state.water
        heat = y.heat if second else state.heat
        x = (piece.end if second else piece.done + a) / piece.length
        if tries == 0:
            _surroundings(wall, forcing, piece.k, x, one.t if second else state.temperature, y.t, offering, work)
        taken = stage(wall, tables, control, piece.newton, 0.0, loads, offering, work, y, water, heat, a)
        if taken < 0:
            return Advanced(-1, 0, 0.0, 0.0)
        sweeps += taken
        if loads.active == 1 and again(wall, forcing, piece, x, tries, state, work, second):
            tries += 1
            continue
        number += 1
        tries = 0
        short += short_faces(wall, work)
    if piece.euler:
        # the two-stage step overshoots where a thin cell empties at once; this one cannot
        for i in range(n):
            two.u[i] = one.u[i]
            two.t[i] = one.t[i]
            two.water[i] = one.water[i]
            two.heat[i] = one.heat[i]
    return Advanced(sweeps, short, added_w, added_h)


@compiled(_nrt=False, forceinline=True, fastmath={"contract", "reassoc"})
def _bends(wall, control, state, work):
    """Return the sum over the cells of what `off` says of their bends, and how many left the range of temperature.

    No branch, and the sum in any order, so that it vectorises.
    """
    n = wall.dx.shape[0]
    total = 0.0
    out = 0
    for begin in range(0, n, at.BLOCK):
        x = work.rows[at.offset(begin) :]
        u0, u1, u2 = state.u[begin:], work.one.u[begin:], work.two.u[begin:]
        t0, t1, t2 = state.temperature[begin:], work.one.t[begin:], work.two.t[begin:]
        w0, w1, w2 = state.water[begin:], work.one.water[begin:], work.two.water[begin:]
        dx = wall.dx[begin:]
        for j in range(min(n - begin, at.BLOCK)):
            u = u2[j] - u0[j] - PER_GAMMA * (u1[j] - u0[j])
            t = t2[j] - t0[j] - PER_GAMMA * (t1[j] - t0[j])
            w = w2[j] - w0[j] - PER_GAMMA * (w1[j] - w0[j])
            total += off(control, x[j + at.PHI_U], u, t, w, dx[j])
            out += (not t2[j] > COLDEST) | (not t2[j] < HOTTEST)
    return total, out


@compiled(_nrt=False, forceinline=True)
def indicator(wall, control, state, work):
    """Return the error indicator of the step just tried, and a cell that left the range of temperature, or -1."""
    total, out = _bends(wall, control, state, work)
    bad = -1
    if out > 0:
        for i in range(wall.dx.shape[0]):
            if not (work.two.t[i] > COLDEST and work.two.t[i] < HOTTEST):
                bad = i
    return math.sqrt(math.sqrt(total / wall.dx.shape[0])), bad


@compiled(_nrt=False, forceinline=True)
def _book_sources(wall, forcing, state, work, piece):
    """Add what sources brought in a step, and what of them found no room, to the cumulative amounts."""
    taken = work.taken
    for s in range(forcing.share.shape[0]):
        if taken[s] == LATER:
            taken[s] = taken_of(wall, forcing, work, s)
    for s in range(forcing.share.shape[0]):
        amount = piece.step * forcing.rate[piece.k + 1, s]
        state.added[s] += amount * taken[s]
        if forcing.limited[s] < OVERFLOW:
            state.refused[s] += amount * _refused(forcing, taken, s)


@compiled(_nrt=False, forceinline=True)
def _keep_slope(state, work, step):
    """Keep the change per second of u and of T over a step, for the next guess; none of u where it jumped."""
    per_step = 1.0 / step
    of_u = work.slope[0]
    of_t = work.slope[1]
    u = work.two.u
    t = work.two.t
    for i in range(u.shape[0]):
        change = u[i] - state.u[i]
        of_u[i] = 0.0 if abs(change) > 1.0 else change * per_step
    for i in range(t.shape[0]):
        of_t[i] = (t[i] - state.temperature[i]) * per_step


@compiled(_nrt=False, forceinline=True)
def _overfull(u, below):
    """Return how many cells hold more than their pores."""
    count = 0
    for i in range(u.shape[0]):
        count += u[i] < below
    return count


@compiled(_nrt=False, forceinline=True)
def accept(wall, tables, forcing, state, record, work, piece, tried, error):
    """Make the end of a step the state, and book what it moved."""
    n = wall.dx.shape[0]
    two = work.two
    a = piece.step if piece.euler else GAMMA * piece.step
    k1 = 0.0 if piece.euler else (1.0 - GAMMA) * piece.step
    totals = record.totals
    counters = record.counters
    counters[STEPS] += 1
    counters[SHORT_FACES] += tried.short
    totals[ERROR_MAX] = max(totals[ERROR_MAX], error)
    totals[ERROR_SQUARES] += error * error
    totals[STEP_MIN] = min(totals[STEP_MIN], piece.step)
    gap_w = 0.0
    gap_h = 0.0
    for i in range(n):
        gap_w += two.water[i] - state.water[i]
        gap_h += two.heat[i] - state.heat[i]
    add_w, add_h = _added(wall, forcing, work)
    add_w = tried.added_water + a * add_w
    add_h = tried.added_heat + a * add_h
    _keep_slope(state, work, piece.step)
    copy(state.u, two.u)
    copy(state.temperature, two.t)
    copy(state.water, two.water)
    copy(state.heat, two.heat)
    counters[OVERFULL] += _overfull(state.u, tables.z0 - OVERFULL_BY / tables.overfull)
    inner = state.flow.shape[0] - 1
    for j in range(inner + 1):
        for c in range(FLOWS):
            state.flow[j, c] += k1 * work.flow_one[j, c] + a * work.flow[j, c]
    for c in (VAPOUR, LIQUID, CONVECTED):
        gap_w -= k1 * (work.flow_one[0, c] - work.flow_one[inner, c]) + a * (work.flow[0, c] - work.flow[inner, c])
    gap_h -= k1 * (work.flow_one[0, HEAT] - work.flow_one[inner, HEAT])
    gap_h -= a * (work.flow[0, HEAT] - work.flow[inner, HEAT])
    for j in range(state.load.shape[0]):
        bring_w = k1 * work.load_one[j, LOAD_WATER] + a * work.load[j, LOAD_WATER]
        bring_h = k1 * work.load_one[j, LOAD_HEAT] + a * work.load[j, LOAD_HEAT]
        state.load[j, LOAD_WATER] += bring_w
        state.load[j, LOAD_HEAT] += bring_h
        add_w += bring_w
        add_h += bring_h
    gap_w -= add_w
    totals[WATER_CLOSURE_MAX] = max(totals[WATER_CLOSURE_MAX], abs(gap_w))
    totals[HEAT_CLOSURE_MAX] = max(totals[HEAT_CLOSURE_MAX], abs(gap_h - add_h))
    totals[WATER_CLOSURE_SUM] += gap_w
    if forcing.share.shape[0] > 0:
        _book_sources(wall, forcing, state, work, piece)
