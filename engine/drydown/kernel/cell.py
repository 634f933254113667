"""Properties of one cell and their derivatives."""

from __future__ import annotations

from typing import NamedTuple

from .ice import MELTING, unfrozen
from .jit import compiled
from .layout import DELTA, LAMBDA, LN_T, P_SAT, PSI, THETA, WATER
from .lookup import bend, cubic, place


class Cell(NamedTuple):
    """State-dependent properties of a cell; `_u` and `_t` are derivatives by u and by temperature."""

    u: float
    t: float
    ln_t: float
    phi: float
    phi_u: float
    ps: float
    ps_t: float
    w: float
    w_z: float
    delta: float  # permeability at the reference temperature
    delta_z: float
    psi: float
    fac: float  # temperature factor of the permeability
    fac_t: float
    z: float
    theta: float  # liquid potential
    theta_z: float
    theta_zz: float
    lam: float
    lam_u: float
    lam_t: float
    ice: float  # kg/m3
    ice_u: float
    ice_t: float
    open: float  # share of the water that is liquid
    open_u: float
    open_t: float


@compiled(_nrt=False, forceinline=True)
def cell_at(tables, wall, m, u, t):
    """Return the `Cell` of material m at u = ln(-ln phi) and temperature t [K]."""
    ia, pa, sa = place(t, tables.t0, tables.t1, tables.air.shape[0])
    ps, ps_t = cubic(tables.air, ia, P_SAT, pa, sa)
    ln_t, _ = cubic(tables.air, ia, LN_T, pa, sa)
    fac, fac_t = cubic(tables.air, ia, wall.temperature_factor[m], pa, sa)
    ip, pp, sp = place(u, tables.z0, tables.z1, tables.phi.shape[0])
    phi, phi_u = cubic(tables.phi, ip, 0, pp, sp)
    n = tables.count[m]
    kappa = wall.kappa[m]
    z = u + kappa * ln_t
    i, p, s = place(z, tables.z0, tables.z1, n)
    r = i + tables.offset[m]
    w, w_z = cubic(tables.material, r, WATER, p, s)
    if p < 0.0:
        # pores are full: further water is held at a small, fixed slope and counted
        w = tables.material[r, WATER, 0] - tables.overfull * p / s
        w_z = -tables.overfull
    lam, lam_z = cubic(tables.material, r, LAMBDA, p, s)
    theta = 0.0
    theta_z = 0.0
    theta_zz = 0.0
    if wall.liquid[m] == 1:
        theta, theta_z = cubic(tables.material, r, THETA, p, s)
        if wall.temperature_power[m] != 0.0:
            theta_zz = bend(tables.material, r, THETA, p, s)
    if wall.kappa_v[m] != kappa:
        iv, p, s = place(u + wall.kappa_v[m] * ln_t, tables.z0, tables.z1, n)
        r = iv + tables.offset[m]
    delta, delta_z = cubic(tables.material, r, DELTA, p, s)
    psi, _ = cubic(tables.material, r, PSI, p, s)
    heat = 1.0 + wall.slope[m] * (t - 283.15)
    ice = 0.0
    ice_u = 0.0
    ice_t = 0.0
    share = 1.0
    share_u = 0.0
    share_t = 0.0
    if wall.freeze[m] == 1 and t < MELTING:
        wf, wf_t = unfrozen(tables, wall, m, t, ln_t)
        # a surplus over full pores would freeze all at once at the melting point; it stays liquid
        held = min(w, tables.material[tables.offset[m], WATER, 0])
        held_z = w_z if w == held else 0.0
        if held > wf:
            ice = held - wf
            ice_u = held_z
            ice_t = held_z * kappa / t - wf_t
            share = wf / held
            share_u = -share * held_z / held
            share_t = (wf_t - share * held_z * kappa / t) / held
    return Cell(
        u, t, ln_t, phi, phi_u, ps, ps_t, w, w_z, delta, delta_z, psi, fac, fac_t, z, theta, theta_z,
        theta_zz, lam * heat, lam_z * heat, lam * wall.slope[m] + lam_z * heat * kappa / t, ice, ice_u, ice_t,
        share, share_u, share_t,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def storage_at(tables, wall, m, u, t):
    """Return the water content [kg/m3] alone."""
    kappa = wall.kappa[m]
    z = u
    if kappa != 0.0:
        ia, pa, sa = place(t, tables.t0, tables.t1, tables.air.shape[0])
        ln_t, _ = cubic(tables.air, ia, LN_T, pa, sa)
        z = u + kappa * ln_t
    i, p, s = place(z, tables.z0, tables.z1, tables.count[m])
    r = i + tables.offset[m]
    if p < 0.0:
        return tables.material[r, WATER, 0] - tables.overfull * p / s
    w, _ = cubic(tables.material, r, WATER, p, s)
    return w
