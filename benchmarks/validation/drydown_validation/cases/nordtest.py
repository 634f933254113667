"""Moisture buffering under a square wave of humidity."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, simulate

from ..engine_side import AIR, START, SURFACE, UNCOUPLED, Prescribed, linear_material
from ..figures import curves
from ..references import moisture_buffer, water
from ..report import About, Check, Result, relative

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ABOUT = About(
    "moisture-buffer",
    "Moisture buffer cycle: 8 h at 75 %, 16 h at 33 %, 23 °C",
    "NORDTEST (Rode et al., DTU BYG R-126, 2005; from memory)",
    "Fourier series of the wave through the admittance of the board",
    "Humidity changes in a straight line over an hour, in the engine and in the reference; with sudden changes the "
    "reference meets the published constant 0.00568.",
)
TEMPERATURE, SLOPE, PERMEABILITY, THICKNESS, BETA = 296.15, 20.0, 8e-12, 0.04, 2e-8
DAYS = 30


def wave(s: np.ndarray) -> np.ndarray:
    """Humidity at the marks; the change lies in the middle of the hour's line that joins them."""
    hour = (np.asarray(s) / 3600.0) % 24.0
    return np.where((hour > 0.5) & (hour < 8.5), 0.75, 0.33)


def course(beta: float) -> np.ndarray:
    """Water in the board by the hours of a periodic day [kg/m2]."""
    side = Prescribed(
        lambda s: TEMPERATURE + 0.0 * s,
        wave,
        vapour_transfer=beta if np.isfinite(beta) else 0.0,
        kind=AIR if np.isfinite(beta) else SURFACE,
    )
    case = Case(
        Assembly((Layer(linear_material("board", PERMEABILITY, SLOPE), THICKNESS, cells=120),)),
        side,
        Chamber(TEMPERATURE, 0.47, sealed=True),
        START,
        START + np.timedelta64(DAYS, "D"),
        initial=Initial(TEMPERATURE, 0.47),
        physics=UNCOUPLED,
    )
    stored = simulate(case)["layer_water"].values[:, 0]
    found: np.ndarray = stored[24 * (DAYS - 1) :]
    return found


def run() -> Result:
    """Compare the course of the last day with a film and without, and the printed constant with the reference."""
    psat = float(water.saturation_iso13788(TEMPERATURE))
    checks, drawn = [], []
    hours = np.arange(25.0)
    for beta, label in ((BETA, "with a surface film"), (np.inf, "surface itself")):
        case = moisture_buffer.Buffer(PERMEABILITY, SLOPE, psat, THICKNESS, beta)
        seen = course(beta)
        seen = seen - seen[:-1].mean()
        exact = moisture_buffer.cycle(case, (hours - 0.5) * 3600.0, ramp=3600.0)
        exact = exact - exact[:-1].mean()
        drawn.append((hours, 1e3 * seen, 1e3 * exact, label))
        checks.append(Check(f"course of a day, {label}, of its swing", relative(seen, exact, np.ptp(exact)), 0.5))
        swing = 100.0 * abs(np.ptp(seen) / np.ptp(exact) - 1.0)
        checks.append(Check(f"water exchanged, {label}", float(swing), 0.5))
    ideal = moisture_buffer.ideal_value(moisture_buffer.Buffer(PERMEABILITY, SLOPE, psat))
    half = moisture_buffer.exchanged(moisture_buffer.Buffer(PERMEABILITY, SLOPE, psat)) / 42.0
    checks.append(Check("reference, square wave, against MBV_ideal as printed", 100.0 * abs(half / ideal - 1.0), 0.5))

    def draw() -> Figure:
        return curves((drawn, "hours of the last day", "water above its mean, g/m²", None))

    return Result(tuple(checks), draw)
