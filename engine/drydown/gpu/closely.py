"""Stages solved closely, in steps that are kept or given: what `drydown.kernel.tangent_march` does of a wall.

Walls that differ a little and march in the same steps differ smoothly, where stages are solved closely.
"""

from __future__ import annotations

import numpy as np
from numba import cuda

from ..kernel.controller import AFTER_FAILURE, shortest
from ..kernel.layout import FAILED
from ..kernel.tangent_march import LOOSER, NEAR
from .endings import STEP_TOO_SMALL, count, stop, which_cell
from .exchange import greatest
from .faces import fresh_faces
from .layout import AFRESH, BEND, EULER, FAILURES, LOOSE, NEWTON, PHASE, STEP, STILL, TAKEN, WANTED, ZERO

#: What is told of a step.
BY_EULER, FROM_REST = 1, 2


@cuda.jit(device=True)
def begin_stretch(v, me):
    """Begin a stretch: no step of it is taken yet."""
    v[me.z + LOOSE] = 0.0
    v[me.z + AFRESH] = 0.0
    v[me.z + TAKEN] = 0.0


@cuda.jit(device=True)
def out_of_steps(steps, v, me):
    """Return whether there is no step to follow, or no room for one more."""
    if steps.given == 1:
        return int(v[me.z + TAKEN]) >= steps.written[steps.of[me.w]]
    return int(v[me.z + TAKEN]) >= steps.room


@cuda.jit(device=True)
def given_step(steps, v, me):
    """Return where the next step that is given ends [s into its interval], and whether it is one of implicit Euler."""
    row = min(int(v[me.z + TAKEN]), steps.room - 1)
    i = np.uint64(steps.of[me.w]) * np.uint64(steps.room) + np.uint64(row)
    kind = steps.kind[i]
    if kind >= FROM_REST:
        v[me.z + STILL] = 1.0
        v[me.z + BEND] = 1.0
    return steps.end[i], kind == BY_EULER or kind == BY_EULER + FROM_REST


@cuda.jit(device=True)
def keep_step(steps, v, me, end):
    """Write a step that was accepted, where steps are chosen."""
    row = int(v[me.z + TAKEN])
    if steps.given == 0 and me.q == ZERO:
        i = np.uint64(steps.of[me.w]) * np.uint64(steps.room) + np.uint64(row)
        steps.end[i] = end
        kind = BY_EULER if v[me.z + EULER] == 1.0 else 0
        steps.kind[i] = kind + FROM_REST if v[me.z + AFRESH] == 1.0 else kind
        steps.written[steps.of[me.w]] = row + 1
    v[me.z + AFRESH] = 0.0
    v[me.z + TAKEN] = float(row + 1)


@cuda.jit(device=True)
def failed_closely(control, many, weather, scratch, shared, me, given):
    """Take a step again that could not be solved: first less closely, with fresh faces; then shorter; or give up.

    A surface that turns wet and dry again may not settle as closely: as closely as it does will do.
    """
    v = scratch.march
    z = me.z
    v[z + PHASE] = 0.0
    fresh_faces(scratch.faces, me)
    if v[z + NEWTON] < NEAR:
        v[z + NEWTON] = min(LOOSER * v[z + NEWTON], NEAR)
        v[z + LOOSE] = 1.0
        return
    count(scratch, me, FAILED, 1)
    v[z + LOOSE] = 0.0
    v[z + AFRESH] = 1.0
    v[z + FAILURES] += 1.0
    v[z + STILL] = 1.0
    v[z + BEND] = 1.0
    h = AFTER_FAILURE * v[z + STEP]
    v[z + WANTED] = max(h, shortest(control))
    if given == 1 or (h < shortest(control) and v[z + EULER] == 1.0):
        stop(many, weather, scratch, me, STEP_TOO_SMALL, which_cell(shared, me, 0, greatest(shared, 0, me)))
