"""What cells take of the water that limited sources offer them: as much as they have room for, and no more.

An amount: a wetting, and what a neighbour drinks the rest of, are taken as far as there is room at the start of a step.
By the law: where it goes on raining into a place and nothing drinks the rest, what a spot takes once it is full is what
it loses meanwhile. Of what it is offered it takes all until it is within `RANGE` of being full, and then a part that
falls in proportion to its room, to none where it is full:

    G = offer r,  r = (full - w) / (RANGE full), between 0 and 1.

That is part of the balances that a stage solves, with its derivative, so that a cell that dries, or passes on, as fast
as it is offered water settles where it takes just that, however thin it is and however long the step. The law holds for
what is taken over the whole step: with the second stage

    (1 - gamma) G1 + gamma G2 = G(w at the end),

else a cell that the first stage fills were filled 2.4 times.

Which of the three pieces of the law a cell stands on is kept from sweep to sweep, and a sweep is the last only where
every cell ends on the piece that it was computed with: what is taken then is between nothing and the offer to rounding.
"""

from __future__ import annotations

from . import columns as at
from .humidity import ZERO_CELSIUS
from .jit import compiled
from .layout import EACH, FREE, LAW, OVERFLOW, WATER

#: Share of the pores over which a cell ceases to take up what it is offered [-].
RANGE = 0.01
#: What a place has no room for is none below this share of what it is offered [-]: rounding.
FITS = 1e-12
#: `Work.taken` of a source that is taken by the law, until the step is done.
LATER = -1.0
#: Pieces of the law: all of the offer, a part, nothing.
ALL, PART, NONE = 0.0, 1.0, 2.0
#: A cell changes from one piece to another when it is past the kink by this share of the range [-]: rounding.
PAST = 1e-11


@compiled(_nrt=False, forceinline=True)
def full_of(wall, tables, i):
    """Return the water that the pores of cell i hold [kg/m2]."""
    return wall.dx[i] * tables.material[tables.offset[wall.material[i]], WATER, 0]


@compiled(_nrt=False, forceinline=True)
def room_of(wall, tables, water, i):
    """Return the water that cell i still has room for [kg/m2]."""
    return max(full_of(wall, tables, i) - water[i], 0.0)


@compiled(_nrt=False, forceinline=True)
def offered(forcing, taken, s):
    """Return which part of the rate of a source its place is offered: all, or what another had no room for."""
    over = forcing.limited[s] - OVERFLOW
    return 1.0 - taken[over] if over >= 0 else 1.0


@compiled(_nrt=False, forceinline=True)
def rooms(wall, tables, forcing, piece, water, s, given):
    """Return what cells of a place are offered beyond their room, and the room left in the others [kg/m2]."""
    rate = forcing.rate[piece.k + 1, s]
    surplus = 0.0
    spare = 0.0
    for i in range(wall.dx.shape[0]):
        offer = given * rate * wall.dx[i] * forcing.share[s, i] * piece.step
        if offer > 0.0:
            left = room_of(wall, tables, water, i) - offer
            surplus += max(-left, 0.0)
            spare += max(left, 0.0)
    return surplus, spare


@compiled(_nrt=False)
def admit(wall, tables, forcing, piece, water, work):
    """Write what every cell takes of every limited source in a step, or is offered of it where it is taken by the law.

    Every source is offered evenly by volume. Where it is an amount a cell takes no more than it has room for at the
    start of the step; the others of the place take the rest up, in proportion to their room, until all are full (not
    where no water moves between them). What then is left the place that the source overflows to is offered. Returns
    whether any is taken by the law.
    """
    n = wall.dx.shape[0]
    rows = work.rows
    offering = False
    for s in range(forcing.share.shape[0]):
        rate = forcing.rate[piece.k + 1, s]
        work.taken[s] = 1.0
        if forcing.limited[s] == FREE or rate <= 0.0:
            continue
        if forcing.limited[s] == LAW:
            if not offering:
                offering = True
                _offer_nothing(rows, n)
            work.taken[s] = LATER
            for i in range(n):
                rows[at.offset(i) + at.OFFER] += rate * wall.dx[i] * forcing.share[s, i]
            continue
        given = offered(forcing, work.taken, s)
        work.taken[s] = 0.0
        if given <= FITS:
            continue
        surplus, spare = rooms(wall, tables, forcing, piece, water, s, given)
        more = min(1.0, surplus / spare) if spare > 0.0 and forcing.limited[s] != EACH else 0.0
        for i in range(n):
            part = wall.dx[i] * forcing.share[s, i]
            offer = given * rate * part * piece.step
            if offer > 0.0:
                room = room_of(wall, tables, water, i)
                takes = room if room <= offer else offer + more * (room - offer)
                work.admitted[s, i] = given * takes / offer
                work.taken[s] += part * work.admitted[s, i]
    if offering:
        for i in range(n):
            o = at.offset(i)
            if rows[o + at.OFFER] > 0.0:
                full = full_of(wall, tables, i)
                room = full - water[i]
                fills = room <= RANGE * full or room < piece.step * rows[o + at.OFFER]
                rows[o + at.PIECE] = PART if fills else ALL
    return offering


@compiled(_nrt=False, forceinline=True)
def _offer_nothing(rows, n):
    for i in range(n):
        o = at.offset(i)
        rows[o + at.OFFER] = 0.0
        rows[o + at.LESS] = 0.0


@compiled(_nrt=False)
def begin_second(wall, work, gamma):
    """Make offers those of the second stage: less what the first has taken."""
    rows = work.rows
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        if rows[o + at.OFFER] > 0.0:
            rows[o + at.LESS] = (1.0 - gamma) / gamma * rows[o + at.UPTAKE]
            rows[o + at.OFFER] /= gamma


@compiled(_nrt=False)
def arrives_at(wall, work, t):
    """Write the enthalpy of the water that cells take up [J/kg]: it arrives at the temperature of the cell."""
    for i in range(t.shape[0]):
        work.rows[at.offset(i) + at.ARRIVES] = wall.c_water * (t[i] - ZERO_CELSIUS)


@compiled(_nrt=False)
def uptake_pass(wall, tables, work, moving):
    """Add what cells take up, with its derivatives, to what moving air brings them, or write it where none moves."""
    rows = work.rows
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        if not moving:
            for column in (at.GAIN_W, at.GAIN_W_U, at.GAIN_W_T, at.GAIN_H, at.GAIN_H_U, at.GAIN_H_T):
                rows[o + column] = 0.0
        if rows[o + at.OFFER] > 0.0:
            g = -rows[o + at.LESS]
            by_w = 0.0
            if rows[o + at.PIECE] == ALL:
                g += rows[o + at.OFFER]
            elif rows[o + at.PIECE] == PART:
                full = full_of(wall, tables, i)
                by_w = -rows[o + at.OFFER] / (RANGE * full)
                g += by_w * (rows[o + at.WATER] - full)
            h = rows[o + at.ARRIVES]
            rows[o + at.GAIN_W] += g
            rows[o + at.GAIN_W_U] += by_w * rows[o + at.WATER_U]
            rows[o + at.GAIN_W_T] += by_w * rows[o + at.WATER_T]
            rows[o + at.GAIN_H] += g * h
            rows[o + at.GAIN_H_U] += by_w * h * rows[o + at.WATER_U]
            rows[o + at.GAIN_H_T] += by_w * h * rows[o + at.WATER_T]


@compiled(_nrt=False)
def settled(wall, tables, work):
    """Write what cells have taken up in the last linearised sweep; return whether all end on their piece of the law.

    Those that do not go to the next piece, not past it: from a cell that would be overfilled by all of the offer it
    does not follow that it takes nothing.
    """
    rows = work.rows
    good = True
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        if rows[o + at.OFFER] <= 0.0:
            continue
        full = full_of(wall, tables, i)
        w = rows[o + at.WATER] + rows[o + at.WATER_U] * work.du[i] + rows[o + at.WATER_T] * work.dt[i]
        share = (full - w) / (RANGE * full)
        where = rows[o + at.PIECE]
        took = share
        if where == ALL:
            took = 1.0
            if share < 1.0 - PAST:
                rows[o + at.PIECE] = PART
                good = False
        elif where == NONE:
            took = 0.0
            if share > PAST:
                rows[o + at.PIECE] = PART
                good = False
        elif share > 1.0 + PAST:
            rows[o + at.PIECE] = ALL
            good = False
        elif share < -PAST:
            rows[o + at.PIECE] = NONE
            good = False
        rows[o + at.UPTAKE] = rows[o + at.OFFER] * took - rows[o + at.LESS]
    return good


@compiled(_nrt=False)
def book_uptake(wall, work):
    """Add what cells took up in the stage to its sources."""
    rows = work.rows
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        if rows[o + at.OFFER] > 0.0:
            g = rows[o + at.UPTAKE] / wall.dx[i]
            work.src_w[i] += g
            work.src_h[i] += g * rows[o + at.ARRIVES]


@compiled(_nrt=False, forceinline=True)
def taken_of(wall, forcing, work, s):
    """Return which part of the rate of a source its place took over the step, as the law says."""
    rows = work.rows
    some = 0.0
    for i in range(wall.dx.shape[0]):
        o = at.offset(i)
        part = wall.dx[i] * forcing.share[s, i]
        if part > 0.0 and rows[o + at.OFFER] > 0.0:
            some += part * ((rows[o + at.UPTAKE] + rows[o + at.LESS]) / rows[o + at.OFFER])
    return some
