"""Enthalpy of a freezing cell against its temperature, and back."""

from __future__ import annotations

import math

from .cell import storage_at
from .humidity import ZERO_CELSIUS
from .ice import ice_enthalpy, unfrozen
from .jit import compiled
from .layout import WATER


@compiled(_nrt=False)
def enthalpy(tables, wall, m, u, t):
    """Return the enthalpy [J/m3] of material m at humidity u and temperature t, and its capacity without ice."""
    w = storage_at(tables, wall, m, u, t)
    capacity = wall.heat[m] + wall.c_water * w
    h = capacity * (t - ZERO_CELSIUS)
    if t < wall.melting:
        wf, _ = unfrozen(tables, wall, m, t, math.log(t / wall.t_ref))
        held = min(w, tables.material[tables.offset[m], WATER, 0])
        if held > wf:
            less, _ = ice_enthalpy(wall, t)
            h -= (held - wf) * less
    return h, capacity


@compiled(_nrt=False)
def temperature_of(tables, wall, m, u, heat, guess):
    """Return the temperature at which material m at humidity u holds the enthalpy `heat` [J/m3].

    By bisection with secant steps; enthalpy rises with temperature.
    """
    low = 150.0
    high = 450.0
    t = guess
    h, capacity = enthalpy(tables, wall, m, u, t)
    gap = h - heat
    slope = capacity
    for _ in range(80):
        if gap > 0.0:
            high = t
        else:
            low = t
        new = t - gap / slope
        if not (new > low and new < high):
            new = 0.5 * (low + high)
        h, capacity = enthalpy(tables, wall, m, u, new)
        after = h - heat
        if abs(new - t) < 1e-9 or abs(after) < 1e-7 * capacity:
            return new
        rise = (after - gap) / (new - t)
        slope = rise if rise > 0.0 else capacity
        t = new
        gap = after
    return t


@compiled(_nrt=False, no_cpython_wrapper=False)
def settle(wall, tables, u, t, water, heat):
    """Fill the conserved amounts from the state."""
    for i in range(u.shape[0]):
        m = wall.material[i]
        w = storage_at(tables, wall, m, u[i], t[i])
        water[i] = wall.dx[i] * w
        heat[i] = wall.dx[i] * (wall.heat[m] + wall.c_water * w) * (t[i] - ZERO_CELSIUS)
        if wall.freeze[m] == 1:
            heat[i] = wall.dx[i] * enthalpy(tables, wall, m, u[i], t[i])[0]
