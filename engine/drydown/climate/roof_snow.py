"""Snow that lies on a roof: how much, how it insulates, what melts off it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..arrays import Array
from ..moist_air import STEFAN_BOLTZMANN
from .model import Climate
from .snow import WHITE, snow_water

#: Density of snow that has lain for weeks [kg/m3]: 2.5 to 3.5 kN/m3 (EN 1991-1-3, annex E, from memory).
DENSITY = 250.0
#: Emissivity of snow [-] (textbooks of radiation, 0.97 to 0.99, from memory).
EMISSIVITY = 0.98
ICE = 273.15


def share_on_roof(tilt: float) -> float:
    """Share of the snow on the ground that lies on a roof [-].

    Parameters
    ----------
    tilt : float
        [degree].

    Notes
    -----
    Shape coefficient mu_1 of a pitched roof from which snow may slide: 0.8 up to 30 degrees, 0.8 (60 - tilt)/30 up to
    60, nothing beyond. Source: EN 1991-1-3, table 5.2 (from memory).
    """
    return 0.8 * float(np.clip((60.0 - tilt) / 30.0, 0.0, 1.0))


def snow_conductivity(density: float = DENSITY) -> float:
    """Thermal conductivity of snow [W/(m K)] of its density [kg/m3].

    Notes
    -----
    2.22362 (density/1000)^1.885. Source: Yen (1981), CRREL Report 81-10 (from memory).
    """
    return float(2.22362 * (density / 1000.0) ** 1.885)


class RoofSnow(NamedTuple):
    """Snow on a roof at the hours of a climate, arrays of shape (hour,).

    water [kg/m2] on the sloped surface, melt [kg/(m2 h)] of the hour that ends there, lies [bool].
    """

    water: Array
    melt: Array
    lies: NDArray[np.bool_]

    @property
    def depth(self) -> Array:
        """How deep it lies [m]."""
        return self.water / DENSITY

    @property
    def resistance(self) -> Array:
        """Thermal resistance [m2 K/W]."""
        return self.depth / snow_conductivity()


def roof_snow(climate: Climate, tilt: float, snow_below: float = ICE) -> RoofSnow | None:
    """Return the snow on a roof; None where rain is unavailable.

    Parameters
    ----------
    climate : Climate
    tilt : float
        [degree].
    snow_below : float
        Air temperature [K] up to which precipitation falls as snow.

    Notes
    -----
    The snow of the ground by the degree-day model (`snow.snow_water`) times `share_on_roof`, which is of the plan, and
    the cosine of the tilt. It counts from `snow.WHITE` on. Heat that melts it from below is left out: under a poorly
    insulated roof it goes sooner.
    """
    ground = snow_water(climate, snow_below)
    if ground is None or climate.rain is None:
        return None
    before = np.concatenate([ground[-1:] if climate.cyclic else [0.0], ground[:-1]])
    fallen = np.where(climate.temperature <= snow_below, climate.rain, 0.0)
    share = share_on_roof(tilt) * float(np.cos(np.radians(tilt)))
    melt = share * np.maximum(before + fallen - ground, 0.0)
    return RoofSnow(share * ground, melt, share * ground >= WHITE)


def top_of_snow(
    temperature: Array, heat_transfer: Array, sun: Array, longwave: Array, reflectance: float
) -> tuple[Array, Array]:
    """Temperature [K] to which the top of snow tends, and the coefficient [W/(m2 K)] with which it tends there.

    Parameters
    ----------
    temperature : array
        Of the air [K].
    heat_transfer : array
        By convection [W/(m2 K)].
    sun, longwave : array
        On the surface [W/m2], before any is thrown back.
    reflectance : float
        Of snow for sun [-].

    Notes
    -----
    h (T_air - T) + (1 - r) G + e (L - sigma T^4) = 0, the last term as a straight line about the air: T and h + h_r,
    h_r = 4 e sigma T_air^3, are the source and the conductance of the network that lies on the snow. Snow that would be
    warmer than ice melts, and stays at 0 degC.
    """
    t = np.asarray(temperature, dtype=float)
    radiative = 4.0 * EMISSIVITY * STEFAN_BOLTZMANN * t**3
    gain = (1.0 - reflectance) * sun + EMISSIVITY * (longwave - STEFAN_BOLTZMANN * t**4)
    total = heat_transfer + radiative
    return np.minimum(t + gain / total, ICE), total
