"""The 2x2 block tridiagonal system of a wall: residuals, factors, solution, apart.

The unknowns are the corrections of (u, T) of every cell, the equations the balances of water and enthalpy. The factors
(inverse diagonal blocks and eliminated upper blocks) stay in the rows and can serve further right-hand sides.
"""

from __future__ import annotations

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


@compiled(_nrt=False)
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


@compiled(_nrt=False)
def factor(rows, n, a, moving):
    """Eliminate from the outer surface to the inner one; factors and reduced right-hand sides go to the rows."""
    left = 0
    o = at.offset(0)
    for i in range(n):
        right = at.offset(i + 1)
        g_u = rows[o + at.G_UR] - rows[right + at.G_UL]
        g_t = rows[o + at.G_TR] - rows[right + at.G_TL]
        q_u = rows[o + at.Q_UR] - rows[right + at.Q_UL]
        q_t = rows[o + at.Q_TR] - rows[right + at.Q_TL]
        if moving:
            g_u += rows[o + at.GAIN_W_U]
            g_t += rows[o + at.GAIN_W_T]
            q_u += rows[o + at.GAIN_H_U]
            q_t += rows[o + at.GAIN_H_T]
        b00 = rows[o + at.WATER_U] - a * g_u
        b01 = rows[o + at.WATER_T] - a * g_t
        b10 = rows[o + at.HEAT_U] - a * q_u
        b11 = rows[o + at.HEAT_T] - a * q_t
        s0 = rows[o + at.R_W]
        s1 = rows[o + at.R_H]
        if i > 0:
            a00 = -a * rows[o + at.G_UL]
            a01 = -a * rows[o + at.G_TL]
            a10 = -a * rows[o + at.Q_UL]
            a11 = -a * rows[o + at.Q_TL]
            e00 = rows[left + at.E_UU]
            e01 = rows[left + at.E_UT]
            e10 = rows[left + at.E_TU]
            e11 = rows[left + at.E_TT]
            b00 -= a00 * e00 + a01 * e10
            b01 -= a00 * e01 + a01 * e11
            b10 -= a10 * e00 + a11 * e10
            b11 -= a10 * e01 + a11 * e11
            s0 -= a00 * rows[left + at.F_U] + a01 * rows[left + at.F_T]
            s1 -= a10 * rows[left + at.F_U] + a11 * rows[left + at.F_T]
        det = 1.0 / (b00 * b11 - b01 * b10)
        c00 = a * rows[right + at.G_UR]
        c01 = a * rows[right + at.G_TR]
        c10 = a * rows[right + at.Q_UR]
        c11 = a * rows[right + at.Q_TR]
        rows[o + at.E_UU] = det * (b11 * c00 - b01 * c10)
        rows[o + at.E_UT] = det * (b11 * c01 - b01 * c11)
        rows[o + at.E_TU] = det * (b00 * c10 - b10 * c00)
        rows[o + at.E_TT] = det * (b00 * c11 - b10 * c01)
        rows[o + at.D_UU] = det * b11
        rows[o + at.D_UT] = -det * b01
        rows[o + at.D_TU] = -det * b10
        rows[o + at.D_TT] = det * b00
        rows[o + at.F_U] = det * (b11 * s0 - b01 * s1)
        rows[o + at.F_T] = det * (b00 * s1 - b10 * s0)
        left = o
        o = right


@compiled(_nrt=False)
def forward(rows, n, a):
    """Reduce new right-hand sides with the factors that stand in the rows."""
    u = 0.0
    t = 0.0
    for i in range(n):
        o = at.offset(i)
        s0 = rows[o + at.R_W]
        s1 = rows[o + at.R_H]
        if i > 0:
            s0 += a * (rows[o + at.G_UL] * u + rows[o + at.G_TL] * t)
            s1 += a * (rows[o + at.Q_UL] * u + rows[o + at.Q_TL] * t)
        u = rows[o + at.D_UU] * s0 + rows[o + at.D_UT] * s1
        t = rows[o + at.D_TU] * s0 + rows[o + at.D_TT] * s1
        rows[o + at.F_U] = u
        rows[o + at.F_T] = t


@compiled(_nrt=False)
def substitute(rows, du, dt):
    """Write the solution to du, dt."""
    n = du.shape[0]
    o = at.offset(n - 1)
    u = rows[o + at.F_U]
    t = rows[o + at.F_T]
    du[n - 1] = u
    dt[n - 1] = t
    for i in range(n - 2, -1, -1):
        o = at.offset(i)
        before = u
        u = rows[o + at.F_U] - rows[o + at.E_UU] * before - rows[o + at.E_UT] * t
        t = rows[o + at.F_T] - rows[o + at.E_TU] * before - rows[o + at.E_TT] * t
        du[i] = u
        dt[i] = t
