"""What the threads of a block hand to each other: sums and greatest values over the lanes of a wall.

Every lane adds in the same order, so that all of a wall decide alike.
"""

from __future__ import annotations

from numba import cuda

from .layout import ONE


@cuda.jit(device=True)
def total(shared, row, me):
    """Return the sum of a row of shared values over the lanes of a wall."""
    s = 0.0
    for i in range(me.home, me.home + me.lanes):
        s += shared[row, i]
    return s


@cuda.jit(device=True)
def greatest(shared, row, me):
    """Return the greatest of a row of shared values over the lanes of a wall."""
    s = shared[row, me.home]
    for i in range(me.home + ONE, me.home + me.lanes):
        s = max(s, shared[row, i])
    return s
