"""Moist air and water: constants and scalar laws, each with its source.

Every function takes numpy arrays or floats and has no state; those written with `math` in
`drydown.kernel` are tabulated from these once per run.
"""

from __future__ import annotations

from typing import Any

import numpy as np

#: Gas constant of water vapour [J/(kg K)] (from memory; CODATA R over 18.015 g/mol).
R_VAPOUR = 461.5
#: Density of liquid water [kg/m3], rounded (from memory; 998.2 at 20 degC).
WATER_DENSITY = 1000.0
#: Heat of evaporation at 0 degC [J/kg] (from memory; h_v = 2500.8 - 2.37 t kJ/kg).
LATENT_HEAT = 2.5008e6
#: Specific heat capacities [J/(kg K)] (from memory).
CP_WATER = 4182.0
CP_VAPOUR = 1860.0
CP_AIR = 1006.0
#: Stefan-Boltzmann constant [W/(m2 K4)] (CODATA 2018, exact to the digits given).
STEFAN_BOLTZMANN = 5.670374e-8
#: Zero of the Celsius scale [K].
ZERO_CELSIUS = 273.15
#: Standard atmospheric pressure [Pa].
STANDARD_PRESSURE = 101325.0


def saturation_pressure_iso13788(temperature: Any) -> Any:
    """Saturation vapour pressure over water, and over ice below 0 degC.

    Parameters
    ----------
    temperature : array_like
        [K].

    Returns
    -------
    ndarray
        [Pa], same shape.

    Notes
    -----
    610.5 exp(17.269 t/(237.3 + t)) for t >= 0 degC, 610.5 exp(21.875 t/(265.5 + t)) below.
    Source: ISO 13788:2012, annex E.
    """
    t = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    water = 610.5 * np.exp(17.269 * t / (237.3 + t))
    ice = 610.5 * np.exp(21.875 * t / (265.5 + t))
    return np.where(t >= 0.0, water, ice)


def saturation_pressure_water(temperature: Any) -> Any:
    """Saturation vapour pressure over liquid water at any temperature, Hyland and Wexler.

    Parameters
    ----------
    temperature : array_like
        [K].

    Returns
    -------
    ndarray
        [Pa], same shape.

    Notes
    -----
    Source: ASHRAE Handbook Fundamentals 2021, chapter 1, equation 6 (Hyland and Wexler 1983).
    """
    t = np.asarray(temperature, dtype=float)
    return np.exp(
        -5800.2206 / t
        + 1.3914993
        - 4.8640239e-2 * t
        + 4.1764768e-5 * t**2
        - 1.4452093e-8 * t**3
        + 6.5459673 * np.log(t)
    )


def vapour_permeability_din52615(temperature: Any) -> Any:
    """Vapour permeability of still air at standard pressure.

    Parameters
    ----------
    temperature : array_like
        [K].

    Returns
    -------
    ndarray
        [kg/(m s Pa)], same shape.

    Notes
    -----
    2.0e-7 T^0.81 / P. Source: DIN 52615, as quoted in the draft that became EN 15026.
    """
    t = np.asarray(temperature, dtype=float)
    return 2.0e-7 * t**0.81 / STANDARD_PRESSURE


def vapour_permeability_schirmer(temperature: Any) -> Any:
    """Vapour permeability of still air at standard pressure, Schirmer.

    Notes
    -----
    D = 2.306e-5 (T/273.15)^1.81 m2/s, delta = D/(R_v T). From memory.
    """
    t = np.asarray(temperature, dtype=float)
    return 2.306e-5 * (t / ZERO_CELSIUS) ** 1.81 / (R_VAPOUR * t)


def lewis_vapour_transfer(heat_transfer: Any) -> Any:
    """Vapour transfer coefficient of a surface film from its convective heat transfer.

    Parameters
    ----------
    heat_transfer : array_like
        [W/(m2 K)].

    Returns
    -------
    ndarray
        [kg/(m2 s Pa)], same shape.

    Notes
    -----
    beta = 7e-9 h_c, the rounded form of the Lewis relation in common use (from memory; the relation
    itself gives 6.1e-9 h_c with Le = 1 and 6.7e-9 with Le = 0.87).
    """
    return 7.0e-9 * np.asarray(heat_transfer, dtype=float)
