"""HAMSTAD case 5: a brick wall with capillary-active insulation inside."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Physics, simulate

from ..engine_side import START, hamstad_material
from ..figures import curves
from ..references import hamstad5, water
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

ABOUT = About(
    "hamstad-5",
    "Capillary-active insulation inside a brick wall",
    "HAMSTAD work package 2, case 5 (Hagentoft et al. 2004; functions from memory, fairly surely)",
    "the same equations by the method of lines on a mesh of its own (BDF, relative tolerance 1e-8)",
)
DAYS = 60


def simulated() -> xr.Dataset:
    """Run the sixty days."""
    names = ("brick", "mortar", "insulation")
    cells = (90, 30, 60)
    layers = tuple(
        Layer(hamstad_material(s, n), s.thickness, n, c) for s, n, c in zip(hamstad5.STUFFS, names, cells, strict=True)
    )
    case = Case(
        Assembly(layers),
        Chamber(273.15, 0.8, heat_transfer=25.0, vapour_transfer=1.8382e-7),
        Chamber(293.15, 0.6, heat_transfer=8.0, vapour_transfer=5.8823e-8),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(298.15, 0.6),
        physics=Physics(
            saturation_pressure=water.saturation_hamstad,
            latent_heat=2.5e6,
            vapour_heat_capacity=0.0,
            water_heat_capacity=4187.0,
        ),
    )
    return simulate(case)


def run() -> Result:
    """Compare water content, humidity and temperature after sixty days."""
    data = simulated()
    depth, trace = hamstad5.solve(DAYS)
    x = data["x"].values
    edges = np.cumsum([0.0, *(s.thickness for s in hamstad5.STUFFS)])
    w, phi, t = (data[k].values[24 * DAYS] for k in ("water_content", "relative_humidity", "temperature"))

    def there(values: np.ndarray) -> np.ndarray:
        """The reference at the engine's centres, within each layer."""
        out = np.empty_like(x)
        for a, b in pairwise(edges):
            here, known = (x > a) & (x < b), (depth > a) & (depth < b)
            out[here] = np.interp(x[here], depth[known], values[known])
        return out

    exact_w, exact_phi, exact_t = (
        there(trace.water[-1]),
        there(trace.humidity[-1]),
        there(trace.temperature[-1]),
    )
    # half a cell from each face the straight line between two centres does not reach: left out
    inner = np.ones(len(x), dtype=bool)
    for a, b in pairwise(edges):
        known = depth[(depth > a) & (depth < b)]
        inner &= ~((x > a) & (x < known[0])) & ~((x < b) & (x > known[-1]))
    checks = (
        Check(
            "w at 60 d, of its range",
            100.0 * float(np.max(np.abs(w - exact_w)[inner]) / np.ptp(exact_w)),
            0.5,
        ),
        Check("RH at 60 d", 100.0 * float(np.max(np.abs(phi - exact_phi)[inner])), 0.5, "% RH"),
        Check("T at 60 d", float(np.max(np.abs(t - exact_t)[inner])), 0.02, "K"),
    )

    def draw() -> Figure:
        return curves(
            ([(1e3 * x, w, exact_w, "60 d")], "depth, mm", "water content, kg/m³", (340.0, 420.0)),
            ([(1e3 * x, 100 * phi, 100 * exact_phi, "60 d")], "depth, mm", "relative humidity, %", None),
        )

    return Result(checks, draw)
