"""Wind that blows through open insulation from the outdoors and back: it cools and dries what it passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from ..errors import InputError
from .keys import Section, keys_of
from .load import Exchange, Load, Lowered, Site

#: Density of outdoor air [kg/m3] at 10 degC, for the pressure of the wind.
AIR_DENSITY = 1.25


@dataclass(frozen=True)
class WindWash(Load):
    """Outdoor air that the wind drives through a layer of open insulation.

    Parameters
    ----------
    layer : str
        The insulation, or its outer part as a layer of its own.
    permeability : float
        Air permeability [kg/(Pa s m)], mass of air. ASHRAE Handbook - Fundamentals 2021, ch. 26, table 4: glass fibre
        of 16 kg/m3 2.5e-4, cellulose of 32 kg/m3 2.9e-4, fibreboard 2.5e-7.
    path : float
        Way of the air through the layer between two openings to the outdoors [m].
    pressure_coefficient : float
        Difference of the wind pressure coefficient between them [-]; 0.1 to 0.3 over a height or a corner (assumed).

    Notes
    -----
    Darcy: mass flow K dp/L through the layer with dp = dC_p rho U^2/2, so an air change n = K dp/(rho L^2), at outdoor
    temperature, spread evenly over the layer. Heat and vapour leave with it: in a steady state T'' = (rho c_p n/lambda)
    (T - T_e). Wind and pressure as in the ASHRAE Handbook - Fundamentals 2021, ch. 16. Air that turns round inside the
    insulation by warmth alone is left out.
    """

    layer: str
    permeability: float
    path: float
    pressure_coefficient: float = 0.1

    ventilates: ClassVar[bool] = False
    section: ClassVar[Section] = Section(
        keys_of("""
        layer* | text | name of the open insulation
        permeability* | air_permeability | of the insulation for air
        path* | length | way of the air through it, between two openings to the outdoors
        pressure_coefficient | number | difference of wind pressure coefficient between them
        """)
    )

    def __post_init__(self) -> None:
        where = f"wind wash of '{self.layer}'"
        for key, low, high, unit in (
            ("permeability", 1e-12, 1e-1, " kg/(Pa s m)"),
            ("path", 0.01, 100.0, " m"),
            ("pressure_coefficient", 0.0, 2.0, ""),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(f"{key} is {value:g}{unit}; it must lie between {low:g} and {high:g}", where)

    @property
    def label(self) -> str:
        """Name of the load in results."""
        return f"wind through {self.layer}"

    @property
    def layers(self) -> tuple[str, ...]:
        """The insulation."""
        return (self.layer,)

    def air_change(self, wind: np.ndarray) -> np.ndarray:
        """Return the air change [1/s] of wind along the surface [m/s]."""
        pressure = 0.5 * self.pressure_coefficient * AIR_DENSITY * np.asarray(wind, dtype=float) ** 2
        return np.asarray(self.permeability * pressure / (AIR_DENSITY * self.path**2))

    def lower(self, site: Site) -> Sequence[Lowered]:
        """Return the exchange of the layer with the outdoors."""
        wind = site.outer.wind(site.hours)
        if wind is None:
            raise InputError("it needs a climate with wind", f"wind wash of '{self.layer}'")
        change = self.air_change(wind)
        notes = {"wind wash": f"{3600.0 * change.mean():.2g} air changes an hour on average in '{self.layer}'"}
        return (Exchange(self.layer, site.at_marks(change), "outside", notes=notes),)
