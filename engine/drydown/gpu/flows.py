"""What passes into a cell of a lane: through its faces, with air that moves, from both sides."""

from __future__ import annotations

from numba import cuda

from ..kernel.air import Exchange, exchanged, through
from ..kernel.faces import Half
from ..kernel.fluxes import interior_flux
from ..kernel.layout import SIDE_COLUMNS
from .layout import (
    CONVECTED,
    FACE,
    GAIN_IN,
    GAIN_OUT,
    HEAT_FLOW,
    INSIDE,
    LIQUID,
    LOSE,
    MEET,
    MEET_C,
    OUTSIDE,
    VAPOUR,
    WIDTH,
)  # fmt: skip


@cuda.jit(device=True)
def sides(scratch, me, out, inn):
    """Read the forcing of both sides in the stage."""
    at = me.z
    for i in range(SIDE_COLUMNS):
        out[i] = scratch.march[at + OUTSIDE]
        inn[i] = scratch.march[at + INSIDE]
        at += WIDTH


@cuda.jit(device=True)
def inside(wall, loads, m, a, b, ha, hb, air):
    """Return what passes between two cells of one layer, as ten numbers."""
    x = interior_flux(wall, m, a, b, ha + hb)
    g = x.vapour.value + x.liquid.value
    g_ul = x.vapour.ul + x.liquid.ul
    g_tl = x.vapour.tl + x.liquid.tl
    g_ur = x.vapour.ur + x.liquid.ur
    g_tr = x.vapour.tr + x.liquid.tr
    q = x.heat.value
    q_ul = x.heat.ul
    q_tl = x.heat.tl
    q_ur = x.heat.ur
    q_tr = x.heat.tr
    if air != 0.0:
        c = through(wall, loads, air, -1, Half(m, a, ha), Half(m, b, hb))
        g += c.vapour.value
        g_ul += c.vapour.ul
        g_tl += c.vapour.tl
        g_ur += c.vapour.ur
        g_tr += c.vapour.tr
        q += c.heat.value
        q_ul += c.heat.ul
        q_tl += c.heat.tl
        q_ur += c.heat.ur
        q_tr += c.heat.tr
    return g, g_ul, g_tl, g_ur, g_tr, q, q_ul, q_tl, q_ur, q_tr


@cuda.jit(device=True)
def flux_of(faces, me, f):
    """Return moisture and enthalpy through face f of the wall, each with its derivatives, as ten numbers."""
    o = me.face0 + (f // me.lanes) * FACE + f % me.lanes
    w = WIDTH
    v = o + VAPOUR
    q = o + LIQUID
    c = o + CONVECTED
    h = o + HEAT_FLOW
    return (
        faces[v] + faces[q] + faces[c],
        faces[v + w] + faces[q + w] + faces[c + w],
        faces[v + w + w] + faces[q + w + w] + faces[c + w + w],
        faces[v + w + w + w] + faces[q + w + w + w] + faces[c + w + w + w],
        faces[v + w + w + w + w] + faces[q + w + w + w + w] + faces[c + w + w + w + w],
        faces[h], faces[h + w], faces[h + w + w], faces[h + w + w + w], faces[h + w + w + w + w],
    )  # fmt: skip


@cuda.jit(device=True)
def gain(wall, loads, x, o, c, out, inn):
    """Return what moving air brings to a cell: water and enthalpy with derivatives."""
    ex = Exchange(x[o + LOSE], x[o + GAIN_OUT], x[o + GAIN_IN], x[o + MEET], x[o + MEET_C])
    y = exchanged(wall, loads, ex, (out, inn), c)
    by_u = c.phi_u * c.ps
    by_t = c.phi * c.ps_t
    return y.g, y.g_p * by_u, y.g_p * by_t + y.g_t, y.q, y.q_p * by_u, y.q_p * by_t + y.q_t
