"""Wood as the Wood Handbook describes it: sorption with temperature, conductivity and heat by moisture.

Every equation is from the Wood Handbook (USDA Forest Products Laboratory, FPL-GTR-282, 2021), chapter 4.
Moisture contents are fractions of the oven-dry mass [-], not per cent.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..model import REFERENCE_TEMPERATURE, Argument

#: Exponent kappa of `Material.sorption_temperature_exponent` for wood: fitted to equation 4-5 at 0 to 40 degC and 5 to
#: 95 % (tests/published/test_wood_handbook.py says what it leaves over).
WOOD_TEMPERATURE_SHIFT = 1.33


def equilibrium_moisture_content(humidity: Any, temperature: Any = REFERENCE_TEMPERATURE) -> Any:
    """Moisture content of wood in equilibrium with moist air.

    Parameters
    ----------
    humidity : array_like
        Relative humidity [-].
    temperature : array_like
        [K].

    Returns
    -------
    ndarray
        Fraction of the oven-dry mass [-], broadcast shape.

    Notes
    -----
    M = 18/W [y/(1 - y) + (K1 y + 2 K1 K2 y^2)/(1 + K1 y + K1 K2 y^2)], y = K h; W, K, K1, K2 are quadratic in
    the Celsius temperature (equation 4-5; the printed 1800/W gives per cent). Table 4-2, made with it, spans
    -1 to 132 degC and 5 to 95 %; the values lie midway between adsorption and desorption.
    """
    t = np.asarray(temperature, dtype=float) - 273.15
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * np.asarray(humidity, dtype=float)
    return 18.0 / w * (kh / (1.0 - kh) + (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2))


def wood_conductivity(moisture_content: Any, specific_gravity: float) -> Any:
    """Thermal conductivity of wood across the grain [W/(m K)] at 24 degC.

    Parameters
    ----------
    moisture_content : array_like
        [-].
    specific_gravity : float
        Oven-dry mass over volume at the moisture content, relative to water [-]; above 0.3.

    Notes
    -----
    k = G (B + C x) + A with x in per cent, A 0.01864, B 0.1941, C 0.004064 (equation 4-15), for x below 25 %.
    It rises 2 to 3 % per 10 K; along the grain it is 1.5 to 2.8 times as large.
    """
    x = 100.0 * np.asarray(moisture_content, dtype=float)
    return specific_gravity * (0.1941 + 0.004064 * x) + 0.01864


def wood_heat_capacity(moisture_content: Any, temperature: Any = REFERENCE_TEMPERATURE) -> Any:
    """Specific heat capacity of moist wood per mass of moist wood [J/(kg K)], below fibre saturation.

    Parameters
    ----------
    moisture_content : array_like
        [-].
    temperature : array_like
        [K], 280 to 420.

    Notes
    -----
    c = (c0 + 4.18 x/100)/(1 + x/100) + Ac in kJ/(kg K), c0 = 0.1031 + 0.003867 T,
    Ac = x (-0.06191 + 2.36e-4 T - 1.33e-4 x), x in per cent (chapter 4, heat capacity of moist wood).
    """
    x = 100.0 * np.asarray(moisture_content, dtype=float)
    t = np.asarray(temperature, dtype=float)
    dry = 0.1031 + 0.003867 * t
    bound = x * (-0.06191 + 2.36e-4 * t - 1.33e-4 * x)
    return 1000.0 * ((dry + 0.0418 * x) / (1.0 + 0.01 * x) + bound)


def greatest_moisture_content(specific_gravity: float) -> float:
    """Moisture content of wood with all voids filled [-].

    Parameters
    ----------
    specific_gravity : float
        Oven-dry mass over the volume when green, over the density of water [-].

    Notes
    -----
    (1.54 - G)/(1.54 G), G on green volume; 1.54 is the specific gravity of the cell wall (from memory).
    """
    return (1.54 - specific_gravity) / (1.54 * specific_gravity)


@dataclass(frozen=True)
class WoodSorption:
    """Hygroscopic water content of wood [kg/m3]: density times equation 4-5 at 296.15 K.

    Parameters
    ----------
    density : float
        Oven-dry density [kg/m3].
    """

    density: float
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        if not self.density > 0.0:
            raise InputError(f"density of wood is {self.density}; it must be greater than 0")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the water content [kg/m3] in the shape of the humidity [-]."""
        found: Array = self.density * equilibrium_moisture_content(np.clip(humidity, 0.0, 1.0))
        return found
