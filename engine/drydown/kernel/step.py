"""One implicit stage: linearised sweeps over the wall until the correction is small.

A stage solves, for every cell, V y(u, T) = y* + a (F_in - F_out + V s) with y the water and the enthalpy,
y* what is known, a = gamma h. The conserved amounts returned are those of the last linearised sweep (`sweep.py`),
so that what is left of the non-linearity stays in the balance and is settled by the next stage.
"""

from __future__ import annotations

from .air import linear_loads
from .cell import storage_at
from .ice import MELTING
from .jit import compiled
from .pores import enthalpy, temperature_of
from .sweep import linear_flow, sweep


@compiled(_nrt=False, forceinline=True)
def _limited(u, du, full):
    """Return u + du, held to a change of 1.5 except beyond full pores, where storage is linear."""
    if du > 1.5:
        return min(u + du, max(u, full) + 1.5)
    if du < -1.5 and u > full:
        return u - 1.5
    return u + du


@compiled(_nrt=False)
def _warmed(wall, tables, work, i, u, t):
    """Return the temperature after a sweep, u being updated.

    Where pore water freezes the temperature is that of the enthalpy of the sweep: across the melting point enthalpy
    bends so sharply in temperature that Newton's method in temperature goes to and fro, in enthalpy it does not.
    """
    dt = min(max(work.dt[i], -20.0), 20.0)
    m = wall.material[i]
    if wall.freeze[m] == 0 or (t >= MELTING and t + dt >= MELTING):
        return t + dt
    s = work.store[i]
    heat = (s[3] + s[4] * work.du[i] + s[5] * work.dt[i]) / wall.dx[i]
    return temperature_of(tables, wall, m, u, heat, t)


@compiled(_nrt=False)
def stage(
    wall, tables, control, newton, loads, work, u, t, water, heat, a, out, inn, src_w, src_h, new_water, new_heat
):
    """Solve one stage from the guess in u, t (updated in place); return the sweeps used, or -1 on failure.

    `newton` : size of the last correction, 1 stands for 0.4 % relative humidity and 0.05 K.

    `new_water`, `new_heat` receive the conserved amounts; they may be the arrays `water`, `heat`.
    """
    n = u.shape[0]
    before = 0.0
    for k in range(control.max_sweeps):
        sweep(wall, tables, loads, work, u, t, water, heat, a, out, inn, src_w, src_h)
        worst = 0.0
        clipped = False
        for i in range(n):
            du = work.du[i]
            dt = work.dt[i]
            if not (abs(du) < 1e12 and abs(dt) < 1e6):
                return -1
            w = work.store[i, 7]
            x = abs(work.store[i, 6] * du) / 0.004
            # a cell that holds little (air) may not change by much of it in the last sweep
            x = max(x, abs(work.store[i, 1] * du) / (min(0.01 * (w + 0.5), 0.02 * w) * wall.dx[i]))
            x = max(x, abs(dt) / 0.05)
            if i == 0 or i == n - 1:
                x *= 2.0  # rain and dew switch at the surfaces
            worst = max(worst, x)
            if _limited(u[i], du, tables.z0) != u[i] + du or dt > 20.0 or dt < -20.0:
                clipped = True
        last = k == control.max_sweeps - 1
        if k > 8 and not last and worst > newton and worst > 0.5 * before:
            # sweeps that go to and fro (a surface that turns wet and dry again) meet half-way
            for i in range(n):
                work.du[i] *= 0.5
                work.dt[i] *= 0.5
        before = worst
        if clipped and worst > newton:
            # far from the solution: no cell may run away, and the sweep does not count as the last
            for i in range(n):
                u[i] = min(_limited(u[i], work.du[i], tables.z0), 2.4)
                t[i] = _warmed(wall, tables, work, i, u[i], t[i])
            continue
        done = worst <= newton
        if last and a < 1.0 and worst <= 10.0 * newton:
            # within a second sweeps still go to and fro between two states of a face: either is near enough, and
            # what it is off stays in the amounts carried on
            done = True
        if done:
            linear_flow(wall, work)
            if loads.active == 1:
                linear_loads(wall, loads, work, out, inn, t)
        for i in range(n):
            du = work.du[i]
            if done:
                dt = work.dt[i]
                s = work.store[i]
                new_water[i] = s[0] + s[1] * du + s[2] * dt
                new_heat[i] = s[3] + s[4] * du + s[5] * dt
            # where full pores make storage flat, a large change of u says nothing: the amounts carry the truth
            u[i] = min(_limited(u[i], du, tables.z0), 2.4)
            t[i] = _warmed(wall, tables, work, i, u[i], t[i])
        if done:
            return k + 1
    return -1


@compiled(_nrt=False, no_cpython_wrapper=False)
def settle(wall, tables, u, t, water, heat):
    """Fill the conserved amounts from the state."""
    for i in range(u.shape[0]):
        m = wall.material[i]
        w = storage_at(tables, wall, m, u[i], t[i])
        water[i] = wall.dx[i] * w
        heat[i] = wall.dx[i] * (wall.heat[m] + wall.c_water * w) * (t[i] - 273.15)
        if wall.freeze[m] == 1:
            heat[i] = wall.dx[i] * enthalpy(tables, wall, m, u[i], t[i])[0]
