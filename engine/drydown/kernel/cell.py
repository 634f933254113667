"""Properties of one cell and their derivatives, and what it holds."""

from __future__ import annotations

from typing import NamedTuple

from . import columns as at
from .humidity import ZERO_CELSIUS
from .ice import ice_enthalpy, may_freeze, unfrozen
from .jit import compiled
from .layout import DELTA, LAMBDA, LIQUID_POTENTIAL, LN_T, P_SAT, PSI, SLOPE_AT, WATER
from .lookup import bend, cubic, place


class Cell(NamedTuple):
    """State-dependent properties of a cell; `_u` and `_t` are derivatives by u and by temperature."""

    u: float
    t: float
    phi: float
    phi_u: float
    ps: float
    ps_t: float
    delta: float  # permeability at the reference temperature
    delta_z: float
    psi: float  # integral of the permeability over humidity
    fac: float  # temperature factor of the permeability
    fac_t: float
    liquid_potential: float
    liquid_potential_z: float
    liquid_potential_zz: float
    lam: float
    lam_u: float
    lam_t: float
    liquid_fraction: float  # share of the water that is liquid
    liquid_fraction_u: float
    liquid_fraction_t: float


class Content(NamedTuple):
    """Water and ice of a cell [kg/m3] and derivatives (by z, by u and t)."""

    w: float
    w_z: float
    ice: float
    ice_u: float
    ice_t: float


class Held(NamedTuple):
    """Water [kg/m2] and enthalpy [J/m2] of a cell and their derivatives by u and t."""

    water: float
    water_u: float
    water_t: float
    heat: float
    heat_u: float
    heat_t: float


@compiled(_nrt=False, forceinline=True)
def properties(tables, wall, m, u, t):
    """Return the `Cell` and the `Content` of material m at u = ln(-ln phi) and temperature t [K]."""
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
    potential = 0.0
    potential_z = 0.0
    potential_zz = 0.0
    if wall.liquid[m] == 1:
        potential, potential_z = cubic(tables.material, r, LIQUID_POTENTIAL, p, s)
        if wall.temperature_power[m] != 0.0:
            potential_zz = bend(tables.material, r, LIQUID_POTENTIAL, p, s)
    if wall.kappa_v[m] != kappa:
        iv, p, s = place(u + wall.kappa_v[m] * ln_t, tables.z0, tables.z1, n)
        r = iv + tables.offset[m]
    delta, delta_z = cubic(tables.material, r, DELTA, p, s)
    psi, _ = cubic(tables.material, r, PSI, p, s)
    heat = 1.0 + wall.slope[m] * (t - SLOPE_AT)
    heat_t = wall.slope[m]
    if wall.conductivity_factor[m] >= 0:
        heat, heat_t = cubic(tables.air, ia, wall.conductivity_factor[m], pa, sa)
    ice = 0.0
    ice_u = 0.0
    ice_t = 0.0
    share = 1.0
    share_u = 0.0
    share_t = 0.0
    if wall.freeze[m] == 1 and t < wall.melting and may_freeze(wall, phi, t):
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
    stiff = 1.0
    lam_u = lam_z * heat
    lam_t = lam * heat_t + lam_z * heat * kappa / t
    if ice > 0.0:
        # ice conducts better than the water it was
        gain = wall.frozen[m] / tables.material[tables.offset[m], WATER, 0]
        stiff += gain * ice
        lam_u = lam_u * stiff + lam * heat * gain * ice_u
        lam_t = lam_t * stiff + lam * heat * gain * ice_t
    cell = Cell(
        u, t, phi, phi_u, ps, ps_t, delta, delta_z, psi, fac, fac_t, potential, potential_z, potential_zz,
        lam * heat * stiff, lam_u, lam_t, share, share_u, share_t,
    )  # fmt: skip
    return cell, Content(w, w_z, ice, ice_u, ice_t)


@compiled(_nrt=False, forceinline=True)
def cell_at(tables, wall, m, u, t):
    """Return the `Cell` of material m at u = ln(-ln phi) and temperature t [K]."""
    cell, _ = properties(tables, wall, m, u, t)
    return cell


@compiled(_nrt=False, forceinline=True)
def cell_of(rows, o):
    """Return the `Cell` whose columns begin at o."""
    return Cell(
        rows[o + at.U], rows[o + at.T], rows[o + at.PHI], rows[o + at.PHI_U], rows[o + at.PS], rows[o + at.PS_T],
        rows[o + at.DELTA], rows[o + at.DELTA_Z], rows[o + at.PSI], rows[o + at.FAC], rows[o + at.FAC_T],
        rows[o + at.THETA], rows[o + at.THETA_Z], rows[o + at.THETA_ZZ], rows[o + at.LAM], rows[o + at.LAM_U],
        rows[o + at.LAM_T], rows[o + at.OPEN], rows[o + at.OPEN_U], rows[o + at.OPEN_T],
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def keep_cell(rows, o, c):
    """Write a `Cell` to its columns."""
    rows[o + at.U] = c.u
    rows[o + at.T] = c.t
    rows[o + at.PHI] = c.phi
    rows[o + at.PHI_U] = c.phi_u
    rows[o + at.PS] = c.ps
    rows[o + at.PS_T] = c.ps_t
    rows[o + at.DELTA] = c.delta
    rows[o + at.DELTA_Z] = c.delta_z
    rows[o + at.PSI] = c.psi
    rows[o + at.FAC] = c.fac
    rows[o + at.FAC_T] = c.fac_t
    rows[o + at.THETA] = c.liquid_potential
    rows[o + at.THETA_Z] = c.liquid_potential_z
    rows[o + at.THETA_ZZ] = c.liquid_potential_zz
    rows[o + at.LAM] = c.lam
    rows[o + at.LAM_U] = c.lam_u
    rows[o + at.LAM_T] = c.lam_t
    rows[o + at.OPEN] = c.liquid_fraction
    rows[o + at.OPEN_U] = c.liquid_fraction_u
    rows[o + at.OPEN_T] = c.liquid_fraction_t


@compiled(_nrt=False, forceinline=True)
def _enthalpy(wall, m, t, x):
    """Return the enthalpy of a `Content` [J/m3]; its derivatives by water and by t, ice held; and those of its ice."""
    celsius = t - ZERO_CELSIUS
    capacity = wall.heat[m] + wall.c_water * x.w
    less, less_t = ice_enthalpy(wall, t)
    return capacity * celsius - x.ice * less, wall.c_water * celsius, capacity, less, less_t


@compiled(_nrt=False, forceinline=True)
def held_by(wall, m, dx, t, x):
    """Return what a cell with a `Content` holds."""
    w_u = dx * x.w_z
    w_t = w_u * wall.kappa[m] / t
    h, by_w, capacity, less, less_t = _enthalpy(wall, m, t, x)
    return Held(
        dx * x.w, w_u, w_t, dx * h, by_w * w_u - dx * x.ice_u * less,
        dx * capacity + by_w * w_t - dx * (x.ice_t * less + x.ice * less_t),
    )  # fmt: skip


@compiled(_nrt=False)
def property_pass(tables, wall, rows, u, t):
    """Write properties and contents of every cell at the state (u, t)."""
    for i in range(u.shape[0]):
        m = wall.material[i]
        o = at.offset(i)
        c, x = properties(tables, wall, m, u[i], t[i])
        keep_cell(rows, o, c)
        y = held_by(wall, m, wall.dx[i], t[i], x)
        rows[o + at.CONTENT] = x.w
        rows[o + at.WATER] = y.water
        rows[o + at.WATER_U] = y.water_u
        rows[o + at.WATER_T] = y.water_t
        rows[o + at.HEAT] = y.heat
        rows[o + at.HEAT_U] = y.heat_u
        rows[o + at.HEAT_T] = y.heat_t


@compiled(_nrt=False, forceinline=True)
def storage_at(tables, wall, m, u, ln_t):
    """Return the water content [kg/m3] alone and its derivative by u; ln_t = ln(t/T_ref)."""
    i, p, s = place(u + wall.kappa[m] * ln_t, tables.z0, tables.z1, tables.count[m])
    r = i + tables.offset[m]
    if p < 0.0:
        return tables.material[r, WATER, 0] - tables.overfull * p / s, -tables.overfull
    return cubic(tables.material, r, WATER, p, s)


@compiled(_nrt=False, forceinline=True)
def ln_of(tables, t):
    """Return ln(t/T_ref)."""
    i, p, s = place(t, tables.t0, tables.t1, tables.air.shape[0])
    return cubic(tables.air, i, LN_T, p, s)[0]


@compiled(_nrt=False, forceinline=True)
def humidity_at(tables, u):
    """Return the relative humidity of u, from the table."""
    i, p, s = place(u, tables.z0, tables.z1, tables.phi.shape[0])
    return cubic(tables.phi, i, 0, p, s)[0]
