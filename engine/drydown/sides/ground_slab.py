"""A floor slab on the ground of a building by ISO 13370: its edges lose heat outward, its middle warms the soil."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..arrays import Array, Marks
from ..case.sides import AIR, Physics, Side, SideForcing, check_humidity
from ..climate.model import Climate, Hours
from ..errors import InputError, nearest
from ..text import plain
from .ground import MOIST, YEAR, annual_wave, damping_depth, year_wave

#: Surface resistances of a floor and of the outdoors [m2 K/W]: ISO 6946.
R_SI, R_SE = 0.17, 0.04


class Soil(NamedTuple):
    """Conductivity [W/(m K)] and heat capacity by volume [J/(m3 K)] of a soil."""

    conductivity: float
    capacity: float


#: Source: ISO 13370, table of soils (from memory).
SOIL = {"clay": Soil(1.5, 3.0e6), "sand": Soil(2.0, 2.0e6), "rock": Soil(3.5, 2.0e6)}


def characteristic_dimension(area: float, perimeter: float) -> float:
    """B' = A/(P/2) [m] of a floor: its area [m2] over half its exposed perimeter [m]; ISO 13370 (from memory)."""
    return area / (0.5 * perimeter)


def slab_transmittance(dimension: float, wall: float, floor_resistance: float, conductivity: float) -> float:
    """Thermal transmittance of a slab on the ground over the year [W/(m2 K)].

    Parameters
    ----------
    dimension : float
        B' [m].
    wall : float
        Thickness of the outer walls [m].
    floor_resistance : float
        Of all layers of the slab [m2 K/W].
    conductivity : float
        Of the soil [W/(m K)].

    Notes
    -----
    d_t = w + lambda (R_si + R_f + R_se); U = 2 lambda/(pi B' + d_t) ln(pi B'/d_t + 1) where d_t < B', else
    lambda/(0.457 B' + d_t). Source: ISO 13370, slab-on-ground floor without edge insulation (from memory).
    """
    d = equivalent_thickness(wall, floor_resistance, conductivity)
    if d < dimension:
        around = np.pi * dimension
        return float(2.0 * conductivity / (around + d) * np.log(around / d + 1.0))
    return conductivity / (0.457 * dimension + d)


def equivalent_thickness(wall: float, floor_resistance: float, conductivity: float) -> float:
    """Equivalent thickness d_t of a floor [m]; see `slab_transmittance`."""
    return wall + conductivity * (R_SI + floor_resistance + R_SE)


def periodic_transmittance(
    area: float, perimeter: float, equivalent: float, conductivity: float, depth: float
) -> tuple[float, float]:
    """Periodic transmittances of a slab, by the swing indoors and by that outdoors [W/(m2 K)].

    Parameters
    ----------
    area, perimeter : float
        [m2], [m].
    equivalent : float
        d_t [m].
    conductivity : float
        Of the soil [W/(m K)].
    depth : float
        Periodic penetration depth of the year [m].

    Notes
    -----
    H_pi = A lambda/d_t sqrt(2/((1 + delta/d_t)^2 + 1)); H_pe = 0.37 P lambda ln(delta/d_t + 1); here over A. Source:
    ISO 13370, annex on periodic heat flow, slab on the ground without edge insulation (from memory).
    """
    ratio = depth / equivalent
    inner = conductivity / equivalent * np.sqrt(2.0 / ((1.0 + ratio) ** 2 + 1.0))
    outer = 0.37 * perimeter * conductivity * np.log(ratio + 1.0) / area
    return float(inner), float(outer)


@dataclass(frozen=True)
class SlabOnGround(Side):
    """The ground under a slab of a heated building, as ISO 13370 counts it.

    Parameters
    ----------
    climate : Climate
        Of whole years; the outdoor air above.
    area, perimeter : float
        Of the floor [m2], and of its edge to the outdoors [m].
    floor_resistance : float
        Of the layers of the slab as they stand in the assembly [m2 K/W].
    wall : float
        Thickness of the outer walls [m].
    soil : {'clay', 'sand', 'rock'}
    humidity : float
        Relative humidity of the pore air below the slab [-]; that of moist soil by default.
    vapour_transfer : float
        Of what lies between soil and slab [kg/(m2 s Pa)]; 0.3 m of still air by default.

    Notes
    -----
    Heat flow of the year: q(t) = U (T_i - T_e) + (H_pi/A) (T_i(t) - T_i) - (H_pe/A) (T_e(t - 1 month) - T_e), means and
    sine waves of the year. It is handed to the slab as the standard proposes for dynamic calculation: a resistance
    1/U - R_si - R_f below the slab, and at its end the temperature T_i(t) - q(t)/U. The air below the slab has the
    humidity of the soil at the temperature there, T_i(t) - q(t) (R_si + R_f). Source: ISO 13370 (from memory). Edge
    insulation, ground water and capillary suction are left out; a slab that touches damp soil is `Ground`.
    """

    climate: Climate
    area: float
    perimeter: float
    floor_resistance: float
    wall: float = 0.3
    soil: str = "clay"
    humidity: float = MOIST
    vapour_transfer: float = 6.5e-10

    def __post_init__(self) -> None:
        check_humidity(self.humidity, "humidity of the ground")
        for key, low, high, unit in (
            ("area", 1.0, 1e6, "m2"),
            ("perimeter", 0.1, 1e5, "m"),
            ("floor_resistance", 0.0, 50.0, "m2 K/W"),
            ("wall", 0.0, 3.0, "m"),
            ("vapour_transfer", 0.0, 1e-3, "kg/(m2 s Pa)"),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(f"{key} is {value:g} {unit}; it must lie between {low:g} and {high:g}", "slab")
        if self.soil not in SOIL:
            raise InputError(f"soil is '{self.soil}'; {nearest(self.soil, SOIL)}", "slab")

    @property
    def transmittance(self) -> float:
        """U over the year [W/(m2 K)]."""
        dimension = characteristic_dimension(self.area, self.perimeter)
        return slab_transmittance(dimension, self.wall, self.floor_resistance, SOIL[self.soil].conductivity)

    def weather(self, marks: Marks) -> Hours:
        """Return the weather above at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        return self.climate.at_marks(marks)

    def wind(self, marks: Marks) -> Array | None:
        """Return the wind above at the marks [m/s]; None where the climate has no wind.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        speed = self.weather(marks).wind_speed
        return None if speed is None else np.asarray(speed, dtype=float)

    def air(self, marks: Marks, physics: Physics) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa] of the outdoor air, which indoor air may follow.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        """
        h = self.climate.at_marks(marks)
        return h.temperature, h.humidity * physics.saturation_pressure(h.temperature)

    def flow(self, time: Marks, room: tuple[float, float, float]) -> tuple[Array, Array]:
        """Return temperature of the room [K] and heat flow into the ground [W/m2] over the year.

        Parameters
        ----------
        time : array of datetime64
        room : (float, float, float)
            Mean [K], amplitude [K] and coldest day of the year of the room.
        """
        soil = SOIL[self.soil]
        out = annual_wave(self.climate)
        d = equivalent_thickness(self.wall, self.floor_resistance, soil.conductivity)
        depth = damping_depth(soil.conductivity / soil.capacity)
        inner, outer = periodic_transmittance(self.area, self.perimeter, d, soil.conductivity, depth)
        late = (out[0], out[1], out[2] + YEAR / 86400.0 / 12.0)
        inside = year_wave(time, *room)
        q = (
            self.transmittance * (room[0] - out[0])
            + inner * (inside - room[0])
            - outer * (year_wave(time, *late) - out[0])
        )
        return inside, q

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return what the lowest layer meets at the marks.

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
            If there is no inner side, whose temperature it needs.
        """
        if other is None:
            raise InputError("the ground below a slab follows the room above; give an inner side", "slab")
        year = self.climate.time[: 8760 if len(self.climate.time) >= 8760 else None].astype("datetime64[s]")
        indoors = other.forcing(year, physics, self).temperature
        room = annual_wave(self.climate, year, indoors)
        inside, q = self.flow(marks, room)
        below = 1.0 / self.transmittance - R_SI - self.floor_resistance
        base = inside - q * (R_SI + self.floor_resistance)
        n = len(base)
        return SideForcing(
            temperature=inside - q / self.transmittance,
            vapour_pressure=self.humidity * physics.saturation_pressure(base),
            heat_transfer=np.full(n, 1.0 / below),
            vapour_transfer=np.full(n, self.vapour_transfer),
            radiation_in=np.zeros(n),
            emissivity=0.0,
            rain=np.zeros(n),
            kind=AIR,
            notes={
                "climate": self.climate.name,
                "ground": self.describe(),
                "ground below the slab": _range_of(base),
                "soil": f"{plain(100.0 * self.humidity, 4)} % humidity in its pores",
            },
        )

    def describe(self) -> str:
        """Return the model in one line."""
        dimension = characteristic_dimension(self.area, self.perimeter)
        return (
            f"slab on {self.soil} by ISO 13370 (from memory): B' {dimension:.3g} m, "
            f"U {self.transmittance:.2f} W/(m2 K), soil at {plain(100.0 * self.humidity, 4)} %"
        )


def _range_of(temperature: Array) -> str:
    return f"{temperature.min() - 273.15:.1f} to {temperature.max() - 273.15:.1f} degC"
