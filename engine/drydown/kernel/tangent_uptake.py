"""Derivatives of what a place takes of limited sources (see `uptake`).

The law holds for what is taken over the step. Its slope by the water of the cell at the end stands in the matrix; here
is what changes while that water stays: the offers, the room of a cell of other width or material, and what the first
stage took, which the second takes less. What is taken as an amount changes with the room at the start of the step.
"""

from __future__ import annotations

from . import columns as at
from .humidity import ZERO_CELSIUS
from .jit import compiled
from .layout import EACH, FREE, LAW, OVERFLOW
from .tangent import AFTER, FIRST, SOURCES
from .uptake import ALL, FITS, PART, RANGE, admit, full_of, offered, room_of, rooms


@compiled(_nrt=False, forceinline=True)
def offers_to(rows, o, offering):
    """Return whether the cell at o is offered water by limited sources."""
    return offering and rows[o + at.OFFER] > 0.0


@compiled(_nrt=False, forceinline=True)
def _law(wall, tables, sources, where, w, per, i):
    """Return what cell i of a changed wall takes, the piece of the law and its water w given; per : of the stage."""
    o = at.offset(i)
    if sources.rows[o + at.OFFER] <= 0.0:
        return 0.0
    if where == ALL:
        return per * sources.rows[o + at.OFFER]
    if where == PART:
        full = full_of(wall, tables, i)
        return per * sources.rows[o + at.OFFER] * ((full - w) / (RANGE * full))
    return 0.0


@compiled(_nrt=False, forceinline=True)
def uptake_changed(inputs, wall, forcing, piece, t_source, offering, per, work, tw, j, a, scale):
    """Add what a changed wall takes of limited sources; tw.sources.water : water at the start of its step."""
    offers = admit(wall, inputs.tables, forcing, piece, tw.sources.water, tw.sources)
    if not offers and not offering:
        return
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        here = 0.0
        there = 0.0
        if offers_to(work.rows, o, offering):
            here = work.rows[o + at.UPTAKE] + work.rows[o + at.LESS]
            if offers:
                full = full_of(inputs.wall, inputs.tables, i)
                w = full * (1.0 - RANGE * here / work.rows[o + at.OFFER])
                if i >= inputs.touches[j, FIRST] and i < inputs.touches[j, AFTER]:
                    w += inputs.step[j] * tw.held_w[i, j]
                there = _law(wall, inputs.tables, tw.sources, work.rows[o + at.PIECE], w, per, i)
        elif offers:
            there = _law(wall, inputs.tables, tw.sources, tw.sources.rows[o + at.PIECE], tw.sources.water[i], per, i)
        _more(wall, tw, i, j, a, scale * (there - here), t_source[i])


@compiled(_nrt=False, forceinline=True)
def _more(wall, tw, i, j, a, g, t):
    """Add a change of what the law gives cell i, and keep it."""
    tw.uptake[i, j] += g
    _add(wall, tw, i, j, a * g, t)


@compiled(_nrt=False, forceinline=True)
def _add(wall, tw, i, j, more, t):
    """Add water to the right side of cell i, and its enthalpy."""
    tw.right_w[i, j] += more
    tw.right_h[i, j] += more * wall.c_water * (t - ZERO_CELSIUS)


@compiled(_nrt=False)
def first_took(wall, t_source, offering, less, work, tw, a):
    """Take from the right sides of the second stage what the first took; forget it."""
    for i in range(wall.dx.shape[0]):
        if less > 0.0 and offers_to(work.rows, at.offset(i), offering):
            h = wall.c_water * (t_source[i] - ZERO_CELSIUS)
            for j in range(tw.uptake.shape[1]):
                tw.right_w[i, j] -= a * less * tw.uptake[i, j]
                tw.right_h[i, j] -= a * less * tw.uptake[i, j] * h
        for j in range(tw.uptake.shape[1]):
            tw.uptake[i, j] = 0.0


@compiled(_nrt=False)
def takes_follow(inputs, forcing, piece, began, held, t_source, work, tw, a):
    """Add what is taken as an amount changes by because the wall at the start of the step does.

    began : derivatives there; held : water there. What inputs that touch the sources themselves change is found by
    differences.
    """
    for s in range(forcing.share.shape[0]):
        if forcing.limited[s] == FREE or forcing.rate[piece.k + 1, s] <= 0.0:
            continue
        given = offered(forcing, work.taken, s)
        if forcing.limited[s] != LAW and given > FITS:
            _amounts_follow(inputs, forcing, piece, began, held, t_source, given, tw, a, s)


@compiled(_nrt=False, forceinline=True)
def _amounts_follow(inputs, forcing, piece, began, held, t_source, given, tw, a, s):
    """Add what amounts change by; tw.taken : of what the place takes of them."""
    wall = inputs.wall
    tables = inputs.tables
    n = wall.dx.shape[0]
    rate = forcing.rate[piece.k + 1, s]
    surplus, spare = rooms(wall, tables, forcing, piece, held, s, given)
    shares = spare > 0.0 and forcing.limited[s] != EACH
    more = min(1.0, surplus / spare) if shares else 0.0
    for j in range(tw.right_w.shape[1]):
        if inputs.touches[j, SOURCES] == 1:
            continue
        # a full cell takes less by what it holds more; the others take that up, in proportion to their room
        d_given = -tw.taken[forcing.limited[s] - OVERFLOW, j] if forcing.limited[s] >= OVERFLOW else 0.0
        by = 0.0
        for i in range(n):
            part = rate * wall.dx[i] * forcing.share[s, i] * piece.step
            room = room_of(wall, tables, held, i)
            if part > 0.0:
                less = began.water[i, j] if room > 0.0 else 0.0
                by += (less + d_given * part) * (1.0 if room <= given * part else more)
        by = by / spare if shares and spare > surplus else 0.0
        taken = 0.0
        for i in range(n):
            part = rate * wall.dx[i] * forcing.share[s, i] * piece.step
            room = room_of(wall, tables, held, i)
            if part > 0.0 and room > 0.0:
                takes = -began.water[i, j]
                if room > given * part:
                    takes = more * takes + (1.0 - more) * d_given * part + by * (room - given * part)
                taken += takes
                _add(wall, tw, i, j, a * takes / piece.step, t_source[i])
        tw.taken[s, j] = taken / (rate * piece.step)


@compiled(_nrt=False)
def uptake_follows(wall, tables, work, tw, y):
    """Complete the change of what cells take by that of their own water at the end of the stage."""
    rows = work.rows
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        if rows[o + at.OFFER] > 0.0 and rows[o + at.PIECE] == PART:
            by_w = -rows[o + at.OFFER] / (RANGE * full_of(wall, tables, i))
            for j in range(tw.uptake.shape[1]):
                tw.uptake[i, j] += by_w * (rows[o + at.WATER_U] * y.u[i, j] + rows[o + at.WATER_T] * y.t[i, j])
