"""Accuracy of the default settings against a mesh four times finer and a tight tolerance.

    python benchmarks/accuracy.py [ASSEMBLY ...]
    python benchmarks/accuracy.py --drawn 100 --seed 20261126

The first measures twelve assemblies over a year (minutes). The second draws walls as practice builds them, over the
climates of the library, `--days 30` each; without `--seed` the clock gives one, so that every look is at new walls.
About two seconds a wall and core; `--check` also compares what `mesh_error` says, at twice the time. Ends with 1 where
a promise of DESIGN section 6 is not kept.
"""

from __future__ import annotations

import argparse
import sys
import time

from drydown_validation import accuracy_drawn
from drydown_validation.accuracy import measure_all, table
from drydown_validation.assemblies import ASSEMBLIES


def twelve(names: list[str]) -> int:
    """Measure the assemblies named (all by default) and print the table."""
    unknown = [n for n in names if n not in ASSEMBLIES]
    if unknown:
        print(f"no assembly is called '{unknown[0]}'; known: {', '.join(ASSEMBLIES)}")
        return 2
    rows = measure_all(names or list(ASSEMBLIES))
    print(table(rows))
    return 0 if all(a.kept for a in rows) else 1


def drawn(walls: int, seed: int, days: int, processes: int, check: bool) -> int:
    """Judge walls drawn from a seed; name those that break the promise as they come."""
    begin = time.perf_counter()
    found = []
    for wall in accuracy_drawn.judge_all(walls, seed, days, processes, check):
        found.append(wall)
        if wall.failure or not wall.kept:
            print(accuracy_drawn.line(wall), flush=True)
    print()
    print(accuracy_drawn.summary(found, seed, days))
    print(f"{time.perf_counter() - begin:.0f} s in {processes} processes")
    return 0 if accuracy_drawn.promise_kept(found) else 1


def main() -> int:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("assembly", nargs="*")
    parser.add_argument("--drawn", type=int, default=0, metavar="N", help="walls to draw")
    parser.add_argument("--seed", type=int, help="by default from the clock")
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--check", action="store_true", help="compare mesh_error with the error of the mesh")
    asked = parser.parse_args()
    if not asked.drawn:
        return twelve(asked.assembly)
    seed = asked.seed if asked.seed is not None else time.time_ns() // 1_000_000 % 100_000_000
    return drawn(asked.drawn, seed, asked.days, asked.processes, asked.check)


if __name__ == "__main__":
    sys.exit(main())
