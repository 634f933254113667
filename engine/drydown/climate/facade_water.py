"""Rain that reaches a wall by another way than the wind: it runs down from above, or splashes up from the ground."""

from __future__ import annotations

import numpy as np

from ..arrays import Array


def run_off(on_wall: Array, ratio: float) -> Array:
    """Rain on a part of a wall with what runs down on it [kg/(m2 h)].

    Parameters
    ----------
    on_wall : array
        Driving rain on the wall [kg/(m2 h)].
    ratio : float
        Area above that sheds its rain (glass, metal, tight cladding) and drains onto the part, over its own [-].

    Notes
    -----
    r (1 + A_above/A): the balance of water of a surface that takes up nothing, the same rain on both (assumed). What
    the part itself cannot take up runs off in turn, and is not followed further down.
    """
    return np.asarray(on_wall, dtype=float) * (1.0 + ratio)


def splash(falling: Array, share: float) -> Array:
    """Water that splashes from the ground onto the foot of a wall [kg/(m2 h)].

    Parameters
    ----------
    falling : array
        Rain on the level [kg/(m2 h)]; snow does not splash.
    share : float
        Of the rain on a square metre of ground that reaches a square metre of the foot of the wall [-].

    Notes
    -----
    s r, from any wind. No published share was at hand: it is the user's. A hard level surface before the wall splashes
    most, gravel little; the lowest 0.3 m of a wall are the splash zone (common practice, DIN 18533 from memory).
    """
    return share * np.asarray(falling, dtype=float)
