"""What the two sides of a part meet: weather, ground, rooms."""

from .exposure import Exposure, Outdoor
from .ground import Ground
from .ground_slab import SlabOnGround
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
from .indoor_design import IntermediateHumidity, SimplifiedHumidity
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
    "IntermediateHumidity",
    "Measured",
    "MoistureBalance",
    "Outdoor",
    "OutdoorAir",
    "SimplifiedHumidity",
    "SlabOnGround",
    "SurfaceCoefficients",
    "read_indoor",
]
