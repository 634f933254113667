"""Moisture and heat between two states of one material, and vapour through a film, with derivatives.

Every flux is positive in the direction from the first state (left, outer) to the second.
A `Flux` holds vapour g_v, liquid g_l [kg/(m2 s)] and enthalpy flow q [W/m2], each with its derivatives
by (u, T) on the left and on the right.
"""

from __future__ import annotations

from typing import NamedTuple

from .jit import compiled
from .layout import P_SAT, PERM_IN, PERM_OUT, POT_IN, POT_OUT
from .lookup import cubic, place


class Flux(NamedTuple):
    """Vapour, liquid and enthalpy flow through a face, with derivatives (ul, tl, ur, tr)."""

    v: float
    v_ul: float
    v_tl: float
    v_ur: float
    v_tr: float
    l: float  # noqa: E741
    l_ul: float
    l_tl: float
    l_ur: float
    l_tr: float
    q: float
    q_ul: float
    q_tl: float
    q_ur: float
    q_tr: float


@compiled(_nrt=False, forceinline=True)
def with_enthalpy(wall, tm, wl, wr, v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr, q, q_ul, q_tl, q_ur, q_tr):
    """Add the enthalpy carried by vapour and liquid; tm = wl t_left + wr t_right is its temperature."""
    theta = tm - 273.15
    hv = wall.latent + wall.c_vapour * theta
    hl = wall.c_water * theta
    carried = wall.c_vapour * v + wall.c_water * f
    return Flux(
        v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr,
        q + hv * v + hl * f,
        q_ul + hv * v_ul + hl * f_ul,
        q_tl + hv * v_tl + hl * f_tl + wl * carried,
        q_ur + hv * v_ur + hl * f_ur,
        q_tr + hv * v_tr + hl * f_tr + wr * carried,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def bulk(wall, m, a, b, distance):
    """Flux between two states of one material.

    Vapour: product rule on p_v = p_sat phi with the integral of the permeability over humidity, exact
    in steady isothermal flow. Liquid: integral of K over suction.
    """
    r = 1.0 / distance
    fm = 0.5 * (a.fac + b.fac)
    kv = wall.kappa_v[m]
    if kv == 0.0:
        ps = 0.5 * (a.ps + b.ps)
        ma = a.delta * a.phi
        mb = b.delta * b.phi
        mm = 0.5 * (ma + mb)
        dpsi = b.psi - a.psi
        dps = b.ps - a.ps
        drive = ps * dpsi + mm * dps
        ga = ps * a.delta * a.phi_u
        gb = ps * b.delta * b.phi_u
        v = -fm * r * drive
        v_ul = -fm * r * (-ga + 0.5 * (a.delta_z * a.phi + a.delta * a.phi_u) * dps)
        v_ur = -fm * r * (gb + 0.5 * (b.delta_z * b.phi + b.delta * b.phi_u) * dps)
        v_tl = -fm * r * a.ps_t * (0.5 * dpsi - mm) - 0.5 * a.fac_t * r * drive
        v_tr = -fm * r * b.ps_t * (0.5 * dpsi + mm) - 0.5 * b.fac_t * r * drive
    else:
        dm = 0.5 * (a.delta + b.delta)
        dp = b.phi * b.ps - a.phi * a.ps
        v = -fm * r * dm * dp
        v_ul = -fm * r * (0.5 * a.delta_z * dp - dm * a.phi_u * a.ps)
        v_ur = -fm * r * (0.5 * b.delta_z * dp + dm * b.phi_u * b.ps)
        v_tl = -fm * r * (0.5 * a.delta_z * kv / a.t * dp - dm * a.phi * a.ps_t) - 0.5 * a.fac_t * r * dm * dp
        v_tr = -fm * r * (0.5 * b.delta_z * kv / b.t * dp + dm * b.phi * b.ps_t) - 0.5 * b.fac_t * r * dm * dp
    f = 0.0
    f_ul = 0.0
    f_tl = 0.0
    f_ur = 0.0
    f_tr = 0.0
    if wall.liquid[m] == 1:
        kappa = wall.kappa[m]
        power = wall.temperature_power[m]
        dtheta = b.theta - a.theta
        scale = 1.0
        side = 0.0
        if power != 0.0:
            scale = 1.0 + power * (0.5 * (a.t + b.t) / wall.t_ref - 1.0)
            side = power * 0.5 / wall.t_ref
        mean = side * (a.theta_z + b.theta_z)
        dt = b.t - a.t
        f = r * (scale * dtheta + mean * dt)
        f_ul = r * (-scale * a.theta_z + side * a.theta_zz * dt)
        f_ur = r * (scale * b.theta_z + side * b.theta_zz * dt)
        f_tl = f_ul * kappa / a.t + r * (side * dtheta - mean)
        f_tr = f_ur * kappa / b.t + r * (side * dtheta + mean)
        liquid = a.open * b.open
        if liquid < 1.0:
            # ice leaves only a share of the pores open
            f_ul = liquid * f_ul + f * b.open * a.open_u
            f_tl = liquid * f_tl + f * b.open * a.open_t
            f_ur = liquid * f_ur + f * a.open * b.open_u
            f_tr = liquid * f_tr + f * a.open * b.open_t
            f *= liquid
    lam = 0.5 * (a.lam + b.lam)
    dt = b.t - a.t
    return with_enthalpy(
        wall, 0.5 * (a.t + b.t), 0.5, 0.5, v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr,
        -lam * r * dt,
        -0.5 * a.lam_u * r * dt,
        -0.5 * a.lam_t * r * dt + lam * r,
        -0.5 * b.lam_u * r * dt,
        -0.5 * b.lam_t * r * dt - lam * r,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def _permeance(tables, wall, film, inward, a, b):
    """Return permeance read between humidities a and b, and its derivatives by both."""
    n = tables.film_count
    row = film * n
    perm = PERM_IN if inward else PERM_OUT
    pot = POT_IN if inward else POT_OUT
    if wall.film_mean == 1 or abs(a - b) < 1e-5:
        i, p, s = place(0.5 * (a + b), 0.0, 1.0, n)
        value, slope = cubic(tables.film, row + i, perm, p, s)
        return value, 0.5 * slope, 0.5 * slope
    ia, pa, sa = place(a, 0.0, 1.0, n)
    ib, pb, sb = place(b, 0.0, 1.0, n)
    pot_a, perm_a = cubic(tables.film, row + ia, pot, pa, sa)
    pot_b, perm_b = cubic(tables.film, row + ib, pot, pb, sb)
    mean = (pot_a - pot_b) / (a - b)
    return mean, (perm_a - mean) / (a - b), (mean - perm_b) / (a - b)


@compiled(_nrt=False)
def series(tables, wall, film, inward_positive, pl, rl, pr, rr, ts):
    """Vapour through two resistances with a film between them (or none: film = -1).

    Parameters are vapour pressures [Pa] at both ends, resistances [m2 s Pa/kg] on both sides of the film
    and the temperature of the film [K]. The film's own humidities follow from the flow and are found by
    iteration. Returns g and its derivatives by pl, pr, rl, rr and ts, and the two humidities.
    """
    dp = pl - pr
    if film < 0:
        g = dp / (rl + rr)
        inv = 1.0 / (rl + rr)
        return g, inv, -inv, -g * inv, -g * inv, 0.0, 0.0, 0.0
    ia, pa, sa = place(ts, tables.t0, tables.t1, tables.air.shape[0])
    ps, ps_t = cubic(tables.air, ia, P_SAT, pa, sa)
    fac, fac_t = cubic(tables.air, ia, wall.film_temperature_factor[film], pa, sa)
    inward = (dp >= 0.0) == (inward_positive == 1)
    g = 0.0
    a = pl / ps
    b = pr / ps
    value, va, vb = _permeance(tables, wall, film, inward, a, b)
    for _ in range(30):
        # Newton on F(g) = g (rl + rr + 1/P(a(g), b(g))) - dp
        perm = fac * value
        f = g * (rl + rr) + g / perm - dp
        slope = rl + rr + 1.0 / perm - g / (perm * perm) * fac * (-va * rl + vb * rr) / ps
        if not slope > 0.0:
            slope = rl + rr + 1.0 / perm
        step = -f / slope
        g += step
        if (dp > 0.0 and g < 0.0) or (dp < 0.0 and g > 0.0):
            g = 0.0
        a = (pl - g * rl) / ps
        b = (pr + g * rr) / ps
        value, va, vb = _permeance(tables, wall, film, inward, a, b)
        if abs(step) <= 1e-8 * abs(g):
            break
    perm = fac * value
    slope = rl + rr + 1.0 / perm - g / (perm * perm) * fac * (-va * rl + vb * rr) / ps
    k = g / (perm * perm) * fac / ps
    inv = 1.0 / slope
    g_ts = g / (perm * perm) * (fac_t * value - fac * (va * a + vb * b) * ps_t / ps) * inv
    return (
        g,
        (1.0 + k * va) * inv,
        (-1.0 + k * vb) * inv,
        (-g - k * va * g) * inv,
        (-g + k * vb * g) * inv,
        g_ts,
        a,
        b,
    )
