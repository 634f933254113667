"""What every input changes in the balances of a stage while the state stays as it is.

By differences of one step, of nothing but the cells, faces and surfaces that an input touches. Both sides of a
difference take the face from the same start through the same iteration, so that what that leaves over cancels.
"""

from __future__ import annotations

from typing import NamedTuple

from . import columns as at
from .advance import _force, _sources
from .air import air_pass
from .cell import cell_of
from .driven import prepare
from .faces import Half, interface_flux
from .fluxes import interior_flux, interior_pass
from .jit import compiled
from .layout import F, Forcing, I, Loads, Wall
from .property_pass import property_pass
from .surfaces import Surface, surface_flux
from .tangent import (
    AFTER,
    AIR_MOVES,
    ENTHALPY,
    FIRST,
    INSIDE,
    KNOWN,
    MOISTURE,
    OTHER,
    OUTSIDE,
    OWN_G,
    OWN_Q,
    SOURCES,
)
from .tangent_uptake import offers_to, uptake_changed


class Theirs(NamedTuple):
    """Cells and films of a changed wall; first and after: the cells whose own properties differ."""

    first: int
    after: int
    material: I
    dx: F
    film: I


#: Columns of properties that moving air reads.
_PROPERTIES = 20


@compiled(_nrt=False, forceinline=True)
def _part(w, material, dx):
    """Return the wall with other cells."""
    return Wall(
        dx, material, w.heat, w.kappa, w.temperature_power, w.kappa_v, w.temperature_factor, w.slope,
        w.conductivity_factor, w.liquid, w.freeze, w.resolve, w.film, w.film_temperature_factor, w.film_mean,
        w.kind_out, w.kind_in, w.latent, w.c_vapour, w.c_water, w.r_vapour, w.t_ref, w.melting, w.fusion, w.c_ice,
        w.frozen, w.watch, w.faces,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def _other_forcing(f, o, r):
    """Return the forcing of row r of the others."""
    x = f.loads
    loads = Loads(
        x.active, o.gap[r], o.gap_wind[r], o.gap_lift[r], x.gap_cells, x.gap_side, o.stream[r], o.path[r],
        o.deposit[r], o.brought[r], o.deposit_cells[r], x.ratio, x.c_air, x.density,
    )  # fmt: skip
    return Forcing(
        f.marks, f.keep, f.jump, o.outside[r], o.inside[r], o.rate[r], o.share[r], f.limited, f.water_source,
        f.heat_source, loads,
    )  # fmt: skip


@compiled(_nrt=False, forceinline=True)
def _surface(wall, tables, film, end, half, side, kept):
    """Return moisture and enthalpy through one of the two surfaces, positive inward."""
    surface = Surface(film, wall.kind_in if end == 1 else wall.kind_out, 1 - end)
    x = surface_flux(tables, wall, surface, half, side, kept)
    sign = 1.0 - 2.0 * end
    return sign * (x.vapour.value + x.liquid.value), sign * x.heat.value


@compiled(_nrt=False, forceinline=True)
def _fresh(to, what):
    for c in range(to.shape[0]):
        to[c] = what[c]


@compiled(_nrt=False, forceinline=True)
def _own(wall, rows, i):
    """Return the half cell i of the wall as it is."""
    return Half(wall.material[i], cell_of(rows, at.offset(i)), 0.5 * wall.dx[i])


@compiled(_nrt=False, forceinline=True)
def _changed(theirs, rows, other, i):
    """Return the half cell i of the changed wall."""
    first = theirs.first
    if i >= first and i < theirs.after:
        return Half(theirs.material[i], cell_of(other, at.offset(i - first)), 0.5 * theirs.dx[i])
    return Half(theirs.material[i], cell_of(rows, at.offset(i)), 0.5 * theirs.dx[i])


@compiled(_nrt=False, forceinline=True)
def _through_face(w, tables, theirs, rows, other, start, kept, own, i, side, other_side):
    """Return by how much moisture and enthalpy through face i change; start : the row of the face.

    own : row of what passes the face of the wall itself, found by the first input that touches it.
    """
    n = w.dx.shape[0]
    known = own[KNOWN] == 1.0
    own[KNOWN] = 1.0
    if i > 0 and i < n:
        a = _own(w, rows, i - 1)
        b = _own(w, rows, i)
        c = _changed(theirs, rows, other, i - 1)
        d = _changed(theirs, rows, other, i)
        if c.m == d.m and a.m == b.m and w.film[i] < 0:
            g1, q1 = _within(w, c, d)
            if not known:
                own[OWN_G], own[OWN_Q] = _within(w, a, b)
        else:
            _fresh(kept, start)
            g1, q1 = _face_between(w, tables, theirs.film[i], c, d, kept)
            if not known:
                _fresh(kept, start)
                own[OWN_G], own[OWN_Q] = _face_between(w, tables, w.film[i], a, b, kept)
        return g1 - own[OWN_G], q1 - own[OWN_Q]
    end = 1 if i == n else 0
    cell = end * (n - 1)
    _fresh(kept, start)
    g1, q1 = _surface(w, tables, theirs.film[i], end, _changed(theirs, rows, other, cell), other_side, kept)
    if not known:
        _fresh(kept, start)
        own[OWN_G], own[OWN_Q] = _surface(w, tables, w.film[i], end, _own(w, rows, cell), side, kept)
    return g1 - own[OWN_G], q1 - own[OWN_Q]


@compiled(_nrt=False, forceinline=True)
def _within(wall, left, right):
    """Return moisture and enthalpy through a face inside a layer."""
    x = interior_flux(wall, left.m, left.cell, right.cell, left.h + right.h)
    return x.vapour.value + x.liquid.value, x.heat.value


@compiled(_nrt=False, forceinline=True)
def _face_between(wall, tables, film, left, right, kept):
    """Return moisture and enthalpy through a face between layers, resolved though both be of one material."""
    x = interface_flux(tables, wall, film, left, right, kept)
    return x.vapour.value + x.liquid.value, x.heat.value


@compiled(_nrt=False, forceinline=True)
def _book(tw, wall, i, j, a, scale, g, q):
    """Add the change of the flux through face i to the right-hand sides of both its cells."""
    n = wall.dx.shape[0]
    g *= scale
    q *= scale
    if i > 0:
        tw.right_w[i - 1, j] -= a * g
        tw.right_h[i - 1, j] -= a * q
    if i < n:
        tw.right_w[i, j] += a * g
        tw.right_h[i, j] += a * q
    k = wall.watch[i]
    if k >= 0:
        tw.through[k, MOISTURE, j] += g
        tw.through[k, ENTHALPY, j] += q


@compiled(_nrt=False, forceinline=True)
def _inside(tw, i, j, factor, g, q):
    """Book the change of the flux through a face inside a layer."""
    tw.right_w[i - 1, j] -= factor * g
    tw.right_h[i - 1, j] -= factor * q
    tw.right_w[i, j] += factor * g
    tw.right_h[i, j] += factor * q


@compiled(_nrt=False, forceinline=True)
def _copy_properties(to, rows, n):
    """Copy the properties of all cells; fluxes are set to nothing."""
    for i in range(n + 1):
        o = at.offset(i)
        for c in range(_PROPERTIES):
            to[o + c * at.STRIDE] = rows[o + c * at.STRIDE]
        to[o + at.G] = 0.0
        to[o + at.Q] = 0.0


@compiled(_nrt=False, forceinline=True)
def _moving_air(inputs, forcing, piece, x, t, tw, j, a, scale):
    """Add what moving air changes by: all of it is computed for the changed wall."""
    w = inputs.wall
    n = w.dx.shape[0]
    rows = tw.other_air.rows
    first = inputs.touches[j, FIRST]
    after = inputs.touches[j, AFTER]
    for i in range(n + 1):
        rows[at.offset(i) + at.G] = 0.0
        rows[at.offset(i) + at.Q] = 0.0
    for i in range(max(first, 0), after):
        for c in range(_PROPERTIES):
            rows[at.offset(i) + c * at.STRIDE] = tw.rows[at.offset(i - first) + c * at.STRIDE]
    wall = _part(w, inputs.material[j], inputs.dx[j])
    prepare(wall, forcing.loads, piece.k, x, t, (tw.out, tw.inn), tw.other_air.air)
    air_pass(wall, inputs.tables, forcing.loads, tw.other_air, (tw.out, tw.inn))
    plain = tw.plain_air.rows
    for i in range(n + 1):
        o = at.offset(i)
        g = rows[o + at.G] - plain[o + at.G]
        q = rows[o + at.Q] - plain[o + at.Q]
        if g != 0.0 or q != 0.0:
            _book(tw, w, i, j, a, scale, g, q)
        if i < n:
            tw.right_w[i, j] += a * scale * (rows[o + at.GAIN_W] - plain[o + at.GAIN_W])
            tw.right_h[i, j] += a * scale * (rows[o + at.GAIN_H] - plain[o + at.GAIN_H])
    for i in range(max(first, 0), after):
        for c in range(_PROPERTIES):
            rows[at.offset(i) + c * at.STRIDE] = plain[at.offset(i) + c * at.STRIDE]


@compiled(_nrt=False, forceinline=True)
def plain_air(wall, tables, forcing, work, tw):
    """Compute the moving air of the wall itself alone, once a stage."""
    n = wall.dx.shape[0]
    _copy_properties(tw.plain_air.rows, work.rows, n)
    _copy_properties(tw.other_air.rows, work.rows, n)
    copied = tw.plain_air.air
    _fresh(copied.face_air, work.air.face_air)
    _fresh(copied.lose, work.air.lose)
    _fresh(copied.gain_out, work.air.gain_out)
    _fresh(copied.gain_in, work.air.gain_in)
    _fresh(copied.meet, work.air.meet)
    _fresh(copied.meet_c, work.air.meet_c)
    air_pass(wall, tables, forcing.loads, tw.plain_air, (work.out, work.inn))


@compiled(_nrt=False, forceinline=True)
def _sources_changed(inputs, forcing, piece, x, t_source, held, offering, per, work, tw, j, a, scale):
    """Add what sources change by, what they offer taken with all that the wall held otherwise at the start of the step.

    Room is the small difference of two large amounts. Were only the pores to grow, and not what they hold, so small a
    step of the input would be a large one of the room.
    """
    wall = _part(inputs.wall, inputs.material[j], inputs.dx[j])
    n = wall.dx.shape[0]
    water, d_water = held
    for i in range(n):
        tw.sources.water[i] = water[i] + inputs.step[j] * d_water[i, j]
    uptake_changed(inputs, wall, forcing, piece, t_source, offering, per, work, tw, j, a, scale)
    _sources(wall, forcing, piece.k, x, t_source, tw.sources)
    for i in range(n):
        o = at.offset(i)
        w = inputs.wall.dx[i] * work.src_w[i]
        h = inputs.wall.dx[i] * work.src_h[i]
        if offers_to(work.rows, o, offering):
            w -= work.rows[o + at.UPTAKE]
            h -= work.rows[o + at.UPTAKE] * work.rows[o + at.ARRIVES]
        tw.right_w[i, j] += a * scale * (wall.dx[i] * tw.sources.src_w[i] - w)
        tw.right_h[i, j] += a * scale * (wall.dx[i] * tw.sources.src_h[i] - h)


@compiled(_nrt=False, forceinline=True)
def _cells_changed(inputs, u, t, work, tw, j, a, scale, moving):
    """Add what changes in what touched cells hold, and in what flows between those of a layer."""
    w = inputs.wall
    first = inputs.touches[j, FIRST]
    after = inputs.touches[j, AFTER]
    part = _part(w, inputs.material[j][first:after], inputs.dx[j][first:after])
    property_pass(inputs.tables, part, tw.rows, u[first:after], t[first:after])
    for i in range(first, after):
        o = at.offset(i)
        c = at.offset(i - first)
        d_w = scale * (tw.rows[c + at.WATER] - work.rows[o + at.WATER])
        d_h = scale * (tw.rows[c + at.HEAT] - work.rows[o + at.HEAT])
        tw.held_w[i, j] = d_w
        tw.held_h[i, j] = d_h
        tw.right_w[i, j] -= d_w
        tw.right_h[i, j] -= d_h
    interior_pass(part, tw.rows, inputs.runs[j])
    for r in range(inputs.runs.shape[1]):
        for f in range(inputs.runs[j, r, 0], inputs.runs[j, r, 0] + inputs.runs[j, r, 1]):
            o = at.offset(first + f)
            c = at.offset(f)
            g = tw.rows[c + at.G] - work.rows[o + at.G]
            q = tw.rows[c + at.Q] - work.rows[o + at.Q]
            if moving:  # what air carries stands in the rows of the wall too
                g += tw.plain_air.rows[o + at.G]
                q += tw.plain_air.rows[o + at.Q]
            _inside(tw, first + f, j, a * scale, g, q)


@compiled(_nrt=False, forceinline=True)
def _faces_changed(inputs, work, tw, j, a, scale):
    """Add what changes in what flows through touched faces that no run holds, and through the surfaces."""
    w = inputs.wall
    n = w.dx.shape[0]
    first = inputs.touches[j, FIRST]
    after = inputs.touches[j, AFTER]
    theirs = Theirs(first, after, inputs.material[j], inputs.dx[j], inputs.film[j])
    number = inputs.single.shape[1]
    for s in range(number + 2):
        i = inputs.single[j, s] if s < number else -1
        if s == number and inputs.touches[j, OUTSIDE] == 1 and first != 0:
            i = 0
        if s > number and inputs.touches[j, INSIDE] == 1 and after != n:
            i = n
        if i < 0:
            continue
        side = work.inn if i == n else work.out
        other_side = tw.inn if i == n else tw.out
        g, q = _through_face(
            w, inputs.tables, theirs, work.rows, tw.rows, work.faces[i], tw.kept, tw.own[i], i, side, other_side
        )
        _book(tw, w, i, j, a, scale, g, q)


@compiled(_nrt=False)
def partials(inputs, forcing, piece, x, u, t, t_source, t_air, held, offering, per, work, tw, a):
    """Add to right_w, right_h what every input changes, and write held_w, held_h, through.

    u, t : the state about which the last sweep was linearised, whose properties stand in work.rows; t_source, t_air :
    temperatures that sources and moving air were taken at; held : water at the start of the step, and its derivatives;
    offering, per : whether limited sources offer water, and how often the stage takes what they offer.
    """
    w = inputs.wall
    moving = forcing.loads.active == 1
    if moving:
        plain_air(w, inputs.tables, forcing, work, tw)
    tw.through[:] = 0.0
    tw.own[:, KNOWN] = 0.0
    _fresh(tw.out, work.out)
    _fresh(tw.inn, work.inn)
    for j in range(inputs.step.shape[0]):
        scale = 1.0 / inputs.step[j]
        row = inputs.touches[j, OTHER]
        if inputs.touches[j, AFTER] > inputs.touches[j, FIRST]:
            _cells_changed(inputs, u, t, work, tw, j, a, scale, moving)
        if row < 0:
            if inputs.touches[j, FIRST] >= 0:
                _faces_changed(inputs, work, tw, j, a, scale)
            if inputs.touches[j, SOURCES] == 1:
                _sources_changed(inputs, forcing, piece, x, t_source, held, offering, per, work, tw, j, a, scale)
            if inputs.touches[j, AIR_MOVES] == 1:
                _moving_air(inputs, forcing, piece, x, t_air, tw, j, a, scale)
            continue
        other = _other_forcing(forcing, inputs.others, row)
        _force(other.outside, piece.k, x, tw.out)
        _force(other.inside, piece.k, x, tw.inn)
        _faces_changed(inputs, work, tw, j, a, scale)
        if inputs.touches[j, SOURCES] == 1:
            _sources_changed(inputs, other, piece, x, t_source, held, offering, per, work, tw, j, a, scale)
        if inputs.touches[j, AIR_MOVES] == 1:
            _moving_air(inputs, other, piece, x, t_air, tw, j, a, scale)
        _fresh(tw.out, work.out)
        _fresh(tw.inn, work.inn)
