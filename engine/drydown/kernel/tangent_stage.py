"""Derivatives of one implicit stage by every input: the linear system of its last sweep, solved for all at once.

At the end of a stage its balances hold, R(x, y*, p) = 0. So the state changes with an input by

    J dx = dy* - dW/dp + a dF/dp,   dy = dW/dp + W_x dx,

J the matrix whose factors the last sweep left, y* what the stage began with, W what cells hold, F what flows into
them. All inputs stand side by side, so that the passes over them vectorise.
"""

from __future__ import annotations

from . import columns as at
from .air import Exchange, exchanged
from .cell import cell_of
from .driven import mean_of
from .elimination import factor, middle
from .jit import compiled
from .layout import T_AIR
from .partials import partials
from .tangent import AFTER, ENTHALPY, FIRST, MOISTURE
from .tangent_air import weights_follow
from .tangent_uptake import first_took, takes_follow, uptake_follows


@compiled(_nrt=False, forceinline=True)
def _reduce(rows, o, right_w, right_h, i):
    """Multiply the right-hand sides of cell i, which stands at o, by its inverse block."""
    uu = rows[o + at.D_UU]
    ut = rows[o + at.D_UT]
    tu = rows[o + at.D_TU]
    tt = rows[o + at.D_TT]
    s = right_w[i]
    r = right_h[i]
    for j in range(s.shape[0]):
        x = s[j]
        y = r[j]
        s[j] = uu * x + ut * y
        r[j] = tu * x + tt * y


@compiled(_nrt=False, forceinline=True)
def _carry(uu, ut, tu, tt, right_w, right_h, i, k):
    """Take from the right-hand sides of cell i what those of cell k, which is done, say of them."""
    s = right_w[i]
    r = right_h[i]
    before_s = right_w[k]
    before_r = right_h[k]
    for j in range(s.shape[0]):
        s[j] -= uu * before_s[j] + ut * before_r[j]
        r[j] -= tu * before_s[j] + tt * before_r[j]


@compiled(_nrt=False, forceinline=True)
def _forward(rows, n, a, right_w, right_h):
    """Reduce the right-hand sides of every input with the factors in the rows, in place, from both surfaces."""
    m = middle(n)
    for i in range(n - 1, m - 1, -1):
        o = at.offset(i)
        if i < n - 1:
            x = at.offset(i + 1)
            _carry(
                a * rows[x + at.G_UR], a * rows[x + at.G_TR], a * rows[x + at.Q_UR], a * rows[x + at.Q_TR],
                right_w, right_h, i, i + 1,
            )  # fmt: skip
        if i > m:
            _reduce(rows, o, right_w, right_h, i)
    for i in range(m + 1):
        o = at.offset(i)
        if i > 0:
            _carry(
                -a * rows[o + at.G_UL], -a * rows[o + at.G_TL], -a * rows[o + at.Q_UL], -a * rows[o + at.Q_TL],
                right_w, right_h, i, i - 1,
            )  # fmt: skip
        _reduce(rows, o, right_w, right_h, i)


@compiled(_nrt=False, forceinline=True)
def _follow(rows, i, k, right_w, right_h, du, dt):
    """Write the derivatives of the state of cell i from those of cell k, its neighbour on the side of the middle."""
    o = at.offset(i)
    uu = rows[o + at.E_UU]
    ut = rows[o + at.E_UT]
    tu = rows[o + at.E_TU]
    tt = rows[o + at.E_TT]
    there_u = du[k]
    there_t = dt[k]
    here_u = du[i]
    here_t = dt[i]
    s = right_w[i]
    r = right_h[i]
    for j in range(here_u.shape[0]):
        x = there_u[j]
        y = there_t[j]
        here_u[j] = s[j] - uu * x - ut * y
        here_t[j] = r[j] - tu * x - tt * y


@compiled(_nrt=False, forceinline=True)
def _backward(rows, n, right_w, right_h, du, dt):
    """Write the derivatives of the state of every cell; du, dt are not the right-hand sides."""
    m = middle(n)
    for j in range(du.shape[1]):
        du[m, j] = right_w[m, j]
        dt[m, j] = right_h[m, j]
    for i in range(m - 1, -1, -1):
        _follow(rows, i, i + 1, right_w, right_h, du, dt)
    for i in range(m + 1, n):
        _follow(rows, i, i - 1, right_w, right_h, du, dt)


@compiled(_nrt=False, forceinline=True)
def _hold(rows, n, touches, tw, y):
    """Write the derivatives of what cells hold at the end of the stage."""
    count = y.u.shape[1]
    for i in range(n):
        o = at.offset(i)
        w_u = rows[o + at.WATER_U]
        w_t = rows[o + at.WATER_T]
        h_u = rows[o + at.HEAT_U]
        h_t = rows[o + at.HEAT_T]
        du = y.u[i]
        dt = y.t[i]
        water = y.water[i]
        heat = y.heat[i]
        for j in range(count):
            water[j] = w_u * du[j] + w_t * dt[j]
            heat[j] = h_u * du[j] + h_t * dt[j]
    for j in range(count):
        for i in range(max(touches[j, FIRST], 0), touches[j, AFTER]):
            y.water[i, j] += tw.held_w[i, j]
            y.heat[i, j] += tw.held_h[i, j]


@compiled(_nrt=False, forceinline=True)
def _pass(wall, rows, n, tw, y):
    """Write the derivatives of the flux through every watched face."""
    count = y.u.shape[1]
    for i in range(n + 1):
        k = wall.watch[i]
        if k < 0:
            continue
        o = at.offset(i)
        for j in range(count):
            g = tw.through[k, MOISTURE, j]
            q = tw.through[k, ENTHALPY, j]
            if i > 0:
                g += rows[o + at.G_UL] * y.u[i - 1, j] + rows[o + at.G_TL] * y.t[i - 1, j]
                q += rows[o + at.Q_UL] * y.u[i - 1, j] + rows[o + at.Q_TL] * y.t[i - 1, j]
            if i < n:
                g += rows[o + at.G_UR] * y.u[i, j] + rows[o + at.G_TR] * y.t[i, j]
                q += rows[o + at.Q_UR] * y.u[i, j] + rows[o + at.Q_TR] * y.t[i, j]
            tw.flow[k, MOISTURE, j] = g
            tw.flow[k, ENTHALPY, j] = q


@compiled(_nrt=False, forceinline=True)
def _sources_follow(wall, d_source, work, tw, a):
    """Add what added water brings more because the temperature that it arrives at changes; d_source : by how much."""
    for i in range(wall.dx.shape[0]):
        if work.src_w[i] != 0.0:
            c = a * wall.dx[i] * work.src_w[i] * wall.c_water
            for j in range(tw.right_w.shape[1]):
                tw.right_h[i, j] += c * d_source[i, j]


@compiled(_nrt=False, forceinline=True)
def _lift_by_t(wall, forcing, piece, x, t, work, tw, a):
    """Write what gaps bring more where their mean temperature rises by one kelvin, a column a gap; return how many do.

    Because buoyancy then drives more air, or less: its air change is a constant of a sweep, not of the stage.
    """
    loads = forcing.loads
    n = wall.dx.shape[0]
    rows = work.rows
    tw.lift.right_w[:] = 0.0
    tw.lift.right_h[:] = 0.0
    some = 0
    for g in range(loads.gap_lift.shape[0]):
        if loads.gap_lift[g] <= 0.0 or work.air.gap_rate[g] <= 0.0:
            continue
        side_t = work.inn[T_AIR] if loads.gap_side[g] == 1 else work.out[T_AIR]
        mean = mean_of(wall, loads, g, t)
        squared = (1.0 - x) * loads.gap_wind[piece.k, g] + x * loads.gap_wind[piece.k + 1, g]
        squared += loads.gap_lift[g] * abs(mean - side_t) / side_t
        if squared <= 0.0:
            continue
        some += 1
        sign = 1.0 if mean > side_t else -1.0
        # change of the air change with the mean temperature
        by_t = 0.5 * loads.gap_lift[g] * sign / (side_t * squared**0.5) * (loads.density / side_t)
        for i in range(n):
            if loads.gap_cells[g, i] != 1:
                continue
            # what the gap exchanges, and no stream or deposit that meets the same cell
            m = wall.dx[i]
            m_in = m if loads.gap_side[g] == 1 else 0.0
            one = exchanged(
                wall, loads, Exchange(m, m - m_in, m_in, 0.0, 0.0), (work.out, work.inn), cell_of(rows, at.offset(i))
            )
            tw.lift.right_w[i, g] = a * by_t * one.g
            tw.lift.right_h[i, g] = a * by_t * one.q
    return some


@compiled(_nrt=False, forceinline=True)
def _lift_follows(wall, loads, a, work, tw, y):
    """Correct the derivatives of the state for what the lift of ventilated gaps follows it by.

    The matrix of the stage is that of the last sweep less a product v m' for every gap: m takes the mean of the
    temperatures of the gap, v is what a kelvin of it brings. So its inverse is the sweep's and one product more
    (Sherman and Morrison 1950, Ann. Math. Stat. 21, 124, from memory), gap after gap.
    """
    n = wall.dx.shape[0]
    z = tw.lift
    _forward(work.rows, n, a, z.right_w, z.right_h)
    _backward(work.rows, n, z.right_w, z.right_h, z.u, z.t)
    for g in range(loads.gap_lift.shape[0]):
        per = 1.0 / (1.0 - mean_of(wall, loads, g, z.t[:, g]))
        for k in range(g + 1, loads.gap_lift.shape[0]):
            by = per * mean_of(wall, loads, g, z.t[:, k])
            for i in range(n):
                z.u[i, k] += by * z.u[i, g]
                z.t[i, k] += by * z.t[i, g]
        for j in range(y.u.shape[1]):
            by = per * mean_of(wall, loads, g, y.t[:, j])
            for i in range(n):
                y.u[i, j] += by * z.u[i, g]
                y.t[i, j] += by * z.t[i, g]


@compiled(_nrt=False)
def follow(inputs, forcing, piece, x, about, began, taken_at, offering, second, work, tw, y, a):
    """Write to y the derivatives at the end of a stage; tw.right_w, tw.right_h hold those of y* and are used up.

    about : (u, T) that the last sweep was linearised about; began : (derivatives, water) at the start of the step;
    taken_at : temperatures that sources were taken at, their derivatives, and those that moving air was taken at;
    offering : whether limited sources offer water; second : whether it is the second stage.
    """
    u, t = about
    wall = inputs.wall
    n = wall.dx.shape[0]
    derivatives, held = began
    t_source, d_source, t_air = taken_at
    per = piece.step / a if second else 1.0
    if forcing.share.shape[0] > 0:
        first_took(wall, t_source, offering, per - 1.0, work, tw, a)
        _sources_follow(wall, d_source, work, tw, a)
    partials(inputs, forcing, piece, x, u, t, t_source, t_air, (held, derivatives.water), offering, per, work, tw, a)
    if forcing.share.shape[0] > 0:
        takes_follow(inputs, forcing, piece, derivatives, held, t_source, work, tw, a)
    lifts = 0
    if forcing.loads.active == 1:
        weights_follow(wall, inputs.tables, forcing.loads, work, (work.out, work.inn))
        lifts = _lift_by_t(wall, forcing, piece, x, t_air, work, tw, a)
    factor(work.rows, n, a, forcing.loads.active == 1 or offering, True)
    _forward(work.rows, n, a, tw.right_w, tw.right_h)
    _backward(work.rows, n, tw.right_w, tw.right_h, y.u, y.t)
    if lifts > 0:
        _lift_follows(wall, forcing.loads, a, work, tw, y)
    if offering:
        uptake_follows(wall, inputs.tables, work, tw, y)
    _hold(work.rows, n, inputs.touches, tw, y)
    _pass(wall, work.rows, n, tw, y)
