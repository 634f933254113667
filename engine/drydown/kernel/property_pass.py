"""Properties and contents of every cell of a wall, layer by layer.

First the tables (`abreast`), then what is arithmetic, without a branch, so that it vectorises. Loops go on to whole
eights of cells: what they write beyond a layer the passes over the next layers write anew.
"""

from __future__ import annotations

from . import columns as at
from .abreast import bits, cubics, whole_number
from .cell import Content, conductivity, constants_of, frozen, holding, row_of
from .jit import compiled
from .layout import (
    DELTA,
    LAMBDA,
    LIQUID_POTENTIAL,
    LN_T,
    MATERIAL_COLUMNS,
    P_SAT,
    PSI,
    SLOPE_AT,
    WATER,
)
from .lookup import bend, within

#: Columns that right-hand sides take later.
LN, WARM, WARM_T, ROW, PLACE, WARM_ROW, WARM_PLACE = at.R_W, at.R_H, at.F_U, at.F_T, at.E_UU, at.E_UT, at.E_TU
#: Numbers of a cubic.
CUBIC = 4

_PRESSURE, _FACTOR = (P_SAT, at.PS, at.PS_T), (None, at.FAC, at.FAC_T)
_STORED = (WATER, at.CONTENT, at.WATER_U), (LAMBDA, at.LAM, at.LAM_U)
_LIQUID = LIQUID_POTENTIAL, at.THETA, at.THETA_Z
_VAPOUR = (DELTA, at.DELTA, at.DELTA_Z), (PSI, at.PSI, None)
_humidity = cubics(ROW, PLACE, (0, at.PHI, at.PHI_U))
_air = cubics(WARM_ROW, WARM_PLACE, _PRESSURE, _FACTOR)
_air_and_ln = cubics(WARM_ROW, WARM_PLACE, _PRESSURE, _FACTOR, (LN_T, LN, None))
_warmth = cubics(WARM_ROW, WARM_PLACE, (None, WARM, WARM_T))
_all = cubics(ROW, PLACE, *_STORED, _LIQUID, *_VAPOUR)
_all_but_liquid = cubics(ROW, PLACE, *_STORED, *_VAPOUR)
_all_but_vapour = cubics(ROW, PLACE, *_STORED, _LIQUID)
_vapour = cubics(ROW, PLACE, *_VAPOUR)


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
        x[j + ROW] = bits(CUBIC * i)
    for j in range(0, at.whole(count), at.AT_ONCE):
        _humidity(tables.phi, x, j, scale, 0)


@compiled(_nrt=False, forceinline=True)
def _warm_places(tables, scale, x, count):
    """Write where in the tables of temperature each cell stands."""
    n = tables.air.shape[0]
    width = CUBIC * tables.air.shape[1]
    for j in range(at.whole(count)):
        i, x[j + WARM_PLACE] = within(x[j + at.T] - tables.t0, scale, n)
        x[j + WARM_ROW] = bits(width * i)


@compiled(_nrt=False, forceinline=True)
def _of_temperature(tables, s, scale, cold, x, count):
    """Write the functions of temperature that a material asks for; cold : its pore water may freeze."""
    if s.kappa != 0.0 or s.kappa_v != 0.0 or cold:
        for j in range(0, at.whole(count), at.AT_ONCE):
            _air_and_ln(tables.air, x, j, scale, s.factor)
    else:
        for j in range(0, at.whole(count), at.AT_ONCE):
            _air(tables.air, x, j, scale, s.factor)
        for j in range(at.whole(count)):
            x[j + LN] = 0.0
    if s.warm >= 0:
        for j in range(0, at.whole(count), at.AT_ONCE):
            _warmth(tables.air, x, j, scale, s.warm)
    else:
        for j in range(at.whole(count)):
            x[j + WARM] = 1.0 + s.slope * (x[j + at.T] - SLOPE_AT)
            x[j + WARM_T] = s.slope


@compiled(_nrt=False, forceinline=True)
def _places(tables, s, kappa, x, count):
    """Write where in the table of its material each cell stands."""
    for j in range(at.whole(count)):
        r, x[j + PLACE] = row_of(tables, s, kappa, x[j + at.U], x[j + LN])
        x[j + ROW] = bits(CUBIC * MATERIAL_COLUMNS * r)


@compiled(_nrt=False, forceinline=True)
def _overfull(tables, s, x, count):
    """Where pores are full, further water is held at a small, fixed slope and counted (see `cell.stored`)."""
    more = tables.overfull / s.scale
    for j in range(at.whole(count)):
        full = x[j + PLACE] < 0.0
        x[j + at.CONTENT] = s.full - x[j + PLACE] * more if full else x[j + at.CONTENT]
        x[j + at.WATER_U] = -tables.overfull if full else x[j + at.WATER_U]


@compiled(_nrt=False, forceinline=True)
def _of_liquid(tables, s, x, count):
    """Write what the tables do not say of the liquid potential."""
    if not s.liquid:
        for j in range(at.whole(count)):
            x[j + at.THETA] = 0.0
            x[j + at.THETA_Z] = 0.0
    if s.liquid and s.bends:
        for j in range(count):
            row = whole_number(x[j + ROW]) // (CUBIC * MATERIAL_COLUMNS)
            x[j + at.THETA_ZZ] = bend(tables.material, row, LIQUID_POTENTIAL, x[j + PLACE], s.scale)
    else:
        for j in range(at.whole(count)):
            x[j + at.THETA_ZZ] = 0.0


@compiled(_nrt=False, forceinline=True)
def _of_material(tables, s, x, count):
    """Write what the table of the material says."""
    apart = s.kappa_v != s.kappa
    _places(tables, s, s.kappa, x, count)
    if apart:
        for j in range(0, at.whole(count), at.AT_ONCE):
            _all_but_vapour(tables.material, x, j, s.scale, 0)
    elif s.liquid:
        for j in range(0, at.whole(count), at.AT_ONCE):
            _all(tables.material, x, j, s.scale, 0)
    else:
        for j in range(0, at.whole(count), at.AT_ONCE):
            _all_but_liquid(tables.material, x, j, s.scale, 0)
    _overfull(tables, s, x, count)
    _of_liquid(tables, s, x, count)
    if apart:
        _places(tables, s, s.kappa_v, x, count)
        for j in range(0, at.whole(count), at.AT_ONCE):
            _vapour(tables.material, x, j, s.scale, 0)


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
    cold = s.freezes and _coldest(x, count) < wall.melting
    _of_temperature(tables, s, warm, cold, x, count)
    _of_material(tables, s, x, count)
    if cold:
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
        _warm_places(tables, warm, x, after - block)
        begin = block
        while begin < after:
            m = wall.material[begin]
            end = begin + 1
            while end < after and wall.material[end] == m:
                end += 1
            _of_layer(tables, wall, m, warm, rows[at.offset(begin) :], end - begin)
            begin = end
