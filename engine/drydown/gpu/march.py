"""The march of many walls: each goes from mark to mark in steps of its own; a round is one sweep of every wall.

What a wall does is what `drydown.kernel.march` does: the same stages, control of steps, budgets and counters. A round
is four launches: what begins, the faces, the sweep over the cells, what ends. So each has the registers it needs, and
the threads beside each other do the same.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import cuda, float64

from ..kernel.advance import GAMMA, Piece
from ..kernel.controller import AFTER_FAILURE, AFTER_JUMP, pieces_of, rejected, shorter, shortest
from ..kernel.layout import FAILED, REJECTED, SWEEPS
from ..kernel.tangent_march import FACES, NO_ROOM, PER_U
from ..kernel.uptake import LATER
from . import loading  # noqa: F401  (look-ups load pairs)
from .back import worst_cell
from .cells import sweep
from .closely import begin_stretch, failed_closely, given_step, keep_step, out_of_steps
from .endings import AIRS, HALVES, OUT_OF_RANGE, accepted, count, failed, stop, swept, which_cell
from .exchange import greatest, total
from .faces import brought_in, face_flux, first_flow, fresh_faces
from .lanes import control_of, lane_at, lane_of, mark_of
from .layout import (
    ADDED_H,
    ADDED_W,
    ALIVE,
    BEND,
    CLIPPED,
    DONE,
    ENDS,
    ENTERS,
    EULER,
    EXCHANGED,
    FAILURES,
    FRACTION,
    INSIDE,
    KNOWN_W,
    LAST_STEP,
    LENGTH,
    LIFTED,
    LOOSE,
    MARK,
    NEWTON,
    ONE,
    OUTSIDE,
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
    THREADS,
    THREE,
    TRIED,
    UNSETTLED,
    UPTO,
    W0,
    WANTED,
    WIDTH,
    WORST,
    ZERO,
    A,
)  # fmt: skip
from .steps import between, ended, guess
from .surroundings import admit, air, brought_by_loads, first_loads, force, lift_off, sources
from .uptake import second_offers, taken_of


@cuda.jit
def set_out(many, scratch, begin):
    """Let every wall set out from mark `begin`."""
    me = lane_of(many)
    v = scratch.march
    z = me.z
    on = me.count > ZERO and scratch.ends[me.w * ENDS + STATUS] == 0.0 and begin < many.last[me.w]
    v[z + ALIVE] = 1.0 if on else 0.0
    v[z + MARK] = float(begin)
    v[z + WANTED] = scratch.ends[me.w * ENDS + LAST_STEP]
    v[z + ROW] = 0.0
    v[z + FAILURES] = 0.0
    v[z + ENTERS] = 1.0
    v[z + STARTS] = 0.0
    v[z + PHASE] = 0.0
    v[z + STILL] = 1.0
    v[z + SHORT_SUM] = 0.0
    v[z + OVER_SUM] = 0.0
    v[z + DONE] = 0.0
    v[z + ROUND] = 0.0
    if on and me.q == ZERO:
        cuda.atomic.add(scratch.alive, 0, 1)


@cuda.jit(device=True)
def _step(control, many, weather, scratch, me, begin, stretch, steps):
    """Choose the next step of a wall, or take the one that is given; steps : None in an ordinary march."""
    v = scratch.march
    z = me.z
    k = int(v[z + MARK])
    h = v[z + WANTED]
    if v[z + ENTERS] == 1.0:
        v[z + ENTERS] = 0.0
        v[z + LENGTH] = mark_of(many, weather, me, k + 1) - mark_of(many, weather, me, k)
        v[z + DONE] = 0.0
        fresh = (k - begin) % stretch == 0
        if fresh:
            v[z + FAILURES] = 0.0
            v[z + BEND] = 1.0
            fresh_faces(scratch.faces, me)
            if steps is not None:
                begin_stretch(v, me)
        jumps = weather.jump[many.jump[me.w] + k] == 1
        if fresh or jumps:
            v[z + STILL] = 1.0
            if steps is not None:
                v[z + BEND] = 1.0
        if jumps and control.fixed == 0:
            h = min(h, AFTER_JUMP)
            v[z + WANTED] = h
    length = v[z + LENGTH]
    done = v[z + DONE]
    rest = length - done
    pieces = pieces_of(rest, h, control.max_step)
    step = rest / max(pieces, 1)
    upto = done + step
    if pieces <= 1:
        upto = length
        step = length - done
    euler = v[z + FAILURES] > 1.0
    if steps is not None:
        if out_of_steps(steps, v, me):
            stop(many, weather, scratch, me, float(NO_ROOM), -1.0)
        if steps.given == 1:
            upto, euler = given_step(steps, v, me)
            step = upto - done
    a = step if euler else GAMMA * step
    v[z + PIECES] = float(pieces)
    v[z + STEP] = step
    v[z + UPTO] = upto
    if steps is None or v[z + LOOSE] == 0.0:
        v[z + NEWTON] = control.newton
    v[z + EULER] = 1.0 if euler else 0.0
    v[z + A] = a
    v[z + PHASE] = 2.0 if euler else 1.0
    v[z + STARTS] = 1.0
    v[z + TRIED] = 0.0
    v[z + SHORT_NOW] = 0.0
    v[z + ADDED_W] = 0.0
    v[z + ADDED_H] = 0.0
    v[z + FRACTION] = (done + a) / length
    guess(scratch, me, STAGE + STAGE if euler else STAGE, a, v[z + STILL] == 1.0)


class Kernels(NamedTuple):
    """The launches of a round."""

    begins: Any
    at_faces: Any
    over_cells: Any
    ends: Any


def _kernels(closely: bool) -> Kernels:
    """Return the launches of an ordinary march, or of one whose stages are solved closely.

    The last argument of what begins and ends are its `Steps`, of an ordinary march nothing. Which it is stands fixed
    when they are compiled, so that an ordinary march knows nothing of the other.
    """
    per_u = PER_U if closely else None
    closer = FACES if closely else None

    @cuda.jit
    def begins(wall, tables, loads, many, weather, scratch, begin, stretch, steps):
        """Begin steps and stages: their guess, forcing, sources and moving air."""
        shared = cuda.shared.array((EXCHANGED, THREADS), float64)
        me = lane_of(many)
        v = scratch.march
        z = me.z
        alive = v[z + ALIVE] == 1.0
        starts = alive and (v[z + PHASE] == 0.0 or v[z + STARTS] == 2.0)
        anew = alive and v[z + STARTS] == AIRS
        if cuda.syncthreads_or(1 if starts or anew else 0) == 0:
            return
        if alive and v[z + PHASE] == 0.0:
            _step(control_of(many, me.w), many, weather, scratch, me, begin, stretch, steps if closely else None)
        second = alive and v[z + STARTS] == 2.0
        k = np.uint64(int(v[z + MARK]))
        step = v[z + STEP]
        rate = np.uint64(many.rate[me.w]) + k + ONE
        if many.sources > 0:
            admit(tables, many, weather, scratch, shared, me, rate, step, starts and not second)
        if second:
            first_flow(scratch.faces, me)
            if loads.active == 1:
                first_loads(many, scratch, me)
            added_w, added_h = between(many, scratch, me, step)
            if many.law == 1:
                second_offers(scratch, me)
            v[z + ADDED_W] = added_w
            v[z + ADDED_H] = added_h
            v[z + PHASE] = 2.0
            v[z + FRACTION] = v[z + UPTO] / v[z + LENGTH]
        stage = STAGE if v[z + PHASE] == 1.0 else STAGE + STAGE
        if starts:
            f = v[z + FRACTION]
            force(weather, np.uint64(many.outside[me.w]) + k, f, v, z + OUTSIDE)
            force(weather, np.uint64(many.inside[me.w]) + k, f, v, z + INSIDE)
            if many.sources > 0:
                sources(wall, many, weather, scratch, me, rate, STAGE if second else ZERO)
            v[z + LIFTED] = 0.0
        if starts or anew:
            v[z + ROUND] = 0.0
            v[z + STARTS] = 0.0
        if loads.active == 1:
            row = np.uint64(many.air[me.w]) + k
            air(loads, many, scratch, shared, me, row, v[z + FRACTION], stage, starts or anew)

    @cuda.jit
    def at_faces(wall, tables, loads, many, scratch):
        """Compute the fluxes through faces that have a state of their own, a thread each.

        Threads beside each other have the same face of walls beside each other: where these are alike, they do the
        same.
        """
        lanes = np.uint64(many.lanes)
        w = np.uint64(cuda.blockIdx.x) * WIDTH + np.uint64(cuda.threadIdx.x)
        f = np.uint64(cuda.blockIdx.y)
        of_block = WIDTH // lanes
        if w < np.uint64(many.blocks) * of_block and f < np.uint64(many.faces[w]):
            me = lane_at(many, w // of_block, (w % of_block) * lanes + f % lanes)
            v = scratch.march
            if v[me.z + ALIVE] == 1.0:
                stage = STAGE if v[me.z + PHASE] == 1.0 else STAGE + STAGE
                face_flux(wall, tables, loads, many, scratch, me, f // lanes, stage, closer)

    @cuda.jit
    def over_cells(wall, tables, loads, many, scratch):
        """Linearise and solve."""
        shared = cuda.shared.array((EXCHANGED, THREADS), float64)
        me = lane_of(many)
        v = scratch.march
        z = me.z
        alive = v[z + ALIVE] == 1.0
        if cuda.syncthreads_or(1 if alive else 0) == 0:
            return
        first = v[z + PHASE] == 1.0
        stage = STAGE if first else STAGE + STAGE
        known = W0 if first or v[z + EULER] == 1.0 else KNOWN_W
        keep = loads.active == 1 or v[z + ROUND] > HALVES
        worst, clipped, unsettled = sweep(
            wall, tables, loads, many, scratch, shared, me, stage, known, v[z + A], alive, keep, per_u
        )
        v[z + WORST] = worst
        v[z + CLIPPED] = clipped
        v[z + UNSETTLED] = unsettled

    @cuda.jit
    def ends(wall, tables, loads, many, weather, scratch, kept, end, steps):
        """End sweeps, stages and steps."""
        shared = cuda.shared.array((EXCHANGED, THREADS), float64)
        me = lane_of(many)
        v = scratch.march
        z = me.z
        alive = v[z + ALIVE] == 1.0
        if cuda.syncthreads_or(1 if alive else 0) == 0:
            return
        shared[0, me.t] = v[z + WORST]
        shared[1, me.t] = v[z + CLIPPED]
        shared[2, me.t] = v[z + UNSETTLED]
        cuda.syncthreads()
        worst = greatest(shared, 0, me)
        clipped = greatest(shared, 1, me)
        unsettled = greatest(shared, 2, me)
        failing = False
        ending = False
        control = control_of(many, me.w)
        off = 0.0
        if loads.active == 1:
            row = np.uint64(many.air[me.w]) + np.uint64(int(v[z + MARK]))
            stage = STAGE if v[z + PHASE] == 1.0 else STAGE + STAGE
            cuda.syncthreads()  # all have read what the walls of the block found
            off = lift_off(loads, many, scratch, shared, me, row, v[z + FRACTION], stage, alive)
        if alive:
            failing, ending = swept(wall, tables, loads, control, many, scratch, me, worst, clipped, unsettled, off)
        cuda.syncthreads()
        if cuda.syncthreads_or(1 if failing or ending else 0) == 0:
            return
        error = 0.0
        bad = 0.0
        which = 0.0
        gap_w = 0.0
        gap_h = 0.0
        euler = v[z + EULER] == 1.0
        step = v[z + STEP]
        a = v[z + A]
        k1 = 0.0 if euler else (1.0 - GAMMA) * step
        if ending:
            error, bad, which, gap_w, gap_h, add_w, add_h = ended(control, many, scratch, me, a, euler)
            in_w, in_h = brought_in(scratch.faces, me, k1, a)
            if loads.active == 1:
                load_w, load_h = brought_by_loads(many, scratch, me, k1, a)
                add_w += load_w
                add_h += load_h
            gap_w -= in_w + add_w + v[z + ADDED_W]
            gap_h -= in_h + add_h + v[z + ADDED_H]
        elif failing:
            error, which = worst_cell(scratch, me)
        shared[0, me.t] = error
        shared[1, me.t] = bad
        shared[2, me.t] = gap_w
        shared[3, me.t] = gap_h
        n = np.uint64(many.cells[me.w])
        shared[4, me.t] = float(me.q * (n // me.lanes) + min(me.q, n % me.lanes)) + which
        cuda.syncthreads()
        if many.law == 1:
            for s in range(np.uint64(many.sources)):
                shared[5, me.t] = taken_of(many, scratch, me, s) if ending else 0.0
                cuda.syncthreads()
                taken = me.taken + s * THREE * WIDTH
                if ending and scratch.sources[taken] == LATER:
                    scratch.sources[taken] = total(shared, 5, me)
                cuda.syncthreads()
        if alive and failing:
            if closely:
                failed_closely(control, many, weather, scratch, shared, me, steps.given)
            else:
                failed(control, many, weather, scratch, shared, me)
        if alive and ending:
            error = math.sqrt(math.sqrt(total(shared, 0, me) / many.cells[me.w]))
            v[z + PHASE] = 0.0
            if closely:
                v[z + LOOSE] = 0.0
            count(scratch, me, SWEEPS, int(v[z + TRIED]))
            piece = Piece(int(v[z + MARK]), v[z + DONE], v[z + UPTO], v[z + LENGTH], step, euler, v[z + NEWTON])
            if greatest(shared, 1, me) > 0.0:
                h = AFTER_FAILURE * step
                count(scratch, me, FAILED, 1)
                v[z + WANTED] = h
                if h < shortest(control) or (closely and steps.given == 1):
                    stop(many, weather, scratch, me, OUT_OF_RANGE, which_cell(shared, me, 1, 1.0))
            elif not (closely and steps.given == 1) and rejected(control, piece, error):
                count(scratch, me, REJECTED, 1)
                v[z + WANTED] = shorter(piece, error)
            else:
                if closely:
                    keep_step(steps, v, me, piece.end)
                accepted(tables, loads, control, many, weather, scratch, kept, shared, me, piece, error, k1, end)

    return Kernels(begins, at_faces, over_cells, ends)


PLAIN, CLOSELY = _kernels(False), _kernels(True)
