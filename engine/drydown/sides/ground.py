"""The ground under a slab as the outer side: a temperature that follows the year late and damped, and wet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, Marks
from ..case.sides import AIR, SURFACE, Physics, Side, SideForcing, check_humidity, check_temperature
from ..climate.model import HOUR, Climate, Hours
from ..errors import InputError
from ..text import plain

#: Length of the year [s].
YEAR = 365.25 * 86400.0
#: Thermal diffusivity of soils [m2/s], conductivity over heat capacity. Source: ISO 13370 (from memory):
#: clay or silt 1.5 W/(m K) and 3.0e6 J/(m3 K), sand or gravel 2.0 and 2.0e6, rock 3.5 and 2.0e6.
CLAY, SAND, ROCK = 1.5 / 3.0e6, 2.0 / 2.0e6, 3.5 / 2.0e6

#: Relative humidity of the pore air of moist soil [-]: Kelvin's law at a suction of 33 kPa, its field capacity, and
#: 10 degC. At 99 % plants wilt (1.5 MPa). Source: soil science (common practice).
MOIST = 0.9998


def damping_depth(diffusivity: float, period: float = YEAR) -> float:
    """Depth [m] at which a periodic temperature has fallen to 1/e of that at the surface.

    Parameters
    ----------
    diffusivity : float
        [m2/s].
    period : float
        [s].

    Notes
    -----
    d = sqrt(a P/pi). Source: Carslaw and Jaeger (1959), Conduction of Heat in Solids, section 2.6.
    """
    return float(np.sqrt(diffusivity * period / np.pi))


def annual_wave(
    climate: Climate, time: Marks | None = None, temperature: Array | None = None
) -> tuple[float, float, float]:
    """Mean [K], amplitude [K] and coldest day of the year of the air of a climate.

    Parameters
    ----------
    climate : Climate
    time, temperature : array, optional
        A course of a year in that climate instead of its own [K], such as that of a room.

    Notes
    -----
    Least squares of a constant and one sine of 365.25 days; whole years are needed.
    """
    if climate.whole_years < 1:
        raise InputError(
            "the ground needs whole years of weather; give it mean, amplitude and coldest_day instead",
            f"weather '{climate.name}'",
        )
    time = climate.time - HOUR // 2 if time is None else time
    turn = _turn(time)
    basis = np.stack([np.ones_like(turn), np.cos(turn), np.sin(turn)], axis=1)
    mean, c, s = np.linalg.lstsq(basis, climate.temperature if temperature is None else temperature, rcond=None)[0]
    coldest = np.arctan2(-s, -c) / (2.0 * np.pi) * 365.25 + 1.0
    return float(mean), float(np.hypot(c, s)), float((coldest - 1.0) % 365.25 + 1.0)


def _turn(time: Marks) -> Array:
    """Angle of the year [rad], zero at the first moment of 2001."""
    seconds = (np.asarray(time, dtype="datetime64[s]") - np.datetime64("2001-01-01", "s")) / np.timedelta64(1, "s")
    return 2.0 * np.pi * seconds / YEAR


def year_wave(time: Marks, mean: float, amplitude: float, coldest_day: float) -> Array:
    """Return a sine of the year at times [K], of its mean [K], amplitude [K] and coldest day."""
    found: Array = mean - amplitude * np.cos(_turn(time) - 2.0 * np.pi * (coldest_day - 1.0) / 365.25)
    return found


@dataclass(frozen=True)
class Ground(Side):
    """The ground below a slab or behind a cellar wall.

    Parameters
    ----------
    climate : Climate, optional
        Gives mean, amplitude and coldest day where they are not given, and the outdoor air to an indoor model
        that follows it.
    depth : float
        Below the open ground [m].
    mean, amplitude : float, optional
        Of the ground's surface over the year [K]; those of the air of the climate by default. Under a heated
        building the mean lies higher, between air and room; a calculation by ISO 13370 gives it.
    coldest_day : float, optional
        Day of the year on which the surface is coldest.
    diffusivity : float
        Of the soil [m2/s]: `CLAY`, `SAND`, `ROCK`.
    humidity : float
        Relative humidity of the pore air [-]; that of moist soil by default.
    conductance : float, optional
        Of what lies between ground and slab, such as gravel [W/(m2 K)]. Left out, the lowest layer touches
        the ground: its face has the ground's temperature and humidity and can suck water.
    vapour_transfer : float
        Of that layer [kg/(m2 s Pa)], read where `conductance` is given; 0.3 m of still air by default.

    Notes
    -----
    T(z, t) = T_m - A exp(-z/d) cos(2 pi (t - t_0)/P - z/d), d = sqrt(a P/pi): a half-space with a periodic
    surface temperature. Source: Carslaw and Jaeger (1959), section 2.6. Frost, ground water and the heat the
    building gives to the ground are left out.
    """

    climate: Climate | None = None
    depth: float = 0.5
    mean: float | None = None
    amplitude: float | None = None
    coldest_day: float | None = None
    diffusivity: float = CLAY
    humidity: float = MOIST
    conductance: float | None = None
    vapour_transfer: float = 6.5e-10

    @property
    def utc_offset(self) -> float | None:
        """Offset of the local standard time of its weather [h]; None where it has none."""
        return None if self.climate is None else self.climate.utc_offset

    def __post_init__(self) -> None:
        check_humidity(self.humidity, "humidity of the ground")
        for key, low, high, unit in (
            ("depth", 0.0, 100.0, "m"),
            ("amplitude", 0.0, 50.0, "K"),
            ("coldest_day", 1.0, 366.0, ""),
            ("diffusivity", 1e-8, 1e-5, "m2/s"),
            ("conductance", 1e-3, 1e6, "W/(m2 K)"),
            ("vapour_transfer", 1e-15, 1e-3, "kg/(m2 s Pa)"),
        ):
            value = getattr(self, key)
            if value is not None and not low <= value <= high:
                raise InputError(
                    f"{key} is {value:g} {unit}".rstrip() + f"; it must lie between {low:g} and {high:g}",
                    "ground",
                )
        if self.climate is None and None in (self.mean, self.amplitude, self.coldest_day):
            raise InputError("give a climate, or all of mean, amplitude and coldest_day", "ground")
        if self.mean is not None:
            check_temperature(self.mean, "mean of the ground")

    def wave(self) -> tuple[float, float, float]:
        """Return mean [K], amplitude [K] and coldest day at the surface of the ground."""
        given = (self.mean, self.amplitude, self.coldest_day)
        if self.climate is None or None not in given:
            return tuple(given)  # type: ignore[return-value]
        found = annual_wave(self.climate)
        return tuple(f if g is None else g for g, f in zip(given, found, strict=True))  # type: ignore[return-value]

    def temperature(self, time: Marks) -> Array:
        """Return the temperature of the ground [K] at its depth.

        Parameters
        ----------
        time : array of datetime64, shape (n,)
        """
        mean, amplitude, coldest = self.wave()
        x = self.depth / damping_depth(self.diffusivity)
        return year_wave(time, mean, amplitude * float(np.exp(-x)), coldest + 365.25 * x / (2.0 * np.pi))

    def weather(self, marks: Marks) -> Hours | None:
        """Return the weather above at the marks, where the ground has a climate.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        return None if self.climate is None else self.climate.at_marks(marks)

    def wind(self, marks: Marks) -> Array | None:
        """Return the wind above at the marks [m/s]; None where it is not known.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        h = self.weather(marks)
        return None if h is None or h.wind_speed is None else np.asarray(h.wind_speed, dtype=float)

    def air(self, marks: Marks, physics: Physics) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa] of the outdoor air, which indoor air may follow.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        """
        if self.climate is None:
            raise InputError("the indoor air follows the outdoor air; give the ground a climate", "ground")
        h = self.climate.at_marks(marks)
        return h.temperature, h.humidity * physics.saturation_pressure(h.temperature)

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return what the lowest layer meets at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        other : Side, optional
            The opposite side.
        """
        t = self.temperature(marks)
        n = len(t)
        touches = self.conductance is None
        notes = {} if self.climate is None else {"climate": self.climate.name}
        return SideForcing(
            temperature=t,
            vapour_pressure=self.humidity * physics.saturation_pressure(t),
            heat_transfer=np.full(n, self.conductance or 0.0),
            vapour_transfer=np.full(n, 0.0 if touches else self.vapour_transfer),
            radiation_in=np.zeros(n),
            emissivity=0.0,
            rain=np.zeros(n),
            kind=SURFACE if touches else AIR,
            notes=notes
            | {"ground": self.describe(), "soil": f"{plain(100.0 * self.humidity, 4)} % humidity in its pores"},
        )

    def describe(self) -> str:
        """Return the model in one line."""
        mean, amplitude, coldest = self.wave()
        x = self.depth / damping_depth(self.diffusivity)
        late = (coldest - 1.0 + 365.25 * x / (2.0 * np.pi)) % 365.25 + 1.0
        return (
            f"ground {self.depth:g} m deep, {mean - 273.15:.1f} +- {amplitude * np.exp(-x):.1f} degC, "
            f"coldest on day {late:.0f}, at {plain(100.0 * self.humidity, 4)} %; "
            + ("in touch with the lowest layer" if self.conductance is None else "behind a layer between")
        )
