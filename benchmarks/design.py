"""A design held against a second optimiser: the same walls, the same measure, no derivatives.

    python benchmarks/design.py [GOAL] [PLACE ...]

The example wall in the places named (fernmoor and ochreflat where none are), with the coarse runs that a design
searches with. `drydown.bench` goes by sequential quadratic programming on derivatives from several starts; scipy's
COBYQA (a trust region on quadratic models of values alone; Ragonneau 2022) goes from the best of the same curves that
are looked at first and knows nothing of the other. Told are both ends, and the runs that each asked for.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import drydown
import numpy as np
from drydown.bench.curve_search import NO_BOUND, Measure, Pool, _caps, search
from drydown.bench.families import FAMILIES
from drydown.bench.makeable import Makeable
from drydown.bench.protection import guard
from drydown.casefile.crossed import crossed
from drydown.systems import processors
from scipy.optimize import Bounds, NonlinearConstraint, minimize

EXAMPLE = Path(drydown.__file__).parent / "templates/library_wall.toml"
FILM = "polyamide film 0.05 mm"
FAMILY = FAMILIES["logistic"]
MOST = 60


def second(pool: Pool, goal: str, made: Makeable) -> tuple[float, np.ndarray, int]:
    """Return the measure and the curve that a search without derivatives ends at, and how often it asked."""
    points = made.starts(FAMILY, 8)
    looked = pool.curves(list(points))
    measure = Measure(goal, _caps(looked))
    numbers = measure.numbers(pool, made, range(len(pool.guards)))
    box, seen = made.box(FAMILY), []
    low, span = box[:, 0], box[:, 1] - box[:, 0]

    def worst(x: np.ndarray) -> float:
        p = low + span * np.clip(x, 0.0, 1.0)
        row = numbers.values(p)
        over = float(np.max((row - numbers.most)[~numbers.small], initial=0.0))
        room = float(np.min(made.room(FAMILY, p)))
        found = float(np.max(row[numbers.small]))
        if over <= 1e-3 and room >= -1e-3:
            seen.append((found, p))
        return found + 10.0 * max(over, 0.0)

    def order(i: int) -> float:
        return worst((points[i] - low) / span)

    best = min(range(len(points)), key=order)
    room = NonlinearConstraint(lambda x: made.room(FAMILY, low + span * np.clip(x, 0.0, 1.0)), 0.0, NO_BOUND)
    found = minimize(
        worst, (points[best] - low) / span, method="COBYQA", bounds=Bounds(0.0, 1.0), constraints=[room],
        options={"maxfev": MOST, "initial_tr_radius": 0.2},
    )  # fmt: skip
    value, p = min(seen, key=lambda pair: pair[0])
    return value * (measure.stay if goal == "drying" else 1.0), p, int(found.nfev)


def main() -> None:
    """Print both ends."""
    goal, places = [*sys.argv[1:2], "margin"][0], sys.argv[2:] or ["fernmoor", "ochreflat"]
    walls = list(crossed(EXAMPLE, {"climate.name": places}))
    guards = [guard(w.name, w.case, FILM, {}, coarse=True) for w in walls]
    made, begin = Makeable(), time.perf_counter()
    pool = Pool(guards, FAMILY, processors(), lambda: None)
    found = search(pool, pool, goal, made)
    print(f"derivatives: {found.measure:.4f} with {len(pool.known)} runs in {time.perf_counter() - begin:.0f} s;"
          f" starts ended at {np.round(found.starts, 4)}; {found.values}", flush=True)  # fmt: skip
    other = Pool(guards, FAMILY, processors(), lambda: None)
    value, p, asked = second(other, goal, made)
    values = dict(zip(FAMILY.parameters, FAMILY.values(p).tolist(), strict=True))
    print(f"values alone: {value:.4f} with {len(other.known)} runs, {asked} curves; {values}")
    print(f"the second is {100.0 * (value / found.measure - 1.0):+.2f} % of the first")


if __name__ == "__main__":
    main()
