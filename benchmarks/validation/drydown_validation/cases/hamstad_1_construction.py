"""The construction of HAMSTAD case 1, a roof, under a stated climate of our own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Initial, Layer, Material, Physics

from ..engine_side import AIR, DAY, EN15026, SEALED, START, Of, Prescribed
from ..figures import curves
from ..references import method_of_lines as mol
from ..references import water
from ..report import About, Check, Result
from ..side_by_side import run_reference

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "roof-of-hamstad-1",
    "Insulated roof, vapour-tight outside",
    "construction and functions of HAMSTAD work package 2, case 1 (Hagentoft et al. 2004; from memory); climate: demo",
    "the same equations by the method of lines on the same mesh (LSODA)",
    "Not the published case: its climate is not at hand. Outside 0 ± 8 K by the day about a mean that falls from 12 to "
    "0 °C in eight days, sun up to 600 W/m² absorbed; inside 20 °C and 60 %.",
)
DAYS = 8


def _vapour(w: np.ndarray) -> np.ndarray:
    s = 1.0 - w / 900.0
    return 26.1e-6 / 9.6 / (461.5 * 296.15) * s / ((1.0 - 0.497) * s * s + 0.497)


INSULATION = Material(
    name="insulation of HAMSTAD case 1",
    density=73.8,
    heat_capacity=1000.0,
    conductivity=Of("water content", lambda w: 0.033 + 0.59e-3 * w),
    storage=Of("suction", lambda p: 900.0 * (1.0 + (2e-4 * p) ** 2) ** -0.5),
    permeability=Of("water content", _vapour),
    permeability_temperature=lambda t: 296.15 / t,
    saturation=900.0,
)


def humidity_at(material: Material, w: float, temperature: float) -> float:
    """Humidity [-] at which a material of suction holds w [kg/m3]."""
    p = np.exp(np.linspace(np.log(1e2), np.log(1e9), 200_001))
    at = np.interp(-w, -material.storage(p), np.log(p))
    return float(np.exp(-np.exp(at) / (1000.0 * 461.5 * temperature)))


def stated() -> Case:
    """Return the case."""

    def outside(s: np.ndarray) -> np.ndarray:
        return 273.15 + 12.0 - 12.0 * s / (DAYS * DAY) + 8.0 * np.sin(2.0 * np.pi * (s / DAY - 0.375))

    def sun(s: np.ndarray) -> np.ndarray:
        return 600.0 * np.maximum(0.0, np.sin(2.0 * np.pi * (s / DAY - 0.25)))

    bearing = Layer(EN15026, 0.1, "load bearing", 10)
    wool = Layer(INSULATION, 0.05, "insulation", 10)
    return Case(
        Assembly((bearing, wool)),
        Prescribed(outside, lambda s: 0.8 + 0.0 * s, 25.0, kind=SEALED, radiation=sun),
        Prescribed(lambda s: 293.15 + 0.0 * s, lambda s: 0.6 + 0.0 * s, 7.0, 2e-8, kind=AIR),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(
            283.15,
            0.5,
            {
                "load bearing": humidity_at(EN15026, 145.0, 283.15),
                "insulation": humidity_at(INSULATION, 0.065, 283.15),
            },
        ),
        physics=Physics(
            saturation_pressure=water.saturation_hamstad,
            latent_heat=2.5e6,
            vapour_heat_capacity=0.0,
            water_heat_capacity=4187.0,
        ),
    )


def run() -> Result:
    """Compare humidity, temperature and water by hour and cell."""
    from drydown import simulate

    case = stated()
    data = simulate(case)
    constants = mol.Constants(
        saturation_pressure=water.saturation_hamstad, latent_heat=2.5e6, c_vapour=0.0, c_water=4187.0
    )
    trace = run_reference(case, mol.Tolerance("LSODA", 1e-6, 1e-5, 1e-6, 1e-9), constants)
    phi = data["relative_humidity"].values - trace.humidity
    t = data["temperature"].values - trace.temperature
    stored = (data["water_content"].values * data["width"].values).sum(axis=1)
    exact = (trace.water * trace.width).sum(axis=1)
    checks = (
        Check(
            "RH by hour, RMS of the worst cell",
            100.0 * float(np.sqrt(np.mean(phi**2, axis=0)).max()),
            0.05,
            "% RH",
        ),
        Check("T by hour, RMS of the worst cell", float(np.sqrt(np.mean(t**2, axis=0)).max()), 0.02, "K"),
        Check("water of the insulation at the end, of its change", _gain(data, trace), 0.5),
    )

    def draw() -> Figure:
        days = np.arange(len(stored)) / 24.0
        return curves(
            ([(days, stored, exact, "whole roof")], "days", "water, kg/m²", None),
            (
                [
                    (
                        days,
                        100 * data["relative_humidity"].values[:, i],
                        100 * trace.humidity[:, i],
                        f"cell {i + 1}",
                    )
                    for i in (10, 15, 19)
                ],
                "days",
                "relative humidity, %",
                None,
            ),
        )

    return Result(checks, draw)


def _gain(data: xr.Dataset, trace: mol.Trace) -> float:
    here = slice(10, 20)
    w = data["water_content"].values[-1, here] @ data["width"].values[here]
    exact = trace.water[:, here] @ trace.width[here]
    return float(100.0 * abs(w - exact[-1]) / abs(exact[-1] - exact[0]))
