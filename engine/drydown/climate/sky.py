"""Long-wave radiation of the sky."""

from __future__ import annotations

import numpy as np

from .. import moist_air
from ..arrays import Array


def sky_emissivity(dew_point_temperature: Array, cloud: Array | float) -> Array:
    """Effective emissivity of the sky [-].

    Parameters
    ----------
    dew_point_temperature : array
        [K].
    cloud : array or float
        Opaque cloud [tenths].

    Notes
    -----
    (0.787 + 0.764 ln(T_dp/273)) (1 + 0.0224 N - 0.0035 N^2 + 0.00028 N^3). Source: Clark and Allen (1978)
    with the cloud factor of Walton (1983).
    """
    n = np.asarray(cloud, dtype=float)
    clear = 0.787 + 0.764 * np.log(np.asarray(dew_point_temperature, dtype=float) / 273.0)
    return clear * (1.0 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3)


def sky_longwave(temperature: Array, dew_point_temperature: Array, cloud: Array | float) -> Array:
    """Long-wave irradiance of the sky on the horizontal [W/m2], `sky_emissivity` times sigma T^4."""
    black = moist_air.STEFAN_BOLTZMANN * np.asarray(temperature, dtype=float) ** 4
    return np.minimum(sky_emissivity(dew_point_temperature, cloud), 1.0) * black
