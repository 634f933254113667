"""EN 15026 annex A: uptake of moisture and heat into a half space."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Physics, simulate

from ..engine_side import DAY, EN15026, START
from ..figures import curves
from ..references import halfspace_uptake
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "en15026",
    "Moisture uptake of a half space",
    "EN 15026:2007, annex A (conditions and functions from memory)",
    "similarity solution: two ordinary differential equations in x/sqrt(t), collocation to 1e-8",
    "Published band: 2.5 % about the reference (from memory). 40 m of material stand for the half space.",
)
DAYS = (7, 30, 365)
#: Water content at 95 % and 30 degC less that at 50 % and 20 degC [kg/m3]; temperature step [K].
STEP, HEAT_STEP = 128.3 - 42.9, 10.0
#: Temperature is compared up to here: farther in, the cut of the half space shows [m].
NEAR = 20.0


def simulated(physics: Physics | None = None) -> xr.Dataset:
    """Run the year."""
    case = Case(
        Assembly((Layer(EN15026, 40.0, cells=300),)),
        Chamber(303.15, 0.95, surface=True),
        Chamber(293.15, 0.50, sealed=True, heat_transfer=0.0),
        START,
        START + np.timedelta64(365, "D"),
        initial=Initial(293.15, 0.50),
        # the constants of the case: heat of evaporation 2.5 MJ/kg and 4187 J/(kg K), no more
        physics=physics or Physics(latent_heat=2.5e6, water_heat_capacity=4187.0, vapour_heat_capacity=0.0),
    )
    return simulate(case)


def run() -> Result:
    """Compare water content and temperature at 7, 30 and 365 days."""
    data = simulated()
    exact = halfspace_uptake.solve(halfspace_uptake.HalfSpace(form="standard"))
    x = data["x"].values
    checks = []
    for days in DAYS:
        t = days * DAY
        dw = data["water_content"].values[24 * days] - exact.water_content(x, t)
        dt = (data["temperature"].values[24 * days] - exact.temperature(x, t))[x < NEAR]
        checks += [
            Check(f"w at {days} d, of the step", 100.0 * float(np.max(np.abs(dw))) / STEP, 0.5),
            Check(f"T at {days} d, of the step", 100.0 * float(np.max(np.abs(dt))) / HEAT_STEP, 0.2),
        ]

    def draw() -> Figure:
        wet = [(x, data["water_content"].values[24 * d], exact.water_content(x, d * DAY), f"{d} d") for d in DAYS]
        warm = [
            (x, data["temperature"].values[24 * d] - 273.15, exact.temperature(x, d * DAY) - 273.15, f"{d} d")
            for d in DAYS
        ]
        return curves(
            (wet, "depth, m", "water content, kg/m³", (0.0, 0.15)),
            (warm, "depth, m", "temperature, °C", (0.0, 8.0)),
        )

    return Result(tuple(checks), draw)
