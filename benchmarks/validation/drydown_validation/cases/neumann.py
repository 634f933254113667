"""Freezing of a saturated half space: Neumann's front."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Material, simulate

from ..engine_side import DAY, START, Of
from ..figures import curves
from ..references.neumann_front import Freezing
from ..report import About, Check, Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ABOUT = About(
    "freezing-front",
    "Freezing front in saturated material",
    "Neumann, two phases (Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 11.2; from memory)",
    "closed form with the front's root by Brent's method",
    "The engine freezes pore water by its suction; pores that empty at 1 kPa freeze within hundredths of a kelvin, "
    "which stands for the single melting point of the closed form.",
)
FULL, DRY, CONDUCTIVITY = 300.0, 1.0e6, 1.5
COLD, WARM, DAYS = 263.15, 277.15, 10


def _saturated() -> Material:
    return Material(
        name="saturated",
        density=DRY / 1000.0,
        heat_capacity=1000.0,
        conductivity=Of("water content", lambda w: CONDUCTIVITY + 0.0 * w),
        storage=Of("suction", lambda s: FULL / (1.0 + (s / 1e3) ** 4.0) ** 0.75),
        permeability=lambda phi: 1e-18 + 0.0 * phi,
        saturation=FULL,
        freezing=True,
    )


def run() -> Result:
    """Compare the heat that has left and the temperatures."""
    case = Case(
        Assembly((Layer(_saturated(), 4.0, cells=400),)),
        Chamber(COLD, 0.9999, surface=True),
        Chamber(WARM, 0.9999, sealed=True, heat_transfer=1e-9),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(WARM, 1.0 - 3e-6),
    )
    data = simulate(case)
    water = float(data["water_content"][0].mean())
    exact = Freezing(
        conductivity_frozen=CONDUCTIVITY,
        conductivity_unfrozen=CONDUCTIVITY,
        capacity_frozen=DRY + water * 2100.0,
        capacity_unfrozen=DRY + water * 4182.0,
        latent=water * 3.336e5,
        t_face=COLD,
        t_start=WARM,
    )
    x = data["x"].values
    left = -data["heat_passed"].values[24::24, 0]
    t = np.arange(1, DAYS + 1) * DAY
    seen = data["temperature"].values[24 * DAYS]
    known = exact.temperature(x, DAYS * DAY)
    # the front stands where the ice ends: as deep as it would reach if all water behind it were ice
    front = float(data["ice_content"].values[24 * DAYS] @ data["width"].values) / water
    near = x < 2.0
    off = float(np.sqrt(np.mean((seen - known)[near] ** 2)))
    checks = (
        Check(
            "heat that has left, days 1 to 10, of its value",
            100.0 * float(np.max(np.abs(left / exact.heat_out(t) - 1.0))),
            0.5,
        ),
        Check("T at 10 d, RMS over 2 m, of the range", 100.0 * off / (WARM - COLD), 0.5),
        Check(
            "depth of the front at 10 d, of its value",
            100.0 * abs(front / float(exact.position(DAYS * DAY)) - 1.0),
            0.5,
        ),
    )

    def draw() -> Figure:
        return curves(([(x, seen - 273.15, known - 273.15, f"{DAYS} d")], "depth, m", "temperature, °C", (0.0, 2.0)))

    return Result(checks, draw)
