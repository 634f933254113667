"""Indoor air for design by ANSI/ASHRAE 160: humidity by the simplified and by the intermediate method.

Both share the temperatures of the standard. No readable copy of the standard was at hand: all its figures here are
from memory, checked against each other (the constant of the intermediate method is R_v T of the room).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, Marks
from ..case.sides import Physics
from ..errors import InputError
from .indoor import OutdoorAir

#: Constant of the intermediate method [Pa m3/kg]. Source: ANSI/ASHRAE 160 (from memory); R_v T at 21 degC is 1.358e5.
EXCESS = 1.36e5
#: Air changes [1/s] of a building of standard and of airtight construction. Source: ANSI/ASHRAE 160 (from memory).
AIR_CHANGES = {"standard": 0.2 / 3600.0, "airtight": 0.1 / 3600.0}


def design_temperature(daily: Array, cooled: bool) -> Array:
    """Indoor design temperature [K] of the mean outdoor temperature of the last 24 hours [K].

    Notes
    -----
    21.1 degC up to 18.3 degC outside; then 2.8 K above outdoors, where the room is cooled at most 23.9 degC (from
    21.1 degC outside). Source: ANSI/ASHRAE 160, table of indoor design temperatures (from memory).
    """
    warm: Array = np.maximum(294.25, np.asarray(daily, dtype=float) + 2.8)
    return np.minimum(warm, 297.05) if cooled else warm


@dataclass(frozen=True)
class SimplifiedHumidity:
    """Indoor air by the simplified method: humidity from the outdoor temperature alone.

    Parameters
    ----------
    cooled : bool
        Whether the room is cooled in summer.

    Notes
    -----
    Relative humidity 40 % up to -10 degC outside (mean of a day), 70 % from 20 degC, a straight line between.
    Source: ANSI/ASHRAE 160, simplified method (from memory). It is on the damp side of what was measured in houses.
    """

    cooled: bool = False
    needs_outdoor = True

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa].

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        outdoor : OutdoorAir or None
            Outdoor air at the marks, where the model reads it.
        """
        assert outdoor is not None
        t = design_temperature(outdoor.daily_temperature, self.cooled)
        humidity = np.interp(outdoor.daily_temperature - 273.15, [-10.0, 20.0], [0.4, 0.7])
        return t, humidity * physics.saturation_pressure(t)

    def describe(self) -> str:
        """Return the model in one line."""
        return f"ANSI/ASHRAE 160, simplified method, {_air_of(self.cooled)} (from memory)"


@dataclass(frozen=True)
class IntermediateHumidity:
    """Indoor air by the intermediate method: moisture of a dwelling against the outdoor air that comes in.

    Parameters
    ----------
    production : float
        Moisture [kg/s]; `drydown.sides.indoor_balance.dwelling_production` for a dwelling.
    volume : float
        Of the air [m3].
    air_changes : float
        Outdoor air over the volume [1/s]; `AIR_CHANGES` by construction.

    Notes
    -----
    p_i = p_e + c G/Q with c = 1.36e5 Pa m3/kg, p_e the mean of the last 24 hours, at most saturation. Source:
    ANSI/ASHRAE 160, intermediate method without dehumidification (from memory). The standard has another formula
    for rooms that are cooled; it was not at hand, so the room is not cooled here (`AirConditioned` is).
    """

    production: float
    volume: float
    air_changes: float = AIR_CHANGES["standard"]
    needs_outdoor = True

    def __post_init__(self) -> None:
        for key, low, high, unit in (
            ("production", 0.0, 1.0, "kg/s"),
            ("volume", 1.0, 1e7, "m3"),
            ("air_changes", 0.001 / 3600.0, 100.0 / 3600.0, "1/s"),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(f"{key} is {value:g} {unit}; it must lie between {low:g} and {high:g}", "indoor air")

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa].

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        outdoor : OutdoorAir or None
            Outdoor air at the marks, where the model reads it.
        """
        assert outdoor is not None
        t = design_temperature(outdoor.daily_temperature, False)
        p = outdoor.daily_vapour_pressure + EXCESS * self.production / (self.air_changes * self.volume)
        return t, np.minimum(p, physics.saturation_pressure(t))

    def describe(self) -> str:
        """Return the model in one line."""
        return (
            f"ANSI/ASHRAE 160, intermediate method: {self.production * 86400.0:.3g} kg a day and "
            f"{self.air_changes * 3600.0:.3g} air changes an hour in {self.volume:g} m3, {_air_of(False)} (from memory)"
        )


def _air_of(cooled: bool) -> str:
    return "heated and cooled" if cooled else "heated alone"
