"""Air that moves through the wall: what it carries through faces, exchanges with the sides, leaves behind.

Streams: a mass flow of dry air crosses the faces of its path. Where the path ends inside the wall (in a gap) the air
leaves to the outside, or comes from there. Gaps exchange air with a side. Deposits: indoor air that meets a place
colder than its dew point leaves the surplus there.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from . import columns as at
from .cell import cell_of
from .faces import Half, resistance
from .fluxes import Linear
from .humidity import ZERO_CELSIUS
from .jit import compiled
from .layout import AIR, BETA, CONVECTED, H_CONV, HEAT, LOAD_HEAT, LOAD_WATER, P_AIR, P_SAT, T_AIR
from .lookup import cubic, place
from .surfaces import Surface, surface_heat

#: Vapour resistance of a hole [m2 s Pa/kg]: air through a film has the state of the cell it comes from.
HOLE = 1e14


class Convected(NamedTuple):
    """Vapour [kg/(m2 s)] and enthalpy [W/m2] that an air flow carries."""

    vapour: Linear
    heat: Linear


class End(NamedTuple):
    """Vapour pressure [Pa] and temperature [K] at one end of an air flow; derivatives of the pressure by u and T."""

    p: float
    t: float
    p_u: float
    p_t: float


class Exchange(NamedTuple):
    """Air that a cell loses and gains [kg/(m2 s)]; indoor air that meets it [m3/(m2 s)], and the vapour in that."""

    lose: float
    gain_out: float
    gain_in: float
    meet: float
    meet_c: float


class Gain(NamedTuple):
    """Water [kg/(m2 s)] and enthalpy [W/m2] brought to a cell, by its pressure, and by T at constant pressure."""

    g: float
    q: float
    g_p: float
    g_t: float
    q_p: float
    q_t: float


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
def convected(wall, loads, g, z, k, left, right):
    """Return what the air flow g carries between two `End`s, weights held.

    z : vapour resistance [m2 s Pa/kg], k : thermal resistance [m2 K/W] between them.
    """
    vl = _upwind(g * loads.ratio * z)
    vr = 1.0 - vl
    hl = _upwind(g * loads.c_air * k)
    hr = 1.0 - hl
    p = vl * left.p + vr * right.p
    celsius = hl * left.t + hr * right.t - ZERO_CELSIUS
    a = g * loads.ratio
    h = wall.latent + wall.c_vapour * celsius
    by_t = g * loads.c_air + a * p * wall.c_vapour
    vapour = Linear(a * p, a * vl * left.p_u, a * vl * left.p_t, a * vr * right.p_u, a * vr * right.p_t)
    heat = Linear(
        g * loads.c_air * celsius + a * p * h,
        a * h * vl * left.p_u,
        a * h * vl * left.p_t + by_t * hl,
        a * h * vr * right.p_u,
        a * h * vr * right.p_t + by_t * hr,
    )
    return Convected(vapour, heat)


@compiled(_nrt=False, forceinline=True)
def _end(c):
    return End(c.phi * c.ps, c.t, c.phi_u * c.ps, c.phi * c.ps_t)


@compiled(_nrt=False)
def through(wall, loads, g, film, left, right):
    """What air carries through the face between two half cells."""
    z = HOLE if film >= 0 else resistance(left)[0] + resistance(right)[0]
    k = left.h / left.cell.lam + right.h / right.cell.lam
    return convected(wall, loads, g, z, k, _end(left.cell), _end(right.cell))


@compiled(_nrt=False)
def beside(tables, g, film, kind, side, half):
    """Return what stands beside a surface for an air flow g, positive into the wall, as `End`; derivatives by the cell.

    Against air that leaves, vapour diffuses in, and the weights of `convected` count on all of it. Of dew on a bare
    surface no more comes in than a saturated face passes on: more taken off for it would be drawn from a dry cell.
    """
    p = side[P_AIR]
    if g < 0.0 and film < 0 and kind == AIR:
        _, ts = surface_heat(Surface(film, kind, 0), half, side)
        i, q, s = place(ts.value, tables.t0, tables.t1, tables.air.shape[0])
        ps, ps_t = cubic(tables.air, i, P_SAT, q, s)
        if ps < p:
            return End(ps, side[T_AIR], ps_t * ts.ur, ps_t * ts.tr)
    return End(p, side[T_AIR], 0.0, 0.0)


@compiled(_nrt=False)
def through_surface(wall, tables, loads, g, film, kind, side, half):
    """The same at a surface, g positive into the wall; what stands on the right are the derivatives by the cell."""
    z = HOLE if film >= 0 else resistance(half)[0]
    k = half.h / half.cell.lam
    if kind == AIR:
        z += 1.0 / side[BETA]
        k += 1.0 / side[H_CONV]
    air = beside(tables, g, film, kind, side, half)
    x = convected(wall, loads, g, z, k, End(air.p, air.t, 1.0, 0.0), _end(half.cell))
    v = x.vapour
    h = x.heat
    return Convected(
        Linear(v.value, 0.0, 0.0, v.ur + v.ul * air.p_u, v.tr + v.ul * air.p_t),
        Linear(h.value, 0.0, 0.0, h.ur + h.ul * air.p_u, h.tr + h.ul * air.p_t),
    )


@compiled(_nrt=False, forceinline=True)
def _add(rows, o, watched, k, x):
    """Add what air carries to the columns of a face, and to the record of a watched one (k < 0: none)."""
    rows[o + at.G] += x.vapour.value
    rows[o + at.G_UL] += x.vapour.ul
    rows[o + at.G_TL] += x.vapour.tl
    rows[o + at.G_UR] += x.vapour.ur
    rows[o + at.G_TR] += x.vapour.tr
    rows[o + at.Q] += x.heat.value
    rows[o + at.Q_UL] += x.heat.ul
    rows[o + at.Q_TL] += x.heat.tl
    rows[o + at.Q_UR] += x.heat.ur
    rows[o + at.Q_TR] += x.heat.tr
    if k >= 0:
        for j in range(5):
            watched[k, HEAT, j] += x.heat[j]
            watched[k, CONVECTED, j] = x.vapour[j]


@compiled(_nrt=False)
def air_pass(wall, tables, loads, work, sides):
    """Add what moving air carries through faces, and write what it brings to cells, to the rows."""
    n = wall.dx.shape[0]
    rows = work.rows
    air = work.air
    for i in range(1, n):
        if air.face_air[i] != 0.0:
            left = Half(wall.material[i - 1], cell_of(rows, at.offset(i - 1)), 0.5 * wall.dx[i - 1])
            right = Half(wall.material[i], cell_of(rows, at.offset(i)), 0.5 * wall.dx[i])
            x = through(wall, loads, air.face_air[i], wall.film[i], left, right)
            _add(rows, at.offset(i), work.watched, wall.watch[i], x)
    if air.face_air[0] != 0.0:
        half = Half(wall.material[0], cell_of(rows, at.offset(0)), 0.5 * wall.dx[0])
        x = through_surface(wall, tables, loads, air.face_air[0], wall.film[0], wall.kind_out, sides[0], half)
        _add(rows, at.offset(0), work.watched, wall.watch[0], x)
    if air.face_air[n] != 0.0:
        half = Half(wall.material[n - 1], cell_of(rows, at.offset(n - 1)), 0.5 * wall.dx[n - 1])
        x = through_surface(wall, tables, loads, -air.face_air[n], wall.film[n], wall.kind_in, sides[1], half)
        _add(rows, at.offset(n), work.watched, wall.watch[n], _turned(x))
    for i in range(n):
        o = at.offset(i)
        for column in (at.GAIN_W, at.GAIN_W_U, at.GAIN_W_T, at.GAIN_H, at.GAIN_H_U, at.GAIN_H_T):
            rows[o + column] = 0.0
        if air.lose[i] > 0.0 or air.gain_out[i] > 0.0 or air.meet[i] > 0.0:
            ex = Exchange(air.lose[i], air.gain_out[i], air.gain_in[i], air.meet[i], air.meet_c[i])
            c = cell_of(rows, o)
            x = exchanged(wall, loads, ex, sides, c)
            rows[o + at.GAIN_W] = x.g
            rows[o + at.GAIN_H] = x.q
            rows[o + at.GAIN_W_U] = x.g_p * (c.phi_u * c.ps)
            rows[o + at.GAIN_W_T] = x.g_p * (c.phi * c.ps_t) + x.g_t
            rows[o + at.GAIN_H_U] = x.q_p * (c.phi_u * c.ps)
            rows[o + at.GAIN_H_T] = x.q_p * (c.phi * c.ps_t) + x.q_t


@compiled(_nrt=False, forceinline=True)
def turned(x):
    """Return a flow into the wall through its inner surface as the inward flow there; the cell stands on the left."""
    return Linear(-x.value, -x.ur, -x.tr, 0.0, 0.0)


@compiled(_nrt=False, forceinline=True)
def _turned(x):
    return Convected(turned(x.vapour), turned(x.heat))


@compiled(_nrt=False)
def exchanged(wall, loads, ex, sides, c):
    """Return what moving air brings to one cell per area."""
    out, inn = sides
    r = loads.ratio
    p = c.phi * c.ps
    celsius = c.t - ZERO_CELSIUS
    h = wall.latent + wall.c_vapour * celsius
    ho = wall.latent + wall.c_vapour * (out[T_AIR] - ZERO_CELSIUS)
    hi = wall.latent + wall.c_vapour * (inn[T_AIR] - ZERO_CELSIUS)
    g = r * (ex.gain_out * out[P_AIR] + ex.gain_in * inn[P_AIR] - ex.lose * p)
    q = (
        ex.gain_out * (loads.c_air * (out[T_AIR] - ZERO_CELSIUS) + r * out[P_AIR] * ho)
        + ex.gain_in * (loads.c_air * (inn[T_AIR] - ZERO_CELSIUS) + r * inn[P_AIR] * hi)
        - ex.lose * (loads.c_air * celsius + r * p * h)
    )
    g_t = 0.0
    q_t = -ex.lose * (loads.c_air + r * p * wall.c_vapour)
    if ex.meet > 0.0:
        at_saturation = c.ps / (wall.r_vapour * c.t)
        left = ex.meet_c - ex.meet * at_saturation
        if left > 0.0:
            by_t = -ex.meet * (c.ps_t / (wall.r_vapour * c.t) - at_saturation / c.t)
            g += left
            q += left * h
            g_t += by_t
            q_t += by_t * h + left * wall.c_vapour
    return Gain(g, q, -ex.lose * r, g_t, -ex.lose * r * h, q_t)


@compiled(_nrt=False, forceinline=True)
def brought(wall, loads, ex, sides, c, du, dt):
    """Return the water and enthalpy that moving air brings to one cell in the last linearised sweep."""
    x = exchanged(wall, loads, ex, sides, c)
    dp = c.phi_u * c.ps * du + c.phi * c.ps_t * dt
    return x.g + x.g_p * dp + x.g_t * dt, x.q + x.q_p * dp + x.q_t * dt


@compiled(_nrt=False)
def linear_loads(wall, loads, work, sides):
    """Write what every load brought in the last linearised sweep to work.load."""
    n = wall.dx.shape[0]
    air = work.air
    work.load[:] = 0.0
    row = 0
    for j in range(loads.gap_lift.shape[0]):
        for i in range(n):
            if loads.gap_cells[j, i] == 1:
                m = air.gap_rate[j] * wall.dx[i]
                m_in = m if loads.gap_side[j] == 1 else 0.0
                _bring(wall, loads, work, i, row, Exchange(m, m - m_in, m_in, 0.0, 0.0), sides)
        row += 1
    for j in range(loads.path.shape[0]):
        for i in range(n):
            surplus = air.stream_rate[j] * (loads.path[j, i] - loads.path[j, i + 1])
            if surplus != 0.0:
                ex = Exchange(max(surplus, 0.0), max(-surplus, 0.0), 0.0, 0.0, 0.0)
                _bring(wall, loads, work, i, row, ex, sides)
        row += 1
    for j in range(loads.deposit_cells.shape[0]):
        for i in range(n):
            m = air.meet_rate[j] * loads.deposit_cells[j, i]
            if m > 0.0:
                _bring(wall, loads, work, i, row, Exchange(0.0, 0.0, 0.0, m, m * air.meet_brought[j]), sides)
        row += 1


@compiled(_nrt=False)
def _bring(wall, loads, work, i, row, ex, sides):
    g, q = brought(wall, loads, ex, sides, cell_of(work.rows, at.offset(i)), work.du[i], work.dt[i])
    work.load[row, LOAD_WATER] += g
    work.load[row, LOAD_HEAT] += q
