"""Saturation pressures and constants of water, written down here a second time on purpose.

The engine has its own; a reference must not lean on what it checks.
"""

from __future__ import annotations

from typing import Any

import numpy as np

#: 0 degC [K].
ZERO_CELSIUS = 273.15
#: Gas constant of water vapour [J/(kg K)], rounded as in common use.
R_VAPOUR = 461.5
#: Density of liquid water as the published cases use it [kg/m3].
RHO_WATER = 1000.0
#: Stefan-Boltzmann constant [W/(m2 K4)] (CODATA 2018).
STEFAN_BOLTZMANN = 5.670374419e-8


def saturation_iso13788(temperature: Any) -> Any:
    """Saturation vapour pressure [Pa] of temperature [K], over ice below 0 degC.

    Source: ISO 13788:2012, annex E [M].
    """
    t = np.asarray(temperature) - ZERO_CELSIUS
    above = 610.5 * np.exp(17.269 * t / (237.3 + t))
    below = 610.5 * np.exp(21.875 * t / (265.5 + t))
    return np.where(np.real(t) >= 0.0, above, below)


def saturation_hamstad(temperature: Any) -> Any:
    """Saturation vapour pressure [Pa] of temperature [K].

    exp(65.8094 - 7066.27/T - 5.976 ln T). Source: HAMSTAD work package 2 (Hagentoft et al. 2004) [M].
    """
    t = np.asarray(temperature)
    return np.exp(65.8094 - 7066.27 / t - 5.976 * np.log(t))


def permeability_din52615(temperature: Any) -> Any:
    """Vapour permeability of still air [kg/(m s Pa)] of temperature [K] at 101325 Pa.

    2.0e-7 T^0.81 / P. Source: DIN 52615, as quoted in the draft of EN 15026 [V].
    """
    return 2.0e-7 * np.asarray(temperature) ** 0.81 / 101325.0
