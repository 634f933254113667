"""One implicit stage: linearised sweeps over the wall until the correction is small.

A stage solves, for every cell, V y(u, T) = y* + a (F_in - F_out + V s) with y the water and the enthalpy,
y* what is known, a = gamma h. The conserved amounts returned are those of the last linearised sweep (`sweep.py`),
so that what is left of the non-linearity stays in the balance and is settled by the next stage.
"""

from __future__ import annotations

from . import columns as at
from .air import linear_loads
from .cell import humidity_at
from .humidity import DRIEST_CELL
from .ice import may_freeze
from .jit import compiled
from .pores import temperature_of
from .sweep import linear_flow, sweep
from .uptake import book_uptake, settled

#: Corrections that count as 1: of relative humidity, of temperature [K].
SMALL_PHI, SMALL_TEMPERATURE = 0.004, 0.05
PER_PHI, PER_TEMPERATURE = 1.0 / SMALL_PHI, 1.0 / SMALL_TEMPERATURE
#: Most that u and T change in one sweep.
MOST_U, MOST_T = 1.5, 20.0
#: A first sweep is the last, too, when its correction is below FAR times what counts as small and what it leaves is
#: expected to be below LEFT times the square of that. What second sweeps last corrected, over the square of the first
#: correction, says what to expect: the greatest, of which a second sweep that finds less leaves FADES. It grows old: by
#: AGES with every stage that counts on it. Else none might be looked at again: at a face on a kink of its material what
#: a sweep leaves behind is the same however short the step, passes for the error of the step, and led a drawn wall to
#: steps of 6 ms, for good.
FAR, LEFT, FADES, AGES = 40.0, 1.4, 0.35, 1.02
#: By how much the temperature that enthalpy asks for may be another than that of a last sweep [K, at newton = 1]. Where
#: ice melts it shows what the sweep is off in humidity; unasked, single readings were half a kelvin off.
SURPRISE = 0.1
#: Column of the sizes of corrections: that of right-hand sides, which are used up.
SIZE = at.R_W
#: A last sweep that still goes to and fro counts below so many times what counts as small.
NEARLY = 60.0


@compiled(_nrt=False, forceinline=True)
def limited(u, du, full):
    """Return u + du, held to a change of 1.5 except beyond full pores, where storage is linear."""
    if du > MOST_U:
        return min(u + du, max(u, full) + MOST_U)
    if du < -MOST_U and u > full:
        return u - MOST_U
    return u + du


@compiled(_nrt=False, forceinline=True)
def by_enthalpy(tables, wall, m, share, u, t, dt):
    """Return whether the temperature after a sweep is that of its enthalpy (`pores.temperature_of`), not t + dt.

    So it is where pore water freezes or thaws: across the melting point enthalpy bends so sharply in temperature that
    Newton's method in temperature goes to and fro, in enthalpy it does not. share : of the water that was liquid; u :
    after the sweep.
    """
    if wall.freeze[m] == 0 or (t >= wall.melting and t + dt >= wall.melting):
        return False
    # no ice before and none after
    return share != 1.0 or (t + dt < wall.melting and may_freeze(wall, humidity_at(tables, u), t + dt))


@compiled(_nrt=False, forceinline=True)
def _by_enthalpy(wall, tables, work, y):
    """Set the temperatures that a sweep found by enthalpy; those of the others stay. Return the greatest change [K].

    The enthalpy is that of the change made: where u is held to less than the sweep asked for, the enthalpy of all that
    was asked for belongs to no state of the cell, and would throw its temperature about by a hundred kelvins.
    """
    x = work.rows
    most = 0.0
    for i in range(y.u.shape[0]):
        m = wall.material[i]
        o = at.offset(i)
        t = x[o + at.T]
        dt = y.t[i] - t
        if by_enthalpy(tables, wall, m, x[o + at.OPEN], y.u[i], t, dt):
            heat = (x[o + at.HEAT] + x[o + at.HEAT_U] * (y.u[i] - x[o + at.U]) + x[o + at.HEAT_T] * dt) / wall.dx[i]
            expected = y.t[i]
            y.t[i] = temperature_of(tables, wall, m, y.u[i], heat, expected)
            most = max(most, abs(y.t[i] - expected))
    return most


@compiled(_nrt=False, forceinline=True)
def _move(wall, tables, work, y):
    """Take the state by the corrections; where full pores make storage flat the amounts carry the truth, not u.

    Return by how much the temperature of a cell is another than that of the sweep, because enthalpy says so [K].
    """
    n = y.u.shape[0]
    cold = 0
    for begin in range(0, n, at.BLOCK):
        x = work.rows[at.offset(begin) :]
        u = y.u[begin:]
        t = y.t[begin:]
        du = work.du[begin:]
        dt = work.dt[begin:]
        for j in range(min(n - begin, at.BLOCK)):
            u[j] = min(limited(x[j + at.U], du[j], tables.z0), DRIEST_CELL)
            t[j] = x[j + at.T] + min(max(dt[j], -MOST_T), MOST_T)
            cold += (x[j + at.OPEN] != 1.0) | (t[j] < wall.melting)
    return _by_enthalpy(wall, tables, work, y) if cold > 0 else 0.0


@compiled(_nrt=False, forceinline=True)
def size_of(du, dt, phi_u, w, water_u, dx):
    """Return the size of the corrections of one cell; w: its water content [kg/m3], water_u: of its water [kg/m2]."""
    x = abs(phi_u * du) * PER_PHI
    # a cell that holds little (air) may not change by much of it in the last sweep
    x = max(x, abs(water_u * du) / (min(0.01 * (w + 0.5), 0.02 * w) * dx))
    return max(x, abs(dt) * PER_TEMPERATURE)


@compiled(_nrt=False, forceinline=True)
def _sizes(wall, work, y, per_u, full):
    """Write the sizes of the corrections to `SIZE`; return how many are not numbers and how many are clipped.

    No branch, so that it vectorises.
    """
    n = y.u.shape[0]
    odd = 0
    clipped = 0
    for begin in range(0, n, at.BLOCK):
        x = work.rows[at.offset(begin) :]
        u = y.u[begin:]
        du = work.du[begin:]
        dt = work.dt[begin:]
        dx = wall.dx[begin:]
        for j in range(min(n - begin, at.BLOCK)):
            s = size_of(du[j], dt[j], x[j + at.PHI_U], x[j + at.CONTENT], x[j + at.WATER_U], dx[j])
            x[j + SIZE] = max(s, per_u * abs(du[j]))
            odd += (not abs(du[j]) < 1e12) | (not abs(dt[j]) < 1e6)
            far = (du[j] > MOST_U) & (u[j] + du[j] > max(u[j], full) + MOST_U)
            clipped += far | ((du[j] < -MOST_U) & (u[j] > full)) | (abs(dt[j]) > MOST_T)
    return odd, clipped


@compiled(_nrt=False, forceinline=True)
def _size(wall, tables, work, y, per_u):
    """Return the size of the corrections (negative: not a number) and whether any is clipped."""
    n = y.u.shape[0]
    rows = work.rows
    odd, clipped = _sizes(wall, work, y, per_u, tables.z0)
    if odd > 0:
        return -1.0, False
    # rain and dew switch at the surfaces
    worst = 2.0 * max(rows[at.offset(0) + SIZE], rows[at.offset(n - 1) + SIZE])
    for i in range(1, n - 1):
        worst = max(worst, rows[at.offset(i) + SIZE])
    return worst, clipped > 0


@compiled(_nrt=False, forceinline=True)
def _keep_amounts(work, y):
    """Write the conserved amounts of the last linearised sweep."""
    n = y.u.shape[0]
    for begin in range(0, n, at.BLOCK):
        x = work.rows[at.offset(begin) :]
        du = work.du[begin:]
        dt = work.dt[begin:]
        water = y.water[begin:]
        heat = y.heat[begin:]
        count = min(n - begin, at.BLOCK)
        for j in range(count):
            water[j] = x[j + at.WATER] + x[j + at.WATER_U] * du[j] + x[j + at.WATER_T] * dt[j]
        for j in range(count):
            heat[j] = x[j + at.HEAT] + x[j + at.HEAT_U] * du[j] + x[j + at.HEAT_T] * dt[j]


@compiled(_nrt=False, forceinline=True)
def stage(wall, tables, control, newton, per_u, loads, offering, work, y, water, heat, a):
    """Solve one stage from the guess in y, whose state is updated; return the sweeps used, or -1 on failure.

    newton : size of the last correction, 1 stands for 0.4 % relative humidity and 0.05 K; per_u : size that one of
    u counts as, 0 in an ordinary march; offering : whether limited sources offer water (see `uptake`); water, heat :
    y*, which may be the arrays of y: those receive the conserved amounts.
    """
    n = y.u.shape[0]
    before = 0.0
    for k in range(control.max_sweeps):
        sweep(wall, tables, loads, offering, work, y, water, heat, a)
        worst, clipped = _size(wall, tables, work, y, per_u)
        if worst < 0.0:
            return -1
        good = settled(wall, tables, work) if offering else True
        if k == 1 and before <= 2.0 * FAR * newton:
            work.bend[0] = max(worst / (before * before), FADES * work.bend[0])
        last = k == control.max_sweeps - 1
        if k > 8 and not last and worst > newton and worst > 0.5 * before:
            # sweeps that go to and fro (a surface that turns wet and dry again) meet half-way
            for i in range(n):
                # of what a sweep may change: a nearly full cell is asked for far more than that, to and fro
                work.du[i] = 0.5 * min(max(work.du[i], -MOST_U), MOST_U)
                work.dt[i] *= 0.5
        before = worst
        if clipped and worst > newton:
            # far from the solution: no cell may run away, and the sweep does not count as the last
            _move(wall, tables, work, y)
            continue
        done = worst <= newton
        if k == 0 and not done and worst <= FAR * newton and work.bend[0] * worst * worst <= LEFT * newton * newton:
            done = True
            work.bend[0] *= AGES
        if last and a < 1.0 and worst <= NEARLY * newton:
            # within a second sweeps still go to and fro between two states of a face: either is near enough, and
            # what it is off stays in the amounts carried on
            done = True
        done = done and good
        surprise = _move(wall, tables, work, y)
        done = done and (last or surprise <= SURPRISE * newton)
        if done:
            linear_flow(wall, work)
            if loads.active == 1:
                linear_loads(wall, loads, work, (work.out, work.inn))
            if offering:
                book_uptake(wall, work)
            _keep_amounts(work, y)
            return k + 1
    return -1


@compiled(_nrt=False)
def worst_cell(work):
    """Return the cell whose correction was the greatest in the last sweep, or not a number."""
    worst = 0
    size = 0.0
    for i in range(work.du.shape[0]):
        if not (abs(work.du[i]) <= size):
            size = abs(work.du[i])
            worst = i
    return worst
