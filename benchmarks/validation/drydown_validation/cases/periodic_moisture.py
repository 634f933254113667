"""Periodic penetration of moisture into a half space at constant temperature."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, simulate

from ..engine_side import DAY, START, SURFACE, UNCOUPLED, Prescribed, fundamental, linear_material
from ..figures import curves
from ..references import periodic, water
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "periodic-moisture",
    "Daily wave of humidity in a half space",
    "the same law as for heat, with vapour pressure as potential and (dw/dphi)/p_sat as capacity",
    "closed form: amplitude exp(-x/d) and lag x/d, for every harmonic of a wave joined by straight lines between hours",
)
PERMEABILITY, SLOPE, TEMPERATURE, SWING, DAYS = 2e-11, 20.0, 293.15, 0.2, 20
PSAT = float(water.saturation_iso13788(TEMPERATURE))


def simulated() -> tuple[xr.Dataset, float]:
    """Run the wave until it is periodic."""
    depth = periodic.penetration_depth(PERMEABILITY, SLOPE / PSAT, DAY)
    case = Case(
        Assembly((Layer(linear_material("board", PERMEABILITY, SLOPE), 12.0 * depth, cells=150),)),
        Prescribed(
            lambda s: TEMPERATURE + 0.0 * s,
            lambda s: 0.5 + SWING * np.cos(2.0 * np.pi * s / DAY),
            kind=SURFACE,
        ),
        Chamber(TEMPERATURE, 0.5, sealed=True),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(TEMPERATURE, 0.5),
        physics=UNCOUPLED,
    )
    return simulate(case), depth


def run() -> Result:
    """Compare amplitude and lag over three penetration depths."""
    data, depth = simulated()
    x = data["x"].values
    near = x < 3.0 * depth
    hours = np.arange(24 * (DAYS - 3), 24 * DAYS)
    phi = data["relative_humidity"].values[hours][:, near] - 0.5
    z = np.array([fundamental(phi[:, i], hours * 3600.0, DAY) for i in range(phi.shape[1])]) / SWING
    x = x[near]
    exact = periodic.joined_halfspace(x, PERMEABILITY, SLOPE / PSAT, DAY, 24)
    checks = (
        Check("amplitude, of that at the surface", 100.0 * float(np.max(np.abs(np.abs(z) - np.abs(exact)))), 0.5),
        Check("lag, of a period", 100.0 * float(np.max(np.abs(np.angle(z / exact)))) / (2.0 * np.pi), 0.5),
    )

    def draw() -> Figure:
        return curves(
            (
                [(1e3 * x, np.abs(z), np.abs(exact), "amplitude")],
                "depth, mm",
                "share of the swing at the surface",
                None,
            ),
            (
                [(1e3 * x, -np.unwrap(np.angle(z)), -np.unwrap(np.angle(exact)), "lag")],
                "depth, mm",
                "radian",
                None,
            ),
        )

    return Result(checks, draw)
