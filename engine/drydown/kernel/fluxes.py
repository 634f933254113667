"""Moisture and heat between two states of one material, with derivatives.

Every flux is positive in the direction from the first state (left, outer) to the second.
"""

from __future__ import annotations

from typing import NamedTuple

from . import columns as at
from .cell import cell_of
from .humidity import ZERO_CELSIUS
from .jit import compiled


class Linear(NamedTuple):
    """A value and its derivatives by (u, T) on the left and on the right."""

    value: float
    ul: float
    tl: float
    ur: float
    tr: float


class Flux(NamedTuple):
    """Vapour and liquid [kg/(m2 s)] and enthalpy flow [W/m2] through a face."""

    vapour: Linear
    liquid: Linear
    heat: Linear


@compiled(_nrt=False, forceinline=True)
def nothing():
    """Return a flow of zero."""
    return Linear(0.0, 0.0, 0.0, 0.0, 0.0)


@compiled(_nrt=False, forceinline=True)
def with_enthalpy(wall, mean, vapour, liquid, heat):
    """Return the `Flux` with the enthalpy that vapour and liquid carry at the temperature `mean` of both sides."""
    celsius = mean - ZERO_CELSIUS
    hv = wall.latent + wall.c_vapour * celsius
    hl = wall.c_water * celsius
    carried = wall.c_vapour * vapour.value + wall.c_water * liquid.value
    return Flux(
        vapour,
        liquid,
        Linear(
            heat.value + hv * vapour.value + hl * liquid.value,
            heat.ul + hv * vapour.ul + hl * liquid.ul,
            heat.tl + hv * vapour.tl + hl * liquid.tl + 0.5 * carried,
            heat.ur + hv * vapour.ur + hl * liquid.ur,
            heat.tr + hv * vapour.tr + hl * liquid.tr + 0.5 * carried,
        ),
    )


@compiled(_nrt=False, forceinline=True)
def vapour_by_humidity(a, b, r):
    """Vapour where the permeability is a function of humidity; r : 1/distance.

    Product rule on p_v = p_sat phi with the integral of the permeability over humidity, exact in steady
    isothermal flow.
    """
    fm = 0.5 * (a.fac + b.fac)
    ps = 0.5 * (a.ps + b.ps)
    mm = 0.5 * (a.delta * a.phi + b.delta * b.phi)
    dpsi = b.psi - a.psi
    dps = b.ps - a.ps
    drive = ps * dpsi + mm * dps
    ga = ps * a.delta * a.phi_u
    gb = ps * b.delta * b.phi_u
    return Linear(
        -fm * r * drive,
        -fm * r * (-ga + 0.5 * (a.delta_z * a.phi + a.delta * a.phi_u) * dps),
        -fm * r * a.ps_t * (0.5 * dpsi - mm) - 0.5 * a.fac_t * r * drive,
        -fm * r * (gb + 0.5 * (b.delta_z * b.phi + b.delta * b.phi_u) * dps),
        -fm * r * b.ps_t * (0.5 * dpsi + mm) - 0.5 * b.fac_t * r * drive,
    )


@compiled(_nrt=False, forceinline=True)
def vapour_by_content(a, b, r, kappa_v):
    """Vapour where the permeability is a function of suction or water content: mean permeability times d(p_v)."""
    fm = 0.5 * (a.fac + b.fac)
    dm = 0.5 * (a.delta + b.delta)
    dp = b.phi * b.ps - a.phi * a.ps
    return Linear(
        -fm * r * dm * dp,
        -fm * r * (0.5 * a.delta_z * dp - dm * a.phi_u * a.ps),
        -fm * r * (0.5 * a.delta_z * (kappa_v * (1.0 / a.t)) * dp - dm * a.phi * a.ps_t) - 0.5 * a.fac_t * r * dm * dp,
        -fm * r * (0.5 * b.delta_z * dp + dm * b.phi_u * b.ps),
        -fm * r * (0.5 * b.delta_z * (kappa_v * (1.0 / b.t)) * dp + dm * b.phi * b.ps_t) - 0.5 * b.fac_t * r * dm * dp,
    )


@compiled(_nrt=False, forceinline=True)
def liquid_flow(a, b, r, kappa, power, t_ref):
    """Liquid by the integral of K over suction; what is ice leaves a share of the pores open."""
    step = b.liquid_potential - a.liquid_potential
    scale = 1.0 + power * (0.5 * (a.t + b.t) / t_ref - 1.0)
    side = power * (0.5 / t_ref)
    mean = side * (a.liquid_potential_z + b.liquid_potential_z)
    dt = b.t - a.t
    f = r * (scale * step + mean * dt)
    f_ul = r * (-scale * a.liquid_potential_z + side * a.liquid_potential_zz * dt)
    f_ur = r * (scale * b.liquid_potential_z + side * b.liquid_potential_zz * dt)
    f_tl = f_ul * (kappa * (1.0 / a.t)) + r * (side * step - mean)
    f_tr = f_ur * (kappa * (1.0 / b.t)) + r * (side * step + mean)
    liquid = a.liquid_fraction * b.liquid_fraction
    return Linear(
        liquid * f,
        liquid * f_ul + f * b.liquid_fraction * a.liquid_fraction_u,
        liquid * f_tl + f * b.liquid_fraction * a.liquid_fraction_t,
        liquid * f_ur + f * a.liquid_fraction * b.liquid_fraction_u,
        liquid * f_tr + f * a.liquid_fraction * b.liquid_fraction_t,
    )


@compiled(_nrt=False, forceinline=True)
def conduction(a, b, r):
    """Heat conducted."""
    lam = 0.5 * (a.lam + b.lam)
    dt = b.t - a.t
    return Linear(
        -lam * r * dt,
        -0.5 * a.lam_u * r * dt,
        -0.5 * a.lam_t * r * dt + lam * r,
        -0.5 * b.lam_u * r * dt,
        -0.5 * b.lam_t * r * dt - lam * r,
    )


@compiled(_nrt=False, forceinline=True)
def moisture_flow(wall, m, a, b, r):
    """Vapour and liquid between two states of material m; r : 1/distance."""
    if wall.kappa_v[m] == 0.0:
        vapour = vapour_by_humidity(a, b, r)
    else:
        vapour = vapour_by_content(a, b, r, wall.kappa_v[m])
    liquid = nothing()
    if wall.liquid[m] == 1:
        liquid = liquid_flow(a, b, r, wall.kappa[m], wall.temperature_power[m], wall.t_ref)
    return vapour, liquid


@compiled(_nrt=False, forceinline=True)
def interior_flux(wall, m, a, b, distance):
    """Flux between two states of one material."""
    r = 1.0 / distance
    vapour, liquid = moisture_flow(wall, m, a, b, r)
    return with_enthalpy(wall, 0.5 * (a.t + b.t), vapour, liquid, conduction(a, b, r))


@compiled(_nrt=False, forceinline=True)
def keep_flux(rows, o, x):
    """Write a `Flux` to the columns of the face at o."""
    rows[o + at.G] = x.vapour.value + x.liquid.value
    rows[o + at.G_UL] = x.vapour.ul + x.liquid.ul
    rows[o + at.G_TL] = x.vapour.tl + x.liquid.tl
    rows[o + at.G_UR] = x.vapour.ur + x.liquid.ur
    rows[o + at.G_TR] = x.vapour.tr + x.liquid.tr
    rows[o + at.Q] = x.heat.value
    rows[o + at.Q_UL] = x.heat.ul
    rows[o + at.Q_TL] = x.heat.tl
    rows[o + at.Q_UR] = x.heat.ur
    rows[o + at.Q_TR] = x.heat.tr


@compiled(_nrt=False, forceinline=True)
def _by_humidity(wall, m, x, j, r):
    a = cell_of(x, j)
    b = cell_of(x, j + 1)
    v = vapour_by_humidity(a, b, r)
    f = liquid_flow(a, b, r, wall.kappa[m], wall.temperature_power[m], wall.t_ref)
    return with_enthalpy(wall, 0.5 * (a.t + b.t), v, f, conduction(a, b, r))


@compiled(_nrt=False, forceinline=True)
def _by_content(wall, m, x, j, r):
    a = cell_of(x, j)
    b = cell_of(x, j + 1)
    v = vapour_by_content(a, b, r, wall.kappa_v[m])
    f = liquid_flow(a, b, r, wall.kappa[m], wall.temperature_power[m], wall.t_ref)
    return with_enthalpy(wall, 0.5 * (a.t + b.t), v, f, conduction(a, b, r))


@compiled(_nrt=False, forceinline=True)
def interior_pass(wall, rows, runs):
    """Write the fluxes inside layers, run by run [first face, number of faces]; no branch, so that it vectorises.

    The liquid flow of a material without any is computed from zeros. What stands at the faces behind a run is not its
    flux: runs are written in their order, other faces later.
    """
    for k in range(runs.shape[0]):
        first = runs[k, 0]
        count = at.whole(runs[k, 1])
        m = wall.material[first]
        x = rows[at.offset(first - 1) :]
        if wall.kappa_v[m] == 0.0:
            for j in range(count):
                keep_flux(x, j + 1, _by_humidity(wall, m, x, j, 1.0 / (0.5 * (x[j + at.DX] + x[j + 1 + at.DX]))))
        else:
            for j in range(count):
                keep_flux(x, j + 1, _by_content(wall, m, x, j, 1.0 / (0.5 * (x[j + at.DX] + x[j + 1 + at.DX]))))
