"""From mark to mark: advance a step, choose the next, save what is to be kept."""

from __future__ import annotations

from .advance import Piece, accept, advance, indicator
from .controller import AFTER_FAILURE, AFTER_JUMP, following, pieces_of, rejected, shorter, shortest
from .face_states import face_states
from .jit import compiled
from .layout import FAILED, REJECTED, SWEEPS
from .saving import save
from .stage import worst_cell

DONE, STEP_TOO_SMALL, OUT_OF_RANGE = 0, 1, 2


@compiled(_nrt=False, no_cpython_wrapper=False)
def march(wall, tables, forcing, control, state, record, work, first, last, h):
    """Run from mark `first` to mark `last`; update state and record in place.

    The state at mark `first` is not recorded here, that at `last` is, where kept. `work` is a workspace for this wall;
    nothing in it is carried from one call to the next. Returns (status, mark reached, time reached, step in use, cell
    that failed).
    """
    counters = record.counters
    row = 0
    time = forcing.marks[first]
    failed = 0  # failures in a row
    work.faces[:] = 0.0
    work.slope[:] = 0.0
    work.bend[0] = 1.0
    for k in range(first, last):
        start = forcing.marks[k]
        length = forcing.marks[k + 1] - start
        if forcing.jump[k] == 1:
            work.slope[:] = 0.0
            if control.fixed == 0:
                h = min(h, AFTER_JUMP)
        time = start
        done = 0.0  # seconds into the interval
        while done < length:
            rest = length - done
            pieces = pieces_of(rest, h, control.max_step)
            step = rest / max(pieces, 1)
            end = done + step
            if pieces <= 1:
                end = length
                step = length - done
            piece = Piece(k, done, end, length, step, failed > 1, control.newton)
            tried = advance(wall, tables, forcing, control, state, work, piece)
            if tried.sweeps < 0:
                counters[FAILED] += 1
                counters[SWEEPS] += control.max_sweeps
                failed += 1
                h = AFTER_FAILURE * step
                work.faces[:] = 0.0  # a face that the failed sweeps drove off begins at its cells again
                work.slope[:] = 0.0
                if h < shortest(control):
                    if piece.euler:
                        return STEP_TOO_SMALL, k, start + done, step, worst_cell(work)
                    h = shortest(control)  # not before the step that cannot overshoot has been tried
                continue
            counters[SWEEPS] += tried.sweeps
            error, bad = indicator(wall, control, state, work)
            if bad >= 0:
                h = AFTER_FAILURE * step
                counters[FAILED] += 1
                if h < shortest(control):
                    return OUT_OF_RANGE, k, start + done, step, bad
                continue
            if rejected(control, piece, error):
                counters[REJECTED] += 1
                h = shorter(piece, error)
                continue
            h = following(control, piece, error, h, pieces)
            accept(wall, tables, forcing, state, record, work, piece, tried, error)
            failed = 0
            done = end
            time = start + done
        if forcing.keep[k + 1] == 1:
            save(record, row, state)
            if wall.faces.shape[0] > 0:
                face_states(wall, tables, state, work, record.faces[row])
            row += 1
    return DONE, last, time, h, -1
