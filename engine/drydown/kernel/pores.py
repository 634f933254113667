"""Enthalpy of a freezing cell against its temperature, and back."""

from __future__ import annotations

from .cell import ln_of, storage_at
from .humidity import ZERO_CELSIUS
from .ice import ice_enthalpy, unfrozen
from .jit import compiled
from .layout import WATER

#: A temperature is found when its next correction is below this [K]; that correction is still applied.
CLOSE = 1e-5


@compiled(_nrt=False)
def enthalpy(tables, wall, m, u, t):
    """Return the enthalpy [J/m3] of material m at humidity u and temperature t, and its derivative by t."""
    ln_t = ln_of(tables, t)
    w, w_u = storage_at(tables, wall, m, u, ln_t)
    w_t = w_u * wall.kappa[m] / t
    celsius = t - ZERO_CELSIUS
    h = (wall.heat[m] + wall.c_water * w) * celsius
    slope = wall.heat[m] + wall.c_water * (w + w_t * celsius)
    if t < wall.melting:
        wf, wf_t = unfrozen(tables, wall, m, t, ln_t)
        full = tables.material[tables.offset[m], WATER, 0]
        held = min(w, full)
        if held > wf:
            less, less_t = ice_enthalpy(wall, t)
            h -= (held - wf) * less
            held_t = w_t if w < full else 0.0
            slope -= (held_t - wf_t) * less + (held - wf) * less_t
    return h, slope


@compiled(_nrt=False)
def temperature_of(tables, wall, m, u, heat, guess):
    """Return the temperature at which material m at humidity u holds the enthalpy `heat` [J/m3].

    By Newton's method between bounds; enthalpy rises with temperature, and bends sharply where the first ice forms.
    """
    low = 150.0
    high = 450.0
    t = min(max(guess, low), high)
    before = 0.0
    for k in range(80):
        h, slope = enthalpy(tables, wall, m, u, t)
        gap = h - heat
        if gap > 0.0:
            high = t
        else:
            low = t
        step = -gap / slope
        new = t + step
        if abs(step) < CLOSE or high - low < CLOSE:
            # found, and no half-way between bounds: where enthalpy is straight a bound is the temperature itself
            return min(max(new, low), high)
        if not (new > low and new < high) or (k > 3 and abs(gap) > 0.5 * before):
            new = 0.5 * (low + high)
        before = abs(gap)
        t = new
    return t


@compiled(_nrt=False, no_cpython_wrapper=False)
def settle(wall, tables, u, t, water, heat):
    """Fill the conserved amounts from the state."""
    for i in range(u.shape[0]):
        m = wall.material[i]
        w, _ = storage_at(tables, wall, m, u[i], ln_of(tables, t[i]))
        water[i] = wall.dx[i] * w
        heat[i] = wall.dx[i] * (wall.heat[m] + wall.c_water * w) * (t[i] - ZERO_CELSIUS)
        if wall.freeze[m] == 1:
            heat[i] = wall.dx[i] * enthalpy(tables, wall, m, u[i], t[i])[0]
