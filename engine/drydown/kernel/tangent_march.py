"""From mark to mark with derivatives: every accepted stage is followed by its tangents; steps are kept, or given.

The march is that of `march.py` with stages solved closely, so that the matrix of the last sweep is that of the stage.
With steps given it takes those and no others: walls that differ a little then march in step, and what they differ by
is smooth.
"""

from __future__ import annotations

from . import columns as at
from .advance import GAMMA, Advanced, Piece, _surroundings, accept, again, between, indicator
from .controller import AFTER_FAILURE, AFTER_JUMP, following, pieces_of, rejected, shorter, shortest
from .faces import CLOSER
from .jit import compiled
from .layout import FAILED, REJECTED, SWEEPS
from .saving import copy, save
from .stage import stage, worst_cell
from .sweep import short_faces
from .tangent_stage import follow
from .uptake import admit

DONE, STEP_TOO_SMALL, OUT_OF_RANGE, NO_ROOM = 0, 1, 2, 3
#: How loosely a stage may be solved at most before the step is cut, and how much looser each further try is.
NEAR, LOOSER = 3.0, 30.0
#: A face is found this many times more closely: the matrix is that of the face before its last correction.
FACES = 999.0
#: Size that a correction of u counts as. In wet pores humidity hardly moves with u, what conducts there does.
PER_U = 100.0
#: Columns of a step that is kept: mark, start and end in the interval [s], 1: implicit Euler, 1: a try failed before,
#: so that its guess is the state itself.
STEP_COLUMNS = 5


@compiled(_nrt=False)
def _about(y, work, hold_u, hold_t):
    """Keep the state that the last sweep was linearised about: that of the stage less its last correction."""
    for i in range(y.u.shape[0]):
        hold_u[i] = work.rows[at.offset(i) + at.U]
        hold_t[i] = work.rows[at.offset(i) + at.T]


@compiled(_nrt=False)
def _begin(tw, tangent, k0):
    """Write the derivatives of y*, those of the start and k0 times what the first stage added."""
    for i in range(tangent.u.shape[0]):
        for j in range(tangent.u.shape[1]):
            tw.right_w[i, j] = tangent.water[i, j]
            tw.right_h[i, j] = tangent.heat[i, j]
        if k0 > 0.0:
            for j in range(tangent.u.shape[1]):
                tw.right_w[i, j] += k0 * (tw.one.water[i, j] - tangent.water[i, j])
                tw.right_h[i, j] += k0 * (tw.one.heat[i, j] - tangent.heat[i, j])


@compiled(_nrt=False)
def _advance(inputs, tables, forcing, control, state, work, piece, tangent, tw, hold):
    """Try one step as `advance` does, its derivatives in tw.two. Returns `Advanced`."""
    wall = inputs.wall
    n = wall.dx.shape[0]
    loads = forcing.loads
    one = work.one
    two = work.two
    count = tangent.u.shape[1]
    hold_u, hold_t, hold_air = hold
    a = piece.step if piece.euler else GAMMA * piece.step
    offering = admit(wall, tables, forcing, piece, state.water, work) if forcing.share.shape[0] > 0 else False
    for i in range(n):
        one.u[i] = state.u[i] + a * work.slope[0, i]
        one.t[i] = state.temperature[i] + a * work.slope[1, i]
    began = (tangent, state.water)
    short = 0
    sweeps = 0
    added_w = 0.0
    added_h = 0.0
    number = 0
    tries = 0
    while number < (1 if piece.euler else 2):
        last = piece.euler or number == 1
        y = two if number == 1 else one
        water = y.water if number == 1 else state.water
        heat = y.heat if number == 1 else state.heat
        t_source = one.t if number == 1 else state.temperature
        d_source = tw.one.t if number == 1 else tangent.t
        x = (piece.end if number == 1 else piece.done + a) / piece.length
        if number == 1 and tries == 0:
            copy(tw.flow_one, tw.flow)
            added_w, added_h = between(wall, forcing, state, work, piece, offering)
        if tries == 0:
            _surroundings(wall, forcing, piece.k, x, t_source, y.t, offering, work)
        for i in range(n):
            hold_air[i] = y.t[i]
        taken = stage(wall, tables, control, piece.newton, PER_U, loads, offering, work, y, water, heat, a)
        if taken < 0:
            return Advanced(-1, 0, 0.0, 0.0)
        sweeps += taken
        if loads.active == 1 and again(wall, forcing, piece, x, tries, state, work, number == 1):
            tries += 1
            continue
        short += short_faces(wall, work)
        if count > 0:
            _about(y, work, hold_u, hold_t)
            _begin(tw, tangent, (1.0 - GAMMA) / GAMMA if number == 1 else 0.0)
            taken_at = t_source, d_source, hold_air
            follow(
                inputs, forcing, piece, x, (hold_u, hold_t), began, taken_at, offering, number == 1, work, tw,
                tw.two if last else tw.one, a,
            )  # fmt: skip
        number += 1
        tries = 0
    if piece.euler:
        for i in range(n):
            two.u[i] = one.u[i]
            two.t[i] = one.t[i]
            two.water[i] = one.water[i]
            two.heat[i] = one.heat[i]
    return Advanced(sweeps, short, added_w, added_h)


@compiled(_nrt=False)
def _accept(piece, tangent, tw):
    """Make the derivatives at the end of a step those of the state, and book what passed."""
    a = piece.step if piece.euler else GAMMA * piece.step
    k1 = 0.0 if piece.euler else (1.0 - GAMMA) * piece.step
    two = tw.two
    for i in range(two.u.shape[0]):
        for j in range(two.u.shape[1]):
            tangent.u[i, j] = two.u[i, j]
            tangent.t[i, j] = two.t[i, j]
            tangent.water[i, j] = two.water[i, j]
            tangent.heat[i, j] = two.heat[i, j]
    for k in range(tangent.passed.shape[0]):
        for c in range(2):
            for j in range(two.u.shape[1]):
                tangent.passed[k, c, j] += k1 * tw.flow_one[k, c, j] + a * tw.flow[k, c, j]


@compiled(_nrt=False)
def _save(record, row, tangent):
    """Write the derivatives to a row of their record."""
    for k in range(record.cells.shape[0]):
        i = record.cells[k]
        for j in range(tangent.u.shape[1]):
            record.u[row, k, j] = tangent.u[i, j]
            record.t[row, k, j] = tangent.t[i, j]
            record.water[row, k, j] = tangent.water[i, j]
    record.layer_water[row] = 0.0
    for i in range(tangent.u.shape[0]):
        layer = record.layer[i]
        if layer >= 0:
            for j in range(tangent.u.shape[1]):
                record.layer_water[row, layer, j] += tangent.water[i, j]
    copy(record.passed[row], tangent.passed)


@compiled(_nrt=False)
def _fresh_faces(work):
    """Let every face begin at its cells, to be found closely."""
    work.faces[:] = 0.0
    work.faces[:, CLOSER] = FACES


@compiled(_nrt=False)
def _restart(work):
    work.slope[:] = 0.0
    work.bend[0] = 1.0


@compiled(_nrt=False, no_cpython_wrapper=False)
def march_with_tangents(inputs, forcing, control, state, record, work, tangent, tw, kept, hold, steps, given, span, h):
    """Run from mark to mark of `span` (first, last); update state, tangent and both records in place.

    steps : [step, STEP_COLUMNS], filled as the march goes, or, `given` being 1, followed; kept : `TangentRecord`;
    hold : scratch of (cell), (cell), (cell). Returns (status, mark reached, time reached, step in use,
    cell that failed, steps taken).
    """
    wall = inputs.wall
    tables = inputs.tables
    counters = record.counters
    first, last = span
    row = 0
    taken = 0
    time = forcing.marks[first]
    failed = 0
    afresh = 0.0
    newton = control.newton
    _fresh_faces(work)
    _restart(work)
    for k in range(first, last):
        start = forcing.marks[k]
        length = forcing.marks[k + 1] - start
        if forcing.jump[k] == 1:
            _restart(work)
            if control.fixed == 0:
                h = min(h, AFTER_JUMP)
        time = start
        done = 0.0
        while done < length:
            rest = length - done
            pieces = pieces_of(rest, h, control.max_step)
            step = rest / max(pieces, 1)
            end = done + step
            if pieces <= 1:
                end = length
                step = length - done
            euler = failed > 1
            if given == 1:
                if taken >= steps.shape[0]:
                    return NO_ROOM, k, start + done, step, 0, taken
                end = steps[taken, 2]
                step = end - done
                euler = steps[taken, 3] > 0.0
                if steps[taken, 4] > 0.0:
                    _restart(work)
            piece = Piece(k, done, end, length, step, euler, newton)
            tried = _advance(inputs, tables, forcing, control, state, work, piece, tangent, tw, hold)
            if tried.sweeps < 0 and newton < NEAR:
                # a surface that turns wet and dry again may not settle as closely: as closely as it does will do
                newton = min(LOOSER * newton, NEAR)
                _fresh_faces(work)
                continue
            newton = control.newton
            if tried.sweeps < 0:
                counters[FAILED] += 1
                failed += 1
                afresh = 1.0
                h = AFTER_FAILURE * step
                _fresh_faces(work)
                _restart(work)
                if given == 1:
                    return STEP_TOO_SMALL, k, start + done, step, worst_cell(work), taken
                if h < shortest(control):
                    if euler:
                        return STEP_TOO_SMALL, k, start + done, step, worst_cell(work), taken
                    h = shortest(control)
                continue
            counters[SWEEPS] += tried.sweeps
            error, bad = indicator(wall, control, state, work)
            if bad >= 0:
                h = AFTER_FAILURE * step
                counters[FAILED] += 1
                if h < shortest(control) or given == 1:
                    return OUT_OF_RANGE, k, start + done, step, bad, taken
                continue
            if given == 0:
                if rejected(control, piece, error):
                    counters[REJECTED] += 1
                    h = shorter(piece, error)
                    continue
                h = following(control, piece, error, h, pieces)
                if taken >= steps.shape[0]:
                    return NO_ROOM, k, start + done, step, 0, taken
                steps[taken, 0] = k
                steps[taken, 1] = done
                steps[taken, 2] = end
                steps[taken, 3] = 1.0 if euler else 0.0
                steps[taken, 4] = afresh
                afresh = 0.0
            taken += 1
            accept(wall, tables, forcing, state, record, work, piece, tried, error)
            _accept(piece, tangent, tw)
            failed = 0
            done = end
            time = start + done
        if forcing.keep[k + 1] == 1:
            save(record, row, state)
            _save(kept, row, tangent)
            row += 1
    return DONE, last, time, h, -1, taken
