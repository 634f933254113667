"""Seconds per simulated year of the 100-cell wall, with the time error measured against a tight run.

    python benchmarks/year.py

Six layers with membrane, humidity-dependent film and paint, a year of hourly weather with rain, one core.
Times are those of the march alone, in turn with each other so that they can be compared; the lowering is
printed beside them.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
from drydown import Assembly, Case, Layer, Numerics
from drydown.lowering.problem import lower
from drydown.plugins import climate, film, material
from drydown.run.simulation import chunks
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor

CELLS = (14, 12, 16, 14, 24, 20)


def wall() -> Assembly:
    """Cladding, gap, membrane, board, sheathing, insulation, film, lining, paint: 100 cells."""
    return Assembly(
        (
            Layer(material("fibre cement"), 0.008, cells=CELLS[0]),
            Layer(material("air gap 25 mm"), 0.025, cells=CELLS[1]),
            film("weather-resistive membrane"),
            Layer(material("wood fibreboard"), 0.012, cells=CELLS[2]),
            Layer(material("OSB"), 0.011, cells=CELLS[3]),
            Layer(material("mineral wool"), 0.14, cells=CELLS[4]),
            film("polyamide film 0.05 mm"),
            Layer(material("gypsum board"), 0.0125, cells=CELLS[5]),
            film("latex paint"),
        )
    )


def case(tolerance: float = 1.0, **numerics) -> Case:
    """A year from the first of October, west wall."""
    c = climate("fernmoor")
    start = c.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273, "D")
    return Case(
        wall(),
        Outdoor(c, Exposure(azimuth=270.0)),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(365, "D"),
        numerics=Numerics(tolerance=tolerance, **numerics),
    )


def march(c: Case) -> tuple[np.ndarray, np.ndarray, float, float, np.ndarray]:
    """Return humidity [%] and temperature [K] by hour and cell, seconds of lowering and of the march, counters."""
    t0 = time.perf_counter()
    problem = lower(c)
    t1 = time.perf_counter()
    rows = [record for _, record in chunks(problem)]
    t2 = time.perf_counter()
    u = np.concatenate([r.u for r in rows])
    return 100 * np.exp(-np.exp(u)), np.concatenate([r.temperature for r in rows]), t1 - t0, t2 - t1, rows[-1].counters


def main() -> None:
    """Time a year and print steps, sweeps and seconds."""
    t0 = time.perf_counter()
    march(replace(case(), end=case().start + np.timedelta64(1, "D")))
    print(f"first day, compiling or loading the kernel included: {time.perf_counter() - t0:.1f} s")
    tight_phi, tight_t, _, tight_s, counters = march(case(0.01, max_step=225.0))
    print(f"tight run: {counters[0]} steps, {counters[2]} sweeps, {tight_s:.2f} s")
    variants = {"default": case(), "steps of an hour": case(4.0, max_step=3600.0), "tolerance 0.3": case(0.3)}
    seconds: dict[str, list[float]] = {name: [] for name in variants}
    results = {}
    for _ in range(5):
        for name, variant in variants.items():
            results[name] = march(variant)
            seconds[name].append(results[name][3])
    print("RMS errors of humidity [%] and temperature [K]: worst cell, all cells")
    print(f"{sum(CELLS)} cells     s/year (median, least)   steps  sweeps   worst RH, T     all RH, T")
    for name, (phi, temperature, lowering, _, counters) in results.items():
        e = np.sqrt(np.mean((phi - tight_phi) ** 2, axis=0))
        f = np.sqrt(np.mean((temperature - tight_t) ** 2, axis=0))
        print(
            f"{name:18s} {np.median(seconds[name]):6.3f} {min(seconds[name]):6.3f} {counters[0]:14d} {counters[2]:7d}"
            f"   {e.max():.4f} {f.max():.4f}   {np.sqrt(np.mean(e**2)):.4f} {np.sqrt(np.mean(f**2)):.4f}"
            f"   (lowering {lowering:.2f} s)"
        )


if __name__ == "__main__":
    main()
