"""Indoor air: models that say what the inner side of the part meets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from ..arrays import Array, Marks
from ..case.sides import AIR, Physics, Side, SideForcing, check_humidity, check_temperature
from ..errors import InputError, need_number, shown
from ..text import plain


class SurfaceCoefficients(NamedTuple):
    """Heat transfer [W/(m2 K)], with radiation, and vapour transfer [kg/(m2 s Pa)] of an inner surface."""

    heat_transfer: float
    vapour_transfer: float


# Surface resistances 0.13, 0.10 and 0.17 m2 K/W: ISO 6946. Vapour: air layers of 8, 4 and 30 mm (draft of
# EN 15026), 1.96e-10 kg/(m s Pa) at 20 degC by DIN 52615; for the wall the rounded 2.5e-8 in common use.
#: Heat flows sideways.
WALL = SurfaceCoefficients(1.0 / 0.13, 2.5e-8)
#: Heat flows up: the underside of a roof.
CEILING = SurfaceCoefficients(1.0 / 0.10, 4.9e-8)
#: Heat flows down: the top of a floor.
FLOOR = SurfaceCoefficients(1.0 / 0.17, 6.5e-9)


class OutdoorAir(NamedTuple):
    """Outdoor air at the marks: temperature [K], vapour pressure [Pa], and both as means of the last 24 h."""

    temperature: Array
    vapour_pressure: Array
    daily_temperature: Array
    daily_vapour_pressure: Array


class IndoorModel(Protocol):
    """Indoor air at the marks of a run."""

    @property
    def needs_outdoor(self) -> bool:
        """Whether `air` reads the outdoor air."""
        ...

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa] at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        outdoor : OutdoorAir or None
            Outdoor air at the marks, where the model reads it.
        """
        ...

    def describe(self) -> str:
        """Return the model and its source in one line, for the result."""
        ...


def last_day_mean(values: Array) -> Array:
    """Mean of the 24 hours up to each hourly value; the first day takes its own mean."""
    n = min(24, len(values))
    total = np.concatenate([[0.0], np.cumsum(values)])
    mean = np.empty(len(values))
    mean[n - 1 :] = (total[n:] - total[:-n]) / n
    mean[: n - 1] = mean[n - 1]
    return mean


@dataclass(frozen=True)
class Constant:
    """Air that never changes.

    Parameters
    ----------
    temperature : float
        [K].
    humidity : float
        Relative humidity [-].
    """

    temperature: float = 293.15
    humidity: float = 0.5
    needs_outdoor = False

    def __post_init__(self) -> None:
        check_temperature(self.temperature, "indoor temperature")
        check_humidity(self.humidity, "indoor humidity")

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa]; as `IndoorModel.air`."""
        t = np.full(len(marks), self.temperature)
        return t, self.humidity * physics.saturation_pressure(t)

    def describe(self) -> str:
        """Return the model in one line."""
        return f"constant {plain(self.temperature - 273.15)} degC, {self.humidity:.0%}"


@dataclass(frozen=True)
class AnnualSine:
    """Temperature and humidity that follow the year as a sine.

    Parameters
    ----------
    temperature, temperature_amplitude : float
        Mean and amplitude [K].
    humidity, humidity_amplitude : float
        Mean and amplitude [-].
    warmest_day : float
        Day of the year of both maxima.

    Notes
    -----
    The form is common practice; the default values are assumed.
    """

    temperature: float = 294.15
    temperature_amplitude: float = 1.0
    humidity: float = 0.5
    humidity_amplitude: float = 0.1
    warmest_day: float = 215.0
    needs_outdoor = False

    def __post_init__(self) -> None:
        for sign in (-1.0, 1.0):
            check_temperature(self.temperature + sign * self.temperature_amplitude, "indoor temperature")
            check_humidity(self.humidity + sign * self.humidity_amplitude, "indoor humidity")
        if not 1.0 <= self.warmest_day <= 366.0:
            raise InputError(f"warmest_day is {self.warmest_day:g}; it must lie between 1 and 366", "indoor air")

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa]; as `IndoorModel.air`."""
        marks = np.asarray(marks, dtype="datetime64[s]")
        year = marks.astype("datetime64[Y]").astype("datetime64[s]")
        day = (marks - year) / np.timedelta64(86400, "s") + 1.0
        wave = np.cos(2.0 * np.pi * (day - self.warmest_day) / 365.25)
        t = self.temperature + self.temperature_amplitude * wave
        return t, (self.humidity + self.humidity_amplitude * wave) * physics.saturation_pressure(t)

    def describe(self) -> str:
        """Return the model in one line."""
        return (
            f"annual sine {plain(self.temperature - 273.15)} +- {plain(self.temperature_amplitude)} degC, "
            f"{self.humidity:.0%} +- {self.humidity_amplitude:.0%}, warmest on day {self.warmest_day:g}"
        )


@dataclass(frozen=True)
class FromOutdoor:
    """Indoor air of a dwelling or office, from the outdoor temperature of the last 24 hours.

    Parameters
    ----------
    high_occupancy : bool
        False: normal moisture load.
    margin : float
        Added to the relative humidity [-]; 0.05 for cautious design.

    Notes
    -----
    Temperature 20 degC up to 10 degC outside, 25 degC from 20 degC outside, linear between. Relative
    humidity 30 % (high occupancy 40 %) up to -10 degC outside, 60 % (70 %) from 20 degC, linear between.
    Source: EN 15026:2007, annex C, the same curves as ISO 13788:2012, annex A.1 (from memory).
    """

    high_occupancy: bool = False
    margin: float = 0.0
    needs_outdoor = True

    def __post_init__(self) -> None:
        if not -0.3 <= self.margin <= 0.3:
            raise InputError(f"margin is {self.margin:g}; it must lie between -0.3 and 0.3", "indoor air")

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa]; as `IndoorModel.air`."""
        assert outdoor is not None
        outside = outdoor.daily_temperature - 273.15
        t = 273.15 + np.interp(outside, [10.0, 20.0], [20.0, 25.0])
        low = 0.4 if self.high_occupancy else 0.3
        rh = np.interp(outside, [-10.0, 20.0], [low, low + 0.3]) + self.margin
        return t, np.minimum(rh, 1.0) * physics.saturation_pressure(t)

    def describe(self) -> str:
        """Return the model in one line."""
        load = "high" if self.high_occupancy else "normal"
        extra = f", humidity {self.margin:+.0%}" if self.margin else ""
        return f"EN 15026 annex C, {load} occupancy (from memory){extra}"


@dataclass(frozen=True)
class HumidityClass:
    """Indoor air of a humidity class: outdoor vapour pressure and an excess.

    Parameters
    ----------
    number : {1, 2, 3, 4}
        The upper limit of the class is taken. Class 5 has none.
    temperature : float
        [K].
    summer : float or None
        Temperature [K] that the room reaches in summer; None: it is held at `temperature` all year.

    Notes
    -----
    Upper limit of the excess 270, 540, 810, 1080 Pa up to 0 degC outside, falling linearly to 0 at 20 degC.
    Source: ISO 13788:2012, annex A.2 (from memory). Means of the last 24 hours stand for monthly means. With
    `summer` the temperature rises from `temperature` at 10 degC outside to `summer` at 20 degC, the corners of annex
    A.1, and is never below the mean outdoors: a room without cooling is not colder than the air that comes in. Air
    of a damp summer held at 20 degC is saturated for weeks, which no room is.
    """

    number: int = 2
    temperature: float = 293.15
    summer: float | None = None
    needs_outdoor = True

    def __post_init__(self) -> None:
        if self.number not in (1, 2, 3, 4):
            raise InputError(
                f"class {self.number} has no upper limit to calculate with; use 1, 2, 3 or 4",
                "humidity class",
            )
        check_temperature(self.temperature, "indoor temperature")
        if self.summer is not None:
            check_temperature(self.summer, "indoor temperature in summer")
            if self.summer < self.temperature:
                text = f"summer, {self.summer:g} K, lies below the temperature of the rest of the year"
                raise InputError(f"{text}, {self.temperature:g} K", "humidity class")

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa]; as `IndoorModel.air`."""
        assert outdoor is not None
        t = np.full(len(marks), self.temperature)
        if self.summer is not None:
            t = np.interp(outdoor.daily_temperature - 273.15, [10.0, 20.0], [self.temperature, self.summer])
            t = np.maximum(t, outdoor.daily_temperature)
        excess = 270.0 * self.number * np.interp(outdoor.daily_temperature - 273.15, [0.0, 20.0], [1.0, 0.0])
        return t, np.minimum(outdoor.daily_vapour_pressure + excess, physics.saturation_pressure(t))

    def describe(self) -> str:
        """Return the model in one line."""
        summer = "" if self.summer is None else f", up to {plain(self.summer - 273.15)} degC and more in summer"
        return f"ISO 13788 annex A.2 class {self.number}, {plain(self.temperature - 273.15)} degC{summer} (from memory)"


@dataclass(frozen=True)
class AirConditioned:
    """Heated below, cooled above, and dried by the cooling.

    Parameters
    ----------
    heating, cooling : float
        Set points [K]; between them the air follows the outdoor temperature of the last 24 hours.
    humidity_cap : float
        Relative humidity [-] that the cooling holds.
    excess : float
        Vapour pressure above that outside [Pa].

    Notes
    -----
    The vapour pressure is that outside (mean of the last 24 hours) with the excess, at most the cap. Common
    practice in form; set points, cap and excess are assumed, the excess within ISO 13788 class 1.
    """

    heating: float = 293.15
    cooling: float = 297.15
    humidity_cap: float = 0.55
    excess: float = 200.0
    needs_outdoor = True

    def __post_init__(self) -> None:
        check_temperature(self.heating, "heating set point")
        check_temperature(self.cooling, "cooling set point")
        check_humidity(self.humidity_cap, "humidity cap")
        if self.cooling < self.heating:
            raise InputError(
                f"the cooling set point {self.cooling:g} K lies below that of heating, {self.heating:g} K",
                "air conditioning",
            )
        if not 0.0 <= self.excess <= 3000.0:
            raise InputError(f"excess is {self.excess:g} Pa; it must lie between 0 and 3000", "air conditioning")

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa]; as `IndoorModel.air`."""
        assert outdoor is not None
        t = np.clip(outdoor.daily_temperature, self.heating, self.cooling)
        cap = self.humidity_cap * physics.saturation_pressure(t)
        return t, np.minimum(outdoor.daily_vapour_pressure + self.excess, cap)

    def describe(self) -> str:
        """Return the model in one line."""
        return (
            f"air-conditioned, {plain(self.heating - 273.15)} to {plain(self.cooling - 273.15)} degC, "
            f"at most {self.humidity_cap:.0%}, {self.excess:g} Pa above outdoors"
        )


@dataclass(frozen=True)
class Indoor(Side):
    """The inner side: indoor air behind a surface film.

    Parameters
    ----------
    model : IndoorModel
    heat_transfer : float
        Heat transfer coefficient of the film, radiation included [W/(m2 K)].
    vapour_transfer : float
        [kg/(m2 s Pa)].

    Notes
    -----
    The defaults are those of a `WALL`; `Indoor(model, *CEILING)` and `Indoor(model, *FLOOR)` are the others.
    """

    model: IndoorModel = FromOutdoor()
    heat_transfer: float = WALL.heat_transfer
    vapour_transfer: float = WALL.vapour_transfer

    def __post_init__(self) -> None:
        if not callable(getattr(self.model, "air", None)):
            raise InputError(f"its air is {shown(self.model)}; a model is needed, such as FromOutdoor()", "indoor")
        need_number(self.heat_transfer, "heat_transfer", "indoor", "W/(m2 K)")
        need_number(self.vapour_transfer, "vapour_transfer", "indoor", "kg/(m2 s Pa)")
        if not 0.0 < self.heat_transfer <= 1e6:
            raise InputError(f"heat_transfer is {self.heat_transfer:g} W/(m2 K); it must be above 0", "indoor")
        if not 0.0 <= self.vapour_transfer <= 1e-3:
            raise InputError(
                f"vapour_transfer is {self.vapour_transfer:g} kg/(m2 s Pa); it must lie between 0 and 1e-3",
                "indoor",
            )

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return what the inner surface meets at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        other : Side, optional
            The opposite side.

        Raises
        ------
        InputError
            If the model reads the outdoor air and `other` is missing.
        """
        outdoor = None
        if self.model.needs_outdoor:
            if other is None:
                raise InputError("this indoor air follows the outdoor air; give an outer side", "indoor")
            outdoor = outdoor_air(other, marks, physics)
        t, p = self.model.air(marks, physics, outdoor)
        n = len(marks)
        return SideForcing(
            temperature=t,
            vapour_pressure=p,
            heat_transfer=np.full(n, self.heat_transfer),
            vapour_transfer=np.full(n, self.vapour_transfer),
            radiation_in=np.zeros(n),
            emissivity=0.0,
            rain=np.zeros(n),
            kind=AIR,
            notes={"indoor": self.model.describe()},
        )

    def describe(self) -> str:
        """Return its model."""
        return self.model.describe()


def outdoor_air(side: Side, marks: Marks, physics: Physics) -> OutdoorAir:
    """Return the air of the other side and its means of the last day."""
    t, p = side.air(marks, physics)
    return OutdoorAir(t, p, last_day_mean(t), last_day_mean(p))
