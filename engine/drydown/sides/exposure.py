"""What a turned and tilted outer surface receives: sun, sky, wind and driving rain."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .. import moist_air
from ..arrays import Array, Marks
from ..case.sides import AIR, Facing, Physics, Side, SideForcing
from ..climate.driving_rain import DrivingRain, OpenField
from ..climate.facade_water import run_off, splash
from ..climate.model import HOUR, Climate, Hours, Times, dew_point
from ..climate.roof_shade import SHADES
from ..climate.roof_snow import roof_snow, top_of_snow
from ..climate.shading import Shading
from ..climate.sky import sky_longwave
from ..climate.snow import white_ground
from ..climate.solar import plane_irradiance
from ..errors import InputError, nearest, need, need_number

#: Tilt [degree] from which on a surface is a wall: heat within 30 degrees of the level flows sideways, ISO 6946.
ROOF = 60.0


@dataclass(frozen=True)
class Exposure:
    """How an outer surface stands and what it is like.

    Parameters
    ----------
    azimuth : float
        Direction the surface faces [degree], clockwise from north: 0 north, 90 east, 180 south, 270 west.
    tilt : float
        [degree]: 0 a flat roof, 90 a wall, 180 the underside of a floor.
    absorptance : float
        Share of the sun that is absorbed [-]; 0.3 light, 0.6 middle, 0.9 dark (EN ISO 13790, from memory).
    emissivity : float
        Long-wave [-]; 0.90 for building materials, ASHRAE Handbook Fundamentals 2021 ch. 26 table 2.
    ground_reflectance : float
        Of the bare ground [-]; 0.2 is common practice.
    snow_reflectance : float
        Of the ground while snow lies [-], see `drydown.climate.snow`; 0.6 to 0.8 (from memory).
    wind_factor : float
        Wind along the surface over wind at 10 m in the open [-]. 0.72 is a wall up to 8 m high in a suburb:
        roughness coefficients 0.722 (terrain III) over 1.007 (terrain II, 10 m), ISO 15927-3.
    rain : DrivingRain
        How rain and wind make driving rain; the open-field formula by default.
    shading : Shading
        What hides part of the sky: a horizon, an overhang; nothing by default.
    snow_below : float
        Air temperature [K] up to which what falls is snow and is not offered to the surface
        (common practice).
    assumed_cloud : float
        Opaque cloud [tenths] for the long-wave of the sky where the weather does not carry it (assumed).
    roof_shade : str
        What shades a roof: 'none', 'beside' (buildings, trees, a parapet) or 'panels'; factors in
        `drydown.climate.roof_shade`.
    snow_lies : bool
        Whether snow lies on a roof: it insulates, throws back the sun and melts (`drydown.climate.roof_snow`). Without
        it a roof takes up sun as if bare, and no snow.
    run_off : float
        Area above that sheds its rain onto the surface over that of the surface [-].
    splash : float
        Share of the rain on the ground that splashes onto the foot of a wall [-].
    """

    azimuth: float = 0.0
    tilt: float = 90.0
    absorptance: float = 0.6
    emissivity: float = 0.9
    ground_reflectance: float = 0.2
    snow_reflectance: float = 0.7
    wind_factor: float = 0.72
    rain: DrivingRain = field(default_factory=OpenField)
    snow_below: float = 273.15
    assumed_cloud: float = 5.0
    shading: Shading = field(default_factory=Shading)
    roof_shade: str = "none"
    snow_lies: bool = False
    run_off: float = 0.0
    splash: float = 0.0

    def __post_init__(self) -> None:
        for key, high in (
            ("azimuth", 360.0),
            ("tilt", 180.0),
            ("absorptance", 1.0),
            ("emissivity", 1.0),
            ("ground_reflectance", 1.0),
            ("snow_reflectance", 1.0),
            ("wind_factor", 3.0),
            ("assumed_cloud", 10.0),
            ("run_off", 100.0),
            ("splash", 1.0),
        ):
            value = getattr(self, key)
            need_number(value, key, "exposure")
            if not 0.0 <= value <= high:
                raise InputError(f"{key} is {value:g}; it must lie between 0 and {high:g}", "exposure")
        if self.shading.overhang > 0.0 and self.tilt != 90.0:
            raise InputError(f"an overhang stands over a wall, tilt 90; the tilt is {self.tilt:g}", "exposure")
        if self.roof_shade not in SHADES:
            raise InputError(f"roof_shade is '{self.roof_shade}'; {nearest(self.roof_shade, SHADES)}", "exposure")
        for key, given in (("roof_shade", self.roof_shade != "none"), ("snow_lies", self.snow_lies)):
            if given and self.tilt >= ROOF:
                raise InputError(f"{key} is of a roof, tilt below {ROOF:g}; the tilt is {self.tilt:g}", "exposure")
        for key in ("run_off", "splash"):
            if getattr(self, key) > 0.0 and self.tilt < ROOF:
                raise InputError(f"{key} is of a wall; the tilt is {self.tilt:g}", "exposure")

    @property
    def sky_view(self) -> float:
        """View factor from the surface to the open sky [-]; (1 + cos tilt)/2 where nothing hides it."""
        return self.shading.sky_view(self.tilt)


def convective_coefficient(wind_speed: Array) -> Array:
    """Outer convective heat transfer coefficient [W/(m2 K)] of wind along the surface [m/s].

    Notes
    -----
    h = 4 + 4 v. Source: ISO 6946 (from memory).
    """
    return 4.0 + 4.0 * np.asarray(wind_speed, dtype=float)


@dataclass(frozen=True)
class Outdoor(Side):
    """The outer side: a climate upon an exposed surface.

    Parameters
    ----------
    climate : Climate
    exposure : Exposure
    cyclic : bool or None
        Whether the weather may repeat by calendar; None leaves it to the climate.
    """

    climate: Climate
    exposure: Exposure = Exposure()
    cyclic: bool | None = None

    def __post_init__(self) -> None:
        need(self.climate, Climate, "its climate", "a Climate, such as drydown.weather('fernmoor')", "outdoor")
        need(self.exposure, Exposure, "its exposure", "an Exposure", "outdoor")

    @property
    def utc_offset(self) -> float:
        """Offset of the local standard time of its weather [h]."""
        return self.climate.utc_offset

    def weather(self, marks: Marks) -> Hours:
        """Return the weather at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        return self.climate.at_marks(marks, self.cyclic)

    def wind(self, marks: Marks) -> Array | None:
        """Return the wind along the surface at the marks [m/s]; None where the climate has no wind.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        """
        speed = self.weather(marks).wind_speed
        return None if speed is None else self.exposure.wind_factor * np.asarray(speed, dtype=float)

    @property
    def tilt(self) -> float:
        """How steep the surface is [degree]."""
        return self.exposure.tilt

    @property
    def facing(self) -> Facing:
        """How the surface stands in the wind."""
        return Facing(self.exposure.azimuth, self.exposure.wind_factor)

    def describe(self) -> str:
        """Return the climate."""
        return f"weather of {self.climate.name}"

    def air(self, marks: Marks, physics: Physics) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa] of the air at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        """
        h = self.weather(marks)
        return h.temperature, h.humidity * physics.saturation_pressure(h.temperature)

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return what the surface meets at the marks.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        other : Side, optional
            The opposite side.

        Notes
        -----
        Radiation of a weather hour is a mean, the forcing wants values at marks: the value at a mark is the
        mean of the hours before and after it. The vapour pressure is the humidity of the weather times
        the saturation pressure of `physics`, below 0 degC too.
        """
        marks = np.asarray(marks, dtype="datetime64[s]")
        e, climate = self.exposure, self.climate
        h = climate.at_marks(marks, self.cyclic)
        notes = dict(h.notes)
        vapour = h.humidity * physics.saturation_pressure(h.temperature)
        wind = self._wind(h, notes)
        heat_transfer = convective_coefficient(e.wind_factor * wind)
        shade = SHADES[e.roof_shade]
        emissivity = shade.longwave * e.emissivity
        longwave, sun = self._longwave(h, vapour, notes), self._sun(marks, h, notes)
        if e.roof_shade != "none":
            notes["shade"] = f"{shade.words}: {shade.sun:g} of the sun, {shade.longwave:g} of the emissivity (WTA 6-8)"
        bare = SideForcing(
            temperature=h.temperature,
            vapour_pressure=vapour,
            heat_transfer=heat_transfer,
            vapour_transfer=moist_air.lewis_vapour_transfer(heat_transfer),
            radiation_in=emissivity * longwave + shade.sun * e.absorptance * sun,
            emissivity=emissivity,
            rain=self._rain(h, notes) / 3600.0,
            kind=AIR,
            notes=notes,
        )
        if e.snow_lies:
            return self._under_snow(bare, h, shade.sun * sun, longwave, physics)
        self._say_bare(h, notes)
        return bare

    def _say_bare(self, h: Hours, notes: dict[str, str]) -> None:
        """Say of a roof how long snow would lie on it."""
        snow = roof_snow(self.climate, self.exposure.tilt) if self.exposure.tilt < ROOF else None
        if snow is not None:
            share = snow.lies[self._row(h)].mean()
            if share > 0.02:
                notes["roof snow"] = (
                    f"the roof is taken as bare; snow would lie there in {share:.0%} of the hours (snow_lies)"
                )

    def _row(self, h: Hours) -> np.ndarray:
        """Return the row of the climate at each mark."""
        return np.asarray((h.source_time - self.climate.time[0]) // HOUR).astype(np.int64)

    def _under_snow(self, bare: SideForcing, h: Hours, sun: Array, longwave: Array, physics: Physics) -> SideForcing:
        """Return the forcing where snow lies: through the snow, to its top; vapour passes it as still air."""
        e, climate = self.exposure, self.climate
        snow = roof_snow(climate, e.tilt, e.snow_below)
        if snow is None:
            bare.notes["roof snow"] = "snow on the roof unknown, as rain is unavailable: it is taken as bare"
            return bare
        row = self._row(h)
        lies, depth = snow.lies[row], snow.depth[row]
        top, coefficient = top_of_snow(h.temperature, bare.heat_transfer, sun, longwave, e.snow_reflectance)
        still = depth / physics.air_permeability(h.temperature)
        bare.notes["roof snow"] = (
            f"snow lies on the roof in {lies.mean():.0%} of the hours, up to {100.0 * depth.max():.0f} cm deep"
        )
        return bare._replace(
            temperature=np.where(lies, top, bare.temperature),
            heat_transfer=np.where(lies, 1.0 / (snow.resistance[row] + 1.0 / coefficient), bare.heat_transfer),
            vapour_transfer=np.where(lies, 1.0 / (still + 1.0 / bare.vapour_transfer), bare.vapour_transfer),
            radiation_in=np.where(lies, 0.0, bare.radiation_in),
            emissivity=np.where(lies, 0.0, bare.emissivity),
            rain=bare.rain + snow.melt[row] / 3600.0,
        )

    def _wind(self, h: Hours, notes: dict[str, str]) -> Array:
        if h.wind_speed is None:
            notes["wind"] = "wind unavailable: 4 m/s assumed at 10 m for the surface film, no driving rain"
            return np.full(len(h.temperature), 4.0)
        notes["wind"] = f"{self.exposure.wind_factor:g} of the wind at 10 m along the surface, h = 4 + 4 v (ISO 6946)"
        return h.wind_speed

    def _longwave(self, h: Hours, vapour: Array, notes: dict[str, str]) -> Array:
        """Return the long-wave irradiance on the surface [W/m2]."""
        e = self.exposure
        down = h.longwave_down
        if down is None:
            down = sky_longwave(h.temperature, dew_point(vapour), e.assumed_cloud)
            notes["longwave"] = (
                f"sky long-wave unavailable: Clark and Allen (1978) with {e.assumed_cloud:g} tenths of cloud assumed"
            )
        else:
            notes["longwave"] = "sky long-wave from the weather"
        ground = moist_air.STEFAN_BOLTZMANN * h.temperature**4
        return e.sky_view * down + (1.0 - e.sky_view) * ground

    def _sun(self, marks: Marks, h: Hours, notes: dict[str, str]) -> Array:
        """Return the sun on the surface [W/m2]."""
        e, climate = self.exposure, self.climate
        if h.global_horizontal is None and (h.direct_normal is None or h.diffuse_horizontal is None):
            notes["sun"] = "sun unavailable: no solar gain"
            return np.zeros(len(marks))
        # The hour after the last mark belongs to the last mark too, where the weather has it.
        try:
            after = climate.at_marks(marks[-1:] + HOUR, self.cyclic)
        except InputError:
            after = climate.at_marks(marks[-1:], self.cyclic)

        def joined(key: str) -> Array | None:
            a, b = getattr(h, key), getattr(after, key)
            return None if a is None else np.concatenate([a, b])

        total, how = plane_irradiance(
            np.concatenate([h.source_time, after.source_time]),
            climate,
            joined("direct_normal"),
            joined("diffuse_horizontal"),
            joined("global_horizontal"),
            azimuth=e.azimuth,
            tilt=e.tilt,
            ground_reflectance=self._reflectance(np.concatenate([h.source_time, after.source_time]), notes),
            shading=e.shading,
        )
        notes["sun"] = how
        return 0.5 * (total[:-1] + total[1:])

    def _reflectance(self, source_time: Times, notes: dict[str, str]) -> Array:
        """Return the reflectance of the ground at stamps of the climate."""
        e, climate = self.exposure, self.climate
        white = white_ground(climate, e.snow_below)
        bare = f"ground reflects {e.ground_reflectance:g}"
        if white is None:
            notes["ground"] = f"{bare}; snow unknown, as rain is unavailable"
            return np.full(len(source_time), e.ground_reflectance)
        here = white[((source_time - climate.time[0]) // HOUR).astype(np.int64)]
        notes["ground"] = f"{bare}, {e.snow_reflectance:g} under snow ({here.mean():.0%} of the hours)"
        return np.where(here, e.snow_reflectance, e.ground_reflectance)

    def _rain(self, h: Hours, notes: dict[str, str]) -> Array:
        """Return the driving rain on the surface [kg/(m2 h)]."""
        e = self.exposure
        missing = [
            word
            for word, x in (("rain", h.rain), ("wind", h.wind_speed), ("wind direction", h.wind_direction))
            if x is None
        ]
        if h.rain is None or h.wind_speed is None or h.wind_direction is None:
            notes["rain"] = f"{' and '.join(missing)} unavailable: the surface gets no driving rain"
            return np.zeros(len(h.temperature)) if h.rain is None else splash(self._liquid(h.rain, h), e.splash)
        liquid = self._liquid(h.rain, h)
        notes["rain"] = e.rain.describe()
        found = run_off(e.rain.on_surface(liquid, h.wind_speed, h.wind_direction, e.azimuth, e.tilt), e.run_off)
        if e.run_off > 0.0:
            notes["rain"] += f"; {e.run_off:g} times as much runs down from above"
        if e.splash > 0.0:
            notes["rain"] += f"; {e.splash:.0%} of the rain on the ground splashes up"
        return found + splash(liquid, e.splash)

    def _liquid(self, rain: Array, h: Hours) -> Array:
        return np.where(h.temperature > self.exposure.snow_below, rain, 0.0)
