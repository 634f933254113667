"""A drained gap: of the rain that gets past the cladding, what its surfaces do not hold back runs out below."""

from __future__ import annotations

import numpy as np

from ..arrays import Array

#: Hours without rain after which the film that was held back has gone (assumed: it dries or soaks in within a day).
PAUSE = 24


def held_back(entering: Array, capacity: float, pause: int = PAUSE) -> Array:
    """Rain behind the cladding that stays there [kg/m2], hour by hour; the rest drains.

    Parameters
    ----------
    entering : array of shape (hour,)
        Gets past the cladding in each hour [kg/m2].
    capacity : float
        What the surfaces of the gap hold back of one spell of rain [kg/m2].
    pause : int
        Hours without rain that end a spell.

    Returns
    -------
    array of shape (hour,)

    Notes
    -----
    In a spell the first `capacity` stays, what comes after it drains: min(sum, capacity), by hours. Drainage tests of
    gaps left some hundredths to a tenth of a kg/m2 on the surfaces (from memory); the value is the user's.
    """
    entering = np.asarray(entering, dtype=float)
    wet = entering > 0.0
    hours = np.arange(len(entering))
    last = np.maximum.accumulate(np.where(wet, hours, -pause - 1))
    before = np.concatenate([[-pause - 1], last[:-1]])
    begins = wet & (hours - before > pause)
    total = np.cumsum(entering)
    at_start = np.where(begins, total - entering, 0.0)
    in_spell = total - np.maximum.accumulate(at_start)
    stays = np.minimum(in_spell, capacity)
    found: Array = np.where(wet, stays - np.minimum(in_spell - entering, capacity), 0.0)
    return np.maximum(found, 0.0)
