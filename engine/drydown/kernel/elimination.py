"""The 2x2 block tridiagonal system of a wall: residuals, factors, solution, apart.

The unknowns are the corrections of (u, T) of every cell, the equations the balances of water and enthalpy. The factors
(what is eliminated toward the middle and, where asked for, the inverse diagonal blocks) stay in the rows and can serve
further right-hand sides. All but the cells in the middle go two by two (`chains`).
"""

from __future__ import annotations

from typing import NamedTuple

from . import columns as at
from .chains import apart, with_loads, without_loads
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
def _own(rows, o, right, a, moving):
    """Return what the balances of the cell at o change by with its own state, and what is missing in them."""
    g_u = rows[o + at.G_UR] - rows[right + at.G_UL]
    g_t = rows[o + at.G_TR] - rows[right + at.G_TL]
    q_u = rows[o + at.Q_UR] - rows[right + at.Q_UL]
    q_t = rows[o + at.Q_TR] - rows[right + at.Q_TL]
    if moving:
        g_u += rows[o + at.GAIN_W_U]
        g_t += rows[o + at.GAIN_W_T]
        q_u += rows[o + at.GAIN_H_U]
        q_t += rows[o + at.GAIN_H_T]
    return Block(
        rows[o + at.WATER_U] - a * g_u, rows[o + at.WATER_T] - a * g_t, rows[o + at.HEAT_U] - a * q_u,
        rows[o + at.HEAT_T] - a * q_t, rows[o + at.R_W], rows[o + at.R_H],
    )  # fmt: skip


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
def _kept(rows, o):
    """Return what was kept of a cell."""
    return Block(
        rows[o + at.E_UU], rows[o + at.E_UT], rows[o + at.E_TU], rows[o + at.E_TT], rows[o + at.F_U], rows[o + at.F_T]
    )


@compiled(_nrt=False, forceinline=True)
def factor(rows, n, a, moving, keep):
    """Eliminate from both surfaces at once; factors and reduced right-hand sides go to the rows.

    A cell waits for its neighbour; two chains that do not wait for each other take no longer than one. moving : loads
    or sources bring a cell more or less by its state; keep : the inverses of the diagonal blocks are written, for
    further right-hand sides.
    """
    m = middle(n)
    if moving:
        with_loads(rows, n, n - 1 - m, a, keep)
    else:
        without_loads(rows, n, n - 1 - m, a, keep)
    e = Block(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    f = e
    if n - 1 - m > 0:
        e = _kept(rows, at.offset(n - 2 - m))
        f = _kept(rows, at.offset(m + 1))
    if n - 1 - m < m:
        o = at.offset(m - 1)
        b = _less(_own(rows, o, at.offset(m), a, moving), _outward(rows, o, a), e)
        e = _solved(rows, o, b, _inward(rows, at.offset(m), a), keep)
    o = at.offset(m)
    b = _less(_own(rows, o, at.offset(m + 1), a, moving), _outward(rows, o, a), e)
    b = _less(b, _inward(rows, at.offset(m + 1), a), f)
    _solved(rows, o, b, Block(0.0, 0.0, 0.0, 0.0, 0.0, 0.0), keep)


@compiled(_nrt=False, forceinline=True)
def _put(rows, o, u, t):
    """Return the solution of the cell at o, that of the neighbour on the side of the middle being (u, t)."""
    return (
        rows[o + at.F_U] - rows[o + at.E_UU] * u - rows[o + at.E_UT] * t,
        rows[o + at.F_T] - rows[o + at.E_TU] * u - rows[o + at.E_TT] * t,
    )


@compiled(_nrt=False, forceinline=True)
def substitute(rows, du, dt):
    """Write the solution to du, dt."""
    n = du.shape[0]
    m = middle(n)
    u, t = _put(rows, at.offset(m), 0.0, 0.0)
    du[m] = u
    dt[m] = t
    if n - 1 - m < m:
        u, t = _put(rows, at.offset(m - 1), u, t)
        du[m - 1] = u
        dt[m - 1] = t
    apart(rows, n, n - 1 - m, du, dt)
