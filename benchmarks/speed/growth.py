"""Seconds against cells and years, and the memory of long runs.

    python benchmarks/speed/growth.py --figure growth.png

The wall of `benchmarks/year.py` with 25 to 1,600 cells for a month, and with 25 cells for 1 to 30 years: seconds of the
processor in the march alone, the steps taken, and for the years the most memory that a run streamed to a file (each in
a process of its own) has held.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from drydown import Assembly, Case, Layer
from drydown.kernel.layout import STEPS
from drydown.lowering.problem import lower
from drydown.run.simulation import chunks

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import year

CELLS = (25, 50, 100, 200, 400, 800, 1600)
YEARS = (1, 2, 5, 10, 20, 30)

STREAMED = """
import resource, sys, tempfile
from pathlib import Path
sys.path.insert(0, sys.argv[1])
import growth
from drydown import simulate
with tempfile.TemporaryDirectory() as folder:
    simulate(growth.case(int(sys.argv[2]), int(sys.argv[3])), path=Path(folder) / "run.nc").close()
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def case(cells: int, days: int) -> Case:
    """Return the wall with about so many cells, for so many days."""
    factor = cells / sum(year.CELLS)
    parts = [
        replace(p, cells=max(2, round(p.cells * factor))) if isinstance(p, Layer) else p for p in year.wall().parts
    ]
    of_year = year.case()
    return replace(of_year, assembly=Assembly(tuple(parts)), end=of_year.start + np.timedelta64(days, "D"))


def timed(what: Case) -> tuple[int, int, float]:
    """Return cells, steps and seconds of the march."""
    problem = lower(what)
    begin = time.process_time()
    for _, record in chunks(problem):
        counters = record.counters
    return len(problem.grid.dx), int(counters[STEPS]), time.process_time() - begin


def main() -> None:
    """Measure, print, draw."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--figure", type=Path)
    asked = parser.parse_args()
    timed(case(25, 1))
    by_cells = [min((timed(case(n, 30)) for _ in range(3)), key=lambda found: found[2]) for n in CELLS]
    print("cells   steps  seconds for 30 days  microseconds a cell and step")
    for n, steps, seconds in by_cells:
        print(f"{n:5d} {steps:7d} {seconds:12.3f} {1e6 * seconds / n / steps:20.3f}")
    by_years = []
    print("years   steps  seconds  of the processor a year; most memory of the streamed run [MB]")
    for years in YEARS:
        days = round(365.25 * years)
        n, steps, seconds = timed(case(25, days))
        command = [sys.executable, "-c", STREAMED, str(Path(__file__).parent), "25", str(days)]
        held = int(subprocess.run(command, capture_output=True, text=True, check=True).stdout) / 1024
        by_years.append((years, seconds, held))
        print(f"{years:5d} {steps:7d} {seconds:8.2f} {seconds / years:8.3f} {held:10.0f}")
    if asked.figure:
        draw(by_cells, by_years, asked.figure)


def draw(by_cells: list[tuple[int, int, float]], by_years: list[tuple[int, float, float]], path: Path) -> None:
    """Draw both."""
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, 2, figsize=(9, 3.6), layout="constrained")
    for axis, points, label, unit in (
        (axes[0], np.array([(n, s) for n, _, s in by_cells]), "cells", "seconds for 30 days"),
        (axes[1], np.array([(y, s) for y, s, _ in by_years]), "years of 25 cells", "seconds"),
    ):
        axis.loglog(*points.T, "o-", color="black", ms=4)
        axis.loglog(points[:, 0], points[-1, 1] * points[:, 0] / points[-1, 0], ls=":", color="grey", label="linear")
        axis.set_xlabel(label)
        axis.set_ylabel(unit)
        axis.grid(alpha=0.3, which="both")
        axis.legend(frameon=False)
    figure.savefig(path, dpi=150)


if __name__ == "__main__":
    main()
