"""Are the results of two checkouts the same? The twelve assemblies, the cases of the validation and drawn walls.

    git worktree add ../before COMMIT
    python benchmarks/same_results.py ../before --walls 50 --first 5000

Each checkout computes in a process of its own, from its own sources; every variable of every result is compared,
relative to the greatest value of that variable. Ends with 1 if a difference is above 1e-12.
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
import numpy as np
from drydown import InputError, simulate
from drydown_validation.assemblies import ASSEMBLIES
from drydown_validation.cases import CASES, case
from drydown_validation.drawn_walls import drawn, fitting

out, first, walls, every = sys.argv[1], *map(int, sys.argv[2:5])
kept = {}
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


def compute(checkout: Path, out: Path, first: int, walls: int) -> subprocess.Popen[bytes]:
    """Start the computation of one checkout."""
    path = os.pathsep.join(str((checkout / s).resolve()) for s in SOURCES)
    command = [sys.executable, "-c", COMPUTE, str(out), str(first), str(walls), str(EVERY)]
    return subprocess.Popen(command, env={**os.environ, "PYTHONPATH": path}, cwd=checkout)


def main() -> int:
    """Compute both, print the greatest difference of each kind of result, say whether they are the same."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("other", type=Path, help="the checkout to compare this one with")
    parser.add_argument("--walls", type=int, default=50)
    parser.add_argument("--first", type=int, default=5000)
    asked = parser.parse_args()
    here = Path(__file__).resolve().parents[1]
    with tempfile.TemporaryDirectory() as folder:
        files = [Path(folder) / "other.npz", Path(folder) / "here.npz"]
        runs = [compute(c, f, asked.first, asked.walls) for c, f in zip((asked.other, here), files, strict=True)]
        if any(run.wait() for run in runs):
            print("a checkout could not compute")
            return 1
        before, after = (dict(np.load(f).items()) for f in files)
    before = {name_of(key): values for key, values in before.items()}
    worst: dict[str, tuple[float, str]] = {}
    for key in sorted(before.keys() & after.keys()):
        a, b = before[key], after[key]
        scale = max(float(np.max(np.abs(a), initial=0.0)), 1e-300)
        gap = float(np.max(np.abs(a - b), initial=0.0)) / scale if a.shape == b.shape else np.inf
        kind = "drawn walls" if key.startswith("wall ") else "cases" if key.endswith("checks") else "assemblies"
        worst[kind] = max(worst.get(kind, (-1.0, "")), (gap, key))
    for kind, (gap, key) in worst.items():
        print(f"{kind:12s} greatest relative difference {gap:.1e} ({key.replace('|', ', ')})")
    alone = before.keys() ^ after.keys()
    refused = sum(key.endswith("|refused") for key in after)
    print(f"{len(before.keys() & after.keys())} variables compared, {len(alone)} in one alone, {refused} walls refused")
    if alone:
        print("in one alone: " + ", ".join(sorted(alone)[:8]))
    return 1 if any(gap > BOUND for gap, _ in worst.values()) else 0


def name_of(key: str) -> str:
    """Return a key with the name that its variable has today."""
    result, _, variable = key.partition("|")
    return f"{result}|{RENAMED.get(variable, variable)}"


if __name__ == "__main__":
    sys.exit(main())
