"""Where a thread finds what is its own, and what holds for its wall."""

from __future__ import annotations

import numpy as np
from numba import cuda

from ..kernel.layout import Control
from .layout import CELL, FACE, FACE_LENGTH, FACE_WHOLE, LOAD, MARCH, ONE, THREE, TWO, WIDTH, ZERO, Lane

_FIELDS = np.uint64(len(Control._fields))


@cuda.jit(device=True)
def lane_of(many):
    """Return where this thread finds what is its own."""
    return lane_at(many, np.uint64(cuda.blockIdx.x), np.uint64(cuda.threadIdx.x))


@cuda.jit(device=True)
def lane_at(many, block, t):
    """Return where thread t of a block finds what is its own."""
    lanes = np.uint64(many.lanes)
    longest = np.uint64(many.longest)
    most = np.uint64(many.most_slots)
    number = np.uint64(many.sources)
    gaps = np.uint64(many.gaps)
    streams = np.uint64(many.streams)
    deposits = np.uint64(many.deposits)
    q = t % lanes
    w = block * (WIDTH // lanes) + t // lanes
    n = np.uint64(many.cells[w])
    each = n // lanes
    more = n % lanes
    count = each + ONE if q < more else each
    faces = np.uint64(many.faces[w])
    slots = (faces + lanes - ONE - q) // lanes if faces > q else ZERO
    o = block * longest * CELL + t
    c = block * longest * WIDTH + t
    last = ZERO  # of the lane on the left
    if q > ZERO:
        last = each if q - ONE < more or each == ZERO else each - ONE
    before = o if q == ZERO else o - ONE + last * CELL
    before_c = c if q == ZERO else c - ONE + last * WIDTH
    return Lane(
        block, t, w, q, lanes, t - q, count, slots, faces, o, o - q, c, before, before_c,
        block * most * FACE + t, block * most * FACE + t - q, block * most * FACE_WHOLE + t,
        block * most * FACE_LENGTH + t, block * number * longest * WIDTH + t, block * number * THREE * WIDTH + t,
        block * (gaps + streams + deposits + deposits) * WIDTH + t, block * (gaps + streams + deposits) * LOAD + t,
        block * MARCH + t,
    )  # fmt: skip


@cuda.jit(device=True)
def control_of(many, w):
    """Return the control of steps of a wall."""
    c = many.control
    i = w * _FIELDS
    return Control(
        c[i], c[i + ONE], c[i + TWO], c[i + THREE], c[i + THREE + ONE], c[i + THREE + TWO], c[i + THREE + THREE],
        c[i + _FIELDS - ONE],
    )  # fmt: skip


@cuda.jit(device=True)
def mark_of(many, weather, me, k):
    """Return when mark k of a wall is [s]."""
    return weather.marks[np.uint64(many.marks[me.w]) + np.uint64(k)]
