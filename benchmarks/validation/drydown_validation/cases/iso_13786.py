"""ISO 13786: periodic transmittance of a layered wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, simulate

from ..engine_side import AIR, DAY, START, UNCOUPLED, Prescribed, fundamental, linear_material, wave_gain
from ..figures import curves
from ..references import periodic
from ..report import About, Check, Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ABOUT = About(
    "iso13786",
    "Periodic heat through a layered wall",
    "ISO 13786, example of guideline TSG-1-004:2022, table 8.4: U 0.130, f 0.449",
    "heat transfer matrices (ISO 13786)",
    "The layers as printed give U 0.1293 by plain resistances; the printed 0.130 W/(m2 K) is met to its precision.",
)
#: Inside to outside: thickness [m], conductivity [W/(m K)], density [kg/m3], heat capacity [J/(kg K)].
LAYERS = ((0.03, 0.13, 700.0, 2100.0), (0.25, 0.035, 100.0, 840.0), (0.04, 0.21, 900.0, 840.0))
R_IN, R_OUT = 0.13, 0.04
DAYS, SWING, MEAN = 16, 10.0, 283.15


def run() -> Result:
    """Compare transmittance, decrement and lag."""
    # the engine lists from outside; the printed wall from inside
    layers = tuple(
        Layer(linear_material(f"{i}", 1e-15, 1.0, lam, rho * c), d, f"{i}", 60 if d < 0.1 else 160)
        for i, (d, lam, rho, c) in reversed(list(enumerate(LAYERS)))
    )
    gain = wave_gain(DAY)
    case = Case(
        Assembly(layers),
        Prescribed(
            lambda s: MEAN + SWING / gain * np.cos(2.0 * np.pi * s / DAY),
            lambda s: 0.5 + 0.0 * s,
            1.0 / R_OUT,
            1e-9,
            AIR,
        ),
        Chamber(293.15, 0.5, heat_transfer=1.0 / R_IN, vapour_transfer=1e-9),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(288.15, 0.5),
        physics=UNCOUPLED,
    )
    data = simulate(case)
    hours = slice(24 * (DAYS - 4), 24 * DAYS)
    s = np.arange(24 * DAYS + 1) * 3600.0
    passed = data["heat_passed"].values[:, -1]
    mean_flux = (passed[24 * DAYS] - passed[24 * (DAYS - 4)]) / (4 * DAY)
    u = mean_flux / (MEAN - 293.15)
    # the cumulated flux less its mean, differentiated in frequency: exact for a wave
    swing = fundamental((passed - mean_flux * s)[hours], s[hours], DAY) * 2j * np.pi / DAY / SWING
    exact = periodic.dynamic([periodic.Slab(d, lam, rho * c) for d, lam, rho, c in LAYERS], R_IN, R_OUT)
    decrement = abs(swing) / u
    lag = -float(np.angle(swing)) % (2.0 * np.pi) * 24.0 / (2.0 * np.pi)
    checks = (
        Check("U, of its value", 100.0 * abs(u / exact.transmittance - 1.0), 0.5),
        Check("decrement factor, of its value", 100.0 * abs(decrement / exact.decrement - 1.0), 0.5),
        Check("lag, of a day", 100.0 * abs(lag + exact.time_shift / 3600.0) / 24.0, 0.5),
        Check("U against print", abs(u - 0.130), 0.001, "W/(m2 K)"),
        Check("decrement against print", abs(decrement - 0.449), 0.0005, "-"),
    )

    def draw() -> Figure:
        t = np.arange(24 * (DAYS - 2), 24 * DAYS)
        flux = np.diff(passed)[t] / 3600.0
        mid = t + 0.5
        wave = abs(exact.periodic) * SWING * np.cos(2.0 * np.pi * (mid - lag) / 24.0)
        line = exact.transmittance * (MEAN - 293.15) + wave
        return curves(([(mid - t[0], flux, line, "flux inward")], "hours", "W/m²", None))

    return Result(checks, draw)
