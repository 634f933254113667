"""One linearised sweep: properties, fluxes inside layers, faces and surfaces, moving air; then the system is solved."""

from __future__ import annotations

from . import columns as at
from .air import air_pass, turned
from .cell import cell_of
from .elimination import factor, residual_pass, substitute
from .faces import SHORT, Half, interface_flux
from .fluxes import Flux, interior_flux, interior_pass, keep_flux
from .jit import compiled
from .layout import CONVECTED, FLOWS, HEAT, LIQUID, VAPOUR
from .property_pass import property_pass
from .surfaces import Surface, surface_flux
from .uptake import uptake_pass


@compiled(_nrt=False, forceinline=True)
def _watch(watched, k, x):
    """Keep the flux of a watched face."""
    for j in range(5):
        watched[k, VAPOUR, j] = x.vapour[j]
        watched[k, LIQUID, j] = x.liquid[j]
        watched[k, HEAT, j] = x.heat[j]
        watched[k, CONVECTED, j] = 0.0


@compiled(_nrt=False, forceinline=True)
def _put(wall, work, i, x):
    """Write the flux through face i to the rows, and to the record of a watched one."""
    keep_flux(work.rows, at.offset(i), x)
    if wall.watch[i] >= 0:
        _watch(work.watched, wall.watch[i], x)


@compiled(_nrt=False, forceinline=True)
def face_pass(wall, tables, work):
    """Write the fluxes through faces between layers and through those that no run holds."""
    rows = work.rows
    for j in range(work.single.shape[0]):
        i = work.single[j]
        m = wall.material[i - 1]
        a = cell_of(rows, at.offset(i - 1))
        b = cell_of(rows, at.offset(i))
        if wall.material[i] == m and wall.film[i] < 0:
            x = interior_flux(wall, m, a, b, 0.5 * (wall.dx[i - 1] + wall.dx[i]))
        else:
            left = Half(m, a, 0.5 * wall.dx[i - 1])
            right = Half(wall.material[i], b, 0.5 * wall.dx[i])
            x = interface_flux(tables, wall, wall.film[i], left, right, work.faces[i])
        _put(wall, work, i, x)


@compiled(_nrt=False, forceinline=True)
def surface_pass(wall, tables, work):
    """Write the fluxes through the two surfaces."""
    n = wall.dx.shape[0]
    rows = work.rows
    for end in range(2):
        face = end * n
        i = end * (n - 1)
        half = Half(wall.material[i], cell_of(rows, at.offset(i)), 0.5 * wall.dx[i])
        surface = Surface(
            wall.film[face],
            wall.kind_in if end == 1 else wall.kind_out,
            1 - end,
        )
        x = surface_flux(tables, wall, surface, half, work.inn if end == 1 else work.out, work.faces[face])
        if end == 1:
            x = Flux(turned(x.vapour), turned(x.liquid), turned(x.heat))
        _put(wall, work, face, x)


@compiled(_nrt=False, forceinline=True)
def sweep(wall, tables, loads, offering, work, y, water, heat, a):
    """Assemble and solve one linearised system; the corrections are in work.du, work.dt.

    offering : whether limited sources offer water; y : the `Stage` whose state is linearised about; water, heat : y*
    [kg/m2, J/m2]; a : gamma h [s].
    """
    n = wall.dx.shape[0]
    moving = loads.active == 1
    property_pass(tables, wall, work.rows, y.u, y.t)
    interior_pass(wall, work.rows, work.runs)
    face_pass(wall, tables, work)
    surface_pass(wall, tables, work)
    if moving:
        air_pass(wall, tables, loads, work, (work.out, work.inn))
    if offering:
        uptake_pass(wall, tables, work, moving)
    residual_pass(wall, work, water, heat, a, moving or offering)
    factor(work.rows, n, a, moving or offering, False)
    substitute(work.rows, work.du, work.dt)


@compiled(_nrt=False, forceinline=True)
def _of_those(wall, work, j):
    """Return a face: of those computed one by one, beginning and ending with the surfaces, the one with number j."""
    if j == 0:
        return 0
    return work.single[j - 1] if j <= work.single.shape[0] else wall.dx.shape[0]


@compiled(_nrt=False, forceinline=True)
def linear_flow(wall, work):
    """Write the flux of the last linearised sweep through every watched face to work.flow."""
    n = wall.dx.shape[0]
    for face in range(work.single.shape[0] + 2):
        i = _of_those(wall, work, face)
        k = wall.watch[i]
        if k < 0:
            continue
        ul = work.du[i - 1] if i > 0 else 0.0
        tl = work.dt[i - 1] if i > 0 else 0.0
        ur = work.du[i] if i < n else 0.0
        tr = work.dt[i] if i < n else 0.0
        for j in range(FLOWS):
            x = work.watched[k, j]
            work.flow[k, j] = x[0] + x[1] * ul + x[2] * tl + x[3] * ur + x[4] * tr


@compiled(_nrt=False, forceinline=True)
def short_faces(wall, work):
    """Return how many faces stopped short of their tolerance in the last sweep."""
    count = 0
    for face in range(work.single.shape[0] + 2):
        if work.faces[_of_those(wall, work, face), SHORT] != 0.0:
            count += 1
    return count
