"""Driving rain: from rain on the horizontal and wind to rain on a surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ..arrays import Array
from ..errors import InputError


class DrivingRain(Protocol):
    """A model of driving rain."""

    def on_surface(self, rain: Array, wind_speed: Array, wind_direction: Array, azimuth: float, tilt: float) -> Array:
        """Return rain on the surface, of rain on the horizontal [kg/(m2 h)] and wind at 10 m [m/s]."""
        ...

    def describe(self) -> str:
        """Return the model and its factors in one line, for the result."""
        ...


def normal_wind(wind_speed: Array, wind_direction: Array, azimuth: float) -> Array:
    """Return the wind component blowing at a wall that faces `azimuth` [m/s], never negative."""
    angle = np.radians(np.asarray(wind_direction, dtype=float) - azimuth)
    found: Array = np.maximum(np.asarray(wind_speed, dtype=float) * np.cos(angle), 0.0)
    return found


def _on_slope(falling: Array, driven: Array, tilt: float) -> Array:
    """Rain on a sloped surface: what falls through its plan area and what is driven at its height."""
    t = np.radians(tilt)
    found: Array = np.maximum(falling * np.cos(t), 0.0) + driven * abs(np.sin(t))
    return found


@dataclass(frozen=True)
class OpenField:
    """Open-field driving rain with an exposure and a deposition factor.

    Parameters
    ----------
    exposure : float
        FE [-]: 1.0 medium below 10 m, 1.3 severe, 0.7 sheltered (ANSI/ASHRAE 160, from memory).
    deposition : float
        FD [-]: 0.35 below a steep roof, 0.5 below a low-slope roof, 1.0 where water runs down the wall
        (ANSI/ASHRAE 160, from memory).

    Notes
    -----
    r_wall = FE FD 0.2 U cos(theta) r [kg/(m2 h)], U [m/s] the hourly mean wind at 10 m, r [mm/h].
    Source: Lacy (1965) for 0.2 s/m; ANSI/ASHRAE 160 for the factors (from memory). On a slope the falling
    rain r cos(tilt) is added and the driven part counts by sin(tilt) (plain geometry, assumed).
    """

    exposure: float = 1.0
    deposition: float = 0.5

    def __post_init__(self) -> None:
        for key in ("exposure", "deposition"):
            if not 0.0 <= getattr(self, key) <= 3.0:
                raise InputError(f"{key} is {getattr(self, key):g}; it must lie between 0 and 3", "driving rain")

    def on_surface(self, rain: Array, wind_speed: Array, wind_direction: Array, azimuth: float, tilt: float) -> Array:
        """Return rain on the surface [kg/(m2 h)]."""
        driven = 0.2 * normal_wind(wind_speed, wind_direction, azimuth) * rain
        return _on_slope(np.asarray(rain, dtype=float), self.exposure * self.deposition * driven, tilt)

    def describe(self) -> str:
        """Return the model and its factors in one line."""
        return f"open-field driving rain 0.2 U cos(theta) r, FE {self.exposure:g}, FD {self.deposition:g}"


@dataclass(frozen=True)
class HourlyIndex:
    """Driving rain from the hourly index of ISO 15927-3.

    Parameters
    ----------
    roughness, topography, obstruction, wall : float
        C_R, C_T, O and W of the standard [-].

    Notes
    -----
    I = (2/9) v r^(8/9) cos(D - theta), I_W = I C_R C_T O W. Source: ISO 15927-3; the formula as published
    in open scripts of A. Laukkarinen, the factors from memory.
    """

    roughness: float = 0.722
    topography: float = 1.0
    obstruction: float = 1.0
    wall: float = 0.4

    def __post_init__(self) -> None:
        for key in ("roughness", "topography", "obstruction", "wall"):
            if not 0.0 <= getattr(self, key) <= 3.0:
                raise InputError(f"{key} is {getattr(self, key):g}; it must lie between 0 and 3", "driving rain")

    def on_surface(self, rain: Array, wind_speed: Array, wind_direction: Array, azimuth: float, tilt: float) -> Array:
        """Return rain on the surface [kg/(m2 h)]."""
        index = 2.0 / 9.0 * normal_wind(wind_speed, wind_direction, azimuth) * np.asarray(rain) ** (8.0 / 9.0)
        factor = self.roughness * self.topography * self.obstruction * self.wall
        return _on_slope(np.asarray(rain, dtype=float), factor * index, tilt)

    def describe(self) -> str:
        """Return the model and its factors in one line."""
        return (
            f"hourly driving rain index of ISO 15927-3, C_R {self.roughness:g}, C_T {self.topography:g}, "
            f"O {self.obstruction:g}, W {self.wall:g}"
        )
