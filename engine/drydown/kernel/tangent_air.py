"""What the weights of moving air change by with the state: left out of the matrix of a stage, put in for tangents.

The weights of `air.convected` follow from the resistances between two states, and those from the states. Newton's
method does well without that; what a stage's end changes by with an input does not.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from . import columns as at
from .air import HOLE, _upwind, beside
from .cell import cell_of
from .faces import Half, resistance
from .humidity import ZERO_CELSIUS
from .jit import compiled
from .layout import AIR, BETA, H_CONV, T_AIR


class Held(NamedTuple):
    """Half a cell, or the air beside a surface: its state, its resistances and their derivatives by u and T."""

    p: float
    t: float
    z: float  # vapour resistance [m2 s Pa/kg]
    z_u: float
    z_t: float
    k: float  # thermal resistance [m2 K/W]
    k_u: float
    k_t: float


class More(NamedTuple):
    """What is left out of derivatives of vapour and enthalpy: by u and T on the left, on the right."""

    g_ul: float
    g_tl: float
    g_ur: float
    g_tr: float
    q_ul: float
    q_tl: float
    q_ur: float
    q_tr: float


@compiled(_nrt=False)
def _bend(peclet):
    """Return the derivative of `_upwind`."""
    if abs(peclet) < 1e-2:
        return 1.0 / 12.0
    if abs(peclet) > 80.0:
        return 1.0 / (peclet * peclet)
    s = math.sinh(0.5 * peclet)
    return 1.0 / (peclet * peclet) - 0.25 / (s * s)


@compiled(_nrt=False)
def _held(wall, rows, i, film):
    """Return half of cell i, a film standing at its face or not."""
    c = cell_of(rows, at.offset(i))
    m = wall.material[i]
    h = 0.5 * wall.dx[i]
    k = h / c.lam
    if film >= 0:
        return Held(c.phi * c.ps, c.t, 0.5 * HOLE, 0.0, 0.0, k, -k * c.lam_u / c.lam, -k * c.lam_t / c.lam)
    z, z_u = resistance(Half(m, c, h))
    z_t = z_u * wall.kappa_v[m] / c.t - z * c.fac_t / c.fac
    return Held(c.phi * c.ps, c.t, z, z_u, z_t, k, -k * c.lam_u / c.lam, -k * c.lam_t / c.lam)


@compiled(_nrt=False)
def _beside(wall, tables, rows, i, g, kind, side, film):
    """Return the air beside the surface of cell i; g, positive into the wall, flows through it."""
    z = 0.5 * HOLE if film >= 0 else 0.0
    k = 0.0
    if kind == AIR:
        z += 1.0 / side[BETA]
        k += 1.0 / side[H_CONV]
    half = Half(wall.material[i], cell_of(rows, at.offset(i)), 0.5 * wall.dx[i])
    return Held(beside(tables, g, film, kind, side, half).p, side[T_AIR], z, 0.0, 0.0, k, 0.0, 0.0)


@compiled(_nrt=False)
def _left_out(wall, loads, g, a, b):
    """Return what `convected` leaves out between a on the left and b on the right."""
    r = g * loads.ratio
    c = g * loads.c_air
    v = _upwind(r * (a.z + b.z))
    w = _upwind(c * (a.k + b.k))
    p = v * a.p + (1.0 - v) * b.p
    h = wall.latent + wall.c_vapour * (w * a.t + (1.0 - w) * b.t - ZERO_CELSIUS)
    by_z = r * _bend(r * (a.z + b.z)) * (a.p - b.p) * r
    by_k = c * _bend(c * (a.k + b.k)) * (a.t - b.t) * (c + r * p * wall.c_vapour)
    return More(
        by_z * a.z_u, by_z * a.z_t, by_z * b.z_u, by_z * b.z_t,
        h * by_z * a.z_u + by_k * a.k_u, h * by_z * a.z_t + by_k * a.k_t,
        h * by_z * b.z_u + by_k * b.k_u, h * by_z * b.z_t + by_k * b.k_t,
    )  # fmt: skip


@compiled(_nrt=False)
def weights_follow(wall, tables, loads, work, sides):
    """Add to the columns of the faces that air flows through what its weights change by."""
    n = wall.dx.shape[0]
    rows = work.rows
    for i in range(n + 1):
        g = work.air.face_air[i]
        if g == 0.0:
            continue
        o = at.offset(i)
        film = wall.film[i]
        if i == n:
            air = _beside(wall, tables, rows, n - 1, -g, wall.kind_in, sides[1], film)
            x = _left_out(wall, loads, -g, air, _held(wall, rows, n - 1, film))
            rows[o + at.G_UL] -= x.g_ur
            rows[o + at.G_TL] -= x.g_tr
            rows[o + at.Q_UL] -= x.q_ur
            rows[o + at.Q_TL] -= x.q_tr
            continue
        right = _held(wall, rows, i, film)
        if i == 0:
            left = _beside(wall, tables, rows, 0, g, wall.kind_out, sides[0], film)
        else:
            left = _held(wall, rows, i - 1, film)
        x = _left_out(wall, loads, g, left, right)
        rows[o + at.G_UR] += x.g_ur
        rows[o + at.G_TR] += x.g_tr
        rows[o + at.Q_UR] += x.q_ur
        rows[o + at.Q_TR] += x.q_tr
        if i > 0:
            rows[o + at.G_UL] += x.g_ul
            rows[o + at.G_TL] += x.g_tl
            rows[o + at.Q_UL] += x.q_ul
            rows[o + at.Q_TL] += x.q_tl
