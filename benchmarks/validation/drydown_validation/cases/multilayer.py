"""Layered wall in steady state, with films that vary with humidity and the heat that vapour carries."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, Physics, simulate

from ..engine_side import START, linear_material
from ..figures import curves
from ..references import multilayer_steady, water
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "multilayer",
    "Layered wall in steady state",
    "resistances in series (ISO 6946, ISO 13788), extended by the enthalpy that vapour carries",
    "closed form for temperature, Kirchhoff integral for the films, Brent's method for the flux",
)
#: Open to vapour, so that a fifth of the heat is carried by it.
SHEETS = ((0.012, 0.13, 6e-11), (0.14, 0.04, 1.2e-10), (0.0125, 0.2, 5e-11))
T_OUT, T_IN, PHI_OUT, PHI_IN = 278.15, 303.15, 0.6, 0.6
H_OUT, H_IN, BETA_OUT, BETA_IN = 25.0, 7.7, 1e-7, 2.5e-8


def retarder(phi: np.ndarray) -> np.ndarray:
    """Demo curve [kg/(m2 s Pa)]."""
    return 1e-9 + 8e-9 * np.asarray(phi) ** 4


def paint(phi: np.ndarray) -> np.ndarray:
    """Demo curve [kg/(m2 s Pa)]."""
    return 2e-9 * (1.0 + np.asarray(phi))


def simulated(physics: Physics | None = None) -> xr.Dataset:
    """Run until nothing changes."""
    layers = [
        Layer(linear_material(f"{i}", perm, 0.5, lam, 1e4), d, f"{i}", 24) for i, (d, lam, perm) in enumerate(SHEETS)
    ]
    parts = (layers[0], layers[1], Film("retarder", retarder), layers[2], Film("paint", paint))
    case = Case(
        Assembly(parts),
        Chamber(T_OUT, PHI_OUT, H_OUT, BETA_OUT),
        Chamber(T_IN, PHI_IN, H_IN, BETA_IN),
        START,
        START + np.timedelta64(90, "D"),
        initial=Initial(283.15, 0.5),
        physics=physics or Physics(),
    )
    return simulate(case)


def run() -> Result:
    """Compare both fluxes and the state of every cell."""
    data = simulated()
    sheets = tuple(multilayer_steady.Sheet(d, lam, perm) for d, lam, perm in SHEETS)
    p = [phi * float(water.saturation_iso13788(t)) for phi, t in ((PHI_OUT, T_OUT), (PHI_IN, T_IN))]
    exact = multilayer_steady.solve(
        multilayer_steady.SteadyWall(
            sheets, T_OUT, T_IN, p[0], p[1], H_OUT, H_IN, BETA_OUT, BETA_IN, {2: retarder, 3: paint}
        )
    )
    assert not exact.saturated
    hour = {k: np.diff(data[k].values, axis=0)[-1] / 3600.0 for k in ("vapour_passed", "heat_passed")}
    x, edges = data["x"].values, np.cumsum([0.0, *(d for d, _, _ in SHEETS)])
    t_exact, p_exact = np.empty_like(x), np.empty_like(x)
    for i in range(3):
        here = (x > edges[i]) & (x < edges[i + 1])
        share = (x[here] - edges[i]) / (edges[i + 1] - edges[i])
        a, b = exact.temperature[i], exact.temperature[i + 1]
        bend = 1860.0 * exact.g * SHEETS[i][0] / SHEETS[i][1]
        t_exact[here] = a + (b - a) * np.expm1(bend * share) / np.expm1(bend)
        p_exact[here] = exact.pressure_inner[i] + share * (exact.pressure_outer[i + 1] - exact.pressure_inner[i])
    t = data["temperature"].values[-1]
    pressure = data["relative_humidity"].values[-1] * water.saturation_iso13788(t)
    g, q = hour["vapour_passed"], hour["heat_passed"]
    checks = (
        Check("vapour flux, of its value", 100.0 * float(np.max(np.abs(g / exact.g - 1.0))), 0.1),
        Check("heat flux, of its value", 100.0 * float(np.max(np.abs(q / exact.heat - 1.0))), 0.1),
        Check("temperature of every cell", float(np.max(np.abs(t - t_exact))), 0.01, "K"),
        Check(
            "vapour pressure, of the difference",
            100.0 * float(np.max(np.abs(pressure - p_exact))) / abs(p[1] - p[0]),
            0.1,
        ),
    )

    def draw() -> Figure:
        return curves(
            ([(1e3 * x, t - 273.15, t_exact - 273.15, "temperature")], "depth, mm", "°C", None),
            ([(1e3 * x, pressure, p_exact, "vapour pressure")], "depth, mm", "Pa", None),
        )

    return Result(checks, draw)
