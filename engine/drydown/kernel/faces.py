"""Faces between layers: the state of the face itself is found first.

The half cell on each side of such a face is treated like the inside of a layer (vapour by the integral of the
permeability, liquid by the integral of K), up to the face, whose humidity follows from continuity: what
arrives from one side leaves on the other. Without this the half cell counts as a vapour resistance only,
and drying is first order in the width of the cell. The temperature of the face follows from conduction
(latent heat released at the face shifts it by well under 0.1 K across half a cell).

Where more vapour arrives at a face than a saturated face can pass on into the pores, the face stays
saturated and the surplus is given to the cell: water is never lost. At a bare surface the surplus (rain,
or dew on a surface that is wet already) runs off (see `surfaces.py`); under a film nothing can.
"""

from __future__ import annotations

from typing import NamedTuple

from .cell import Cell, cell_at
from .film import Ends, series
from .fluxes import Linear, moisture_flow, nothing, with_enthalpy
from .humidity import DRIEST, WETTEST
from .jit import compiled

#: A face is found when its next correction of u is below this; that correction is still applied.
CLOSE = 1e-2
#: Corrections of a face before it is left where it is, and counted as stopped short.
MOST = 50
#: Columns of what is kept of a face from sweep to sweep: u of both its sides less that of their cells; 1 where its
#: iteration stopped short; by how many times CLOSE more closely it is to be found, 0 in an ordinary march.
OF_LEFT, OF_RIGHT, SHORT, CLOSER = 0, 1, 2, 3
FACE_COLUMNS = 4


class Half(NamedTuple):
    """Half a cell: material, state, distance from its middle to the face [m]."""

    m: int
    cell: Cell
    h: float


class Toward(NamedTuple):
    """Vapour and total moisture from a cell (left) to a face (right); vapour pressure of the face."""

    vapour: Linear
    total: Linear
    p: float
    p_us: float
    p_ts: float


class Beyond(NamedTuple):
    """What is on the other side of a face whose one side is resolved.

    p : vapour pressure [Pa] behind resistance r [m2 s Pa/kg]; offered : liquid at the face [kg/(m2 s)]; drain, 1:
    what the pores cannot take runs off; inward, 1: from the cell through the face is inward.
    """

    p: float
    r: float
    offered: float
    drain: int
    inward: int


class OneSided(NamedTuple):
    """Vapour out of a cell beyond the face, the liquid taken up there, and derivatives."""

    g: float
    taken: float
    by_u: float
    by_t: float
    by_p: float
    by_r: float
    by_ts: float
    taken_u: float
    taken_t: float
    taken_ts: float


@compiled(_nrt=False, forceinline=True)
def toward(tables, wall, half, us, ts):
    """Return the moisture flow from half a cell to a face at (us, ts)."""
    face = cell_at(tables, wall, half.m, us, ts)
    v, f = moisture_flow(wall, half.m, half.cell, face, 1.0 / half.h)
    total = Linear(v.value + f.value, v.ul + f.ul, v.tl + f.tl, v.ur + f.ur, v.tr + f.tr)
    return Toward(v, total, face.phi * face.ps, face.phi_u * face.ps, face.phi * face.ps_t)


@compiled(_nrt=False, forceinline=True)
def one_sided(tables, wall, film, half, beyond, ts, kept, side):
    """Flow OUT of a cell through a face with a resistance beyond; kept[side] is u of the face less that of the cell."""
    c = half.cell
    us = min(max(c.u + kept[side], WETTEST), DRIEST)
    low = WETTEST
    high = DRIEST
    pinned = False
    tried = False
    kept[SHORT] = 1.0
    close = CLOSE / (1.0 + kept[CLOSER])
    for _ in range(MOST):
        x = toward(tables, wall, half, us, ts)
        y = series(tables, wall, film, beyond.inward, Ends(x.p, 0.0, beyond.p, beyond.r), ts)
        g = y.g
        f = x.total.value - g + beyond.offered
        slope = x.total.ur - y.by_pl * x.p_us
        if f > 0.0:
            high = us
        else:
            low = us
        if us <= WETTEST and f > 0.0:
            pinned = True
            kept[SHORT] = 0.0
            break
        if slope > 0.0:
            new = us - f / slope
        else:
            new = 0.5 * (low + high)
        if not (new >= low and new <= high):
            new = 0.5 * (low + high)
            if f > 0.0 and not tried:
                new = WETTEST  # the wet end either holds the root above it or is the answer
                tried = True
        step = new - us
        us = new
        if abs(step) < close and us > WETTEST:
            g += y.by_pl * x.p_us * step
            kept[SHORT] = 0.0
            break
    kept[side] = us - c.u
    own_ts = y.by_pl * x.p_ts + y.by_t
    if pinned:
        # the saturated face takes up less than is offered: the rest of the liquid runs off
        taken = min(max(g - x.total.value, 0.0), beyond.offered)
        inside = 1.0 if taken > 0.0 and taken < beyond.offered else 0.0
        if beyond.drain == 1 and g < x.total.value:
            return OneSided(x.total.value, 0.0, x.total.ul, x.total.tl, 0.0, 0.0, x.total.tr, 0.0, 0.0, 0.0)
        return OneSided(
            g, taken, 0.0, 0.0, y.by_pr, y.by_rr, own_ts,
            -inside * x.total.ul, -inside * x.total.tl, inside * (own_ts - x.total.tr),
        )  # fmt: skip
    slope = x.total.ur - y.by_pl * x.p_us
    inv = 1.0 / slope if slope > 0.0 else 0.0
    # how the face follows the state on both sides
    lead = y.by_pl * x.p_us
    s_ts = -(x.total.tr - y.by_pl * x.p_ts - y.by_t) * inv
    return OneSided(
        g, beyond.offered, lead * (-x.total.ul * inv), lead * (-x.total.tl * inv), y.by_pr + lead * (y.by_pr * inv),
        y.by_rr + lead * (y.by_rr * inv), own_ts + lead * s_ts, 0.0, 0.0, 0.0,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def _in_contact(tables, wall, left, right, ts, kept):
    """Flow between two half cells in contact: vapour, total, each as `Linear`; their derivatives by ts."""
    low = WETTEST
    high = DRIEST
    s = min(max(left.cell.u + kept[OF_LEFT], low), high)
    kept[SHORT] = 1.0
    close = CLOSE / (1.0 + kept[CLOSER])
    step = 0.0
    for _ in range(MOST + 10):
        x = toward(tables, wall, left, s, ts)
        y = toward(tables, wall, right, s, ts)
        f = x.total.value + y.total.value
        slope = x.total.ur + y.total.ur
        if f > 0.0:
            high = s
        else:
            low = s
        new = s - f / slope if slope > 0.0 else 0.5 * (low + high)
        if not (new >= low and new <= high):
            new = 0.5 * (low + high)
        step = new - s
        s = new
        if abs(step) < close:
            kept[SHORT] = 0.0
            break
        step = 0.0
    kept[OF_LEFT] = s - left.cell.u
    kept[OF_RIGHT] = s - right.cell.u
    slope = x.total.ur + y.total.ur
    wa = x.total.ur / slope if slope > 0.0 else 0.5
    wb = 1.0 - wa
    ga = x.total.value + x.total.ur * step
    gb = y.total.value + y.total.ur * step
    total = Linear(wb * ga - wa * gb, wb * x.total.ul, wb * x.total.tl, -wa * y.total.ul, -wa * y.total.tl)
    # the face follows its cells; the vapour is the mean of what both sides say
    inv = 1.0 / slope if slope > 0.0 else 0.0
    by_s = 0.5 * (x.vapour.ur - y.vapour.ur) * inv
    vapour = Linear(
        0.5 * (x.vapour.value - y.vapour.value) + by_s * slope * step,
        0.5 * x.vapour.ul - by_s * x.total.ul,
        0.5 * x.vapour.tl - by_s * x.total.tl,
        -0.5 * y.vapour.ul - by_s * y.total.ul,
        -0.5 * y.vapour.tl - by_s * y.total.tl,
    )
    v_ts = 0.5 * (x.vapour.tr - y.vapour.tr) - by_s * (x.total.tr + y.total.tr)
    return vapour, total, v_ts, wb * x.total.tr - wa * y.total.tr


@compiled(_nrt=False)
def _through_a_film(tables, wall, film, left, right, ts, kept):
    """Vapour between two half cells with a film between them, as `Linear`, and its derivative by ts."""
    sa = min(max(left.cell.u + kept[OF_LEFT], WETTEST), DRIEST)
    sb = min(max(right.cell.u + kept[OF_RIGHT], WETTEST), DRIEST)
    kept[SHORT] = 1.0
    close = CLOSE / (1.0 + kept[CLOSER])
    for _ in range(MOST):
        x = toward(tables, wall, left, sa, ts)
        y = toward(tables, wall, right, sb, ts)
        z = series(tables, wall, film, 1, Ends(x.p, 0.0, y.p, 0.0), ts)
        g = z.g
        f1 = x.total.value - g
        f2 = y.total.value + g
        m11 = x.total.ur - z.by_pl * x.p_us
        m12 = -z.by_pr * y.p_us
        m21 = z.by_pl * x.p_us
        m22 = y.total.ur + z.by_pr * y.p_us
        det = m11 * m22 - m12 * m21
        if not det > 0.0:
            break
        da = min(max(-(m22 * f1 - m12 * f2) / det, -1.5), 1.5)
        db = min(max(-(m11 * f2 - m21 * f1) / det, -1.5), 1.5)
        na = min(max(sa + da, WETTEST), DRIEST)
        nb = min(max(sb + db, WETTEST), DRIEST)
        da = na - sa
        db = nb - sb
        sa = na
        sb = nb
        if max(abs(da), abs(db)) < close:
            g += z.by_pl * x.p_us * da + z.by_pr * y.p_us * db
            kept[SHORT] = 0.0
            break
    kept[OF_LEFT] = sa - left.cell.u
    kept[OF_RIGHT] = sb - right.cell.u
    own = z.by_pl * x.p_ts + z.by_pr * y.p_ts + z.by_t
    # a face at the wet end does not move
    free_a = 1.0 if sa > WETTEST else 0.0
    free_b = 1.0 if sb > WETTEST else 0.0
    m11 = free_a * (x.total.ur - z.by_pl * x.p_us) + (1.0 - free_a)
    m12 = -free_a * z.by_pr * y.p_us
    m21 = free_b * z.by_pl * x.p_us
    m22 = free_b * (y.total.ur + z.by_pr * y.p_us) + (1.0 - free_b)
    det = m11 * m22 - m12 * m21
    inv = 1.0 / det if abs(det) > 0.0 else 0.0
    ka = z.by_pl * x.p_us * inv
    kb = z.by_pr * y.p_us * inv
    # change of g when f1 or f2 changes by one
    by_f1 = free_a * (-ka * m22 + kb * m21)
    by_f2 = free_b * (ka * m12 - kb * m11)
    vapour = Linear(g, by_f1 * x.total.ul, by_f1 * x.total.tl, by_f2 * y.total.ul, by_f2 * y.total.tl)
    return vapour, own + by_f1 * (x.total.tr - own) + by_f2 * (y.total.tr + own)


@compiled(_nrt=False, forceinline=True)
def resistance(half):
    """Return the vapour resistance of half a cell [m2 s Pa/kg] and its derivative by z."""
    c = half.cell
    r = half.h / (c.fac * c.delta)
    return r, -r * c.delta_z / c.delta


@compiled(_nrt=False, forceinline=True)
def _by_temperature(wall, half, by_p, by_r, r, r_z):
    """Return what a flow changes by with the temperature of half a cell that is a resistance."""
    c = half.cell
    return by_p * c.phi * c.ps_t + by_r * (r_z * (wall.kappa_v[half.m] * (1.0 / c.t)) - r * c.fac_t / c.fac)


@compiled(_nrt=False, forceinline=True)
def _moisture(tables, wall, film, left, right, ts, kept):
    """Vapour and liquid between two half cells, each as `Linear` at constant ts, and their derivatives by ts."""
    a = left.cell
    b = right.cell
    vapour = nothing()
    liquid = nothing()
    liquid_ts = 0.0
    if wall.resolve[left.m] == 1 and wall.resolve[right.m] == 1:
        if film < 0:
            vapour, total, by_ts, total_ts = _in_contact(tables, wall, left, right, ts, kept)
            liquid = Linear(
                total.value - vapour.value,
                total.ul - vapour.ul,
                total.tl - vapour.tl,
                total.ur - vapour.ur,
                total.tr - vapour.tr,
            )
            liquid_ts = total_ts - by_ts
        else:
            vapour, by_ts = _through_a_film(tables, wall, film, left, right, ts, kept)
    elif wall.resolve[left.m] == 1:
        rb, rb_z = resistance(right)
        x = one_sided(tables, wall, film, left, Beyond(b.phi * b.ps, rb, 0.0, 0, 1), ts, kept, OF_LEFT)
        v_tr = _by_temperature(wall, right, x.by_p, x.by_r, rb, rb_z)
        vapour = Linear(x.g, x.by_u, x.by_t, x.by_p * b.phi_u * b.ps + x.by_r * rb_z, v_tr)
        by_ts = x.by_ts
    elif wall.resolve[right.m] == 1:
        ra, ra_z = resistance(left)
        x = one_sided(tables, wall, film, right, Beyond(a.phi * a.ps, ra, 0.0, 0, 0), ts, kept, OF_RIGHT)
        v_tl = -_by_temperature(wall, left, x.by_p, x.by_r, ra, ra_z)
        vapour = Linear(-x.g, -x.by_p * a.phi_u * a.ps - x.by_r * ra_z, v_tl, -x.by_u, -x.by_t)
        by_ts = -x.by_ts
    else:
        ra, ra_z = resistance(left)
        rb, rb_z = resistance(right)
        y = series(tables, wall, film, 1, Ends(a.phi * a.ps, ra, b.phi * b.ps, rb), ts)
        vapour = Linear(
            y.g,
            y.by_pl * a.phi_u * a.ps + y.by_rl * ra_z,
            _by_temperature(wall, left, y.by_pl, y.by_rl, ra, ra_z),
            y.by_pr * b.phi_u * b.ps + y.by_rr * rb_z,
            _by_temperature(wall, right, y.by_pr, y.by_rr, rb, rb_z),
        )
        by_ts = y.by_t
    return vapour, liquid, by_ts, liquid_ts


@compiled(_nrt=False, forceinline=True)
def _at_face(x, by_ts, ts):
    """Return a flow whose derivatives hold the temperature of the face, with those of that temperature added."""
    return Linear(x.value, x.ul + by_ts * ts.ul, x.tl + by_ts * ts.tl, x.ur + by_ts * ts.ur, x.tr + by_ts * ts.tr)


@compiled(_nrt=False, forceinline=True)
def face_temperature(left, right):
    """Return the temperature of a face between two half cells, by conduction, as `Linear`."""
    a = left.cell
    b = right.cell
    ca = a.lam / left.h
    cb = b.lam / right.h
    inv = 1.0 / (ca + cb)
    wa = ca * inv
    wb = cb * inv
    dt = b.t - a.t
    va = wb * inv * dt / left.h
    vb = wa * inv * dt / right.h
    return Linear(wa * a.t + wb * b.t, -va * a.lam_u, wa - va * a.lam_t, vb * b.lam_u, wb + vb * b.lam_t)


@compiled(_nrt=False, forceinline=True)
def interface_flux(tables, wall, film, left, right, kept):
    """Flux between half cells of different materials, or through a film; `kept` is the row of the face."""
    a = left.cell
    b = right.cell
    ca = a.lam / left.h
    cb = b.lam / right.h
    inv = 1.0 / (ca + cb)
    wa = ca * inv
    wb = cb * inv
    dt = b.t - a.t
    ts = face_temperature(left, right)
    vapour, liquid, vapour_ts, liquid_ts = _moisture(tables, wall, film, left, right, ts.value, kept)
    c = ca * wb
    heat = Linear(
        -c * dt,
        -wb * wb * a.lam_u / left.h * dt,
        c - wb * wb * a.lam_t / left.h * dt,
        -wa * wa * b.lam_u / right.h * dt,
        -c - wa * wa * b.lam_t / right.h * dt,
    )
    vapour = _at_face(vapour, vapour_ts, ts)
    return with_enthalpy(wall, 0.5 * (a.t + b.t), vapour, _at_face(liquid, liquid_ts, ts), heat)
