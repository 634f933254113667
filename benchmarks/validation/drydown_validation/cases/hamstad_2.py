"""HAMSTAD case 2: isothermal drying of a slab."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, simulate

from ..engine_side import HAMSTAD_2, HOUR, START
from ..figures import curves
from ..references import isothermal_drying
from ..report import About, Check, Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ABOUT = About(
    "hamstad-2",
    "Isothermal drying of a slab",
    "HAMSTAD work package 2, case 2 (Hagentoft et al. 2004)",
    "Fourier series in the water content, as many terms as fall above 1e-18",
)
HOURS = (100, 300, 1000)


def run() -> Result:
    """Compare the water content at 100, 300 and 1000 h."""
    case = Case(
        Assembly((Layer(HAMSTAD_2, 0.2, cells=100),)),
        Chamber(293.15, 0.45, surface=True),
        Chamber(293.15, 0.65, surface=True),
        START,
        START + np.timedelta64(1000, "h"),
        initial=Initial(293.15, 0.95),
    )
    data = simulate(case)
    x, w = data["x"].values, data["water_content"].values
    exact = {h: isothermal_drying.water_profile(x, h * HOUR) for h in HOURS}
    checks = tuple(
        Check(f"w at {h} h, of its value", 100.0 * float(np.max(np.abs(w[h] / exact[h] - 1.0))), 0.3) for h in HOURS
    )

    def draw() -> Figure:
        return curves(([(1e3 * x, w[h], exact[h], f"{h} h") for h in HOURS], "depth, mm", "water content, kg/m³", None))

    return Result(checks, draw)
