"""What it takes to come as near to the truth as the default mesh does, on meshes graded by rule alone.

    python benchmarks/speed/equal_error.py [--walls 40] [--seed N] [--days 30]
    python benchmarks/speed/equal_error.py --twelve

Walls are drawn as practice builds them (`drydown_validation.practice_walls`), or are the twelve assemblies of
`benchmarks/accuracy.py`, a year each. Each is marched as it is by default, its pilot marches included in the time, and
on meshes cut by the gradings of its layers (`lowering.grid.make_grid`), finer and finer, until the cell that is
farthest off is no farther off than that of the default. The truth is the default mesh with four times the cells at
tight steps. Told are the seconds of both, wall by wall and over all, on one core; a wall whose graded meshes do not get
there with the finest counts with the time of that. Beside them stands what the graded mesh is off as it is, which is
how walls were cut before pilot marches.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from functools import partial

import numpy as np
from drydown import Case, InputError
from drydown.lowering.grid import make_grid
from drydown.run.simulation import SimulationError
from drydown_validation.accuracy import FINER, TIGHT, Field, at_centres, march, rms
from drydown_validation.assemblies import ASSEMBLIES
from drydown_validation.practice_walls import drawn

#: Factors on the number of cells of a graded mesh.
FINENESS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0)


def timed(case: Case, graded: float = 0.0) -> tuple[Field, float]:
    """Run a case on its own mesh or on a graded one, so many times as fine; return it and the seconds of a core."""
    began = time.thread_time()
    run = march(case, make_grid(case.assembly, graded) if graded else None)
    return run, time.thread_time() - began


def off(run: Field, truth: Field) -> float:
    """Return how far the worst cell of a run is off in humidity, root mean square over the hours [-]."""
    return float(rms(run.humidity, at_centres(run, truth, truth.humidity)).max())


def main() -> None:
    """Draw the walls and print what each takes."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walls", type=int, default=40)
    parser.add_argument("--seed", type=int, default=time.time_ns() // 1_000_000 % 100_000_000)
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--twelve", action="store_true", help="the assemblies of accuracy.py instead")
    asked = parser.parse_args()
    made: list[Callable[[], Case]] = [partial(drawn, asked.seed, k, asked.days) for k in range(asked.walls)]
    made = list(ASSEMBLIES.values()) if asked.twelve else made
    what = "twelve assemblies, a year" if asked.twelve else f"walls of seed {asked.seed}, {asked.days} days"
    timed(made[0]())  # compiled, or loaded
    found, behind = [], 0
    for make in made:
        case = make()
        try:
            usual, seconds = timed(case)
            truth = march(case, **TIGHT, refine=FINER)
            error = off(usual, truth)
            tried = []
            for fineness in FINENESS:
                run, takes = timed(case, fineness)
                graded = off(run, truth)
                tried.append((graded, takes))
                if graded <= error:
                    break
            plain, takes_plain = tried[0]
            behind += graded > error
        except (SimulationError, InputError) as wrong:
            print(f"{case.name}: {wrong}")
            continue
        found.append((error, plain, seconds, takes_plain, takes, len(usual.x), len(run.x)))
        print(
            f"{case.name}: off by {100 * error:.3f} %, {len(usual.x)} cells, {seconds:.2f} s; graded: "
            f"{100 * plain:.3f} %, {takes_plain:.2f} s; "
            f"{100 * graded:.3f} % with {fineness:g} times the cells, {takes:.2f} s",
            flush=True,
        )
    e, p, s, s_plain, t, n, m = np.array(found).T
    print(
        f"{len(found)} {what}: default {s.sum():.1f} s, {n.mean():.0f} cells, "
        f"worst {100 * e.max():.3f} %, median {100 * np.median(e):.3f} %\n"
        f"graded as it is: {s_plain.sum():.1f} s, worst {100 * p.max():.2f} %, median {100 * np.median(p):.3f} %, "
        f"{np.sum(p >= 3e-3)} walls beyond 0.3 %\n"
        f"graded until as near: {t.sum():.1f} s, {m.mean():.0f} cells, {t.sum() / s.sum():.2f} times the default "
        f"(median wall {np.median(t / s):.2f}); {behind} walls not as near with {FINENESS[-1]:g} times the cells"
    )


if __name__ == "__main__":
    main()
