"""A small case on a GPU that the processor plays, beside the same on the processor: run by `test_gpu` on its own."""

from __future__ import annotations

import os

os.environ |= {"NUMBA_ENABLE_CUDASIM": "1", "NUMBA_DISABLE_JIT": "1"}

from dataclasses import replace

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Wetting, simulate_many
from drydown.case.loads import RainShare, VentilatedGap
from drydown.plugins import film, material
from drydown.sides.indoor import Constant, Indoor


def case() -> Case:
    """Layers with a film between them, in a room on both sides: water comes in and overflows, air passes behind."""
    parts = (
        Layer(material("spruce cladding"), 0.01, cells=2),
        Layer(material("air gap 25 mm"), 0.025, cells=1),
        film("weather-resistive membrane"),
        film("polyamide film 0.05 mm"),
        Layer(material("OSB"), 0.011, cells=3),
        Layer(material("cellular glass"), 0.01, "foam", cells=2),
    )
    start = np.datetime64("2021-01-01T00:00:00")
    return Case(
        Assembly(parts),
        Chamber(275.15, 0.9, rain=1e-4),
        Indoor(Constant()),
        start,
        start + np.timedelta64(1, "h"),
        initial=Initial(283.15, 0.7),
        wettings=(Wetting("OSB", 0.05, start, duration=3600.0),),
        loads=(VentilatedGap("air gap 25 mm", 20.0 / 3600.0, height=2.5), RainShare("foam", 1.0)),
    )


def filled() -> Case:
    """Foam between films, into which it rains: nothing drinks the rest, and it takes what it loses once it is full."""
    parts = (
        film("weather-resistive membrane"),
        Layer(material("cellular glass"), 0.002, "foam", cells=3),
        film("polyamide film 0.05 mm"),
        Layer(material("OSB"), 0.011, cells=3),
    )
    warm = case()
    return replace(warm, assembly=Assembly(parts), wettings=(), loads=(RainShare("foam", 0.05),))


def main() -> None:
    """Print the greatest relative difference of any variable, and of the effort."""
    cases = [case(), filled()]
    here, there = simulate_many(cases), simulate_many(cases, device="cuda")
    worst = 0.0
    for a, b in zip(here, there, strict=True):
        for name, values in a.data_vars.items():
            if values.dtype.kind == "f" and values.size:
                scale = max(float(np.nanmax(np.abs(values))), 1e-12)
                worst = max(worst, float(np.nanmax(np.abs(values.values - b[name].values))) / scale)
        assert set(a.data_vars) == set(b.data_vars)
        assert (a.attrs["steps"], a.attrs["sweeps"]) == (b.attrs["steps"], b.attrs["sweeps"])
    assert here[0]["load_passed_on"].values[-1, 1] > 0.0
    assert 0.0 < here[1]["load_refused"].values[-1, 0] < here[1]["load_water"].values[-1, 0]
    print(worst)


if __name__ == "__main__":
    main()
