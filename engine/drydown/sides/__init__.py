"""What the two sides of a part meet: weather, ground, rooms."""

from .exposure import Exposure, Outdoor
from .ground import Ground
from .indoor import (
    AirConditioned,
    AnnualSine,
    Constant,
    FromOutdoor,
    HumidityClass,
    Indoor,
    IndoorModel,
    OutdoorAir,
    SurfaceCoefficients,
)
from .indoor_balance import MoistureBalance
from .indoor_measured import Measured, read_indoor

__all__ = [
    "AirConditioned",
    "AnnualSine",
    "Constant",
    "Exposure",
    "FromOutdoor",
    "Ground",
    "HumidityClass",
    "Indoor",
    "IndoorModel",
    "Measured",
    "MoistureBalance",
    "Outdoor",
    "OutdoorAir",
    "SurfaceCoefficients",
    "read_indoor",
]
