"""u, relative humidity and suction, their bounds, and zero on the Celsius scale: the one place they stand in.

The state of moisture is u = ln(-ln phi): it runs from minus infinity (saturated) to plus infinity (dry), and
``exp(u)`` is the suction over rho_w R_v T (Kelvin's equation), so that a table over u is one over the logarithm of
suction too. The functions take numbers and arrays; the kernel compiles them as they stand.
"""

from __future__ import annotations

from typing import Any

import numpy as np

#: Zero on the Celsius scale, and the melting point of ice [K].
ZERO_CELSIUS = 273.15
#: Range of a face's own u.
WETTEST, DRIEST = -19.9, 2.3
#: A cell is not taken to a u above this (0.0016 % relative humidity).
DRIEST_CELL = 2.4
#: Range of humidity that a state is begun at.
PHI_LOW, PHI_HIGH = 1e-5, 1.0 - 1e-8
#: Nearest to saturation that the air at an imposed surface is taken to be.
PHI_SURFACE = 1.0 - 1e-9


def u_of(phi: Any) -> Any:
    """Return u = ln(-ln phi) of a relative humidity between 0 and 1."""
    return np.log(-np.log(phi))


def humidity_of(u: Any) -> Any:
    """Return the relative humidity of u."""
    return np.exp(-np.exp(u))


def start_u(phi: Any) -> Any:
    """Return u of a humidity that may be 0 or 1, held to the range a state can begin at."""
    return u_of(np.clip(phi, PHI_LOW, PHI_HIGH))
