"""The cases as the engine is given them: materials of published cases, prescribed sides, small helpers.

A reference never imports this module; where a curve of a case stands in both places it was typed twice or comes
from the reference as a plain function.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from drydown import Material
from drydown.arrays import Marks
from drydown.case.sides import AIR, SEALED, SURFACE, Physics, Side, SideForcing

from .references import hamstad5

Array = np.ndarray
START = np.datetime64("2001-01-01T00", "s")
HOUR = 3600.0
DAY = 86400.0


@dataclass(frozen=True)
class Of:
    """A function that says what it is a function of."""

    of: str
    f: Callable[[Any], Any]

    def __call__(self, x: Any) -> Any:
        """Return f(x)."""
        return self.f(x)


def _en15026_liquid(w: Any) -> Any:
    y = w - 73.0
    return np.exp(-39.2619 + 0.0704 * y - 1.7420e-4 * y**2 - 2.7953e-6 * y**3 - 1.1566e-7 * y**4 + 2.5969e-9 * y**5)


def _en15026_vapour(w: Any) -> Any:
    s = 1.0 - w / 146.0
    return 26.1e-6 / 200.0 / (461.5 * 296.15) * s / (0.503 * s * s + 0.497)


#: EN 15026:2007 annex A (from memory).
EN15026 = Material(
    name="load bearing, EN 15026 annex A",
    density=1824.0,
    heat_capacity=1000.0,
    conductivity=Of("water content", lambda w: 1.5 + 15.8e-3 * w),
    storage=Of("suction", lambda p: 146.0 / (1.0 + (8e-8 * p) ** 1.6) ** 0.375),
    permeability=Of("water content", _en15026_vapour),
    permeability_temperature=lambda t: 296.15 / t,
    liquid=Of("water content", _en15026_liquid),
    saturation=146.0,
)

#: HAMSTAD work package 2, case 2 (Hagentoft et al. 2004).
HAMSTAD_2 = Material(
    name="HAMSTAD case 2",
    density=525.0,
    heat_capacity=800.0,
    conductivity=Of("water content", lambda w: 0.15 + 0.0 * w),
    storage=Of("humidity", lambda phi: 116.0 / (1.0 - np.log(phi) / 0.118) ** 0.869),
    permeability=Of("humidity", lambda phi: 1e-15 + 0.0 * phi),
    diffusivity=Of("water content", lambda w: 6e-10 + 0.0 * w),
    saturation=116.0,
)


def hamstad_material(stuff: hamstad5.Stuff, name: str) -> Material:
    """Return a column of the table of HAMSTAD case 5 as a material of the engine."""
    return Material(
        name=name,
        density=stuff.density,
        heat_capacity=stuff.heat_capacity,
        conductivity=Of("water content", stuff.conductivity),
        storage=Of("suction", stuff.water_content),
        permeability=Of("water content", lambda w: stuff.permeability(None, w)),
        permeability_temperature=lambda t: 296.15 / t,
        liquid=Of("water content", lambda w: stuff.liquid(None, w)),
        saturation=stuff.w_s,
    )


def linear_material(
    name: str,
    permeability: float,
    slope: float,
    conductivity: float = 1.0,
    capacity: float = 1e6,
) -> Material:
    """Return a material with constant properties: w = slope * phi, permeability at any temperature, no liquid."""
    return Material(
        name=name,
        density=capacity / 1000.0,
        heat_capacity=1000.0,
        conductivity=Of("humidity", lambda phi: conductivity + 0.0 * phi),
        storage=Of("humidity", lambda phi: slope * phi),
        permeability=Of("humidity", lambda phi: permeability + 0.0 * phi),
        permeability_temperature=lambda t: 1.0 + 0.0 * t,
        saturation=slope,
    )


#: Air and water without latent heat and without the heat that moisture carries: moisture and heat go their own ways.
UNCOUPLED = Physics(latent_heat=0.0, vapour_heat_capacity=0.0, water_heat_capacity=0.0)


@dataclass(frozen=True)
class Prescribed(Side):
    """A side whose temperature [K] and humidity [-] are functions of the seconds since the start of the run.

    `kind` as in `SideForcing`; heat_transfer [W/(m2 K)] (no radiation), vapour_transfer [kg/(m2 s Pa)].
    """

    temperature: Callable[[Array], Any]
    humidity: Callable[[Array], Any]
    heat_transfer: float = 8.0
    vapour_transfer: float = 2.5e-8
    kind: int = AIR
    radiation: Callable[[Array], Any] | None = None

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return the forcing at the marks."""
        s = (marks - marks[0]).astype("timedelta64[s]").astype(float)
        flat = np.ones(len(marks))
        t = self.temperature(s) * flat
        return SideForcing(
            t,
            self.humidity(s) * physics.saturation_pressure(t),
            self.heat_transfer * flat,
            (0.0 if self.kind == SEALED else self.vapour_transfer) * flat,
            (self.radiation(s) if self.radiation else 0.0) * flat,
            0.0,
            0.0 * flat,
            self.kind,
            {"kind": "prescribed"},
        )


def wave_gain(period: float, interval: float = HOUR) -> float:
    """Amplitude of the fundamental of a sine that is joined by straight lines between marks: sinc^2.

    The engine reads its sides that way; a prescribed sine is divided by this, so that the wave compared has
    the amplitude of the exact one.
    """
    x = np.pi * interval / period
    return float((np.sin(x) / x) ** 2)


def fundamental(values: Array, times: Array, period: float) -> complex:
    """Complex amplitude of the part of `values` (over whole periods, evenly spaced) that goes with the period."""
    return complex(2.0 * np.mean(values * np.exp(-2j * np.pi * times / period)))


__all__ = [
    "AIR",
    "DAY",
    "EN15026",
    "HAMSTAD_2",
    "HOUR",
    "SEALED",
    "START",
    "SURFACE",
    "UNCOUPLED",
    "Of",
    "Prescribed",
    "fundamental",
    "hamstad_material",
    "linear_material",
    "wave_gain",
]
