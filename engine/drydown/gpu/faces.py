"""Fluxes through the faces of a wall that have a state of their own, dealt out to its lanes."""

from __future__ import annotations

import numpy as np
from numba import cuda, float64

from ..kernel import faces as of_kernel
from ..kernel.air import through, through_surface, turned
from ..kernel.cell import cell_at
from ..kernel.faces import FACE_COLUMNS, Half, interface_flux
from ..kernel.fluxes import Flux, interior_flux
from ..kernel.layout import FLOWS, HEAT, SIDE_COLUMNS
from ..kernel.surfaces import Surface, surface_flux
from .flows import sides
from .layout import (
    CONVECTED,
    DT,
    DU,
    FACE,
    FACE_LENGTH,
    FACE_WHOLE,
    FILM,
    FLOW,
    FLOW_ONE,
    FLOW_SUM,
    H_LEFT,
    H_RIGHT,
    HEAT_FLOW,
    LIQUID,
    M_LEFT,
    M_RIGHT,
    OF_LEFT,
    OF_RIGHT,
    ONE,
    PLACE_LEFT,
    PLACE_RIGHT,
    SHORT,
    T0,
    U0,
    VAPOUR,
    WIDTH,
    ZERO,
)  # fmt: skip


@cuda.jit(device=True)
def fresh_faces(faces, me):
    """Let every face begin at its cells."""
    for s in range(me.slots):
        o = me.f + s * FACE
        faces[o + OF_LEFT] = 0.0
        faces[o + OF_RIGHT] = 0.0
        faces[o + SHORT] = 0.0


@cuda.jit(device=True)
def _keep(faces, o, x):
    faces[o] = x.value
    faces[o + WIDTH] = x.ul
    faces[o + WIDTH + WIDTH] = x.tl
    faces[o + WIDTH + WIDTH + WIDTH] = x.ur
    faces[o + WIDTH + WIDTH + WIDTH + WIDTH] = x.tr


@cuda.jit(device=True)
def _add(faces, o, x):
    faces[o] += x.value
    faces[o + WIDTH] += x.ul
    faces[o + WIDTH + WIDTH] += x.tl
    faces[o + WIDTH + WIDTH + WIDTH] += x.ur
    faces[o + WIDTH + WIDTH + WIDTH + WIDTH] += x.tr


@cuda.jit(device=True)
def _half(wall, tables, x, m, o, h):
    """Return half of the cell whose columns of the iterate begin at o."""
    return Half(m, cell_at(tables, wall, m, x[o + U0], x[o + T0]), h)


@cuda.jit(device=True)
def _blown(many, scratch, me, s):
    """Return the air that passes a face [kg/(m2 s)], positive inward."""
    g = 0.0
    streams = np.uint64(many.streams)
    at = me.air + np.uint64(many.gaps) * WIDTH
    for j in range(streams):
        i = ((me.block * streams + j) * np.uint64(many.most_slots) + s) * WIDTH + me.t
        g += scratch.air[at + j * WIDTH] * many.path_face[i]
    return g


@cuda.jit(device=True)
def face_flux(wall, tables, loads, many, scratch, me, s, stage, closer):
    """Write the flux through face s of this lane.

    stage : offset of its iterate in the columns of a cell; closer : by how many times more closely a face is found than
    in an ordinary march, None there.
    """
    x = scratch.cells
    faces = scratch.faces
    kept = cuda.local.array(FACE_COLUMNS, float64)
    f = s * me.lanes + me.q
    o = me.f + s * FACE
    w = me.fw + s * FACE_WHOLE
    z = me.fl + s * FACE_LENGTH
    film = many.face_whole[w + FILM]
    g = _blown(many, scratch, me, s) if loads.active == 1 else 0.0
    kept[of_kernel.OF_LEFT] = faces[o + OF_LEFT]
    kept[of_kernel.OF_RIGHT] = faces[o + OF_RIGHT]
    kept[of_kernel.SHORT] = faces[o + SHORT]
    kept[of_kernel.CLOSER] = 0.0 if closer is None else closer
    if f == ZERO or f + ONE == me.faces:
        inner = f != ZERO
        out = cuda.local.array(SIDE_COLUMNS, float64)
        inn = cuda.local.array(SIDE_COLUMNS, float64)
        sides(scratch, me, out, inn)
        if inner:
            for j in range(SIDE_COLUMNS):
                out[j] = inn[j]
        m = many.face_whole[w + (M_LEFT if inner else M_RIGHT)]
        place = np.uint64(many.face_whole[w + (PLACE_LEFT if inner else PLACE_RIGHT)])
        h = many.face_length[z + (H_LEFT if inner else H_RIGHT)]
        half = _half(wall, tables, x, m, me.at + place + stage, h)
        kind = many.kind_in[me.w] if inner else many.kind_out[me.w]
        y = surface_flux(tables, wall, Surface(film, kind, 0 if inner else 1), half, out, kept)
        if inner:
            y = Flux(turned(y.vapour), turned(y.liquid), turned(y.heat))
        _keep(faces, o + VAPOUR, y.vapour)
        _keep(faces, o + LIQUID, y.liquid)
        _keep(faces, o + HEAT_FLOW, y.heat)
        if g != 0.0:
            c = through_surface(wall, tables, loads, -g if inner else g, film, kind, out, half)
            if inner:
                _keep(faces, o + CONVECTED, turned(c.vapour))
                _add(faces, o + HEAT_FLOW, turned(c.heat))
            else:
                _keep(faces, o + CONVECTED, c.vapour)
                _add(faces, o + HEAT_FLOW, c.heat)
    else:
        ml = many.face_whole[w + M_LEFT]
        mr = many.face_whole[w + M_RIGHT]
        place = np.uint64(many.face_whole[w + PLACE_LEFT])
        left = _half(wall, tables, x, ml, me.at + place + stage, many.face_length[z + H_LEFT])
        place = np.uint64(many.face_whole[w + PLACE_RIGHT])
        right = _half(wall, tables, x, mr, me.at + place + stage, many.face_length[z + H_RIGHT])
        if ml == mr and film < 0:
            y = interior_flux(wall, ml, left.cell, right.cell, left.h + right.h)
        else:
            y = interface_flux(tables, wall, film, left, right, kept)
        _keep(faces, o + VAPOUR, y.vapour)
        _keep(faces, o + LIQUID, y.liquid)
        _keep(faces, o + HEAT_FLOW, y.heat)
        if g != 0.0:
            c = through(wall, loads, g, film, left, right)
            _keep(faces, o + CONVECTED, c.vapour)
            _add(faces, o + HEAT_FLOW, c.heat)
    if g == 0.0:
        for j in range(5):
            faces[o + CONVECTED + np.uint64(j) * WIDTH] = 0.0
    faces[o + OF_LEFT] = kept[of_kernel.OF_LEFT]
    faces[o + OF_RIGHT] = kept[of_kernel.OF_RIGHT]
    faces[o + SHORT] = kept[of_kernel.SHORT]


@cuda.jit(device=True)
def linear_flow(many, scratch, me):
    """Write the flux of the last linearised sweep through the faces of this lane; return how many stopped short."""
    x = scratch.cells
    faces = scratch.faces
    short = 0.0
    for s in range(me.slots):
        f = s * me.lanes + me.q
        o = me.f + s * FACE
        w = me.fw + s * FACE_WHOLE
        if faces[o + SHORT] != 0.0:
            short += 1.0
        ul = 0.0
        tl = 0.0
        ur = 0.0
        tr = 0.0
        if f > ZERO:
            i = me.at + np.uint64(many.face_whole[w + PLACE_LEFT])
            ul = x[i + DU]
            tl = x[i + DT]
        if f + ONE < me.faces:
            i = me.at + np.uint64(many.face_whole[w + PLACE_RIGHT])
            ur = x[i + DU]
            tr = x[i + DT]
        y = o + VAPOUR
        to = o + FLOW
        for _ in range(FLOWS):
            g = faces[y]
            y += WIDTH
            g += faces[y] * ul
            y += WIDTH
            g += faces[y] * tl
            y += WIDTH
            g += faces[y] * ur
            y += WIDTH
            g += faces[y] * tr
            y += WIDTH
            faces[to] = g
            to += WIDTH
    return short


@cuda.jit(device=True)
def first_flow(faces, me):
    """Put the flux of the first stage by."""
    for s in range(me.slots):
        o = me.f + s * FACE
        for _ in range(FLOWS):
            faces[o + FLOW_ONE] = faces[o + FLOW]
            o += WIDTH


@cuda.jit(device=True)
def book_flow(faces, me, k1, a):
    """Add what a step moved to the cumulative fluxes."""
    for s in range(me.slots):
        o = me.f + s * FACE
        for _ in range(FLOWS):
            faces[o + FLOW_SUM] += k1 * faces[o + FLOW_ONE] + a * faces[o + FLOW]
            o += WIDTH


@cuda.jit(device=True)
def brought_in(faces, me, k1, a):
    """Return the water and enthalpy that a step brings through the surfaces this lane has."""
    w = 0.0
    h = 0.0
    for s in range(me.slots):
        f = s * me.lanes + me.q
        if f == ZERO or f + ONE == me.faces:
            sign = 1.0 if f == ZERO else -1.0
            o = me.f + s * FACE
            for j in range(FLOWS):
                g = sign * (k1 * faces[o + FLOW_ONE] + a * faces[o + FLOW])
                o += WIDTH
                if j == HEAT:
                    h += g
                else:
                    w += g
    return w, h
