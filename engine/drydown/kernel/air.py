"""Air that moves through the wall: what it carries through faces, exchanges with the sides, leaves behind.

Streams: a mass flow of dry air crosses the faces of its path. Where the path ends inside the wall (in a gap) the air
leaves to the outside, or comes from there. Gaps exchange air with a side. Deposits: indoor air that meets a place
colder than its dew point leaves the surplus there.
"""

from __future__ import annotations

import math

from .jit import compiled
from .layout import AIR, BETA, H_CONV, P_AIR, T_AIR


@compiled(_nrt=False)
def prepare(wall, loads, k, x, t, out, inn, work):
    """Fill the coefficients of a stage at fraction x between marks k and k + 1; t is the guess of its temperature.

    The air change by buoyancy is that of the guess, so it is a constant of the stage.
    """
    n = t.shape[0]
    work.face_air[:] = 0.0
    work.lose[:] = 0.0
    work.gain_out[:] = 0.0
    work.gain_in[:] = 0.0
    work.meet[:] = 0.0
    work.meet_c[:] = 0.0
    for j in range(loads.gap_lift.shape[0]):
        side_t = inn[T_AIR] if loads.gap_side[j] == 1 else out[T_AIR]
        mean = 0.0
        width = 0.0
        for i in range(n):
            if loads.gap_cells[j, i] == 1:
                mean += wall.dx[i] * t[i]
                width += wall.dx[i]
        mean /= width
        squared = (1.0 - x) * loads.gap_wind[k, j] + x * loads.gap_wind[k + 1, j]
        squared += loads.gap_lift[j] * abs(mean - side_t) / side_t
        rate = (1.0 - x) * loads.gap[k, j] + x * loads.gap[k + 1, j] + math.sqrt(max(squared, 0.0))
        rate *= loads.density / side_t
        work.gap_rate[j] = rate
        for i in range(n):
            if loads.gap_cells[j, i] == 1:
                m = rate * wall.dx[i]
                work.lose[i] += m
                if loads.gap_side[j] == 1:
                    work.gain_in[i] += m
                else:
                    work.gain_out[i] += m
    for j in range(loads.path.shape[0]):
        g = (1.0 - x) * loads.stream[k, j] + x * loads.stream[k + 1, j]
        work.stream_rate[j] = g
        for i in range(n):
            work.face_air[i] += g * loads.path[j, i]
            surplus = g * (loads.path[j, i] - loads.path[j, i + 1])
            if surplus > 0.0:
                work.lose[i] += surplus
            else:
                work.gain_out[i] -= surplus
        work.face_air[n] += g * loads.path[j, n]
    for j in range(loads.deposit_cells.shape[0]):
        v = (1.0 - x) * loads.deposit[k, j] + x * loads.deposit[k + 1, j]
        c = (1.0 - x) * loads.brought[k, j] + x * loads.brought[k + 1, j]
        work.meet_rate[j] = v
        work.meet_brought[j] = c
        for i in range(n):
            work.meet[i] += v * loads.deposit_cells[j, i]
            work.meet_c[i] += v * c * loads.deposit_cells[j, i]


@compiled(_nrt=False)
def _upwind(peclet):
    """Share of the left state in what a flow carries between two states, so that the whole flux is exact.

    Between two states with a resistance R and a steady flow the flux of y is g c (y_l e^Pe - y_r)/(e^Pe - 1),
    Pe = g c R; that is conduction plus g c (w y_l + (1 - w) y_r) with w = 1/2 + coth(Pe/2)/2 - 1/Pe: half where
    the flow is weak against diffusion, the state upstream where it is strong (Scharfetter and Gummel 1969, IEEE
    Trans. Electron Devices 16, 64).
    """
    if abs(peclet) < 1e-2:
        return 0.5 + peclet / 12.0
    if abs(peclet) > 80.0:
        return 0.5 + math.copysign(0.5, peclet) - 1.0 / peclet
    return 0.5 + 0.5 / math.tanh(0.5 * peclet) - 1.0 / peclet


@compiled(_nrt=False)
def carried(wall, loads, g, z, k, pl, tl, pr, tr):
    """Vapour and enthalpy that the air flow g carries between two states.

    z : vapour resistance [m2 s Pa/kg], k : thermal resistance [m2 K/W] between them; p, t : vapour pressure and
    temperature. Returns vapour, enthalpy and their derivatives: by pl, pr of both, by tl, tr of the enthalpy
    (weights held).
    """
    vl = _upwind(g * loads.ratio * z)
    vr = 1.0 - vl
    hl = _upwind(g * loads.c_air * k)
    hr = 1.0 - hl
    p = vl * pl + vr * pr
    theta = hl * tl + hr * tr - 273.15
    a = g * loads.ratio
    h = wall.latent + wall.c_vapour * theta
    by_t = g * loads.c_air + a * p * wall.c_vapour
    return (
        a * p, g * loads.c_air * theta + a * p * h,
        a * vl, a * vr, a * h * vl, a * h * vr, by_t * hl, by_t * hr,
    )  # fmt: skip


@compiled(_nrt=False)
def through(wall, loads, air, film, a, b, ha, hb):
    """What air carries through the face between cells a and b: g and q, each with derivatives (ul, tl, ur, tr).

    Through a film (a hole in it) the air has the state of the cell it comes from.
    """
    z = 1e14 if film >= 0 else ha / (a.fac * a.delta) + hb / (b.fac * b.delta)
    k = ha / a.lam + hb / b.lam
    g, q, g_pl, g_pr, q_pl, q_pr, q_tl, q_tr = carried(wall, loads, air, z, k, a.phi * a.ps, a.t, b.phi * b.ps, b.t)
    ul = a.phi_u * a.ps
    tl = a.phi * a.ps_t
    ur = b.phi_u * b.ps
    tr = b.phi * b.ps_t
    return (
        g, g_pl * ul, g_pl * tl, g_pr * ur, g_pr * tr,
        q, q_pl * ul, q_pl * tl + q_tl, q_pr * ur, q_pr * tr + q_tr,
    )  # fmt: skip


@compiled(_nrt=False)
def through_surface(wall, loads, air, film, kind, side, c, h):
    """The same at a surface, `air` positive into the wall; derivatives are by the cell alone: g, u, t, q, u, t."""
    z = 1e14 if film >= 0 else h / (c.fac * c.delta)
    k = h / c.lam
    if kind == AIR:
        z += 1.0 / side[BETA]
        k += 1.0 / side[H_CONV]
    g, q, _, g_p, _, q_p, _, q_t = carried(wall, loads, air, z, k, side[P_AIR], side[T_AIR], c.phi * c.ps, c.t)
    pu = c.phi_u * c.ps
    pt = c.phi * c.ps_t
    return g, g_p * pu, g_p * pt, q, q_p * pu, q_p * pt + q_t


@compiled(_nrt=False)
def exchanged(wall, loads, lose, gain_out, gain_in, meet, meet_c, out, inn, p, t, ps, ps_t):
    """Water and enthalpy that moving air brings to one cell per area, with derivatives.

    Returns g [kg/(m2 s)], q [W/m2], g by p, g by T at constant p, q by p, q by T at constant p.
    """
    r = loads.ratio
    theta = t - 273.15
    h = wall.latent + wall.c_vapour * theta
    ho = wall.latent + wall.c_vapour * (out[T_AIR] - 273.15)
    hi = wall.latent + wall.c_vapour * (inn[T_AIR] - 273.15)
    g = r * (gain_out * out[P_AIR] + gain_in * inn[P_AIR] - lose * p)
    q = (
        gain_out * (loads.c_air * (out[T_AIR] - 273.15) + r * out[P_AIR] * ho)
        + gain_in * (loads.c_air * (inn[T_AIR] - 273.15) + r * inn[P_AIR] * hi)
        - lose * (loads.c_air * theta + r * p * h)
    )
    g_p = -lose * r
    g_t = 0.0
    q_p = -lose * r * h
    q_t = -lose * (loads.c_air + r * p * wall.c_vapour)
    if meet > 0.0:
        c = ps / (wall.r_vapour * t)
        left = meet_c - meet * c
        if left > 0.0:
            by_t = -meet * (ps_t / (wall.r_vapour * t) - c / t)
            g += left
            q += left * h
            g_t += by_t
            q_t += by_t * h + left * wall.c_vapour
    return g, q, g_p, g_t, q_p, q_t


@compiled(_nrt=False)
def linear_loads(wall, loads, work, out, inn, t):
    """Write what every load brought in the last linearised sweep to work.load; t is the state of that sweep."""
    n = t.shape[0]
    row = 0
    for j in range(loads.gap_lift.shape[0]):
        w = 0.0
        e = 0.0
        for i in range(n):
            if loads.gap_cells[j, i] == 1:
                m = work.gap_rate[j] * wall.dx[i]
                inside = loads.gap_side[j] == 1
                m_in = m if inside else 0.0
                dw, de = _linear(wall, loads, work, i, m, m - m_in, m_in, 0.0, 0.0, out, inn, t)
                w += dw
                e += de
        work.load[row, 0] = w
        work.load[row, 1] = e
        row += 1
    for j in range(loads.path.shape[0]):
        w = 0.0
        e = 0.0
        for i in range(n):
            surplus = work.stream_rate[j] * (loads.path[j, i] - loads.path[j, i + 1])
            if surplus != 0.0:
                dw, de = _linear(
                    wall, loads, work, i, max(surplus, 0.0), max(-surplus, 0.0), 0.0, 0.0, 0.0, out, inn, t
                )
                w += dw
                e += de
        work.load[row, 0] = w
        work.load[row, 1] = e
        row += 1
    for j in range(loads.deposit_cells.shape[0]):
        w = 0.0
        e = 0.0
        for i in range(n):
            m = work.meet_rate[j] * loads.deposit_cells[j, i]
            if m > 0.0:
                dw, de = _linear(wall, loads, work, i, 0.0, 0.0, 0.0, m, m * work.meet_brought[j], out, inn, t)
                w += dw
                e += de
        work.load[row, 0] = w
        work.load[row, 1] = e
        row += 1


@compiled(_nrt=False)
def _linear(wall, loads, work, i, lose, gain_out, gain_in, meet, meet_c, out, inn, t):
    s = work.store[i]
    p = s[8]
    g, q, g_p, g_t, q_p, q_t = exchanged(
        wall, loads, lose, gain_out, gain_in, meet, meet_c, out, inn, p, t[i], s[11], s[12]
    )
    dp = s[9] * work.du[i] + s[10] * work.dt[i]
    return g + g_p * dp + g_t * work.dt[i], q + q_p * dp + q_t * work.dt[i]
