"""Properties of one cell and their derivatives, and what it holds."""

from __future__ import annotations

from typing import NamedTuple

from . import columns as at
from .humidity import ZERO_CELSIUS
from .ice import ice_enthalpy, may_freeze, unfrozen
from .jit import compiled
from .layout import DELTA, LAMBDA, LIQUID_POTENTIAL, LN_T, P_SAT, PSI, SLOPE_AT, WATER
from .lookup import bend, cubic, place, within


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


class Constants(NamedTuple):
    """Numbers of one material, taken out of the arrays once for all its cells."""

    first: int  # of its rows in the table
    rows: int  # of the table
    scale: float  # intervals per unit of z
    full: float  # water of full pores [kg/m3]
    kappa: float
    kappa_v: float
    factor: int  # column of the temperature factor of the permeability
    liquid: bool
    bends: bool  # the liquid potential is needed with its second derivative
    slope: float  # of the conductivity, 1/K
    warm: int  # column of its temperature factor, -1: the slope
    freezes: bool


class OfAir(NamedTuple):
    """What the tables say of a temperature."""

    ln_t: float
    ps: float
    ps_t: float
    fac: float  # temperature factor of the permeability
    fac_t: float
    warm: float  # and of the conductivity
    warm_t: float


class Frozen(NamedTuple):
    """What ice changes in a cell: ice [kg/m3], share of the water that is liquid, conductivity, with derivatives."""

    ice: float
    ice_u: float
    ice_t: float
    share: float
    share_u: float
    share_t: float
    lam: float
    lam_u: float
    lam_t: float


@compiled(_nrt=False, forceinline=True)
def constants_of(tables, wall, m):
    """Return the `Constants` of material m."""
    first = tables.offset[m]
    rows = tables.count[m]
    return Constants(
        first, rows, rows / (tables.z1 - tables.z0), tables.material[first, WATER, 0], wall.kappa[m],
        wall.kappa_v[m], wall.temperature_factor[m], wall.liquid[m] == 1, wall.temperature_power[m] != 0.0,
        wall.slope[m], wall.conductivity_factor[m], wall.freeze[m] == 1,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def of_air(tables, s, t, i, p, scale):
    """Return what the tables say of temperature t [K], at place (i, p), for the material with the `Constants` s."""
    ps, ps_t = cubic(tables.air, i, P_SAT, p, scale)
    ln_t, _ = cubic(tables.air, i, LN_T, p, scale)
    fac, fac_t = cubic(tables.air, i, s.factor, p, scale)
    warm = 1.0 + s.slope * (t - SLOPE_AT)
    warm_t = s.slope
    if s.warm >= 0:
        warm, warm_t = cubic(tables.air, i, s.warm, p, scale)
    return OfAir(ln_t, ps, ps_t, fac, fac_t, warm, warm_t)


@compiled(_nrt=False, forceinline=True)
def row_of(tables, s, kappa, u, ln_t):
    """Return (row, position in it) of a material in its table; kappa : of what is looked up."""
    i, p = within(u + kappa * ln_t - tables.z0, s.scale, s.rows)
    return i + s.first, p


@compiled(_nrt=False, forceinline=True)
def stored(tables, s, r, p):
    """Return water [kg/m3] and conductivity at the temperature of the table, each with its derivative by z."""
    w, w_z = cubic(tables.material, r, WATER, p, s.scale)
    if p < 0.0:
        # pores are full: further water is held at a small, fixed slope and counted
        w = s.full - p * (tables.overfull / s.scale)
        w_z = -tables.overfull
    lam, lam_z = cubic(tables.material, r, LAMBDA, p, s.scale)
    return w, w_z, lam, lam_z


@compiled(_nrt=False, forceinline=True)
def liquid_of(tables, s, r, p):
    """Return the liquid potential and its first and second derivative by z."""
    if s.liquid:
        potential, potential_z = cubic(tables.material, r, LIQUID_POTENTIAL, p, s.scale)
        if s.bends:
            return potential, potential_z, bend(tables.material, r, LIQUID_POTENTIAL, p, s.scale)
        return potential, potential_z, 0.0
    return 0.0, 0.0, 0.0


@compiled(_nrt=False, forceinline=True)
def vapour_of(tables, s, r, p):
    """Return the permeability, its derivative by z, and its integral over humidity."""
    delta, delta_z = cubic(tables.material, r, DELTA, p, s.scale)
    psi, _ = cubic(tables.material, r, PSI, p, s.scale)
    return delta, delta_z, psi


@compiled(_nrt=False, forceinline=True)
def conductivity(kappa, t, lam, lam_z, warm, warm_t):
    """Return the conductivity without ice and its derivatives by u and t, from those of the tables."""
    return lam * warm, lam_z * warm, lam * warm_t + lam_z * warm * (kappa * (1.0 / t))


@compiled(_nrt=False, forceinline=True)
def frozen(tables, wall, m, full, t, ln_t, phi, w, w_z, lam, lam_u, lam_t):
    """Return what ice changes in a cell of material m; full : water of full pores [kg/m3], lam : without ice."""
    kappa = wall.kappa[m]
    if t < wall.melting and may_freeze(wall, phi, t):
        wf, wf_t = unfrozen(tables, wall, m, t, ln_t)
        # a surplus over full pores would freeze all at once at the melting point; it stays liquid
        held = min(w, full)
        held_z = w_z if w == held else 0.0
        if held > wf:
            ice = held - wf
            held_t = held_z * (kappa * (1.0 / t))
            ice_t = held_t - wf_t
            share = wf / held
            # ice conducts better than the water it was
            gain = wall.frozen[m] / full
            stiff = 1.0 + gain * ice
            return Frozen(
                ice, held_z, ice_t, share, -share * held_z / held, (wf_t - share * held_t) / held, lam * stiff,
                lam_u * stiff + lam * gain * held_z, lam_t * stiff + lam * gain * ice_t,
            )  # fmt: skip
    return Frozen(0.0, 0.0, 0.0, 1.0, 0.0, 0.0, lam, lam_u, lam_t)


@compiled(_nrt=False, forceinline=True)
def properties(tables, wall, m, u, t):
    """Return the `Cell` and the `Content` of material m at u = ln(-ln phi) and temperature t [K]."""
    s = constants_of(tables, wall, m)
    i, p, scale = place(t, tables.t0, tables.t1, tables.air.shape[0])
    air = of_air(tables, s, t, i, p, scale)
    r, p = row_of(tables, s, s.kappa, u, air.ln_t)
    w, w_z, lam, lam_z = stored(tables, s, r, p)
    potential, potential_z, potential_zz = liquid_of(tables, s, r, p)
    if s.kappa_v != s.kappa:
        r, p = row_of(tables, s, s.kappa_v, u, air.ln_t)
    delta, delta_z, psi = vapour_of(tables, s, r, p)
    phi, phi_u = humidity_of(tables, u)
    lam, lam_u, lam_t = conductivity(s.kappa, t, lam, lam_z, air.warm, air.warm_t)
    f = Frozen(0.0, 0.0, 0.0, 1.0, 0.0, 0.0, lam, lam_u, lam_t)
    if wall.freeze[m] == 1:
        f = frozen(tables, wall, m, s.full, t, air.ln_t, phi, w, w_z, lam, lam_u, lam_t)
    cell = Cell(
        u, t, phi, phi_u, air.ps, air.ps_t, delta, delta_z, psi, air.fac, air.fac_t, potential,
        potential_z, potential_zz, f.lam, f.lam_u, f.lam_t, f.share, f.share_u, f.share_t,
    )  # fmt: skip
    return cell, Content(w, w_z, f.ice, f.ice_u, f.ice_t)


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
def held_by(wall, m, dx, t, x):
    """Return what a cell with a `Content` holds."""
    return holding(wall, wall.heat[m], wall.kappa[m], dx, t, x)


@compiled(_nrt=False, forceinline=True)
def holding(wall, dry, kappa, dx, t, x):
    """Return what a cell with a `Content` holds; dry : heat capacity of the dry material [J/(m3 K)]."""
    celsius = t - ZERO_CELSIUS
    less, less_t = ice_enthalpy(wall, t)
    w_u = dx * x.w_z
    w_t = w_u * (kappa * (1.0 / t))
    capacity = dry + wall.c_water * x.w
    by_w = wall.c_water * celsius
    return Held(
        dx * x.w, w_u, w_t, dx * (capacity * celsius - x.ice * less), by_w * w_u - dx * x.ice_u * less,
        dx * capacity + by_w * w_t - dx * (x.ice_t * less + x.ice * less_t),
    )  # fmt: skip


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
def humidity_of(tables, u):
    """Return the relative humidity of u, from the table, and its derivative."""
    i, p, s = place(u, tables.z0, tables.z1, tables.phi.shape[0])
    return cubic(tables.phi, i, 0, p, s)


@compiled(_nrt=False, forceinline=True)
def humidity_at(tables, u):
    """Return the relative humidity of u, from the table."""
    return humidity_of(tables, u)[0]
