"""Properties and contents of every cell of a wall, layer by layer.

First the tables, each in a loop of its own: a processor that works on several cells at once is done sooner with short
loops. Then what is arithmetic, without a branch, so that it vectorises.
"""

from __future__ import annotations

from . import columns as at
from .cell import (
    Content,
    conductivity,
    constants_of,
    frozen,
    holding,
    liquid_of,
    row_of,
    stored,
    vapour_of,
)
from .jit import compiled
from .layout import LN_T, P_SAT, SLOPE_AT
from .lookup import cubic, within

#: Columns that right-hand sides take later.
LN, WARM, WARM_T, ROW, PLACE, WARM_ROW, WARM_PLACE = at.R_W, at.R_H, at.F_U, at.F_T, at.E_UU, at.E_UT, at.E_TU


@compiled(_nrt=False, forceinline=True)
def _state(x, dx, u, t):
    """Write widths and states of the cells of a block."""
    for j in range(u.shape[0]):
        x[j + at.DX] = dx[j]
        x[j + at.U] = u[j]
        x[j + at.T] = t[j]


@compiled(_nrt=False, forceinline=True)
def _of_humidity(tables, x, count):
    """Write relative humidities."""
    n = tables.phi.shape[0]
    scale = n / (tables.z1 - tables.z0)
    for j in range(at.whole(count)):
        i, x[j + PLACE] = within(x[j + at.U] - tables.z0, scale, n)
        x[j + ROW] = i
    for j in range(count):
        x[j + at.PHI], x[j + at.PHI_U] = cubic(tables.phi, int(x[j + ROW]), 0, x[j + PLACE], scale)


@compiled(_nrt=False, forceinline=True)
def _of_temperature(tables, scale, x, count):
    """Write what the tables say of temperatures, whatever the material, and where they say it."""
    n = tables.air.shape[0]
    for j in range(at.whole(count)):
        i, x[j + WARM_PLACE] = within(x[j + at.T] - tables.t0, scale, n)
        x[j + WARM_ROW] = i
    for j in range(count):
        i = int(x[j + WARM_ROW])
        x[j + at.PS], x[j + at.PS_T] = cubic(tables.air, i, P_SAT, x[j + WARM_PLACE], scale)


@compiled(_nrt=False, forceinline=True)
def _factors(tables, s, scale, x, count):
    """Write the functions of temperature that a material asks for."""
    if s.kappa != 0.0 or s.kappa_v != 0.0 or s.freezes:
        for j in range(count):
            x[j + LN], _ = cubic(tables.air, int(x[j + WARM_ROW]), LN_T, x[j + WARM_PLACE], scale)
    else:
        for j in range(at.whole(count)):
            x[j + LN] = 0.0
    for j in range(count):
        x[j + at.FAC], x[j + at.FAC_T] = cubic(tables.air, int(x[j + WARM_ROW]), s.factor, x[j + WARM_PLACE], scale)
    if s.warm >= 0:
        for j in range(count):
            x[j + WARM], x[j + WARM_T] = cubic(tables.air, int(x[j + WARM_ROW]), s.warm, x[j + WARM_PLACE], scale)
    else:
        for j in range(at.whole(count)):
            x[j + WARM] = 1.0 + s.slope * (x[j + at.T] - SLOPE_AT)
            x[j + WARM_T] = s.slope


@compiled(_nrt=False, forceinline=True)
def _places(tables, s, kappa, x, count):
    """Write where in the table of its material each cell stands."""
    for j in range(at.whole(count)):
        r, x[j + PLACE] = row_of(tables, s, kappa, x[j + at.U], x[j + LN])
        x[j + ROW] = r


@compiled(_nrt=False, forceinline=True)
def _of_liquid(tables, s, x, count):
    """Write the liquid potential of a material."""
    if not s.liquid:
        for j in range(at.whole(count)):
            x[j + at.THETA] = 0.0
            x[j + at.THETA_Z] = 0.0
            x[j + at.THETA_ZZ] = 0.0
        return
    for j in range(count):
        a, a_z, a_zz = liquid_of(tables, s, int(x[j + ROW]), x[j + PLACE])
        x[j + at.THETA] = a
        x[j + at.THETA_Z] = a_z
        x[j + at.THETA_ZZ] = a_zz


@compiled(_nrt=False, forceinline=True)
def _of_material(tables, s, x, count):
    """Write what the table of the material says."""
    _places(tables, s, s.kappa, x, count)
    for j in range(count):
        w, w_z, lam, lam_z = stored(tables, s, int(x[j + ROW]), x[j + PLACE])
        x[j + at.CONTENT] = w
        x[j + at.WATER_U] = w_z
        x[j + at.LAM] = lam
        x[j + at.LAM_U] = lam_z
    _of_liquid(tables, s, x, count)
    if s.kappa_v != s.kappa:
        _places(tables, s, s.kappa_v, x, count)
    for j in range(count):
        delta, delta_z, psi = vapour_of(tables, s, int(x[j + ROW]), x[j + PLACE])
        x[j + at.DELTA] = delta
        x[j + at.DELTA_Z] = delta_z
        x[j + at.PSI] = psi


@compiled(_nrt=False, forceinline=True)
def _keep(x, j, lam, lam_u, lam_t, share, share_u, share_t):
    """Write what ice may change of the properties."""
    x[j + at.LAM] = lam
    x[j + at.LAM_U] = lam_u
    x[j + at.LAM_T] = lam_t
    x[j + at.OPEN] = share
    x[j + at.OPEN_U] = share_u
    x[j + at.OPEN_T] = share_t


@compiled(_nrt=False, forceinline=True)
def _keep_held(x, j, y):
    """Write what a cell holds."""
    x[j + at.WATER] = y.water
    x[j + at.WATER_U] = y.water_u
    x[j + at.WATER_T] = y.water_t
    x[j + at.HEAT] = y.heat
    x[j + at.HEAT_U] = y.heat_u
    x[j + at.HEAT_T] = y.heat_t


@compiled(_nrt=False, forceinline=True)
def _combine(wall, dry, kappa, x, count):
    """Write what follows where there is no ice."""
    for j in range(at.whole(count)):
        t = x[j + at.T]
        lam, lam_u, lam_t = conductivity(kappa, t, x[j + at.LAM], x[j + at.LAM_U], x[j + WARM], x[j + WARM_T])
        y = Content(x[j + at.CONTENT], x[j + at.WATER_U], 0.0, 0.0, 0.0)
        _keep(x, j, lam, lam_u, lam_t, 1.0, 0.0, 0.0)
        _keep_held(x, j, holding(wall, dry, kappa, x[j + at.DX], t, y))


@compiled(_nrt=False, forceinline=True)
def _combine_frozen(tables, wall, m, full, x, count):
    """Write what follows where pore water may freeze."""
    kappa = wall.kappa[m]
    for j in range(count):
        t = x[j + at.T]
        lam, lam_u, lam_t = conductivity(kappa, t, x[j + at.LAM], x[j + at.LAM_U], x[j + WARM], x[j + WARM_T])
        w = x[j + at.CONTENT]
        w_z = x[j + at.WATER_U]
        f = frozen(tables, wall, m, full, t, x[j + LN], x[j + at.PHI], w, w_z, lam, lam_u, lam_t)
        _keep(x, j, f.lam, f.lam_u, f.lam_t, f.share, f.share_u, f.share_t)
        y = Content(w, w_z, f.ice, f.ice_u, f.ice_t)
        _keep_held(x, j, holding(wall, wall.heat[m], kappa, x[j + at.DX], t, y))


@compiled(_nrt=False, forceinline=True)
def _coldest(x, count):
    """Return the lowest temperature."""
    least = x[at.T]
    for j in range(1, count):
        least = min(least, x[j + at.T])
    return least


@compiled(_nrt=False, forceinline=True)
def _of_layer(tables, wall, m, warm, x, count):
    """Write what follows from the material of cells that lie side by side."""
    s = constants_of(tables, wall, m)
    _factors(tables, s, warm, x, count)
    _of_material(tables, s, x, count)
    if s.freezes and _coldest(x, count) < wall.melting:
        _combine_frozen(tables, wall, m, s.full, x, count)
    else:
        _combine(wall, wall.heat[m], s.kappa, x, count)


@compiled(_nrt=False, forceinline=True)
def property_pass(tables, wall, rows, u, t):
    """Write properties and contents of every cell at the state (u, t)."""
    n = u.shape[0]
    warm = tables.air.shape[0] / (tables.t1 - tables.t0)
    for block in range(0, n, at.BLOCK):
        after = min(n, block + at.BLOCK)
        x = rows[at.offset(block) :]
        _state(x, wall.dx[block:after], u[block:after], t[block:after])
        _of_humidity(tables, x, after - block)
        _of_temperature(tables, warm, x, after - block)
        begin = block
        while begin < after:
            m = wall.material[begin]
            end = begin + 1
            while end < after and wall.material[end] == m:
                end += 1
            _of_layer(tables, wall, m, warm, rows[at.offset(begin) :], end - begin)
            begin = end
