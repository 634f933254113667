"""The state of a face as it is kept: temperature, and relative humidity on both its sides.

It belongs to the cells that are kept with it: the faces are found once more from their state, as a sweep finds them
(`faces.py`), for what a march holds of a face belongs to the state before the last correction. What a march holds is
given back as it was, so that no run depends on what is kept of it.
"""

from __future__ import annotations

from . import columns as at
from . import humidity
from .cell import cell_at, cell_of, keep_cell
from .faces import OF_LEFT, OF_RIGHT, Half, face_temperature, resistance
from .jit import compiled
from .layout import AIR, BETA, FACE_INNER, FACE_OUTER, FACE_T, P_AIR, P_SAT, SEALED, SURFACE
from .lookup import cubic, place
from .saving import copy
from .surfaces import Surface, surface_heat
from .sweep import face_pass, surface_pass

_humidity_of = compiled(_nrt=False, forceinline=True)(humidity.humidity_of)


@compiled(_nrt=False, forceinline=True)
def _saturation(tables, t):
    i, p, s = place(t, tables.t0, tables.t1, tables.air.shape[0])
    return cubic(tables.air, i, P_SAT, p, s)[0]


@compiled(_nrt=False, forceinline=True)
def _half(wall, work, i):
    """Return half of cell i as it stands in the rows."""
    return Half(wall.material[i], cell_of(work.rows, at.offset(i)), 0.5 * wall.dx[i])


@compiled(_nrt=False, forceinline=True)
def _between(tables, wall, work, i, out):
    """Write the state of a face between two cells."""
    left = _half(wall, work, i - 1)
    right = _half(wall, work, i)
    a = left.cell
    b = right.cell
    kept = work.faces[i]
    g = work.rows[at.offset(i) + at.G]  # vapour alone where a side is not resolved
    ts = face_temperature(left, right).value
    ps = _saturation(tables, ts)
    film = wall.film[i]
    resolved = wall.resolve[left.m] == 1
    if film < 0 and left.m == right.m:
        outer = (a.phi * right.h + b.phi * left.h) / (left.h + right.h)
        inner = outer
    else:
        outer = _humidity_of(a.u + kept[OF_LEFT])
        inner = _humidity_of(b.u + kept[OF_RIGHT])
        if not resolved:
            outer = (a.phi * a.ps - g * resistance(left)[0]) / ps
        if wall.resolve[right.m] == 0:
            inner = outer
            if film >= 0 or not resolved:
                inner = (b.phi * b.ps + g * resistance(right)[0]) / ps
        elif film < 0 and not resolved:
            outer = inner
    out[FACE_T] = ts
    out[FACE_OUTER] = outer
    out[FACE_INNER] = inner


@compiled(_nrt=False, forceinline=True)
def _at_surface(tables, wall, work, end, out):
    """Write the state of a surface, `end` 0: the outer one; beyond its film, or the same where there is none."""
    n = wall.dx.shape[0]
    half = _half(wall, work, end * (n - 1))
    side = work.inn if end == 1 else work.out
    c = half.cell
    surface = Surface(wall.film[end * n], wall.kind_in if end == 1 else wall.kind_out, 1 - end)
    ts = surface_heat(surface, half, side)[1].value
    ps = _saturation(tables, ts)
    # vapour into the wall: where liquid passes too the face is resolved, and this is not asked for
    g = work.rows[at.offset(end * n) + at.G] * (1.0 - 2.0 * end)
    if surface.kind == SEALED:
        own = c.phi * c.ps / ps
        beyond = own
    elif surface.kind == SURFACE and surface.film < 0:
        own = side[P_AIR] / ps
        beyond = own
    else:
        own = _humidity_of(c.u + work.faces[end * n, OF_LEFT])
        if wall.resolve[half.m] == 0:
            own = (c.phi * c.ps + g * resistance(half)[0]) / ps
        beyond = own
        if surface.film >= 0:
            r = 1.0 / side[BETA] if surface.kind == AIR else 0.0
            beyond = (side[P_AIR] - g * r) / ps
    out[FACE_T] = ts
    out[FACE_OUTER] = own if end == 1 else beyond
    out[FACE_INNER] = beyond if end == 1 else own


@compiled(_nrt=False, no_cpython_wrapper=False)
def face_states(wall, tables, state, work, out):
    """Write the state of every face of `wall.faces` to out [face, FACE_STATES]; the sides are as in work.out, work.inn.

    Rows and watched fluxes are those of this state afterwards.
    """
    n = wall.dx.shape[0]
    for k in range(wall.faces.shape[0]):
        for i in range(max(wall.faces[k] - 1, 0), min(wall.faces[k] + 1, n)):
            cell = cell_at(tables, wall, wall.material[i], state.u[i], state.temperature[i])
            keep_cell(work.rows, at.offset(i), cell)
    copy(work.held, work.faces)
    face_pass(wall, tables, work)
    surface_pass(wall, tables, work)
    for k in range(wall.faces.shape[0]):
        i = wall.faces[k]
        if i == 0:
            _at_surface(tables, wall, work, 0, out[k])
        elif i == n:
            _at_surface(tables, wall, work, 1, out[k])
        else:
            _between(tables, wall, work, i, out[k])
        out[k, FACE_OUTER] = min(max(out[k, FACE_OUTER], 0.0), 1.0)
        out[k, FACE_INNER] = min(max(out[k, FACE_INNER], 0.0), 1.0)
    copy(work.faces, work.held)


@compiled(_nrt=False, no_cpython_wrapper=False)
def face_states_of(wall, tables, outside, inside, u, t, held, state, work, out):
    """Write the states of faces of many rows of a record to out [row, face, FACE_STATES].

    outside, inside : forcing of the rows; u, t : of the cells [row, cell]; held : what is kept of all faces
    [row, cell + 1, 2]; state : room for one state.
    """
    for r in range(u.shape[0]):
        copy(state.u, u[r])
        copy(state.temperature, t[r])
        copy(work.out, outside[r])
        copy(work.inn, inside[r])
        for i in range(held.shape[1]):
            work.faces[i, OF_LEFT] = held[r, i, 0]
            work.faces[i, OF_RIGHT] = held[r, i, 1]
        face_states(wall, tables, state, work, out[r])
