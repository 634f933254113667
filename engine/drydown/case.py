"""One simulation, described: what stands where, between which climates, and what happens to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from . import moist_air
from .assembly import Assembly
from .errors import InputError
from .loads import Load
from .materials import Array

Marks = NDArray[np.datetime64]
AIR, SURFACE, SEALED = 0, 1, 2


def check_humidity(value: float, where: str) -> None:
    """Raise InputError unless a relative humidity lies in 0 < value <= 1."""
    if not np.isfinite(value):
        raise InputError(f"relative humidity is {value}; a number between 0 and 1 is needed", where)
    if 1.0 < value <= 100.0:
        raise InputError(
            f"relative humidity is {value:g}; write it as a fraction, {value / 100:g}, or as '{value:g} %'", where
        )
    if not 0.0 < value <= 1.0:
        raise InputError(f"relative humidity is {value:g}; it must be greater than 0 and at most 1", where)


def check_temperature(value: float, where: str) -> None:
    """Raise InputError unless a temperature lies between 200 and 400 K."""
    if not np.isfinite(value) or not 200.0 < value < 400.0:
        hint = f"; write '{value:g} degC' if that is meant" if -70.0 < value < 120.0 else ""
        raise InputError(f"temperature is {value:g} K; it must lie between 200 and 400 K{hint}", where)


class SideForcing(NamedTuple):
    """What one side of the part meets, at the hour marks of a run (arrays of one length n).

    States are values at the marks and run linearly between them; `rain` is the rate over the interval
    that ENDS at the mark.

    temperature [K], vapour_pressure [Pa], convection [W/(m2 K)] (convective coefficient),
    vapour_transfer [kg/(m2 s Pa)], radiation_in [W/m2] (absorbed long-wave plus absorbed solar),
    emissivity [-] (scalar; 0 means long-wave exchange is part of `convection`), rain [kg/(m2 s)],
    kind AIR, SURFACE (the temperature and humidity are those of the surface itself) or SEALED.
    """

    temperature: Array
    vapour_pressure: Array
    convection: Array
    vapour_transfer: Array
    radiation_in: Array
    emissivity: float
    rain: Array
    kind: int
    notes: dict[str, str]


class Side(Protocol):
    """Anything that can say what a side meets: `drydown.exposure.Outdoor`, `drydown.indoor.Indoor`, `Chamber`."""

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return the forcing at the marks; `other` is the opposite side (an indoor model may read it)."""
        ...


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
    """

    saturation_pressure: Callable[[Array], Array] = moist_air.saturation_pressure_iso13788
    air_permeability: Callable[[Array], Array] = moist_air.vapour_permeability_din52615
    latent_heat: float = moist_air.LATENT_HEAT
    vapour_heat_capacity: float = moist_air.CP_VAPOUR
    water_heat_capacity: float = moist_air.CP_WATER
    water_density: float = moist_air.WATER_DENSITY
    vapour_gas_constant: float = moist_air.R_VAPOUR


@dataclass(frozen=True)
class Chamber:
    """A side at constant, prescribed conditions, as in a laboratory.

    Parameters
    ----------
    temperature : float
        [K].
    humidity : float
        Relative humidity [-].
    convection : float
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
    convection: float = 8.0
    vapour_transfer: float = 2.5e-8
    surface: bool = False
    sealed: bool = False
    rain: float = 0.0

    def __post_init__(self) -> None:
        check_humidity(self.humidity, "chamber humidity")
        check_temperature(self.temperature, "chamber temperature")
        for key, unit in (("convection", "W/(m2 K)"), ("vapour_transfer", "kg/(m2 s Pa)"), ("rain", "kg/(m2 s)")):
            value = getattr(self, key)
            if not 0.0 <= value < np.inf:
                raise InputError(f"{key} is {value:g} {unit}; it cannot be below 0", "chamber")

    def forcing(self, marks: Marks, physics: Physics, other: Side | None = None) -> SideForcing:
        """Return constant forcing at the marks."""
        n = len(marks)
        p = self.humidity * float(physics.saturation_pressure(np.array([self.temperature]))[0])

        def flat(value: float) -> Array:
            return np.full(n, float(value))

        return SideForcing(
            flat(self.temperature),
            flat(p),
            flat(self.convection),
            flat(0.0 if self.sealed else self.vapour_transfer),
            flat(0.0),
            0.0,
            flat(self.rain),
            SURFACE if self.surface else (SEALED if self.sealed else AIR),
            {"kind": "chamber"},
        )


@dataclass(frozen=True)
class Wetting:
    """Water put into a layer at a date.

    Parameters
    ----------
    layer : str
        Name of the layer.
    amount : float
        [kg/m2], greater than zero.
    start : datetime64
    duration : float
        [s], at least one second.
    place : {'whole', 'outer', 'inner'}
        The whole layer, or its outermost or innermost `depth`.
    depth : float
        [m], used with 'outer' and 'inner'.
    yearly : bool
        Again on the same date of every later year whose event ends within the run.
    """

    layer: str
    amount: float
    start: np.datetime64
    duration: float = 3600.0
    place: Literal["whole", "outer", "inner"] = "whole"
    depth: float = 0.005
    yearly: bool = False

    def __post_init__(self) -> None:
        where = f"wetting of '{self.layer}'"
        if not (np.isfinite(self.amount) and self.amount > 0.0):
            raise InputError(f"amount is {self.amount:g} kg/m2; it must be greater than 0", where)
        if not (np.isfinite(self.duration) and self.duration >= 1.0):
            raise InputError(f"duration is {self.duration:g} s; it must be at least 1 s", where)
        if self.place not in ("whole", "outer", "inner"):
            raise InputError(f"place is '{self.place}'; use 'whole', 'outer' or 'inner'", where)
        if not self.depth > 0.0:
            raise InputError(f"depth is {self.depth:g} m; it must be greater than 0", where)
        object.__setattr__(self, "start", np.datetime64(self.start, "s"))  # type: ignore[call-overload]
        if np.isnat(self.start):
            raise InputError("the start is no date; write it as 2022-01-15", where)

    def starts(self, end: np.datetime64) -> list[np.datetime64]:
        """Return when the event begins, for a run until `end`; 29 February falls on the 28th elsewhere."""
        first = self.start
        if not self.yearly:
            return [first]
        length = np.timedelta64(round(self.duration), "s")
        month = first.astype("datetime64[M]")
        into = first - month.astype("datetime64[s]")
        found: list[np.datetime64] = []
        while True:
            following = (month + 1).astype("datetime64[s]")
            day = np.timedelta64(86400, "s")
            begin = month.astype("datetime64[s]") + into
            if begin >= following:
                begin = begin - day
            if begin + length > end:
                return found
            found.append(begin)
            month = month + 12


@dataclass(frozen=True)
class Initial:
    """State at the start.

    Parameters
    ----------
    temperature : float
        [K].
    humidity : float
        Relative humidity [-] of every layer not named in `layers`.
    layers : mapping of str to float
        Relative humidity [-] by layer name (built-in moisture).
    """

    temperature: float = 283.15
    humidity: float = 0.8
    layers: dict[str, float] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        check_temperature(self.temperature, "initial temperature")
        check_humidity(self.humidity, "initial humidity")
        for name, value in self.layers.items():
            check_humidity(value, f"initial humidity of '{name}'")


@dataclass(frozen=True)
class Numerics:
    """How finely space and time are cut.

    Parameters
    ----------
    tolerance : float
        Error wanted of a step, as a fraction: 1 means the default of 0.03 % relative humidity and 0.03 K;
        smaller is tighter and slower.
    max_step, min_step : float
        [s]; a step never passes an hour mark or an event.
    refine : float
        Factor on the number of cells of every layer.
    film_reading : {'integral', 'mean'}
        How a permeance that varies with humidity is read across its film: mean of the permeance over the
        humidities between both sides, or the permeance at the mean humidity.
    output_every : float
        Interval of the stored results [s]; a whole number of hours.
    """

    tolerance: float = 1.0
    max_step: float = 1800.0
    min_step: float = 0.05
    refine: float = 1.0
    film_reading: Literal["integral", "mean"] = "integral"
    output_every: float = 3600.0

    def __post_init__(self) -> None:
        if not (self.tolerance > 0 and np.isfinite(self.tolerance)):
            raise InputError(f"tolerance is {self.tolerance}; it must be greater than 0", "numerics")
        if not 0 < self.min_step <= self.max_step <= 3600.0:
            raise InputError("steps must obey 0 < min_step <= max_step <= 3600 s", "numerics")
        if not 0.0 < self.refine <= 100.0:
            raise InputError(f"refine is {self.refine}; it must be greater than 0 and at most 100", "numerics")
        if self.film_reading not in ("integral", "mean"):
            raise InputError(f"film_reading is '{self.film_reading}'; use 'integral' or 'mean'", "numerics")
        if self.output_every < 3600.0 or self.output_every % 3600.0:
            raise InputError("output_every must be a whole number of hours", "numerics")


@dataclass(frozen=True)
class Case:
    """One simulation.

    Parameters
    ----------
    assembly : Assembly
    outside, inside : Side
    start, end : datetime64
        Period, whole hours.
    wettings : tuple of Wetting
    loads : tuple of Load
        See `drydown.loads`.
    initial : Initial
    physics : Physics
    numerics : Numerics
    name : str
    """

    assembly: Assembly
    outside: Side
    inside: Side
    start: np.datetime64
    end: np.datetime64
    wettings: tuple[Wetting, ...] = ()
    initial: Initial = Initial()
    physics: Physics = Physics()
    numerics: Numerics = Numerics()
    name: str = "case"
    loads: tuple[Load, ...] = ()

    def __post_init__(self) -> None:
        for key in ("start", "end"):
            value = np.datetime64(getattr(self, key), "s")
            if value.astype("datetime64[h]").astype("datetime64[s]") != value:
                raise InputError(f"{key} is {value}; it must be a whole hour", "period")
            object.__setattr__(self, key, value)
        if not self.end > self.start:
            raise InputError(f"the end {self.end} is not after the start {self.start}", "period")
        object.__setattr__(self, "wettings", tuple(self.wettings))
        object.__setattr__(self, "loads", tuple(self.loads))
        for load in self.loads:
            if not isinstance(load, Load):
                raise InputError(f"a load cannot be of type {type(load).__name__}; see drydown.loads", "loads")
            if load.layer:
                self.assembly.layer_index(load.layer)
        for w in self.wettings:
            self.assembly.layer_index(w.layer)
            stop = w.start + np.timedelta64(round(w.duration), "s")
            if w.start < self.start or stop > self.end:
                raise InputError(
                    f"it runs from {w.start} to {stop}, outside the period {self.start} to {self.end}",
                    f"wetting of '{w.layer}'",
                )
        for name in self.initial.layers:
            self.assembly.layer_index(name)

    def _repr_html_(self) -> str:
        """Return the case drawn, for a notebook."""
        from importlib import import_module

        return str(import_module("drydown.report.notebook").case_html(self))

    @property
    def marks(self) -> Marks:
        """Hour marks of the run, start and end included (datetime64[s])."""
        return np.arange(self.start, self.end + np.timedelta64(1, "h"), np.timedelta64(3600, "s"))
