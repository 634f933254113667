"""Ice in the pores: what is held at a lower suction than that at which water freezes is ice.

Water under the suction s freezes at the temperature at which s = rho_w L_f ln(T_0/T) (ice at the pressure of the
air; the generalised Clausius-Clapeyron equation, 1.22 MPa per kelvin). What the storage curve holds at that suction
stays liquid. The latent heat enters the enthalpy; liquid flow is reduced by the share that is liquid.
"""

from __future__ import annotations

import math

from .jit import compiled
from .layout import WATER
from .lookup import cubic, place


@compiled(_nrt=False, forceinline=True)
def may_freeze(wall, phi, t):
    """Return whether pores at humidity phi and t < wall.melting can hold ice; without a logarithm, never too few.

    They do where -ln phi < L_f ln(T_0/T) / (R_v T). The left is no less than 1 - phi, ln(T_0/T) no more than T_0/T - 1.
    """
    return (1.0 - phi) * wall.r_vapour * t * t < wall.fusion * (wall.melting - t)


@compiled(_nrt=False)
def unfrozen(tables, wall, m, t, ln_t):
    """Return the water that stays liquid at t < wall.melting [kg/m3] and its derivative by t; ln_t = ln(t/T_ref)."""
    # ln(T_0/t) = 2 artanh y: to 1e-11 of it at 60 K below T_0, and to rounding where T_0/t is next to 1
    y = (wall.melting - t) / (wall.melting + t)
    q = y * y
    depth = 2.0 * y * (1.0 + q * (1.0 / 3.0 + q * (0.2 + q * (1.0 / 7.0 + q * (1.0 / 9.0 + q / 11.0)))))
    uf = math.log(wall.fusion * depth / (wall.r_vapour * t))
    zf = uf + wall.kappa[m] * ln_t
    if zf <= tables.z0:
        return tables.material[tables.offset[m], WATER, 0], 0.0
    i, p, s = place(zf, tables.z0, tables.z1, tables.count[m])
    w, w_z = cubic(tables.material, i + tables.offset[m], WATER, p, s)
    return w, w_z * (-1.0 / (t * depth) - (1.0 - wall.kappa[m]) / t)


@compiled(_nrt=False, forceinline=True)
def ice_enthalpy(wall, t):
    """Enthalpy that a kilogram of ice holds less than the water it was [J/kg], and its derivative by t."""
    c = wall.c_water - wall.c_ice
    return wall.fusion + c * (t - wall.melting), c


@compiled()
def ice_of(wall, tables, temperature, water, ice):
    """Fill ice [row, cell] in kg/m3 from temperature and water in kg/m2."""
    for k in range(water.shape[0]):
        for i in range(water.shape[1]):
            m = wall.material[i]
            t = temperature[k, i]
            if wall.freeze[m] == 1 and t < wall.melting:
                liquid, _ = unfrozen(tables, wall, m, t, math.log(t / wall.t_ref))
                held = min(water[k, i] / wall.dx[i], tables.material[tables.offset[m], WATER, 0])
                ice[k, i] = max(held - liquid, 0.0)
