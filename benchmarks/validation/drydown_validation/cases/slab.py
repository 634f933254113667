"""Slab with both faces open and a surface resistance of any size: Biot number 0.1 to infinity."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, simulate

from ..engine_side import START, UNCOUPLED, linear_material
from ..figures import curves
from ..references import crank_slab, water
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "slab",
    "Drying of a slab through surface films",
    "Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3.6 (from memory)",
    "series with the roots of b tan b = Bi",
)
BIOT = (0.1, 1.0, 10.0, np.inf)
HALF, TEMPERATURE, START_PHI, AIR_PHI = 0.02, 293.15, 0.8, 0.4
SLOPE, PERMEABILITY = 80.0, 4e-12
PSAT = float(water.saturation_iso13788(TEMPERATURE))
DIFFUSIVITY = PERMEABILITY * PSAT / SLOPE


def simulated(biot: float) -> xr.Dataset:
    """Dry the slab for about two Fourier numbers."""
    film = {"surface": True} if np.isinf(biot) else {"vapour_transfer": biot * PERMEABILITY / HALF}
    side = Chamber(TEMPERATURE, AIR_PHI, **film)
    hours = int(2.0 * HALF**2 / DIFFUSIVITY / 3600.0)
    case = Case(
        Assembly((Layer(linear_material("slab", PERMEABILITY, SLOPE), 2.0 * HALF, cells=60),)),
        side,
        side,
        START,
        START + np.timedelta64(hours, "h"),
        initial=Initial(TEMPERATURE, START_PHI),
        physics=UNCOUPLED,
    )
    return simulate(case)


def run() -> Result:
    """Compare profiles at Fourier numbers 0.05, 0.2 and 1, and the mean at all hours."""
    checks, drawn = [], []
    for biot in BIOT:
        data = simulated(biot)
        x = data["x"].values / HALF - 1.0
        worst = 0.0
        for fourier in (0.05, 0.2, 1.0):
            hour = round(fourier * HALF**2 / DIFFUSIVITY / 3600.0)
            tau = DIFFUSIVITY * hour * 3600.0 / HALF**2
            seen = (data["relative_humidity"].values[hour] - AIR_PHI) / (START_PHI - AIR_PHI)
            exact = crank_slab.remaining(x, tau, biot)
            worst = max(worst, float(np.max(np.abs(seen - exact))))
            if fourier == 0.2:
                label = "∞" if np.isinf(biot) else f"{biot:g}"
                drawn.append((x, seen, exact, f"Biot {label}"))
        checks.append(Check(f"profile at Biot {biot:g}, of the step", 100.0 * worst, 0.5))

    def draw() -> Figure:
        return curves((drawn, "position across the slab", "share remaining at Fourier number 0.2", None))

    return Result(tuple(checks), draw)
