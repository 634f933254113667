"""Moisture and heat through one face, with derivatives by the state on both sides.

Every flux is positive in the direction from the first state (left, outer) to the second.
A `Flux` holds vapour g_v, liquid g_l [kg/(m2 s)] and enthalpy flow q [W/m2], each with its derivatives
by (u, T) on the left and on the right.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .cell import cell_at
from .jit import compiled
from .layout import (
    AIR, BETA, H_CONV, P_AIR, P_SAT, PERM_IN, PERM_OUT, POT_IN, POT_OUT, RADIATION, RAIN, SEALED,
    SURFACE, T_AIR, THETA,
)  # fmt: skip
from .lookup import cubic, place

SIGMA = 5.670374e-8


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


@compiled()
def _with_enthalpy(wall, tm, wl, wr, v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr, q, q_ul, q_tl, q_ur, q_tr):
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


@compiled()
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
        rest = wall.rest[m]
        dtheta = b.theta - a.theta
        scale = 1.0
        side = 0.0
        if rest != 0.0:
            scale = 1.0 + rest * (0.5 * (a.t + b.t) / wall.t_ref - 1.0)
            side = rest * 0.5 / wall.t_ref
        mean = side * (a.theta_z + b.theta_z)
        dt = b.t - a.t
        f = r * (scale * dtheta + mean * dt)
        f_ul = r * (-scale * a.theta_z + side * a.theta_zz * dt)
        f_ur = r * (scale * b.theta_z + side * b.theta_zz * dt)
        f_tl = f_ul * kappa / a.t + r * (side * dtheta - mean)
        f_tr = f_ur * kappa / b.t + r * (side * dtheta + mean)
    lam = 0.5 * (a.lam + b.lam)
    dt = b.t - a.t
    return _with_enthalpy(
        wall, 0.5 * (a.t + b.t), 0.5, 0.5, v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr,
        -lam * r * dt,
        -0.5 * a.lam_u * r * dt,
        -0.5 * a.lam_t * r * dt + lam * r,
        -0.5 * b.lam_u * r * dt,
        -0.5 * b.lam_t * r * dt - lam * r,
    )  # fmt: skip


@compiled()
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


@compiled()
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
    fac, fac_t = cubic(tables.air, ia, wall.film_law[film], pa, sa)
    inward = (dp >= 0.0) == inward_positive
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
        if abs(step) <= 1e-13 * abs(g):
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


@compiled()
def contact(tables, wall, ma, mb, a, b, ha, hb, ts_ln, ts):
    """Liquid between two materials in capillary contact: the suction at the face is common to both.

    Returns g and its derivatives by the logarithm of suction in both cells. `ha`, `hb` are half widths [m].
    """
    oa = (1.0 - wall.kappa[ma]) * ts_ln
    ob = (1.0 - wall.kappa[mb]) * ts_ln
    fa = (1.0 + wall.rest[ma] * (ts / wall.t_ref - 1.0)) / ha
    fb = (1.0 + wall.rest[mb] * (ts / wall.t_ref - 1.0)) / hb
    na = tables.count[ma]
    nb = tables.count[mb]
    sl = a.u + a.ln_t
    sr = b.u + b.ln_t
    ia, pa, sa = place(sl - oa, tables.z0, tables.z1, na)
    base_a, slope_a = cubic(tables.material, ia + tables.offset[ma], THETA, pa, sa)
    ib, pb, sb = place(sr - ob, tables.z0, tables.z1, nb)
    base_b, slope_b = cubic(tables.material, ib + tables.offset[mb], THETA, pb, sb)
    low = min(sl, sr)
    high = max(sl, sr)
    s = low  # the wetter side conducts best: the face is near it
    va = base_a
    da = slope_a
    vb = base_b
    db = slope_b
    for _ in range(60):
        ia, pa, sa = place(s - oa, tables.z0, tables.z1, na)
        va, da = cubic(tables.material, ia + tables.offset[ma], THETA, pa, sa)
        ib, pb, sb = place(s - ob, tables.z0, tables.z1, nb)
        vb, db = cubic(tables.material, ib + tables.offset[mb], THETA, pb, sb)
        f = fa * (va - base_a) - fb * (base_b - vb)
        d = fa * da + fb * db
        if f > 0.0:
            high = s
        else:
            low = s
        if not d > 0.0:
            new = 0.5 * (low + high)
        else:
            new = s - f / d
            if not (low <= new <= high):
                new = 0.5 * (low + high)
        if abs(new - s) < 1e-12 + 1e-13 * abs(s):
            break
        s = new
    g = fa * (va - base_a)
    ga = fa * da
    gb = fb * db
    total = ga + gb
    if not total > 0.0:
        return 0.0, 0.0, 0.0
    return g, -fa * slope_a * gb / total, fb * slope_b * ga / total


@compiled()
def joint(tables, wall, ma, mb, film, a, b, dxa, dxb):
    """Flux between cells of different materials, or through a film between cells."""
    ha = 0.5 * dxa
    hb = 0.5 * dxb
    ca = a.lam / ha
    cb = b.lam / hb
    inv = 1.0 / (ca + cb)
    wa = ca * inv
    wb = cb * inv
    ts = wa * a.t + wb * b.t
    ra = ha / (a.fac * a.delta)
    rb = hb / (b.fac * b.delta)
    v, v_pl, v_pr, v_rl, v_rr, v_ts, _, _ = series(
        tables, wall, film, True, a.phi * a.ps, ra, b.phi * b.ps, rb, ts
    )
    kva = wall.kappa_v[ma]
    kvb = wall.kappa_v[mb]
    ra_z = -ra * a.delta_z / a.delta
    rb_z = -rb * b.delta_z / b.delta
    v_ul = v_pl * a.phi_u * a.ps + v_rl * ra_z
    v_ur = v_pr * b.phi_u * b.ps + v_rr * rb_z
    v_tl = v_pl * a.phi * a.ps_t + v_rl * (ra_z * kva / a.t - ra * a.fac_t / a.fac) + v_ts * wa
    v_tr = v_pr * b.phi * b.ps_t + v_rr * (rb_z * kvb / b.t - rb * b.fac_t / b.fac) + v_ts * wb
    f = 0.0
    f_ul = 0.0
    f_tl = 0.0
    f_ur = 0.0
    f_tr = 0.0
    if film < 0 and wall.liquid[ma] == 1 and wall.liquid[mb] == 1:
        f, f_ul, f_ur = contact(tables, wall, ma, mb, a, b, ha, hb, math.log(ts / wall.t_ref), ts)
        f_tl = f_ul / a.t
        f_tr = f_ur / b.t
    c = ca * wb
    dt = b.t - a.t
    return _with_enthalpy(
        wall, 0.5 * (a.t + b.t), 0.5, 0.5, v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr,
        -c * dt,
        -wb * wb * a.lam_u / ha * dt,
        c - wb * wb * a.lam_t / ha * dt,
        -wa * wa * b.lam_u / hb * dt,
        -c - wa * wa * b.lam_t / hb * dt,
    )  # fmt: skip


@compiled()
def boundary(tables, wall, m, film, kind, eps, outer, c, dx, side):
    """Flux INTO the wall at one of its surfaces; derivatives by the first cell stand in the right slots."""
    h = 0.5 * dx
    ta = side[T_AIR]
    pa = side[P_AIR]
    cond = c.lam / h
    if kind == SURFACE:
        if film < 0:
            i, p, s = place(ta, tables.t0, tables.t1, tables.air.shape[0])
            ps, _ = cubic(tables.air, i, P_SAT, p, s)
            phi = min(max(pa / ps, 1e-5), 1.0 - 1e-9)
            face = cell_at(tables, wall, m, math.log(-math.log(phi)), ta)
            return bulk(wall, m, face, c, h)
        ts = ta
        q = cond * (ta - c.t)
        q_t = -cond + (ta - c.t) * c.lam_t / h
        q_u = (ta - c.t) * c.lam_u / h
        ts_t = 0.0
    else:
        hc = side[H_CONV]
        hr = 4.0 * eps * SIGMA * c.t * c.t * c.t
        net = hc * (ta - c.t) + side[RADIATION] - eps * SIGMA * c.t**4
        total = hc + hr + cond
        q = cond * net / total
        q_c = net * (hc + hr) / (total * total)
        q_u = q_c * c.lam_u / h
        q_t = -cond * (hc + hr) / total + q_c * c.lam_t / h - q / total * 3.0 * hr / c.t
        ts = c.t + net / total
        ts_t = 1.0 - (hc + hr) / total
    v = 0.0
    v_u = 0.0
    v_t = 0.0
    if kind != SEALED:
        r0 = 0.0
        if kind == AIR:
            r0 = 1.0 / side[BETA]
        rc = h / (c.fac * c.delta)
        v, _, v_p, _, v_r, v_ts, _, _ = series(tables, wall, film, outer, pa, r0, c.phi * c.ps, rc, ts)
        rc_z = -rc * c.delta_z / c.delta
        v_u = v_p * c.phi_u * c.ps + v_r * rc_z
        v_t = v_p * c.phi * c.ps_t + v_r * (rc_z * wall.kappa_v[m] / c.t - rc * c.fac_t / c.fac) + v_ts * ts_t
    f = 0.0
    f_u = 0.0
    f_t = 0.0
    if kind == AIR and side[RAIN] > 0.0 and film < 0 and wall.liquid[m] == 1:
        # a wetted surface takes up what its suction draws; the rest runs off
        scale = (1.0 + wall.rest[m] * (c.t / wall.t_ref - 1.0)) / h
        full = scale * (c.theta - tables.material[tables.offset[m], THETA, 0])
        if full < side[RAIN]:
            f = max(full, 0.0)
            f_u = scale * c.theta_z
            f_t = f_u * wall.kappa[m] / c.t
        else:
            f = side[RAIN]
    # what flows carries the temperature halfway between air and cell
    return _with_enthalpy(
        wall, 0.5 * (ta + c.t), 0.5, 0.5, v, 0.0, 0.0, v_u, v_t, f, 0.0, 0.0, f_u, f_t, q, 0.0, 0.0, q_u, q_t
    )
