"""Interstitial condensation by months: the engine with its storage and liquid flow switched off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Initial, Layer, Material, Physics, simulate

from ..engine_side import AIR, Of, Prescribed
from ..figures import curves
from ..references import glaser_13788 as glaser
from ..report import About, Check, Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ABOUT = About(
    "iso13788",
    "Interstitial condensation month by month",
    "ISO 13788, example of guideline TSG-1-004:2022, table 8.3",
    "monthly steady balance by the taut string (ISO 13788), and the printed figures",
    "A transient engine reproduces the steady balance when nothing stores but condensate, nothing flows as liquid and "
    "latent heat is off. The printed example clips May to October to zero and lets April dry more than there is.",
)
#: November first: the first month with condensation.
ORDER = (10, 11, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9)
FIRST = np.datetime64("2001-11-01T00", "s")


def _material(course: glaser.Course, name: str) -> Material:
    def storage(phi: np.ndarray) -> np.ndarray:
        # next to nothing until saturation, then room for condensate
        held: np.ndarray = 1e-4 * phi + 2000.0 / (1.0 - 1e8 * np.log(phi))
        return held

    return Material(
        name=name,
        density=1.0,
        heat_capacity=100.0,
        conductivity=Of("humidity", lambda phi: course.conductivity + 0.0 * phi),
        storage=Of("humidity", storage),
        permeability=Of("humidity", lambda phi: glaser.DELTA0 * course.thickness / course.sd + 0.0 * phi),
        permeability_temperature=lambda t: 1.0 + 0.0 * t,
        saturation=2000.0,
    )


def by_month(values: Sequence[float] | np.ndarray, months: Sequence[int] = ORDER) -> Callable[[np.ndarray], np.ndarray]:
    """Return a function of seconds that holds each month's value, changing within the first hour of it."""
    ends = np.cumsum([glaser.DAYS[k] for k in months]) * 86400.0

    def f(s: np.ndarray) -> np.ndarray:
        month = np.array(months)[np.searchsorted(ends, s, side="left").clip(0, 11)]
        held: np.ndarray = np.asarray(values, dtype=float)[month]
        return held

    return f


def simulated(physics: Physics | None = None) -> np.ndarray:
    """Run the year and return g_c by month of the calendar [g/m2]."""
    m = glaser.EXAMPLE_MONTHS
    layers = tuple(Layer(_material(c, f"{i}"), c.thickness, f"{i}", 40) for i, c in enumerate(glaser.EXAMPLE_COURSES))
    kelvin = [np.asarray(t) + 273.15 for t in (m.t_out, m.t_in)]
    case = Case(
        Assembly(layers),
        Prescribed(by_month(kelvin[0]), by_month(m.phi_out), 25.0, 1e-3, AIR),
        Prescribed(by_month(kelvin[1]), by_month(m.phi_in), 1.0 / 0.13, 1e-3, AIR),
        FIRST,
        FIRST + np.timedelta64(365, "D"),
        initial=Initial(283.15, 0.6),
        physics=physics or Physics(latent_heat=0.0, vapour_heat_capacity=0.0),
    )
    data = simulate(case)
    water = 1e3 * (data["water_content"].values * data["width"].values).sum(axis=1)
    at = np.cumsum([0, *(glaser.DAYS[k] * 24 for k in ORDER)])
    out = np.zeros(12)
    out[list(ORDER)] = np.diff(water[at])
    return out


def run() -> Result:
    """Compare condensation and drying of every month."""
    engine = simulated()
    exact = 1e3 * glaser.balance(glaser.EXAMPLE_COURSES, glaser.EXAMPLE_MONTHS).g_c.sum(axis=1)
    printed = np.array(glaser.EXAMPLE_G_C, dtype=float)
    # the printed drying of April is what could dry: the wall runs dry before the month is over
    wet = np.array([k for k in range(12) if printed[k] != 0.0 and k != 3])
    gained = exact[exact > 0.0].sum()
    checks = (
        Check(
            "g_c by month, of the year's condensate",
            100.0 * float(np.max(np.abs(engine - exact))) / gained,
            0.5,
        ),
        Check("g_c against print, April left out", float(np.max(np.abs(engine - printed)[wet])), 0.5, "g/m2"),
    )

    def draw() -> Figure:
        months = np.arange(12)
        return curves(([(months, engine[list(ORDER)], exact[list(ORDER)], "g_c")], "month from November", "g/m²", None))

    return Result(checks, draw)
