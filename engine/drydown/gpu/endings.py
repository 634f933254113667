"""What follows a sweep: the next of its stage, the next stage, the end of a step, or the step once more."""

from __future__ import annotations

import numpy as np
from numba import cuda

from ..kernel.controller import AFTER_FAILURE, following, shortest
from ..kernel.driven import LIFT, TRIES
from ..kernel.layout import (
    COUNTERS,
    ERROR_MAX,
    ERROR_SQUARES,
    FAILED,
    HEAT_CLOSURE_MAX,
    OVERFLOW,
    OVERFULL,
    SHORT_FACES,
    STEP_MIN,
    STEPS,
    SWEEPS,
    TOTALS,
    WATER_CLOSURE_MAX,
    WATER_CLOSURE_SUM,
)  # fmt: skip
from ..kernel.stage import AGES, FADES, FAR, LEFT, NEARLY
from ..kernel.uptake import FITS
from .back import NO_NUMBER, SURPRISED, halve
from .exchange import greatest, total
from .faces import book_flow, fresh_faces, linear_flow
from .lanes import mark_of
from .layout import (
    ALIVE,
    BEFORE,
    BEND,
    CELL_OF,
    DONE,
    ENDS,
    ENTERS,
    EULER,
    FAILURES,
    LAST_STEP,
    LIFTED,
    MARK,
    NEWTON,
    ONE,
    OVER_SUM,
    PHASE,
    PIECES,
    ROUND,
    ROW,
    SHORT_NOW,
    SHORT_SUM,
    STAGE,
    STARTS,
    STATUS,
    STEP,
    STILL,
    THREE,
    TIME,
    TRIED,
    WANTED,
    WIDTH,
    ZERO,
    A,
)  # fmt: skip
from .steps import save, take
from .surroundings import book_loads, linear_loads
from .uptake import book_uptake

#: Sweeps after which those that go to and fro meet half-way.
HALVES = 8.0
STEP_TOO_SMALL, OUT_OF_RANGE = 1.0, 2.0
#: What stands in `STARTS` where the air of a stage is moved anew.
AIRS = 3.0
_COUNTERS, _TOTALS = np.uint64(COUNTERS), np.uint64(TOTALS)


@cuda.jit(device=True)
def swept(wall, tables, loads, control, many, scratch, me, worst, clipped, unsettled, off):
    """Decide what follows a sweep: return whether the step fails, and whether it ends; off : see `lift_off`."""
    v = scratch.march
    z = me.z
    if worst >= NO_NUMBER:
        return True, False
    stage = STAGE if v[z + PHASE] == 1.0 else STAGE + STAGE
    sweeps = v[z + ROUND]
    newton = v[z + NEWTON]
    last = sweeps >= control.max_sweeps - 1
    before = v[z + BEFORE]
    if sweeps == 1.0 and before <= 2.0 * FAR * newton:
        v[z + BEND] = max(worst / (before * before), FADES * v[z + BEND])
    if sweeps > HALVES and not last and worst > newton and worst > 0.5 * before:
        halve(wall, tables, many, scratch, me, stage)
    v[z + BEFORE] = worst
    finished = worst <= newton
    if not (clipped > 0.0 and worst > newton):
        expected = v[z + BEND] * worst * worst <= LEFT * newton * newton
        if sweeps == 0.0 and not finished and worst <= FAR * newton and expected:
            finished = True
            v[z + BEND] *= AGES
        if last and v[z + A] < 1.0 and worst <= NEARLY * newton:
            finished = True
    finished = finished and (unsettled == 0.0 or (last and unsettled == SURPRISED))
    if finished and off > LIFT * newton and v[z + LIFTED] < TRIES:
        # solved again from here, with the air that it now has
        v[z + LIFTED] += 1.0
        v[z + STARTS] = AIRS
        v[z + TRIED] += sweeps + 1.0
        return False, False
    if finished:
        v[z + SHORT_NOW] += linear_flow(many, scratch, me)
        if loads.active == 1:
            linear_loads(wall, tables, loads, many, scratch, me)
        if many.law == 1:
            book_uptake(many, scratch, me)
    v[z + ROUND] = sweeps + 1.0
    if not finished:
        return last, False
    v[z + TRIED] += sweeps + 1.0
    if v[z + PHASE] == 1.0:
        v[z + STARTS] = 2.0
        return False, False
    return False, True


@cuda.jit(device=True)
def stop(many, weather, scratch, me, status, cell):
    """End the march of a wall: status 0, it is there."""
    v = scratch.march
    z = me.z
    v[z + ALIVE] = 0.0
    if me.q == ZERO:
        e = me.w * ENDS
        k = int(v[z + MARK])
        scratch.reached[me.w] = k
        scratch.ends[e + STATUS] = status
        scratch.ends[e + LAST_STEP] = v[z + STEP] if status != 0.0 else v[z + WANTED]
        scratch.ends[e + CELL_OF] = cell
        scratch.ends[e + TIME] = mark_of(many, weather, me, k) + (0.0 if status == 0.0 else v[z + DONE])
        cuda.atomic.add(scratch.alive, 0, -1)
    i = me.w * _COUNTERS
    cuda.atomic.add(scratch.counters, i + np.uint64(OVERFULL), int(v[z + OVER_SUM]))
    cuda.atomic.add(scratch.counters, i + np.uint64(SHORT_FACES), int(v[z + SHORT_SUM]))


@cuda.jit(device=True)
def which_cell(shared, me, row, most):
    """Return the cell of a wall in which a row of shared values is the greatest."""
    cell = -1.0
    for i in range(me.home, me.home + me.lanes):
        if shared[row, i] == most:
            cell = shared[4, i]
    return cell


@cuda.jit(device=True)
def failed(control, many, weather, scratch, shared, me):
    """Take a step again that could not be solved, or give up."""
    v = scratch.march
    z = me.z
    if me.q == ZERO:
        scratch.counters[me.w * _COUNTERS + np.uint64(FAILED)] += 1
        scratch.counters[me.w * _COUNTERS + np.uint64(SWEEPS)] += int(control.max_sweeps)
    v[z + FAILURES] += 1.0
    h = AFTER_FAILURE * v[z + STEP]
    fresh_faces(scratch.faces, me)
    v[z + STILL] = 1.0
    v[z + PHASE] = 0.0
    v[z + WANTED] = max(h, shortest(control))  # not before the step that cannot overshoot has been tried
    if h < shortest(control) and v[z + EULER] == 1.0:
        stop(many, weather, scratch, me, STEP_TOO_SMALL, which_cell(shared, me, 0, greatest(shared, 0, me)))


@cuda.jit(device=True)
def count(scratch, me, column, by):
    """Add to a counter of a wall."""
    if me.q == ZERO:
        scratch.counters[me.w * _COUNTERS + np.uint64(column)] += by


@cuda.jit(device=True)
def accepted(tables, loads, control, many, weather, scratch, kept, shared, me, piece, error, k1, end):
    """Make the end of a step the state and book it."""
    v = scratch.march
    z = me.z
    gap_w = total(shared, 2, me)
    gap_h = total(shared, 3, me)
    v[z + WANTED] = following(control, piece, error, v[z + WANTED], int(v[z + PIECES]))
    v[z + OVER_SUM] += take(tables, scratch, me, piece.step)
    v[z + SHORT_SUM] += v[z + SHORT_NOW]
    v[z + STILL] = 0.0
    book_flow(scratch.faces, me, k1, v[z + A])
    if loads.active == 1:
        book_loads(many, scratch, me, k1, v[z + A])
    count(scratch, me, STEPS, 1)
    if me.q == ZERO:
        y = scratch.totals
        i = me.w * _TOTALS
        y[i + np.uint64(ERROR_MAX)] = max(y[i + np.uint64(ERROR_MAX)], error)
        y[i + np.uint64(ERROR_SQUARES)] += error * error
        y[i + np.uint64(STEP_MIN)] = min(y[i + np.uint64(STEP_MIN)], piece.step)
        y[i + np.uint64(WATER_CLOSURE_MAX)] = max(y[i + np.uint64(WATER_CLOSURE_MAX)], abs(gap_w))
        y[i + np.uint64(HEAT_CLOSURE_MAX)] = max(y[i + np.uint64(HEAT_CLOSURE_MAX)], abs(gap_h))
        y[i + np.uint64(WATER_CLOSURE_SUM)] += gap_w
    for s in range(np.uint64(many.sources)):
        i = me.taken + s * THREE * WIDTH
        rate = weather.rate[np.uint64(many.rate[me.w]) + np.uint64(piece.k) + ONE, s]
        amount = piece.step * rate
        scratch.sources[i + WIDTH] += amount * scratch.sources[i]
        left = 1.0 - scratch.sources[i]
        limited = me.w * np.uint64(many.sources)
        for over in range(s + ONE, np.uint64(many.sources)):
            if many.limited[limited + over] == OVERFLOW + int(s):
                left -= scratch.sources[me.taken + over * THREE * WIDTH]
        if many.limited[limited + s] < OVERFLOW and left > FITS:
            scratch.sources[i + WIDTH + WIDTH] += amount * left
    v[z + FAILURES] = 0.0
    v[z + DONE] = piece.end
    if piece.end >= piece.length:
        k = piece.k + 1
        if weather.keep[np.uint64(many.marks[me.w]) + np.uint64(k)] == 1:
            if kept.u.shape[0] > 1:
                save(many, scratch, kept, me, np.uint64(int(v[z + ROW])))
            v[z + ROW] += 1.0
        v[z + MARK] = float(k)
        v[z + ENTERS] = 1.0
        if k == end or k == many.last[me.w]:
            stop(many, weather, scratch, me, 0.0, -1.0)
