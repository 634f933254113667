"""Flux into the wall at one of its two surfaces; how the face there is found stands in `faces.py`."""

from __future__ import annotations

from typing import NamedTuple

from . import humidity
from .cell import cell_at
from .faces import OF_LEFT, Beyond, one_sided
from .fluxes import Linear, interior_flux, nothing, with_enthalpy
from .humidity import PHI_LOW, PHI_SURFACE
from .jit import compiled
from .layout import AIR, BETA, EMISSIVITY, H_CONV, P_AIR, P_SAT, RADIATION, RAIN, SEALED, SURFACE, T_AIR
from .lookup import cubic, place

#: Stefan and Boltzmann's constant [W/(m2 K4)] (CODATA 2018).
SIGMA = 5.670374e-8

_u_of = compiled(_nrt=False, forceinline=True)(humidity.u_of)


class Surface(NamedTuple):
    """What covers a surface and what it faces: film or -1, kind; outer, 1: the outer surface."""

    film: int
    kind: int
    outer: int


@compiled(_nrt=False, forceinline=True)
def surface_heat(surface, half, side):
    """Heat into the wall and temperature of the surface, each as `Linear` with the cell on the right."""
    c = half.cell
    ta = side[T_AIR]
    cond = c.lam / half.h
    if surface.kind == SURFACE:
        return (
            Linear(
                cond * (ta - c.t),
                0.0,
                0.0,
                (ta - c.t) * c.lam_u / half.h,
                -cond + (ta - c.t) * c.lam_t / half.h,
            ),
            Linear(ta, 0.0, 0.0, 0.0, 0.0),
        )
    hc = side[H_CONV]
    hr = 4.0 * side[EMISSIVITY] * SIGMA * c.t * c.t * c.t
    net = hc * (ta - c.t) + side[RADIATION] - side[EMISSIVITY] * SIGMA * c.t**4
    total = hc + hr + cond
    q = cond * net / total
    q_c = net * (hc + hr) / (total * total)
    q_t = -cond * (hc + hr) / total + q_c * c.lam_t / half.h - q / total * 3.0 * hr / c.t
    by_total = net / (total * total)
    ts_t = 1.0 - (hc + hr) / total - by_total * (3.0 * hr / c.t + c.lam_t / half.h)
    ts = Linear(c.t + net / total, 0.0, 0.0, -by_total * c.lam_u / half.h, ts_t)
    return Linear(q, 0.0, 0.0, q_c * c.lam_u / half.h, q_t), ts


@compiled(_nrt=False, forceinline=True)
def surface_flux(tables, wall, surface, half, side, kept):
    """Return the `Flux` INTO the wall; derivatives by the cell stand in the right slots."""
    c = half.cell
    m = half.m
    ta = side[T_AIR]
    pa = side[P_AIR]
    if surface.kind == SURFACE and surface.film < 0:
        i, p, s = place(ta, tables.t0, tables.t1, tables.air.shape[0])
        ps, _ = cubic(tables.air, i, P_SAT, p, s)
        phi = min(max(pa / ps, PHI_LOW), PHI_SURFACE)
        return interior_flux(wall, m, cell_at(tables, wall, m, _u_of(phi), ta), c, half.h)
    heat, ts = surface_heat(surface, half, side)
    vapour = nothing()
    liquid = nothing()
    if surface.kind != SEALED:
        r0 = 0.0
        if surface.kind == AIR:
            r0 = 1.0 / side[BETA]
        rain = 0.0
        if surface.film < 0 and surface.kind == AIR and wall.liquid[m] == 1:
            rain = side[RAIN]
        # also where the half cell is a mere resistance: dew on metal or foam runs off and is not pressed in
        # nothing runs off from under a film: what condenses there stays in the cell
        drain = 1 if surface.film < 0 else 0
        beyond = Beyond(pa, r0, rain, drain, 1 - surface.outer)
        x = one_sided(tables, wall, surface.film, half, beyond, ts.value, kept, OF_LEFT)
        vapour = Linear(-x.g, 0.0, 0.0, -x.by_u - x.by_ts * ts.ur, -x.by_t - x.by_ts * ts.tr)
        liquid = Linear(x.taken, 0.0, 0.0, x.taken_u + x.taken_ts * ts.ur, x.taken_t + x.taken_ts * ts.tr)
    # what flows carries the temperature halfway between air and cell
    return with_enthalpy(wall, 0.5 * (ta + c.t), vapour, liquid, heat)
