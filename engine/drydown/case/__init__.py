"""A simulation described: the assembly, its sides, what happens to it, and how finely it is computed."""

from .air_leakage import Leakage, LeakPath
from .assembly import Assembly, Layer
from .case import Case, Initial, Numerics
from .loads import AirLeak, AirStream, Load, RainShare, VentilatedGap
from .sides import Chamber, Physics, Side, SideForcing
from .wetting import Wetting

__all__ = [
    "AirLeak",
    "AirStream",
    "Assembly",
    "Case",
    "Chamber",
    "Initial",
    "Layer",
    "LeakPath",
    "Leakage",
    "Load",
    "Numerics",
    "Physics",
    "RainShare",
    "Side",
    "SideForcing",
    "VentilatedGap",
    "Wetting",
]
