"""Cup tests of a film whose permeance varies with humidity."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, Numerics, simulate

from ..engine_side import START, UNCOUPLED, linear_material
from ..figures import curves
from ..references import kirchhoff_film
from ..report import About, Check, Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ABOUT = About(
    "film",
    "Cup tests of a humidity-dependent film",
    "steady isothermal flow; cups of ASTM E96 and ISO 12572",
    "p_sat times the integral of the permeance over humidity (Kirchhoff), by adaptive quadrature",
    "Between two sheets ten times as open as still air; their resistance stands in the reference too.",
)
Reading = Literal["integral", "mean"]
TEMPERATURE = 296.15
SHEET, PERMEABILITY, BETA = 0.002, 2e-9, 1e-6
#: Humidity outside and inside.
CUPS = ((0.0001, 0.5), (0.5, 0.99), (0.5, 0.0001), (0.3, 0.7), (0.9, 0.2))


def permeance(phi: np.ndarray) -> np.ndarray:
    """Demo curve [kg/(m2 s Pa)]: from 2e-11 to 2e-9, steepest near 80 %."""
    return 2e-11 + 2e-9 * np.asarray(phi) ** 6 / (0.2 + np.asarray(phi) ** 6)


def flux(outside: float, inside: float, reading: Reading) -> float:
    """Steady flux through the engine [kg/(m2 s)], inward."""
    stuff = linear_material("sheet", PERMEABILITY, 0.01, 1.0, 1e4)
    case = Case(
        Assembly((Layer(stuff, SHEET, "a", 4), Film("film", permeance), Layer(stuff, SHEET, "b", 4))),
        Chamber(TEMPERATURE, outside, vapour_transfer=BETA),
        Chamber(TEMPERATURE, inside, vapour_transfer=BETA),
        START,
        START + np.timedelta64(48, "h"),
        initial=Initial(TEMPERATURE, 0.5),
        physics=UNCOUPLED,
        numerics=Numerics(film_reading=reading),
    )
    passed = simulate(case)["vapour_passed"].values
    return float(passed[-1, 1] - passed[-2, 1]) / 3600.0


def run() -> Result:
    """Compare the flux of every cup, in both readings of the film."""
    resistance = 1.0 / BETA + SHEET / PERMEABILITY
    errors: dict[Reading, list[float]] = {"integral": [], "mean": []}
    drawn = []
    for reading, found in errors.items():
        seen, exact = [], []
        for outside, inside in CUPS:
            cup = kirchhoff_film.Cup(outside, inside, TEMPERATURE, resistance, resistance)
            seen.append(flux(outside, inside, reading))
            exact.append(kirchhoff_film.cup_flux(permeance, cup, reading))
            found.append(100.0 * abs(seen[-1] / exact[-1] - 1.0))
        drawn.append((np.arange(1, len(CUPS) + 1), 1e9 * np.array(seen), 1e9 * np.array(exact), reading))
    checks = tuple(
        Check(f"flux, reading '{reading}', of its value", max(found), 0.01) for reading, found in errors.items()
    )

    def draw() -> Figure:
        return curves((drawn, "number of the cup in the case", "flux inward, µg/(m² s)", None), line="_")

    return Result(checks, draw)
