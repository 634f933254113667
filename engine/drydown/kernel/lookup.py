"""Piecewise cubic look-up: value and slope from one cache line."""

from __future__ import annotations

import numpy as np
from numba.extending import register_jitable

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


@register_jitable(_nrt=False, forceinline=True)
def four(c, row, col):
    """Return the coefficients of one interval of one column; what is compiled for a GPU has an own `four`."""
    row = np.uint64(row)  # never negative: the compiler need not ask
    return c[row, col, 0], c[row, col, 1], c[row, col, 2], c[row, col, 3]


@compiled(_nrt=False, forceinline=True)
def cubic(c, row, col, t, scale):
    """Return value and slope of one column; beyond the ends along the tangent."""
    c0, c1, c2, c3 = four(c, row, col)
    p = min(max(t, 0.0), 1.0)
    # Horner's scheme, of the slope from what the value leaves
    b2 = c2 + p * c3
    b1 = c1 + p * b2
    slope = b1 + p * (b2 + p * c3)
    return c0 + p * b1 + slope * (t - p), slope * scale


@compiled(_nrt=False, forceinline=True)
def bend(c, row, col, t, scale):
    """Return the second derivative of one column (at the ends beyond them)."""
    row = np.uint64(row)
    p = min(max(t, 0.0), 1.0)
    return (2.0 * c[row, col, 2] + 6.0 * p * c[row, col, 3]) * scale * scale
