"""Families of property curves as published, each a frozen dataclass that is called with an array.

Storage: `GAB`, `Hansen`, `Oswin`, `WoodSorption`, `Retention`, `WithTail`, `sorption_points`. Vapour:
`TwoLevel`, `Logistic`, `Exponential`, `permeance_points`, `Laminate`. Liquid: `AbsorptionDiffusivity`,
`ExponentialDiffusivity`, `PolynomialConductivity`. Any: `Constant`, `Linear`, `Points`, and `of_humidity`,
`of_suction`, `of_water` for a function of your own; `by_humidity` reads any of them against humidity.
"""

from .basic import Constant, Linear, OfFunction, Points, of_humidity, of_suction, of_water
from .laminate import Laminate
from .liquid import AbsorptionDiffusivity, ExponentialDiffusivity, PolynomialConductivity
from .permeance import (
    Exponential,
    Held,
    Logistic,
    TemperatureGrowth,
    TwoLevel,
    from_cups,
    mean_permeance,
    permeance_points,
)
from .reading import by_humidity
from .storage import GAB, Hansen, Oswin, Retention, WithTail, filled, sorption_points, suction
from .thermal import TemperatureFactor, frozen_gain
from .wood import (
    WOOD_TEMPERATURE_SHIFT,
    WoodSorption,
    equilibrium_moisture_content,
    greatest_moisture_content,
    wood_conductivity,
    wood_heat_capacity,
)

__all__ = [
    "GAB",
    "WOOD_TEMPERATURE_SHIFT",
    "AbsorptionDiffusivity",
    "Constant",
    "Exponential",
    "ExponentialDiffusivity",
    "Hansen",
    "Held",
    "Laminate",
    "Linear",
    "Logistic",
    "OfFunction",
    "Oswin",
    "Points",
    "PolynomialConductivity",
    "Retention",
    "TemperatureFactor",
    "TemperatureGrowth",
    "TwoLevel",
    "WithTail",
    "WoodSorption",
    "by_humidity",
    "equilibrium_moisture_content",
    "filled",
    "from_cups",
    "frozen_gain",
    "greatest_moisture_content",
    "mean_permeance",
    "of_humidity",
    "of_suction",
    "of_water",
    "permeance_points",
    "sorption_points",
    "suction",
    "wood_conductivity",
    "wood_heat_capacity",
]
