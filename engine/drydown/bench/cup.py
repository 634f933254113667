"""A cup test, and the virtual cup: the engine runs it on a film or on a board.

The specimen closes a cup that holds a desiccant, water or a salt solution and stands in a room of another
humidity; what the cup gains or loses is weighed until it changes at a steady rate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ..arrays import Array
from ..case.assembly import Assembly, Layer
from ..case.case import Case, Initial, Numerics
from ..case.sides import Chamber, Physics, check_temperature
from ..errors import InputError
from ..kernel.layout import WATER_CLOSURE_SUM, Record
from ..lowering.lowered import Problem
from ..lowering.problem import lower
from ..materials.checks import LIMITS, meant
from ..materials.model import REFERENCE_TEMPERATURE, Film, Material
from ..run.simulation import chunks

#: A desiccant is taken as this humidity [-], water as this: the engine has no exact 0 and 1.
DRIEST, WETTEST = 1e-4, 1.0 - 1e-8
#: Weighings [s from the start]: seven minutes to ten thousand years, each 1.4 times as late as the one before.
WEIGHINGS = np.concatenate([[0.0], np.geomspace(400.0, 3e11, 60)])
#: A filling that lets vapour through as if it were not there, where a cup has no air layer.
_NOTHING = 1e3  # m2 s Pa/kg
_START = np.datetime64("2001-01-01T00", "s")


@dataclass(frozen=True)
class CupTest:
    """One cup test.

    Parameters
    ----------
    cup, room : float
        Relative humidity [-] in the cup, over the desiccant, water or salt solution, and in the room; 0 to 1.
    temperature : float
        [K].
    permeance : float or None
        What was measured, flux over difference of vapour pressure [kg/(m2 s Pa)].
    uncertainty : float or None
        Relative standard uncertainty of it [-], e.g. 0.05.
    air_layer : float
        Still air between specimen and desiccant or water [m].
    surface_resistance : float
        Vapour resistance of the air at the outer face of the specimen [m2 s Pa/kg].
    corrected : bool
        True: the resistances of `air_layer` and `surface_resistance` are already taken off `permeance`.
    turned : bool
        True: the face that looks outward in a wall looks into the cup. It matters to a film with `permeance_outward`.
    name : str
    """

    cup: float
    room: float
    temperature: float = REFERENCE_TEMPERATURE
    permeance: float | None = None
    uncertainty: float | None = None
    air_layer: float = 0.0
    surface_resistance: float = 0.0
    corrected: bool = False
    turned: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        where = f"cup test '{self.name}'" if self.name else "cup test"
        for key in ("cup", "room"):
            value = getattr(self, key)
            if not 0.0 <= value <= 1.0:
                raise InputError(f"humidity in the {key} is {value:g}; it must lie between 0 and 1", where)
        if abs(self.cup - self.room) < 1e-3:
            raise InputError(
                f"cup and room are both at {100 * self.cup:.3g} %; a difference of 0.1 % or more is needed", where
            )
        check_temperature(self.temperature, where)
        least, most, unit = LIMITS["permeance"]
        if self.permeance is not None and not least <= self.permeance <= most:
            raise InputError(
                f"permeance is {self.permeance:g} {unit}; it must lie between {least:g} and {most:g}"
                f"{meant('permeance', self.permeance)}",
                where,
            )
        if self.uncertainty is not None and not 0.0 < self.uncertainty < 1.0:
            raise InputError(
                f"uncertainty is {self.uncertainty:g}; give a relative one between 0 and 1, such as 0.05", where
            )
        if not 0.0 <= self.air_layer < 0.5:
            raise InputError(f"the air layer is {self.air_layer:g} m; it must lie between 0 and 0.5 m", where)
        if not (np.isfinite(self.surface_resistance) and self.surface_resistance >= 0.0):
            raise InputError(
                f"surface resistance is {self.surface_resistance:g} m2 s Pa/kg; it must be 0 or more", where
            )

    @property
    def humidities(self) -> tuple[float, float]:
        """Humidities in the cup and in the room as they are computed with: within `DRIEST` and `WETTEST` [-]."""
        return min(max(self.cup, DRIEST), WETTEST), min(max(self.room, DRIEST), WETTEST)

    def air_resistance(self, physics: Physics | None = None) -> float:
        """Return the vapour resistance of the air layer in the cup [m2 s Pa/kg].

        Parameters
        ----------
        physics : Physics
        """
        law = (physics or Physics()).air_permeability
        return self.air_layer / float(law(np.array([self.temperature]))[0])


#: The two cups of ASTM E96 at 23 degC: desiccant against 50 %, water against 50 %.
DRY_CUP = CupTest(0.0, 0.5, name="dry cup")
WET_CUP = CupTest(1.0, 0.5, name="wet cup")


@dataclass(frozen=True)
class CupResult:
    """What a virtual cup test gives.

    Parameters
    ----------
    test : CupTest
    flux : float
        Steady flux out of the cup [kg/(m2 s)]; negative where the cup gains.
    apparent : float
        Flux over the difference of vapour pressure between cup and room [kg/(m2 s Pa)]: what a laboratory
        reports before it corrects for the air.
    corrected : float
        The same with the resistances of the air layer and of the surface taken off.
    faces : (float, float)
        Humidity [-] at the faces of the specimen toward the cup and toward the room, outside its own pores.
    days_to_steady : float
        Days until the weight of the cup changes at a rate within 1 % of the steady one [d].
    drift : float
        Relative change of the flux between the last two weighings, or its relative difference between both
        faces, whichever is greater [-].
    steady : bool
        True where `drift` is below the tolerance asked for.
    closure : float
        What the water budget of the whole run fails to close by, as a share of the water that passed [-].
    """

    test: CupTest
    flux: float
    apparent: float
    corrected: float
    faces: tuple[float, float]
    days_to_steady: float
    drift: float
    steady: bool
    closure: float


def virtual_cup(
    specimen: Film | Layer,
    test: CupTest,
    *,
    start: float = 0.5,
    reading: Literal["integral", "mean"] = "integral",
    tolerance: float = 1e-6,
    liquid: bool = True,
) -> CupResult:
    """Run a cup test of a film, or of a layer of a material, through the whole engine.

    Parameters
    ----------
    specimen : Film or Layer
    test : CupTest
        Its measured permeance is not used.
    start : float
        Humidity [-] at which the specimen was kept before.
    reading : {'integral', 'mean'}
        How a permeance that varies with humidity is read across a film, see `Numerics`.
    tolerance : float
        Relative drift below which the flux counts as steady.
    liquid : bool
        False: leave out the flow of liquid water in a layer. A measured permeance holds whatever passed the
        specimen, so it is the vapour alone that stands for it.

    Returns
    -------
    CupResult

    Raises
    ------
    InputError
        If the specimen cannot be used.
    SimulationError
        If a step cannot be solved.

    Notes
    -----
    The wall is the specimen and the air layer (under a film without one: a filling of 1000 m2 s Pa/kg, taken
    off the result); the humidity in the cup is imposed on its far face, that of the room on the specimen,
    behind the surface resistance if there is one. Time steps grow with the weighings up to centuries, so that
    the steady state takes some fifty steps even where a real test would last for years.
    """
    problem, filling = _lower(specimen, test, start, reading, liquid)
    flow, record = _march(problem)
    marks = problem.forcing.marks
    # out of the cup, at the cup and at both faces of the specimen, as the engine counts inward
    rate = -np.diff(flow, axis=0) / np.diff(marks)[:, None, None]
    weighed = rate[:, -1].sum(axis=1)
    faces = rate[-1, [0, 1 if isinstance(specimen, Layer) else 0]]
    g = float(weighed[-1])
    drift = max(abs(weighed[-2] - g), *np.abs(faces.sum(axis=1) - g)) / max(abs(g), 1e-300)
    a, b = test.humidities
    p_sat = float(problem.case.physics.saturation_pressure(np.array([test.temperature]))[0])
    in_cup, at_room = test.air_resistance(problem.case.physics), test.surface_resistance
    whole = p_sat * (a - b) / g - filling
    return CupResult(
        test,
        g,
        1.0 / whole,
        1.0 / (whole - in_cup - at_room),
        (a - g * (in_cup + filling) / p_sat, b + g * at_room / p_sat),
        _steady_after(marks, weighed) / 86400.0,
        float(drift),
        bool(drift <= tolerance),
        float(abs(record.totals[WATER_CLOSURE_SUM]) / max(np.abs(flow).sum(axis=2).max(), 1e-300)),
    )


def _lower(
    specimen: Film | Layer, test: CupTest, start: float, reading: Literal["integral", "mean"], liquid: bool
) -> tuple[Problem, float]:
    """Return the cup as a problem whose marks are the weighings, and the resistance of the filling."""
    if not isinstance(specimen, Film | Layer):
        raise InputError(f"a Film or a Layer is needed, not {type(specimen).__name__}", "virtual cup")
    a, b = test.humidities
    resistance = test.air_resistance()
    filling = _NOTHING if resistance == 0.0 and isinstance(specimen, Film) else 0.0
    part: Film | Layer = specimen
    if isinstance(specimen, Film):
        if test.turned:
            ways = specimen.permeance_outward or specimen.permeance, specimen.permeance
            part = replace(specimen, permeance=ways[0], permeance_outward=ways[1])
    elif not liquid:
        part = replace(specimen, material=replace(specimen.material, liquid=None, diffusivity=None))
    parts: list[Film | Layer] = [part]
    if resistance + filling > 0.0:
        depth = test.air_layer or 1e-3
        parts.append(Layer(still_air(depth / (resistance + filling)), depth, "air in the cup", 3))
    surface = test.surface_resistance == 0.0
    room = Chamber(
        test.temperature, b, vapour_transfer=0.0 if surface else 1.0 / test.surface_resistance, surface=surface
    )
    case = Case(
        Assembly(tuple(parts), "cup test"),
        room,
        Chamber(test.temperature, a, surface=True),
        _START,
        _START + np.timedelta64(1, "h"),
        initial=Initial(test.temperature, start, {"air in the cup": a} if len(parts) > 1 else {}),
        numerics=Numerics(film_reading=reading),
        name=test.name or "cup test",
    )
    return lower(case, times=WEIGHINGS, control={"max_step": float(WEIGHINGS[-1]), "newton": 1e-4}), filling


def still_air(permeability: float) -> Material:
    """Return air of a vapour permeability [kg/(m s Pa)], which hardly stores."""

    def storage(phi: Array) -> Array:
        return 0.02 * phi + 0.01 / (1.0 - 1e3 * np.log(phi))

    return Material(
        "air in the cup",
        density=1.2,
        heat_capacity=1006.0,
        conductivity=lambda phi: 0.025 + 0.0 * phi,
        storage=storage,
        permeability=lambda phi: permeability + 0.0 * phi,
        permeability_temperature=lambda t: 1.0 + 0.0 * t,
        saturation=1.0,
    )


def _march(problem: Problem) -> tuple[Array, Record]:
    """Return the flow since the start [weighing, face, vapour or liquid] and the record."""
    rows, record = [], None
    for _, record in chunks(problem):
        rows.append(record.flow[:, :, :2].copy())
    assert record is not None
    return np.concatenate(rows), record


def _steady_after(marks: Array, rate: Array) -> float:
    """Return the time [s] from which the rate stays within 1 % of its last value."""
    off = np.flatnonzero(np.abs(rate - rate[-1]) > 0.01 * abs(rate[-1]))
    if len(off) == 0:
        return float(marks[1])
    k = int(off[-1])
    return float(np.sqrt(max(marks[k], marks[k + 1] / 2.0) * marks[k + 1]) if k + 1 < len(marks) else marks[-1])
