"""Rate of a study of many walls, on one core and on two, and what it costs beside the kernel.

    python benchmarks/study.py               2,000 walls of 60 cells, a year each, about ten minutes
    python benchmarks/study.py --walls 100   a quick look

Every wall differs in orientation, humidity of the room, insulation and film; four numbers of each are kept. The bare
kernel is the march alone, of cases that are lowered already. One thread runs a tenth of the walls before the run on all
cores and once more after it, so that a machine that slows down does not flatter the comparison. Times are those of a
clock on the wall: leave the machine alone meanwhile. What a study costs beside the kernel is processor time of one
thread.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from pathlib import Path

import numpy as np
from drydown.lowering.problem import lower, without_faces
from drydown.run.simulation import chunks
from drydown.study import Study, gather, read_study, run
from drydown.study.running import evaluate

CELLS = {"spruce cladding": 8, "air gap 25 mm": 6, "OSB": 10, "mineral wool": 24, "gypsum board": 12}

CASE = """
[climate]
name = "fernmoor"
[outside]
orientation = "north"
[inside]
model = "constant"
temperature = "21 degC"
humidity = "45 %"
[period]
start = 2021-10-01
years = 1
[[layer]]
material = "spruce cladding"
thickness = "20 mm"
cells = 8
[[layer]]
material = "air gap 25 mm"
thickness = "25 mm"
cells = 6
[[layer]]
film = "weather-resistive membrane"
[[layer]]
material = "OSB"
thickness = "11 mm"
cells = 10
[[layer]]
material = "mineral wool"
thickness = "140 mm"
cells = 24
[[layer]]
film = "polyamide film 0.05 mm"
[[layer]]
material = "gypsum board"
thickness = "12.5 mm"
cells = 12
[[layer]]
film = "latex paint"
"""

STUDY = """
title = "Benchmark"
base = "wall.toml"
design = "latin hypercube"
samples = {walls}
seed = 1
[[output]]
of = "maximum_humidity"
layer = "OSB"
place = "inner"
[[output]]
of = "hours_above"
layer = "OSB"
place = "inner"
[[output]]
of = "water_gain"
[[output]]
of = "final_water"
layer = "OSB"
[[axis]]
path = "outside.orientation"
values = ["north", "east", "south", "west"]
[[axis]]
path = "inside.humidity"
distribution = "uniform"
low = "30 %"
high = "60 %"
[[axis]]
path = 'layer."mineral wool".thickness'
distribution = "uniform"
low = "100 mm"
high = "240 mm"
[[axis]]
name = "film"
path = 'layer."polyamide film 0.05 mm".film'
values = ["polyamide film 0.05 mm", "polyethylene 0.15 mm"]
"""


def rate(study: Study, folder: Path, workers: int) -> float:
    """Return the walls per second of a run from nothing to the last file."""
    began = time.perf_counter()
    done = run(study, folder, workers=workers)
    assert done.computed == len(study) and not done.failed, done
    return len(study) / (time.perf_counter() - began)


def kernel_seconds(study: Study, case: int) -> float:
    """Return the processor time of the march alone of a case."""
    problem = without_faces(lower(study.model.case(study.point(case))))  # type: ignore[attr-defined]
    began = time.thread_time()
    for _ in chunks(problem):
        pass
    return time.thread_time() - began


def study_seconds(study: Study, case: int) -> float:
    """Return the processor time of a case in a study, from the case file to the outputs."""
    began = time.thread_time()
    evaluate(study, [case])
    return time.thread_time() - began


def main() -> None:
    """Run the walls and print what a case costs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walls", type=int, default=2000)
    parser.add_argument("--workers", type=int, default=len(os.sched_getaffinity(0)))
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "wall.toml").write_text(CASE)
        (folder / "study.toml").write_text(STUDY.format(walls=given.walls))
        study = read_study(folder / "study.toml")
        began = time.perf_counter()
        evaluate(study, range(4))
        print(f"first four walls, compiling or loading the kernel included: {time.perf_counter() - began:.1f} s")
        some = [int(i) for i in np.linspace(0, given.walls - 1, min(40, given.walls))]
        pairs = np.array([(kernel_seconds(study, i), study_seconds(study, i)) for i in some])
        kernel, whole = np.median(pairs, axis=0)
        # of each wall the two runs follow each other: a machine that slows down meets both
        beside = np.median(pairs[:, 1] / pairs[:, 0]) - 1.0
        print(f"kernel {kernel:.4f} s a wall-year of {sum(CELLS.values())} cells, in a study {whole:.4f} s: "
              f"{100 * beside:.1f} % beside the kernel (medians of {len(some)} walls)")  # fmt: skip
        fewer = max(4, given.walls // 10)
        one = [rate(study.only(fewer), folder / "before", 1)]
        many = rate(study, folder / "all", given.workers)
        one.append(rate(study.only(fewer), folder / "after", 1))
        single = 2.0 / sum(1.0 / r for r in one)
        print(
            f"one thread: {single:.2f} wall-years per second ({one[0]:.2f} before, {one[1]:.2f} after, {fewer} walls)"
        )
        print(f"{given.workers} threads: {many:.2f} wall-years per second, {many / single:.2f} times")
        whole_run, few = gather(study, folder / "all"), gather(study.only(fewer), folder / "after")
        for key in few.data_vars:
            assert (whole_run[key].values[:fewer] == few[key].values).all(), key
        print(f"the same bits from one thread and from {given.workers}: yes")


if __name__ == "__main__":
    main()
