"""Snow on the ground, from temperature and precipitation: how bright the ground is."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..arrays import Array
from .model import Climate

#: Water in the snow that melts in an hour at 1 K above freezing [kg/(m2 h K)]: 4 mm a day and kelvin, within
#: the 2 to 6 of open ground (degree-day factors, Hock 2003, from memory).
MELT = 4.0 / 24.0
#: Water in the snow from which on the ground counts as white [kg/m2], some centimetres (assumed).
WHITE = 3.0


def snow_water(climate: Climate, snow_below: float = 273.15) -> Array | None:
    """Water held in the snow on the ground at each hour of a climate [kg/m2]; None where rain is unavailable.

    Parameters
    ----------
    climate : Climate
    snow_below : float
        Air temperature [K] up to which precipitation falls as snow.

    Returns
    -------
    array, shape (N,), or None

    Notes
    -----
    S grows by the precipitation up to `snow_below` and shrinks by `MELT` (T - 273.15 K) in hours above
    freezing, never below zero. Source: degree-day model (Hock 2003, J. Hydrology 282, from memory). The years
    of a cyclic climate begin with the snow they leave at their end; others begin bare.
    """
    if climate.rain is None:
        return None
    t = climate.temperature
    change = np.where(t <= snow_below, climate.rain, 0.0) - MELT * np.maximum(t - 273.15, 0.0)
    snow = _never_negative(change, 0.0)
    return _never_negative(change, float(snow[-1])) if climate.cyclic else snow


def white_ground(climate: Climate, snow_below: float = 273.15) -> NDArray[np.bool_] | None:
    """Return whether snow whitens the ground at each hour of a climate; None where rain is unavailable."""
    snow = snow_water(climate, snow_below)
    return None if snow is None else snow >= WHITE


def _never_negative(change: Array, start: float) -> Array:
    """Return S(k) = max(S(k - 1) + change(k), 0) with S(-1) = start, for all k at once."""
    total = start + np.cumsum(change)
    return total - np.minimum(np.minimum.accumulate(total), 0.0)
