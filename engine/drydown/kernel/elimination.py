"""The 2x2 block tridiagonal system of a wall: residuals, factors, solution, apart.

The unknowns are the corrections of (u, T) of every cell, the equations the balances of water and enthalpy. The factors
(what is eliminated toward the middle and, where asked for, the inverse diagonal blocks) stay in the rows and can serve
further right-hand sides.
"""

from __future__ import annotations

from typing import NamedTuple

from . import columns as at
from .jit import compiled


@compiled(_nrt=False, forceinline=True)
def _balance(x, j, right, a, moving, bring_w, bring_h, water, heat):
    """Write what is missing in the balances of the cell at j, the face to its right standing at `right`."""
    if moving:
        bring_w += x[j + at.GAIN_W]
        bring_h += x[j + at.GAIN_H]
    x[j + at.R_W] = -(x[j + at.WATER] - water - a * (x[j + at.G] - x[right + at.G] + bring_w))
    x[j + at.R_H] = -(x[j + at.HEAT] - heat - a * (x[j + at.Q] - x[right + at.Q] + bring_h))


@compiled(_nrt=False, forceinline=True)
def residual_pass(wall, work, water, heat, a, moving):
    """Write the right-hand sides; water, heat : y* [kg/m2, J/m2], a : gamma h [s]."""
    n = wall.dx.shape[0]
    for begin in range(0, n, at.BLOCK):
        x = work.rows[at.offset(begin) :]
        dx = wall.dx[begin:]
        src_w = work.src_w[begin:]
        src_h = work.src_h[begin:]
        w = water[begin:]
        q = heat[begin:]
        inside = min(n - begin, at.BLOCK - 1)
        for j in range(inside):
            _balance(x, j, j + 1, a, moving, dx[j] * src_w[j], dx[j] * src_h[j], w[j], q[j])
        if n - begin >= at.BLOCK:
            j = at.BLOCK - 1
            _balance(x, j, at.SIZE, a, moving, dx[j] * src_w[j], dx[j] * src_h[j], w[j], q[j])


class Block(NamedTuple):
    """A 2x2 block and a right-hand side of water and enthalpy."""

    uu: float
    ut: float
    tu: float
    tt: float
    w: float
    h: float


@compiled(_nrt=False, forceinline=True)
def _own(x, j, right, a, moving):
    """Write what the balances of the cell at j change by with its own state."""
    g_u = x[j + at.G_UR] - x[right + at.G_UL]
    g_t = x[j + at.G_TR] - x[right + at.G_TL]
    q_u = x[j + at.Q_UR] - x[right + at.Q_UL]
    q_t = x[j + at.Q_TR] - x[right + at.Q_TL]
    if moving:
        g_u += x[j + at.GAIN_W_U]
        g_t += x[j + at.GAIN_W_T]
        q_u += x[j + at.GAIN_H_U]
        q_t += x[j + at.GAIN_H_T]
    x[j + at.D_UU] = x[j + at.WATER_U] - a * g_u
    x[j + at.D_UT] = x[j + at.WATER_T] - a * g_t
    x[j + at.D_TU] = x[j + at.HEAT_U] - a * q_u
    x[j + at.D_TT] = x[j + at.HEAT_T] - a * q_t


@compiled(_nrt=False)
def diagonal_pass(rows, n, a, moving):
    """Write the diagonal blocks."""
    for begin in range(0, n, at.BLOCK):
        x = rows[at.offset(begin) :]
        for j in range(min(n - begin, at.BLOCK - 1)):
            _own(x, j, j + 1, a, moving)
        if n - begin >= at.BLOCK:
            _own(x, at.BLOCK - 1, at.SIZE, a, moving)


@compiled(_nrt=False, forceinline=True)
def _diagonal(rows, o):
    """Return the diagonal block of the cell at o, and what is missing in its balances."""
    return Block(
        rows[o + at.D_UU], rows[o + at.D_UT], rows[o + at.D_TU], rows[o + at.D_TT], rows[o + at.R_W], rows[o + at.R_H]
    )


@compiled(_nrt=False, forceinline=True)
def _outward(rows, o, a):
    """Return what the balances of the cell at o change by with the state of its outer neighbour; no right-hand side."""
    return Block(
        -a * rows[o + at.G_UL], -a * rows[o + at.G_TL], -a * rows[o + at.Q_UL], -a * rows[o + at.Q_TL], 0.0, 0.0
    )


@compiled(_nrt=False, forceinline=True)
def _inward(rows, right, a):
    """Return what they change by with the state of its inner neighbour; right : where that stands."""
    return Block(
        a * rows[right + at.G_UR],
        a * rows[right + at.G_TR],
        a * rows[right + at.Q_UR],
        a * rows[right + at.Q_TR],
        0.0,
        0.0,
    )


@compiled(_nrt=False, forceinline=True)
def _less(b, c, e):
    """Return b less c times e."""
    return Block(
        b.uu - c.uu * e.uu - c.ut * e.tu, b.ut - c.uu * e.ut - c.ut * e.tt, b.tu - c.tu * e.uu - c.tt * e.tu,
        b.tt - c.tu * e.ut - c.tt * e.tt, b.w - c.uu * e.w - c.ut * e.h, b.h - c.tu * e.w - c.tt * e.h,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def _solved(rows, o, b, c, keep):
    """Keep the inverse of b times c and times the right-hand side of b, and return both."""
    det = 1.0 / (b.uu * b.tt - b.ut * b.tu)
    e = Block(
        det * (b.tt * c.uu - b.ut * c.tu), det * (b.tt * c.ut - b.ut * c.tt), det * (b.uu * c.tu - b.tu * c.uu),
        det * (b.uu * c.tt - b.tu * c.ut), det * (b.tt * b.w - b.ut * b.h), det * (b.uu * b.h - b.tu * b.w),
    )  # fmt: skip
    rows[o + at.E_UU] = e.uu
    rows[o + at.E_UT] = e.ut
    rows[o + at.E_TU] = e.tu
    rows[o + at.E_TT] = e.tt
    rows[o + at.F_U] = e.w
    rows[o + at.F_T] = e.h
    if keep:
        rows[o + at.D_UU] = det * b.tt
        rows[o + at.D_UT] = -det * b.ut
        rows[o + at.D_TU] = -det * b.tu
        rows[o + at.D_TT] = det * b.uu
    return e


@compiled(_nrt=False, forceinline=True)
def middle(n):
    """Return the cell at which the eliminations from both surfaces meet."""
    return n // 2


@compiled(_nrt=False, forceinline=True)
def _from_outside(rows, k, a, e, keep):
    """Eliminate cell k, e being what its outer neighbour left."""
    o = at.offset(k)
    return _solved(
        rows, o, _less(_diagonal(rows, o), _outward(rows, o, a), e), _inward(rows, at.offset(k + 1), a), keep
    )


@compiled(_nrt=False)
def factor(rows, n, a, keep):
    """Eliminate from both surfaces at once; factors and reduced right-hand sides go to the rows.

    A cell waits for its neighbour; two chains that do not wait for each other take little longer than one. keep : the
    inverses take the place of the diagonal blocks, for further right-hand sides.
    """
    m = middle(n)
    e = Block(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    f = e
    for k in range(n - 1 - m):
        e = _from_outside(rows, k, a, e, keep)
        o = at.offset(n - 1 - k)
        right = at.offset(n - k)
        f = _solved(rows, o, _less(_diagonal(rows, o), _inward(rows, right, a), f), _outward(rows, o, a), keep)
    if n - 1 - m < m:
        e = _from_outside(rows, m - 1, a, e, keep)
    o = at.offset(m)
    b = _less(_diagonal(rows, o), _outward(rows, o, a), e)
    b = _less(b, _inward(rows, at.offset(m + 1), a), f)
    _solved(rows, o, b, Block(0.0, 0.0, 0.0, 0.0, 0.0, 0.0), keep)


@compiled(_nrt=False, forceinline=True)
def _put(rows, o, u, t):
    """Return the solution of the cell at o, that of the neighbour on the side of the middle being (u, t)."""
    return (
        rows[o + at.F_U] - rows[o + at.E_UU] * u - rows[o + at.E_UT] * t,
        rows[o + at.F_T] - rows[o + at.E_TU] * u - rows[o + at.E_TT] * t,
    )


@compiled(_nrt=False)
def substitute(rows, du, dt):
    """Write the solution to du, dt."""
    n = du.shape[0]
    m = middle(n)
    u, t = _put(rows, at.offset(m), 0.0, 0.0)
    du[m] = u
    dt[m] = t
    v = u
    s = t
    for k in range(1, n - m):
        v, s = _put(rows, at.offset(m + k), v, s)
        du[m + k] = v
        dt[m + k] = s
        if k <= m:
            u, t = _put(rows, at.offset(m - k), u, t)
            du[m - k] = u
            dt[m - k] = t
    if m > n - 1 - m:
        u, t = _put(rows, at.offset(0), u, t)
        du[0] = u
        dt[0] = t
