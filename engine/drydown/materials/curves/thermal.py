"""How a conductivity changes with temperature and with ice in the pores."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...arrays import Array
from ...errors import InputError

#: Conductivity of ice and of water at 0 degC [W/(m K)]: ISO 10456, table 3, has 2.2 and 0.60 (from memory).
ICE, WATER = 2.2, 0.60
#: Mass of water in a cubic metre [kg/m3].
_DENSITY = 1000.0


@dataclass(frozen=True)
class TemperatureFactor:
    """Factor of temperature on a conductivity, from a table: for `Material.conductivity_temperature`.

    Parameters
    ----------
    temperatures : tuple of float
        Rising [K].
    factors : tuple of float
        Conductivity there over that at which it is stated [-].

    Notes
    -----
    Monotone cubics between the points (Fritsch and Carlson 1980, SIAM J. Numer. Anal. 17), held beyond the ends.
    """

    temperatures: tuple[float, ...]
    factors: tuple[float, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "temperatures", tuple(map(float, self.temperatures)))
        object.__setattr__(self, "factors", tuple(map(float, self.factors)))
        if len(self.temperatures) != len(self.factors) or len(self.factors) < 2:
            counts = f"{len(self.temperatures)} temperatures and {len(self.factors)} factors"
            raise InputError(f"{counts}; two or more of each are needed, as many of one as of the other")
        if not np.all(np.diff(self.temperatures) > 0.0):
            raise InputError("the temperatures do not rise")
        if not all(0.1 <= f <= 10.0 for f in self.factors):
            raise InputError(f"factors are {self.factors}; each lies between 0.1 and 10")

    def __call__(self, temperature: Array, /) -> Array:
        """Return the factor [-] in the shape of the temperature [K]."""
        from scipy.interpolate import PchipInterpolator

        t = np.clip(np.asarray(temperature, dtype=float), self.temperatures[0], self.temperatures[-1])
        return np.asarray(PchipInterpolator(self.temperatures, self.factors)(t))


def frozen_gain(saturation: float) -> float:
    """Conductivity of a material whose pores are full of ice over that with them full of water [-].

    Parameters
    ----------
    saturation : float
        Water in the full pores [kg/m3].

    Notes
    -----
    (lambda_ice/lambda_water)^theta, theta the volume of the pores in that of the material: the conductivity of soil as
    the geometric mean of its parts, of which ice takes the place of water. Source: Johansen (1975) as in Farouki
    (1981), CRREL Monograph 81-1 (from memory).
    """
    return float((ICE / WATER) ** min(saturation / _DENSITY, 1.0))
