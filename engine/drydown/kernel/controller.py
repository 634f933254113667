"""How long the next step is."""

from __future__ import annotations

import math

from .jit import compiled

#: Longest step after a jump of the forcing [s].
AFTER_JUMP = 900.0
#: A step is taken again when its indicator is above this. What is a little too long is cheaper kept, and the next one
#: shortened: against 1.5 this saves 9 % of the sweeps on drawn walls for 5 % of the error of time. To foresee from the
#: kinks of the weather which steps would be taken again saved 2 % more, and was left out. To give a step up that the
#: first sweep of a stage misses by more saved 5 %; but where pores are nearly full that sweep is far off at any step: a
#: drawn wall took two million steps a year instead of eighteen thousand.
REJECT = 3.0
#: What a step becomes by its error (which goes with the square of it) when it is taken again, and after one that stays;
#: most that it grows by.
AGAIN, NEXT, MOST_GROWTH = 0.7, 0.92, 2.0
#: What a step becomes after a failure.
AFTER_FAILURE = 0.25
#: Failures go on to this share of the shortest step that the error may ask for. Full cells of 2 um, against a surface
#: that is dry or frozen, settle in microseconds; steps far longer than that Newton's method may not find.
AT_MOST_DOWN = 1e-5


@compiled(_nrt=False)
def pieces_of(rest, h, longest):
    """Return in how many steps what is left of an interval is covered."""
    return math.ceil(rest / min(h, longest) - 1e-9)


@compiled(_nrt=False)
def rejected(control, piece, error):
    """Return whether a step is to be taken again, shorter."""
    return control.fixed == 0 and not piece.euler and error > REJECT and piece.step > 4.0 * control.min_step


@compiled(_nrt=False, forceinline=True, fastmath={"contract", "reassoc"})
def off(control, phi_u, u, t, water, dx):
    """Return to the fourth power how many tolerances a cell is off by (u, t, water [kg/m2])."""
    e1 = phi_u * u * (1.0 / control.tol_phi)
    e2 = t * (1.0 / control.tol_temperature)
    e3 = water * (1.0 / control.tol_water / dx)
    e = max(e1 * e1, e2 * e2, e3 * e3)
    return e * e


@compiled(_nrt=False)
def shorter(piece, error):
    """Return the step after a rejection."""
    return piece.step * max(0.25, AGAIN / math.sqrt(error))


@compiled(_nrt=False, forceinline=True)
def shortest(control):
    """Return the shortest step that is tried after failures."""
    return AT_MOST_DOWN * control.min_step


@compiled(_nrt=False)
def following(control, piece, error, h, pieces):
    """Return the step wanted after one that was accepted; h is the one wanted before."""
    if control.fixed == 1 or piece.euler:
        return h
    grow = MOST_GROWTH
    if error > 0.0:
        grow = min(MOST_GROWTH, max(0.4, NEXT / math.sqrt(error)))
    if pieces <= 1 and piece.step < 0.99 * min(h, control.max_step):
        # a short piece up to a mark says little about the step wanted
        h = max(h, piece.step * grow) if grow > 1.0 else piece.step * grow
    else:
        h = piece.step * grow
    return min(h, control.max_step)
