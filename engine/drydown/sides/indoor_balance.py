"""Indoor air from a balance: moisture that is produced against outdoor air that comes in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, Marks
from ..case.sides import Physics, check_humidity, check_temperature
from ..errors import InputError
from ..text import plain
from .indoor import OutdoorAir

#: Moisture of a dwelling [kg a day] with 1, 2, 3 and 4 bedrooms; each further one adds 1. Source: ANSI/ASHRAE
#: 160 (from memory).
BEDROOMS = (8.0, 12.0, 14.0, 15.0)


def dwelling_production(bedrooms: int) -> float:
    """Moisture produced in a dwelling [kg/s] by its number of bedrooms; ANSI/ASHRAE 160 (from memory)."""
    if bedrooms < 1:
        raise InputError(f"bedrooms is {bedrooms}; at least 1 is needed", "indoor air")
    a_day = BEDROOMS[min(bedrooms, 4) - 1] + max(bedrooms - 4, 0)
    return a_day / 86400.0


@dataclass(frozen=True)
class MoistureBalance:
    """Air heated below and, where asked for, cooled above, with the moisture of its own balance.

    Parameters
    ----------
    production : float
        Moisture produced [kg/s]; `dwelling_production` for a dwelling.
    volume : float
        Of the air [m3].
    air_changes : float
        Outdoor air over the volume [1/s]; 0.2 an hour standard, 0.1 airtight construction (ANSI/ASHRAE 160,
        from memory).
    heating : float
        Set point [K]; 21.1 degC in ANSI/ASHRAE 160 (from memory).
    cooling : float, optional
        Set point [K]; none by default: above the heating set point the air follows the outdoor temperature of
        the last 24 hours.
    humidity_cap : float
        Relative humidity [-] beyond which water is taken out: by cooling, a dehumidifier, or at 1 as dew on
        windows.

    Notes
    -----
    p_i = p_e + R_v T_i G/(n V), p_e the mean of the last 24 hours: the steady excess v_i - v_e = G/(n V) of
    ISO 13788 as a pressure, and the intermediate method of ANSI/ASHRAE 160, p_i = p_e + c m/Q with c = 1.36e5
    Pa m3/kg (from memory). What walls and furniture store is left out.
    """

    production: float
    volume: float
    air_changes: float = 0.2 / 3600.0
    heating: float = 294.25
    cooling: float | None = None
    humidity_cap: float = 1.0
    needs_outdoor = True

    def __post_init__(self) -> None:
        for key, low, high, unit in (
            ("production", 0.0, 1.0, "kg/s"),
            ("volume", 1.0, 1e7, "m3"),
            ("air_changes", 0.001 / 3600.0, 100.0 / 3600.0, "1/s"),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(
                    f"{key} is {value:g} {unit}; it must lie between {low:g} and {high:g}", "moisture balance"
                )
        check_temperature(self.heating, "heating set point")
        check_humidity(self.humidity_cap, "humidity cap")
        if self.cooling is not None:
            check_temperature(self.cooling, "cooling set point")
            if self.cooling < self.heating:
                raise InputError(
                    f"cooling to {self.cooling:g} K lies below heating to {self.heating:g} K",
                    "moisture balance",
                )

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
        high = np.inf if self.cooling is None else self.cooling
        t = np.clip(outdoor.daily_temperature, self.heating, high)
        flow = self.air_changes * self.volume
        p = outdoor.daily_vapour_pressure + physics.vapour_gas_constant * t * self.production / flow
        return t, np.minimum(p, self.humidity_cap * physics.saturation_pressure(t))

    def describe(self) -> str:
        """Return the model in one line."""
        cooled = "" if self.cooling is None else f", cooled to {plain(self.cooling - 273.15)} degC"
        cap = "" if self.humidity_cap == 1.0 else f", at most {self.humidity_cap:.0%}"
        return (
            f"balance of {self.production * 86400.0:.3g} kg a day and {self.air_changes * 3600.0:.3g} air changes "
            f"an hour in {self.volume:g} m3, heated to {plain(self.heating - 273.15)} degC{cooled}{cap}"
        )
