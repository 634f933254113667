"""Piecewise cubic look-up: value and slope from one cache line."""

from __future__ import annotations

from .jit import compiled


@compiled()
def place(x, x0, x1, n):
    """Return (interval, position in it, points per unit); the position leaves [0, 1] outside the table."""
    scale = n / (x1 - x0)
    s = (x - x0) * scale
    i = int(s)
    if s < 0.0:
        i = 0
    elif i >= n:
        i = n - 1
    return i, s - i, scale


@compiled()
def cubic(c, row, col, t, scale):
    """Return value and slope of one column; beyond the ends along the tangent."""
    a1 = c[row, col, 1]
    if t < 0.0:
        return c[row, col, 0] + a1 * t, a1 * scale
    a0 = c[row, col, 0]
    a2 = c[row, col, 2]
    a3 = c[row, col, 3]
    if t > 1.0:
        d = a1 + 2.0 * a2 + 3.0 * a3
        return a0 + a1 + a2 + a3 + d * (t - 1.0), d * scale
    return a0 + t * (a1 + t * (a2 + t * a3)), (a1 + t * (2.0 * a2 + 3.0 * t * a3)) * scale


@compiled()
def bend(c, row, col, t, scale):
    """Return the second derivative of one column (zero beyond the ends)."""
    if t < 0.0 or t > 1.0:
        return 0.0
    return (2.0 * c[row, col, 2] + 6.0 * t * c[row, col, 3]) * scale * scale
