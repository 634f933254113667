"""HAMSTAD case 3: a light wall with air passing through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Physics, simulate
from drydown.case.loads import AirStream

from ..engine_side import START, hamstad_material
from ..figures import curves
from ..references import hamstad3, hamstad5, water
from ..report import About, Check, Result

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from ..figures import Panel

ABOUT = About(
    "hamstad-3",
    "Light wall with air passing through",
    "HAMSTAD work package 2, case 3 (Hagentoft et al. 2004; conditions from memory)",
    "the same equations by the method of lines on a mesh of its own (LSODA, relative tolerance 1e-7)",
    "The published air permeability is unsure, its unit as well: 4.5e-3 kg/(m2 s) are taken. A verification of the "
    "equations, not the published result.",
)
DAYS = (5, 20, 25, 60)
#: Depth from outside [m] at which the published case states temperature and water.
PLACES = (0.05, 0.10, 0.15, 0.17, 0.19)


def simulated() -> xr.Dataset:
    """Run the case."""
    c = hamstad3.Conditions()
    turn = [START + np.timedelta64(int(t), "s") for t in (c.turn, c.turned)]
    case = Case(
        Assembly((Layer(hamstad_material(hamstad5.INSULATION, "insulation"), c.thickness, "insulation", 600),)),
        Chamber(c.t_out, c.phi_out, heat_transfer=c.convection, vapour_transfer=c.beta),
        Chamber(c.t_in, c.phi_in, heat_transfer=c.convection, vapour_transfer=c.beta),
        START,
        START + np.timedelta64(max(DAYS), "D"),
        initial=Initial(c.t_start, c.phi_start),
        physics=Physics(
            saturation_pressure=water.saturation_hamstad,
            latent_heat=2.5e6,
            vapour_heat_capacity=0.0,
            water_heat_capacity=4187.0,
        ),
        loads=(AirStream(((turn[0], -c.air), (turn[1], c.air))),),
    )
    return simulate(case)


def run() -> Result:
    """Compare temperature, humidity and water content at the places of the case, while and after the flow turns."""
    data = simulated()
    x, t, phi, w = hamstad3.solve(DAYS)
    here = data["x"].values
    errors = {"temperature": 0.0, "relative_humidity": 0.0, "water_content": 0.0}
    for i, day in enumerate(DAYS):
        for name, exact in (("temperature", t), ("relative_humidity", phi), ("water_content", w)):
            seen = np.interp(PLACES, here, data[name].values[24 * day])
            errors[name] = max(errors[name], float(np.max(np.abs(seen - np.interp(PLACES, x, exact[i])))))
    checks = (
        Check("T at five places, of the difference in to out", 100.0 * errors["temperature"] / 18.0, 0.5),
        Check("RH at five places", 100.0 * errors["relative_humidity"], 0.5, "% RH"),
        Check("w at five places, of its range", 100.0 * errors["water_content"] / float(np.ptp(w)), 0.5),
    )

    def panel(name: str, exact: np.ndarray, scale: float, zero: float, label: str) -> Panel:
        drawn = []
        for i, day in enumerate(DAYS):
            seen, known = data[name].values[24 * day], np.interp(here, x, exact[i])
            drawn.append((1e3 * here, scale * (seen - zero), scale * (known - zero), f"{day} d"))
        return drawn, "depth, mm", label, None

    def draw() -> Figure:
        return curves(
            panel("temperature", t, 1.0, 273.15, "temperature, °C"),
            panel("relative_humidity", phi, 100.0, 0.0, "relative humidity, %"),
        )

    return Result(checks, draw)
