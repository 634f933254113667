"""What meets a side of the part: its forcing, the constants of moist air, and a chamber of constant conditions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

import numpy as np

from .. import moist_air
from ..arrays import Array, Marks
from ..errors import InputError, need_number, shown

if TYPE_CHECKING:
    from ..climate.model import Hours

AIR, SURFACE, SEALED = 0, 1, 2


def check_humidity(value: float, where: str) -> None:
    """Raise InputError unless a relative humidity lies in 0 < value <= 1."""
    need_number(value, "relative humidity", where, "fraction, such as 0.8")
    if not np.isfinite(value):
        raise InputError(f"relative humidity is {value}; a number between 0 and 1 is needed", where)
    if 1.0 < value < 2.0:
        raise InputError(f"relative humidity is {value:g}, more than 1, which is 100 %", where)
    if 1.0 < value <= 100.0:
        raise InputError(f"relative humidity is {value:g}; write it as a fraction, {value / 100:g}", where)
    if not 0.0 < value <= 1.0:
        raise InputError(f"relative humidity is {value:g}; it must be greater than 0 and at most 1", where)


def check_temperature(value: float, where: str) -> None:
    """Raise InputError unless a temperature lies between 200 and 400 K."""
    need_number(value, "temperature", where, "K")
    if not np.isfinite(value) or not 200.0 < value < 400.0:
        hint = f"; {value:g} degC is {value + 273.15:g} K" if -70.0 < value < 120.0 else ""
        raise InputError(f"temperature is {value:g} K; it must lie between 200 and 400 K{hint}", where)


class SideForcing(NamedTuple):
    """What one side of the part meets, at the hour marks of a run (arrays of one length n).

    States are values at the marks and run linearly between them; `rain` is the rate over the interval
    that ENDS at the mark.

    temperature [K], vapour_pressure [Pa], heat_transfer [W/(m2 K)] (convective coefficient),
    vapour_transfer [kg/(m2 s Pa)], radiation_in [W/m2] (absorbed long-wave plus absorbed solar),
    emissivity [-] (one number or one a mark; 0 means long-wave exchange is part of `heat_transfer`), rain [kg/(m2 s)],
    kind AIR, SURFACE (the temperature and humidity are those of the surface itself) or SEALED.
    """

    temperature: Array
    vapour_pressure: Array
    heat_transfer: Array
    vapour_transfer: Array
    radiation_in: Array
    emissivity: Array | float
    rain: Array
    kind: int
    notes: dict[str, str]


class Facing(NamedTuple):
    """Direction a side faces [degree], and wind along it over wind at 10 m in the open [-]."""

    azimuth: float
    wind_factor: float


class Side(Protocol):
    """Anything that can say what a side meets: `sides.exposure.Outdoor`, `sides.indoor.Indoor`, `Chamber`.

    A side derives from this class; only `forcing` is needed. The other answers are those of a side without weather.
    """

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return the forcing at the marks; `other` is the opposite side (an indoor model may read it).

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        other : Side, optional
            The opposite side.
        """
        ...

    def air(self, marks: Marks, physics: Physics) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa] of its air at the marks, which the other side may follow.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        """
        f = self.forcing(marks, physics)
        return f.temperature, f.vapour_pressure

    @property
    def utc_offset(self) -> float | None:
        """Offset of the local standard time of its weather [h]; None where it has none."""
        return None

    def weather(self, marks: Marks) -> Hours | None:
        """Return its weather at the marks, repeated by the side's own cycle; None where it has none.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        return None

    def wind(self, marks: Marks) -> Array | None:
        """Return the wind along the surface at the marks [m/s]; None where it is not known.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        return None

    @property
    def tilt(self) -> float | None:
        """How steep the surface is [degree], 0 a flat roof, 90 a wall; None where it does not say."""
        return None

    @property
    def facing(self) -> Facing | None:
        """How it stands in the wind; None where it does not."""
        return None

    def describe(self) -> str:
        """Return what it is in one line."""
        return type(self).__name__


def check_side(given: Any, what: str, where: str) -> None:
    """Raise InputError unless something can say what a side meets; name what it was probably meant for."""
    if callable(getattr(given, "forcing", None)) and not isinstance(given, type):
        return
    right = "a side is needed, such as Outdoor(climate), Indoor(model) or Chamber(temperature, humidity)"
    if hasattr(given, "at_marks"):
        right = "it is weather; Outdoor(climate, exposure) makes a side of it"
    elif hasattr(given, "needs_outdoor"):
        right = "it is the air of a room; Indoor(air) makes a side of it"
    raise InputError(f"{what} is {shown(given)}; {right}", where)


def looks_indoor(side: Side) -> bool:
    """Return whether a side is the air of a room."""
    return hasattr(getattr(side, "model", None), "needs_outdoor")


@dataclass(frozen=True)
class Physics:
    """Constants and laws of moist air and water; the defaults follow EN 15026 / ISO 13788.

    Parameters
    ----------
    saturation_pressure : callable
        Saturation vapour pressure [Pa] of temperature [K].
    air_permeability : callable
        Vapour permeability of still air [kg/(m s Pa)] of temperature [K].
    latent_heat : float
        Enthalpy of evaporation at 273.15 K [J/kg].
    vapour_heat_capacity, water_heat_capacity : float
        [J/(kg K)].
    water_density : float
        [kg/m3].
    vapour_gas_constant : float
        [J/(kg K)].
    melting_temperature : float
        Of ice at the pressure of the air [K].
    latent_heat_of_fusion : float
        [J/kg].
    ice_heat_capacity : float
        [J/(kg K)]; the three of ice from memory.
    """

    saturation_pressure: Callable[[Array], Array] = moist_air.saturation_pressure_iso13788
    air_permeability: Callable[[Array], Array] = moist_air.vapour_permeability_din52615
    latent_heat: float = moist_air.LATENT_HEAT
    vapour_heat_capacity: float = moist_air.CP_VAPOUR
    water_heat_capacity: float = moist_air.CP_WATER
    water_density: float = moist_air.WATER_DENSITY
    vapour_gas_constant: float = moist_air.R_VAPOUR
    melting_temperature: float = 273.15
    latent_heat_of_fusion: float = 3.336e5
    ice_heat_capacity: float = 2100.0


@dataclass(frozen=True)
class Chamber(Side):
    """A side at constant, prescribed conditions, as in a laboratory.

    Parameters
    ----------
    temperature : float
        [K].
    humidity : float
        Relative humidity [-].
    heat_transfer : float
        Heat transfer coefficient, radiation included [W/(m2 K)].
    vapour_transfer : float
        [kg/(m2 s Pa)].
    surface : bool
        True: the temperature and humidity are imposed on the surface itself.
    sealed : bool
        True: no moisture passes this face (heat does).
    rain : float
        Water offered to the surface [kg/(m2 s)].
    """

    temperature: float
    humidity: float
    heat_transfer: float = 8.0
    vapour_transfer: float = 2.5e-8
    surface: bool = False
    sealed: bool = False
    rain: float = 0.0

    def __post_init__(self) -> None:
        check_humidity(self.humidity, "chamber humidity")
        check_temperature(self.temperature, "chamber temperature")
        for key, unit in (("heat_transfer", "W/(m2 K)"), ("vapour_transfer", "kg/(m2 s Pa)"), ("rain", "kg/(m2 s)")):
            value = getattr(self, key)
            need_number(value, key, "chamber", unit)
            if not 0.0 <= value < np.inf:
                raise InputError(f"{key} is {value:g} {unit}; it cannot be below 0", "chamber")

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return constant forcing at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        other : Side, optional
            The opposite side.
        """
        n = len(marks)
        p = self.humidity * float(physics.saturation_pressure(np.array([self.temperature]))[0])

        def flat(value: float) -> Array:
            return np.full(n, float(value))

        return SideForcing(
            flat(self.temperature),
            flat(p),
            flat(self.heat_transfer),
            flat(0.0 if self.sealed else self.vapour_transfer),
            flat(0.0),
            0.0,
            flat(self.rain),
            SURFACE if self.surface else (SEALED if self.sealed else AIR),
            {"kind": "chamber"},
        )

    def describe(self) -> str:
        """Return temperature and humidity."""
        return f"{self.temperature - 273.15:.4g} °C, {100.0 * self.humidity:.3g} %"
