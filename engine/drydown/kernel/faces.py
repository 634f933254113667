"""Faces between layers and at the two surfaces: the state of the face itself is found first.

The half cell on each side of such a face is treated like the inside of a layer (vapour by the integral of the
permeability, liquid by the integral of K), up to the face, whose humidity follows from continuity: what
arrives from one side leaves on the other. Without this the half cell counts as a vapour resistance only,
and drying is first order in the width of the cell. The temperature of the face follows from conduction
(latent heat released at the face shifts it by well under 0.1 K across half a cell).

Where more vapour arrives at a face than a saturated face can pass on into the pores, the face stays
saturated and the surplus is given to the cell: water is never lost. At the two surfaces the surplus (rain,
or dew on a surface that is wet already) runs off.
"""

from __future__ import annotations

import math

from .cell import cell_at
from .fluxes import bulk, series, with_enthalpy
from .jit import compiled
from .layout import AIR, BETA, H_CONV, P_AIR, P_SAT, RADIATION, RAIN, SEALED, SURFACE, T_AIR
from .lookup import cubic, place

SIGMA = 5.670374e-8
WETTEST = -19.9
DRIEST = 2.3
#: A face is found when its next correction of u is below this; that correction is still applied.
CLOSE = 1e-2


@compiled(_nrt=False)
def _toward(tables, wall, m, c, us, ts, h):
    """Total moisture flow from cell c to a face at (us, ts), and derivatives by us, ts, u and t of the cell."""
    face = cell_at(tables, wall, m, us, ts)
    x = bulk(wall, m, c, face, h)
    return (
        x.v, x.v + x.l, x.v_ur + x.l_ur, x.v_tr + x.l_tr, x.v_ul + x.l_ul, x.v_tl + x.l_tl,
        face.phi * face.ps, face.phi_u * face.ps, face.phi * face.ps_t,
    )  # fmt: skip


@compiled(_nrt=False)
def _one_sided(tables, wall, film, outer, m, c, h, p, r, extra, ts, guess, k, drain):
    """Flow OUT of cell c through a face into vapour pressure p behind resistance r.

    `extra` [kg/(m2 s)] is liquid offered at the face; `drain` 1: what the pores cannot take runs off. Returns
    g_v (vapour beyond the face), the share of `extra` taken up, the derivatives of g_v by (u, t, p, r, ts) and
    those of the uptake by (u, t, ts).
    """
    us = min(max(c.u + guess[k], WETTEST), DRIEST)
    low = WETTEST
    high = DRIEST
    pinned = False
    tried = False
    for _ in range(50):
        _, total, g_us, g_ts, g_u, g_t, ps, ps_u, ps_ts = _toward(tables, wall, m, c, us, ts, h)
        g, g_pl, g_pr, _, g_rr, g_film, _, _ = series(tables, wall, film, outer, ps, 0.0, p, r, ts)
        f = total - g + extra
        slope = g_us - g_pl * ps_u
        if f > 0.0:
            high = us
        else:
            low = us
        if us <= WETTEST and f > 0.0:
            pinned = True
            break
        if slope > 0.0:
            new = us - f / slope
        else:
            new = 0.5 * (low + high)
        if not (new >= low and new <= high):
            new = 0.5 * (low + high)
            if f > 0.0 and not tried:
                new = WETTEST  # the wet end either holds the root above it or is the answer
                tried = True
        step = new - us
        us = new
        if abs(step) < CLOSE and us > WETTEST:
            g += g_pl * ps_u * step
            break
    guess[k] = us - c.u
    if pinned:
        # the saturated face takes up less than is offered: the rest of the liquid runs off
        taken = min(max(g - total, 0.0), extra)
        inside = 1.0 if taken > 0.0 and taken < extra else 0.0
        if drain == 1 and g < total:
            return total, 0.0, g_u, g_t, 0.0, 0.0, g_ts, 0.0, 0.0, 0.0
        own_ts = g_pl * ps_ts + g_film
        return (
            g, taken, 0.0, 0.0, g_pr, g_rr, own_ts,
            -inside * g_u, -inside * g_t, inside * (own_ts - g_ts),
        )  # fmt: skip
    slope = g_us - g_pl * ps_u
    inv = 1.0 / slope if slope > 0.0 else 0.0
    # how the face follows the state on both sides
    s_u = -g_u * inv
    s_t = -g_t * inv
    s_p = g_pr * inv
    s_r = g_rr * inv
    s_ts = -(g_ts - g_pl * ps_ts - g_film) * inv
    lead = g_pl * ps_u
    return (
        g, extra, lead * s_u, lead * s_t, g_pr + lead * s_p, g_rr + lead * s_r, g_pl * ps_ts + g_film + lead * s_ts,
        0.0, 0.0, 0.0,
    )  # fmt: skip


@compiled(_nrt=False)
def _two_sided(tables, wall, film, ma, mb, a, b, ha, hb, ts, guess):
    """Flow from cell a to cell b when both half cells are resolved.

    Returns v, total and the derivatives of the total by (ua, ta, ub, tb, ts).
    """
    sa = a.u + guess[0]
    sb = b.u + guess[1]
    if film < 0:
        low = WETTEST
        high = DRIEST
        s = min(max(sa, low), high)
        for _ in range(60):
            va, ga, ga_s, ga_ts, ga_u, ga_t, _, _, _ = _toward(tables, wall, ma, a, s, ts, ha)
            vb, gb, gb_s, gb_ts, gb_u, gb_t, _, _, _ = _toward(tables, wall, mb, b, s, ts, hb)
            f = ga + gb
            slope = ga_s + gb_s
            if f > 0.0:
                high = s
            else:
                low = s
            new = s - f / slope if slope > 0.0 else 0.5 * (low + high)
            if not (new >= low and new <= high):
                new = 0.5 * (low + high)
            step = new - s
            s = new
            if abs(step) < CLOSE:
                ga += ga_s * step
                gb += gb_s * step
                break
        guess[0] = s - a.u
        guess[1] = s - b.u
        slope = ga_s + gb_s
        wa = ga_s / slope if slope > 0.0 else 0.5
        wb = 1.0 - wa
        return (
            0.5 * (va - vb), wb * ga - wa * gb, wb * ga_u, wb * ga_t, -wa * gb_u, -wa * gb_t,
            wb * ga_ts - wa * gb_ts,
        )  # fmt: skip
    sa = min(max(sa, WETTEST), DRIEST)
    sb = min(max(sb, WETTEST), DRIEST)
    for _ in range(50):
        va, ga, ga_s, ga_ts, ga_u, ga_t, pa, pa_s, pa_ts = _toward(tables, wall, ma, a, sa, ts, ha)
        vb, gb, gb_s, gb_ts, gb_u, gb_t, pb, pb_s, pb_ts = _toward(tables, wall, mb, b, sb, ts, hb)
        g, g_pl, g_pr, _, _, g_film, _, _ = series(tables, wall, film, 1, pa, 0.0, pb, 0.0, ts)
        f1 = ga - g
        f2 = gb + g
        m11 = ga_s - g_pl * pa_s
        m12 = -g_pr * pb_s
        m21 = g_pl * pa_s
        m22 = gb_s + g_pr * pb_s
        det = m11 * m22 - m12 * m21
        if not det > 0.0:
            break
        da = min(max(-(m22 * f1 - m12 * f2) / det, -1.5), 1.5)
        db = min(max(-(m11 * f2 - m21 * f1) / det, -1.5), 1.5)
        na = min(max(sa + da, WETTEST), DRIEST)
        nb = min(max(sb + db, WETTEST), DRIEST)
        da = na - sa
        db = nb - sb
        sa = na
        sb = nb
        if max(abs(da), abs(db)) < CLOSE:
            g += g_pl * pa_s * da + g_pr * pb_s * db
            break
    guess[0] = sa - a.u
    guess[1] = sb - b.u
    own = g_pl * pa_ts + g_pr * pb_ts + g_film
    # a face at the wet end does not move
    free_a = 1.0 if sa > WETTEST else 0.0
    free_b = 1.0 if sb > WETTEST else 0.0
    m11 = free_a * (ga_s - g_pl * pa_s) + (1.0 - free_a)
    m12 = -free_a * g_pr * pb_s
    m21 = free_b * g_pl * pa_s
    m22 = free_b * (gb_s + g_pr * pb_s) + (1.0 - free_b)
    det = m11 * m22 - m12 * m21
    inv = 1.0 / det if abs(det) > 0.0 else 0.0
    ka = g_pl * pa_s * inv
    kb = g_pr * pb_s * inv
    # change of g when f1 or f2 changes by one
    by_f1 = free_a * (-ka * m22 + kb * m21)
    by_f2 = free_b * (ka * m12 - kb * m11)
    return (
        g, g, by_f1 * ga_u, by_f1 * ga_t, by_f2 * gb_u, by_f2 * gb_t,
        own + by_f1 * (ga_ts - own) + by_f2 * (gb_ts + own),
    )  # fmt: skip


@compiled(_nrt=False)
def joint(tables, wall, ma, mb, film, a, b, dxa, dxb, guess):
    """Flux between cells of different materials, or through a film between cells."""
    ha = 0.5 * dxa
    hb = 0.5 * dxb
    ca = a.lam / ha
    cb = b.lam / hb
    inv = 1.0 / (ca + cb)
    wa = ca * inv
    wb = cb * inv
    ts = wa * a.t + wb * b.t
    f = 0.0
    f_ul = 0.0
    f_tl = 0.0
    f_ur = 0.0
    f_tr = 0.0
    if wall.resolve[ma] == 1 and wall.resolve[mb] == 1:
        v, total, g_ul, g_tl, g_ur, g_tr, g_ts = _two_sided(tables, wall, film, ma, mb, a, b, ha, hb, ts, guess)
        g_tl += wa * g_ts
        g_tr += wb * g_ts
        if film < 0:
            # derivatives are those of the sum; the split only sets the enthalpy carried
            f = total - v
            v_ul = 0.0
            v_tl = 0.0
            v_ur = 0.0
            v_tr = 0.0
            f_ul = g_ul
            f_tl = g_tl
            f_ur = g_ur
            f_tr = g_tr
        else:
            v_ul = g_ul
            v_tl = g_tl
            v_ur = g_ur
            v_tr = g_tr
    elif wall.resolve[ma] == 1:
        rb = hb / (b.fac * b.delta)
        rb_z = -rb * b.delta_z / b.delta
        v, _, v_ul, v_tl, v_p, v_r, v_ts, _, _, _ = _one_sided(
            tables, wall, film, 1, ma, a, ha, b.phi * b.ps, rb, 0.0, ts, guess, 0, 0
        )
        v_ur = v_p * b.phi_u * b.ps + v_r * rb_z
        v_tr = v_p * b.phi * b.ps_t + v_r * (rb_z * wall.kappa_v[mb] / b.t - rb * b.fac_t / b.fac) + v_ts * wb
        v_tl += v_ts * wa
    elif wall.resolve[mb] == 1:
        ra = ha / (a.fac * a.delta)
        ra_z = -ra * a.delta_z / a.delta
        v, _, v_ur, v_tr, v_p, v_r, v_ts, _, _, _ = _one_sided(
            tables, wall, film, 0, mb, b, hb, a.phi * a.ps, ra, 0.0, ts, guess, 1, 0
        )
        v = -v
        v_ur = -v_ur
        v_tr = -v_tr - v_ts * wb
        v_ul = -v_p * a.phi_u * a.ps - v_r * ra_z
        v_tl = -v_p * a.phi * a.ps_t - v_r * (ra_z * wall.kappa_v[ma] / a.t - ra * a.fac_t / a.fac) - v_ts * wa
    else:
        ra = ha / (a.fac * a.delta)
        rb = hb / (b.fac * b.delta)
        v, v_pl, v_pr, v_rl, v_rr, v_ts, _, _ = series(tables, wall, film, 1, a.phi * a.ps, ra, b.phi * b.ps, rb, ts)
        ra_z = -ra * a.delta_z / a.delta
        rb_z = -rb * b.delta_z / b.delta
        v_ul = v_pl * a.phi_u * a.ps + v_rl * ra_z
        v_ur = v_pr * b.phi_u * b.ps + v_rr * rb_z
        v_tl = v_pl * a.phi * a.ps_t + v_rl * (ra_z * wall.kappa_v[ma] / a.t - ra * a.fac_t / a.fac) + v_ts * wa
        v_tr = v_pr * b.phi * b.ps_t + v_rr * (rb_z * wall.kappa_v[mb] / b.t - rb * b.fac_t / b.fac) + v_ts * wb
    c = ca * wb
    dt = b.t - a.t
    return with_enthalpy(
        wall, 0.5 * (a.t + b.t), 0.5, 0.5, v, v_ul, v_tl, v_ur, v_tr, f, f_ul, f_tl, f_ur, f_tr,
        -c * dt,
        -wb * wb * a.lam_u / ha * dt,
        c - wb * wb * a.lam_t / ha * dt,
        -wa * wa * b.lam_u / hb * dt,
        -c - wa * wa * b.lam_t / hb * dt,
    )  # fmt: skip


@compiled(_nrt=False)
def boundary(tables, wall, m, film, kind, eps, outer, c, dx, side, guess):
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
    f = 0.0
    f_u = 0.0
    f_t = 0.0
    if kind != SEALED:
        r0 = 0.0
        if kind == AIR:
            r0 = 1.0 / side[BETA]
        if wall.resolve[m] == 1:
            rain = 0.0
            if film < 0 and kind == AIR and wall.liquid[m] == 1:
                rain = side[RAIN]
            v, f, v_u, v_t, _, _, v_ts, f_u, f_t, f_ts = _one_sided(
                tables, wall, film, 1 - outer, m, c, h, pa, r0, rain, ts, guess, 0, 1
            )
            v = -v
            v_u = -v_u
            v_t = -v_t - v_ts * ts_t
            f_t += f_ts * ts_t
        else:
            rc = h / (c.fac * c.delta)
            v, _, v_p, _, v_r, v_ts, _, _ = series(tables, wall, film, outer, pa, r0, c.phi * c.ps, rc, ts)
            rc_z = -rc * c.delta_z / c.delta
            v_u = v_p * c.phi_u * c.ps + v_r * rc_z
            v_t = v_p * c.phi * c.ps_t + v_r * (rc_z * wall.kappa_v[m] / c.t - rc * c.fac_t / c.fac) + v_ts * ts_t
    # what flows carries the temperature halfway between air and cell
    return with_enthalpy(
        wall, 0.5 * (ta + c.t), 0.5, 0.5, v, 0.0, 0.0, v_u, v_t, f, 0.0, 0.0, f_u, f_t, q, 0.0, 0.0, q_u, q_t
    )
