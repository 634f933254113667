"""Periodic penetration of heat into a half space."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, simulate

from ..engine_side import DAY, START, SURFACE, UNCOUPLED, Prescribed, fundamental, linear_material
from ..figures import curves
from ..references import periodic
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "periodic-heat",
    "Daily wave of temperature in wet ground",
    "Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 2.6 (from memory)",
    "closed form: amplitude exp(-x/d) and lag x/d, for every harmonic of a wave joined by straight lines between hours",
)
CONDUCTIVITY, SWING, DAYS = 1.4, 10.0, 20
#: Dry capacity [J/(m3 K)], water held at 50 % [kg/m3] (it does not move), heat capacity of water [J/(kg K)].
DRY, WET, C_WATER = 0.75e6, 300.0, 4182.0
CAPACITY = DRY + C_WATER * WET


def simulated() -> xr.Dataset:
    """Run the wave until it is periodic."""
    case = Case(
        Assembly((Layer(linear_material("ground", 1e-17, WET / 0.5, CONDUCTIVITY, DRY), 3.0, cells=150),)),
        Prescribed(lambda s: 283.15 + SWING * np.cos(2.0 * np.pi * s / DAY), lambda s: 0.5 + 0.0 * s, kind=SURFACE),
        Chamber(283.15, 0.5, sealed=True, heat_transfer=0.0),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(283.15, 0.5),
        physics=replace(UNCOUPLED, water_heat_capacity=C_WATER),
    )
    return simulate(case)


def run() -> Result:
    """Compare amplitude and lag over three penetration depths."""
    data = simulated()
    depth = periodic.penetration_depth(CONDUCTIVITY, CAPACITY, DAY)
    x = data["x"].values
    near = x < 3.0 * depth
    hours = np.arange(24 * (DAYS - 3), 24 * DAYS)
    t = data["temperature"].values[hours][:, near] - 283.15
    z = np.array([fundamental(t[:, i], hours * 3600.0, DAY) for i in range(t.shape[1])]) / SWING
    x = x[near]
    exact = periodic.joined_halfspace(x, CONDUCTIVITY, CAPACITY, DAY, 24)
    checks = (
        Check("amplitude, of that at the surface", 100.0 * float(np.max(np.abs(np.abs(z) - np.abs(exact)))), 0.1),
        Check("lag, of a period", 100.0 * float(np.max(np.abs(np.angle(z / exact)))) / (2.0 * np.pi), 0.1),
    )

    def draw() -> Figure:
        return curves(
            (
                [(x, np.abs(z), np.abs(exact), "amplitude")],
                "depth, m",
                "share of the swing at the surface",
                None,
            ),
            ([(x, -np.unwrap(np.angle(z)), -np.unwrap(np.angle(exact)), "lag")], "depth, m", "radian", None),
        )

    return Result(checks, draw)
