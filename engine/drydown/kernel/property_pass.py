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
    humidity_of,
    liquid_of,
    of_air,
    row_of,
    stored,
    vapour_of,
)
from .jit import compiled
from .lookup import within

#: Columns that right-hand sides take later.
LN_T, WARM, WARM_T, ROW, PLACE = at.R_W, at.R_H, at.F_U, at.F_T, at.E_UU


@compiled(_nrt=False, forceinline=True)
def _of_temperature(tables, s, x, t):
    """Write what the tables say of temperatures."""
    n = tables.air.shape[0]
    scale = n / (tables.t1 - tables.t0)
    for j in range(t.shape[0]):
        i, x[j + PLACE] = within(t[j] - tables.t0, scale, n)
        x[j + ROW] = i
    for j in range(t.shape[0]):
        a = of_air(tables, s, t[j], int(x[j + ROW]), x[j + PLACE], scale)
        x[j + LN_T] = a.ln_t
        x[j + at.PS] = a.ps
        x[j + at.PS_T] = a.ps_t
        x[j + at.FAC] = a.fac
        x[j + at.FAC_T] = a.fac_t
        x[j + WARM] = a.warm
        x[j + WARM_T] = a.warm_t


@compiled(_nrt=False, forceinline=True)
def _of_humidity(tables, x, u):
    """Write relative humidities."""
    for j in range(u.shape[0]):
        x[j + at.PHI], x[j + at.PHI_U] = humidity_of(tables, u[j])


@compiled(_nrt=False, forceinline=True)
def _places(tables, s, kappa, x, u):
    """Write where in the table of its material each cell stands."""
    for j in range(u.shape[0]):
        r, x[j + PLACE] = row_of(tables, s, kappa, u[j], x[j + LN_T])
        x[j + ROW] = r


@compiled(_nrt=False, forceinline=True)
def _of_material(tables, s, x, u):
    """Write what the table of the material says."""
    count = u.shape[0]
    _places(tables, s, s.kappa, x, u)
    for j in range(count):
        w, w_z, lam, lam_z = stored(tables, s, int(x[j + ROW]), x[j + PLACE])
        x[j + at.CONTENT] = w
        x[j + at.WATER_U] = w_z
        x[j + at.LAM] = lam
        x[j + at.LAM_U] = lam_z
        a, a_z, a_zz = liquid_of(tables, s, int(x[j + ROW]), x[j + PLACE])
        x[j + at.THETA] = a
        x[j + at.THETA_Z] = a_z
        x[j + at.THETA_ZZ] = a_zz
        r = int(x[j + ROW])
        p = x[j + PLACE]
        if s.kappa_v != s.kappa:
            r, p = row_of(tables, s, s.kappa_v, u[j], x[j + LN_T])
        delta, delta_z, psi = vapour_of(tables, s, r, p)
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
def _combine(wall, dry, kappa, x, dx, u, t):
    """Write what follows where there is no ice."""
    for j in range(u.shape[0]):
        x[j + at.U] = u[j]
        x[j + at.T] = t[j]
        lam, lam_u, lam_t = conductivity(kappa, t[j], x[j + at.LAM], x[j + at.LAM_U], x[j + WARM], x[j + WARM_T])
        y = Content(x[j + at.CONTENT], x[j + at.WATER_U], 0.0, 0.0, 0.0)
        _keep(x, j, lam, lam_u, lam_t, 1.0, 0.0, 0.0)
        _keep_held(x, j, holding(wall, dry, kappa, dx[j], t[j], y))


@compiled(_nrt=False, forceinline=True)
def _combine_frozen(tables, wall, m, full, x, dx, u, t):
    """Write what follows where pore water may freeze."""
    kappa = wall.kappa[m]
    for j in range(u.shape[0]):
        x[j + at.U] = u[j]
        x[j + at.T] = t[j]
        lam, lam_u, lam_t = conductivity(kappa, t[j], x[j + at.LAM], x[j + at.LAM_U], x[j + WARM], x[j + WARM_T])
        w = x[j + at.CONTENT]
        w_z = x[j + at.WATER_U]
        f = frozen(tables, wall, m, full, t[j], x[j + LN_T], x[j + at.PHI], w, w_z, lam, lam_u, lam_t)
        _keep(x, j, f.lam, f.lam_u, f.lam_t, f.share, f.share_u, f.share_t)
        y = Content(w, w_z, f.ice, f.ice_u, f.ice_t)
        _keep_held(x, j, holding(wall, wall.heat[m], kappa, dx[j], t[j], y))


@compiled(_nrt=False, forceinline=True)
def property_pass(tables, wall, rows, u, t):
    """Write properties and contents of every cell at the state (u, t)."""
    n = u.shape[0]
    begin = 0
    while begin < n:
        m = wall.material[begin]
        end = begin + 1
        coldest = t[begin]
        while end < n and wall.material[end] == m and end % at.BLOCK != 0:
            coldest = min(coldest, t[end])
            end += 1
        x = rows[at.offset(begin) :]
        s = constants_of(tables, wall, m)
        _of_temperature(tables, s, x, t[begin:end])
        _of_humidity(tables, x, u[begin:end])
        _of_material(tables, s, x, u[begin:end])
        if wall.freeze[m] == 1 and coldest < wall.melting:
            _combine_frozen(tables, wall, m, s.full, x, wall.dx[begin:end], u[begin:end], t[begin:end])
        else:
            _combine(wall, wall.heat[m], s.kappa, x, wall.dx[begin:end], u[begin:end], t[begin:end])
        begin = end
