"""Piecewise cubic look-up: value and slope from one cache line."""

from __future__ import annotations

import numpy as np

from .jit import compiled


@compiled(_nrt=False, forceinline=True)
def place(x, x0, x1, n):
    """Return (interval, position in it, points per unit); the position leaves [0, 1] outside the table."""
    scale = n / (x1 - x0)
    i, p = within(x - x0, scale, n)
    return i, p, scale


@compiled(_nrt=False, forceinline=True)
def within(x, scale, n):
    """Return (interval, position in it) of a place x behind the beginning; scale : points per unit."""
    s = x * scale
    i = min(max(int(s), 0), n - 1)
    return i, s - i


@compiled(_nrt=False, forceinline=True)
def cubic(c, row, col, t, scale):
    """Return value and slope of one column; beyond the ends along the tangent."""
    row = np.uint64(row)  # never negative: the compiler need not ask
    p = min(max(t, 0.0), 1.0)
    # Horner's scheme, of the slope from what the value leaves
    a3 = c[row, col, 3]
    b2 = c[row, col, 2] + p * a3
    b1 = c[row, col, 1] + p * b2
    slope = b1 + p * (b2 + p * a3)
    return c[row, col, 0] + p * b1 + slope * (t - p), slope * scale


@compiled(_nrt=False, forceinline=True)
def bend(c, row, col, t, scale):
    """Return the second derivative of one column (at the ends beyond them)."""
    row = np.uint64(row)
    p = min(max(t, 0.0), 1.0)
    return (2.0 * c[row, col, 2] + 6.0 * p * c[row, col, 3]) * scale * scale
