"""Are the results of two checkouts the same? The twelve assemblies, the cases of the validation and drawn walls.

    git worktree add ../before COMMIT
    python benchmarks/same_results.py ../before --walls 50 --first 5000

Each checkout computes in a process of its own, from its own sources; every variable of every result is compared,
relative to the greatest value of that variable. Ends with 1 if a difference is above 1e-12.

Steps are chosen by error, a face is iterated to a tolerance: where a wall stands on an edge between two such choices,
a difference in the last digit grows. How far, `--ulps 2` tells: the other checkout is compared with itself, its runs
begun one and two units in the last place warmer and colder. A change in the order of a sum cannot be told from that.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

SOURCES = ("engine", "materials", "climates", "benchmarks/validation")
#: Variables that had another name before.
RENAMED = {"carried_passed": "convected_vapour_passed"}
BOUND = 1e-12
#: Every so many marks of a state are kept for the comparison.
EVERY = 7

COMPUTE = """
import sys
from dataclasses import replace
import numpy as np
from drydown import Case, InputError, simulate
from drydown_validation.assemblies import ASSEMBLIES
from drydown_validation.cases import CASES, case
from drydown_validation.drawn_walls import drawn, fitting

out, first, walls, every, ulps = sys.argv[1], *map(int, sys.argv[2:6])
kept, begun, check = {}, set(), Case.__post_init__
def moved(self):
    check(self)
    warm = self.initial.temperature
    if warm not in begun:
        for _ in range(abs(ulps)):
            warm = float(np.nextafter(warm, np.inf if ulps > 0 else -np.inf))
        begun.add(warm)
        object.__setattr__(self, "initial", replace(self.initial, temperature=warm))
if ulps:
    Case.__post_init__ = moved
def keep(name, result):
    for key, values in result.data_vars.items():
        if values.dtype.kind == "f":
            kept[f"{name}|{key}"] = np.concatenate([values.values[::every].ravel(), values.values[-1].ravel()])
for name, build in ASSEMBLIES.items():
    keep(name, simulate(build()))
for number in range(first, first + walls):
    try:
        keep(f"wall {number}", simulate(fitting(drawn(number))))
    except InputError:
        kept[f"wall {number}|refused"] = np.ones(1)
for name in CASES:
    checks = case(name).run().checks
    kept[f"{name}|checks"] = np.array([c.error for c in checks])
np.savez(out, **kept)
"""


def compute(checkout: Path, out: Path, first: int, walls: int, ulps: int = 0) -> subprocess.Popen[bytes]:
    """Start the computation of one checkout, its runs begun so many units in the last place warmer."""
    path = os.pathsep.join(str((checkout / s).resolve()) for s in SOURCES)
    command = [sys.executable, "-c", COMPUTE, str(out), *map(str, (first, walls, EVERY, ulps))]
    return subprocess.Popen(command, env={**os.environ, "PYTHONPATH": path}, cwd=checkout)


def gaps(before: dict[str, np.ndarray], after: dict[str, np.ndarray]) -> dict[str, float]:
    """Return the greatest difference of each variable, relative to its greatest value."""
    found = {}
    for key in sorted(before.keys() & after.keys()):
        a, b = before[key], after[key]
        scale = max(float(np.max(np.abs(a), initial=0.0)), 1e-300)
        found[key] = float(np.max(np.abs(a - b), initial=0.0)) / scale if a.shape == b.shape else np.inf
    return found


def of_results(found: dict[str, float]) -> dict[str, tuple[float, str]]:
    """Return the greatest difference of each result, with its variable."""
    worst: dict[str, tuple[float, str]] = {}
    for key, gap in found.items():
        result, _, variable = key.partition("|")
        worst[result] = max(worst.get(result, (-1.0, "")), (gap, variable))
    return worst


def main() -> int:
    """Compute both, print the greatest difference of each result that differs, say whether they are the same."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("other", type=Path, help="the checkout to compare with")
    parser.add_argument("--of", type=Path, default=Path(__file__).resolve().parents[1], help="in place of this one")
    parser.add_argument("--walls", type=int, default=50)
    parser.add_argument("--first", type=int, default=5000)
    parser.add_argument("--ulps", type=int, default=0, help="also the other against itself, begun so much apart")
    asked = parser.parse_args()
    apart = [sign * n for n in range(1, asked.ulps + 1) for sign in (1, -1)]
    jobs = [(asked.other, 0), (asked.of, 0), *((asked.other, n) for n in apart)]
    with tempfile.TemporaryDirectory() as folder:
        files = [Path(folder) / f"{n}.npz" for n in range(len(jobs))]
        for pair in range(0, len(jobs), 2):
            chosen = range(pair, min(pair + 2, len(jobs)))
            runs = [compute(jobs[n][0], files[n], asked.first, asked.walls, jobs[n][1]) for n in chosen]
            ended = [run.wait() for run in runs]
            if any(ended):
                print("a checkout could not compute")
                return 1
        kept = [dict(np.load(f).items()) for f in files]
    before, after, *begun = [{name_of(key): values for key, values in one.items()} for one in kept]
    found = gaps(before, after)
    worst = of_results(found)
    own: dict[str, float] = {}
    for one in begun:
        for result, (gap, _) in of_results(gaps(before, one)).items():
            own[result] = max(own.get(result, 0.0), gap)
    differ = {result: gap for result, gap in worst.items() if gap[0] > BOUND}
    for result, (gap, variable) in differ.items():
        itself = f"; the other against itself {own[result]:.1e}" if begun else ""
        print(f"{result:32s} {gap:.1e} ({variable}){itself}")
    if begun:
        beyond = sorted(result for result, (gap, _) in differ.items() if gap > own[result])
        print(f"further apart than the other from itself: {', '.join(beyond) if beyond else 'none'}")
        print(f"the other against itself: {sum(gap > BOUND for gap in own.values())} of {len(own)} results differ")
    alone = before.keys() ^ after.keys()
    refused = sum(key.endswith("|refused") for key in after)
    print(
        f"{len(worst) - len(differ)} of {len(worst)} results the same to {BOUND:g}, {len(found)} variables compared, ",
        end="",
    )
    print(f"{len(alone)} in one alone, {refused} walls refused")
    if alone:
        print("in one alone: " + ", ".join(sorted(alone)[:8]))
    return 1 if differ else 0


def name_of(key: str) -> str:
    """Return a key with the name that its variable has today."""
    result, _, variable = key.partition("|")
    return f"{result}|{RENAMED.get(variable, variable)}"


if __name__ == "__main__":
    sys.exit(main())
