"""The 2x2 block tridiagonal system of a wall whose cells are dealt out to lanes in runs.

Each lane eliminates its run: x_j = F_j - E_j x_(j+1) - S_j x_left, x_left being the last unknown of the lane on its
left. What remains couples the last unknowns of the lanes; it is solved by cyclic reduction in all lanes (Hockney
and Jesshope 1981, Parallel Computers; the partition after Wang 1981, ACM Trans. Math. Softw. 7, 170-183; both from
memory). With one lane it is plain elimination.
"""

from __future__ import annotations

from typing import NamedTuple

from numba import cuda

from .layout import ONE


class Run(NamedTuple):
    """x = f - e x_right - s x_left."""

    f0: float
    f1: float
    e00: float
    e01: float
    e10: float
    e11: float
    s00: float
    s01: float
    s10: float
    s11: float


@cuda.jit(device=True)
def nothing():
    """Return x = 0."""
    return Run(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@cuda.jit(device=True)
def outside():
    """Return what stands left of a run: the last of the lane there, x = x_left."""
    return Run(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 0.0, -1.0)


@cuda.jit(device=True)
def itself():
    """Return what stands for the last of a run: x = x_right."""
    return Run(0.0, 0.0, -1.0, 0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0)


@cuda.jit(device=True)
def solved(b00, b01, b10, b11, r0, r1, c, a):
    """Return b^-1 of the right-hand side, of the block c to the right and of the block a to the left."""
    det = 1.0 / (b00 * b11 - b01 * b10)
    i00 = det * b11
    i01 = -det * b01
    i10 = -det * b10
    i11 = det * b00
    c00, c01, c10, c11 = c
    a00, a01, a10, a11 = a
    return Run(
        i00 * r0 + i01 * r1,
        i10 * r0 + i11 * r1,
        i00 * c00 + i01 * c10,
        i00 * c01 + i01 * c11,
        i10 * c00 + i11 * c10,
        i10 * c01 + i11 * c11,
        i00 * a00 + i01 * a10,
        i00 * a01 + i01 * a11,
        i10 * a00 + i11 * a10,
        i10 * a01 + i11 * a11,
    )


@cuda.jit(device=True)
def reduced(a00, a01, a10, a11, b00, b01, b10, b11, r0, r1, left):
    """Return the block on the diagonal, right-hand side and block to the left of a cell, its left neighbour gone.

    left : the `Run` of that neighbour.
    """
    return (
        b00 - a00 * left.e00 - a01 * left.e10,
        b01 - a00 * left.e01 - a01 * left.e11,
        b10 - a10 * left.e00 - a11 * left.e10,
        b11 - a10 * left.e01 - a11 * left.e11,
        r0 - a00 * left.f0 - a01 * left.f1,
        r1 - a10 * left.f0 - a11 * left.f1,
        -a00 * left.s00 - a01 * left.s10,
        -a00 * left.s01 - a01 * left.s11,
        -a10 * left.s00 - a11 * left.s10,
        -a10 * left.s01 - a11 * left.s11,
    )


@cuda.jit(device=True)
def through(first, x):
    """Return the first of a run in terms of the next cell, `first` being it in terms of x, x in terms of the next."""
    return Run(
        first.f0 - first.e00 * x.f0 - first.e01 * x.f1,
        first.f1 - first.e10 * x.f0 - first.e11 * x.f1,
        -first.e00 * x.e00 - first.e01 * x.e10,
        -first.e00 * x.e01 - first.e01 * x.e11,
        -first.e10 * x.e00 - first.e11 * x.e10,
        -first.e10 * x.e01 - first.e11 * x.e11,
        first.s00 - first.e00 * x.s00 - first.e01 * x.s10,
        first.s01 - first.e00 * x.s01 - first.e01 * x.s11,
        first.s10 - first.e10 * x.s00 - first.e11 * x.s10,
        first.s11 - first.e10 * x.s01 - first.e11 * x.s11,
    )


@cuda.jit(device=True)
def post(shared, t, x):
    """Show a `Run` to the other lanes."""
    shared[0, t] = x.f0
    shared[1, t] = x.f1
    shared[2, t] = x.e00
    shared[3, t] = x.e01
    shared[4, t] = x.e10
    shared[5, t] = x.e11
    shared[6, t] = x.s00
    shared[7, t] = x.s01
    shared[8, t] = x.s10
    shared[9, t] = x.s11


@cuda.jit(device=True)
def posted(shared, t):
    """Return the `Run` of another lane."""
    return Run(
        shared[0, t], shared[1, t], shared[2, t], shared[3, t], shared[4, t],
        shared[5, t], shared[6, t], shared[7, t], shared[8, t], shared[9, t],
    )  # fmt: skip


@cuda.jit(device=True)
def ends_of_runs(shared, me, first, last):
    """Return the last unknowns of this lane's run and of that on its left.

    first, last : the first and the last of the run; all threads of the block take part.
    """
    post(shared, me.t, first)
    cuda.syncthreads()
    n = nothing()
    if me.q + ONE < me.lanes:
        n = posted(shared, me.t + ONE)
    cuda.syncthreads()
    e = last
    # (1 - e s_next) y + s y_left - e e_next y_right = f - e f_next
    y = solved(
        1.0 - e.e00 * n.s00 - e.e01 * n.s10,
        -e.e00 * n.s01 - e.e01 * n.s11,
        -e.e10 * n.s00 - e.e11 * n.s10,
        1.0 - e.e10 * n.s01 - e.e11 * n.s11,
        e.f0 - e.e00 * n.f0 - e.e01 * n.f1,
        e.f1 - e.e10 * n.f0 - e.e11 * n.f1,
        (
            -e.e00 * n.e00 - e.e01 * n.e10,
            -e.e00 * n.e01 - e.e01 * n.e11,
            -e.e10 * n.e00 - e.e11 * n.e10,
            -e.e10 * n.e01 - e.e11 * n.e11,
        ),
        (e.s00, e.s01, e.s10, e.s11),
    )
    d = ONE
    while d < me.lanes:
        post(shared, me.t, y)
        cuda.syncthreads()
        a = nothing()
        b = nothing()
        if me.q >= d:
            a = posted(shared, me.t - d)
        if me.q + d < me.lanes:
            b = posted(shared, me.t + d)
        cuda.syncthreads()
        y = solved(
            1.0 - y.s00 * a.e00 - y.s01 * a.e10 - y.e00 * b.s00 - y.e01 * b.s10,
            -y.s00 * a.e01 - y.s01 * a.e11 - y.e00 * b.s01 - y.e01 * b.s11,
            -y.s10 * a.e00 - y.s11 * a.e10 - y.e10 * b.s00 - y.e11 * b.s10,
            1.0 - y.s10 * a.e01 - y.s11 * a.e11 - y.e10 * b.s01 - y.e11 * b.s11,
            y.f0 - y.s00 * a.f0 - y.s01 * a.f1 - y.e00 * b.f0 - y.e01 * b.f1,
            y.f1 - y.s10 * a.f0 - y.s11 * a.f1 - y.e10 * b.f0 - y.e11 * b.f1,
            (
                -y.e00 * b.e00 - y.e01 * b.e10,
                -y.e00 * b.e01 - y.e01 * b.e11,
                -y.e10 * b.e00 - y.e11 * b.e10,
                -y.e10 * b.e01 - y.e11 * b.e11,
            ),
            (
                -y.s00 * a.s00 - y.s01 * a.s10,
                -y.s00 * a.s01 - y.s01 * a.s11,
                -y.s10 * a.s00 - y.s11 * a.s10,
                -y.s10 * a.s01 - y.s11 * a.s11,
            ),
        )
        d = d + d
    shared[0, me.t] = y.f0
    shared[1, me.t] = y.f1
    cuda.syncthreads()
    u = 0.0
    t = 0.0
    if me.q > 0:
        u = shared[0, me.t - ONE]
        t = shared[1, me.t - ONE]
    cuda.syncthreads()
    return y.f0, y.f1, u, t
