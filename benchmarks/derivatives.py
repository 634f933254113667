"""Derivatives by free inputs: against central differences on drawn walls, and what they cost.

    python benchmarks/derivatives.py [WALLS] [DAYS] [SEED]

Walls of `drydown_validation.drawn_walls`, newly drawn each time unless a seed is given, a few days each. Every
derivative of temperature and of u = ln(-ln humidity) in the cells at the faces of layers is held against walls that
march in step, a little to both sides, with stages solved tightly. Then the seconds of a march with 0, 1, 8, 32 and 128
inputs against those of a plain run, on the wall of `year.py`.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np
from drydown import Film, InputError
from drydown.inverse.free import Free, free, put_all
from drydown.inverse.marching import march
from drydown.inverse.stacking import lowered_beside
from drydown.lowering.grid import make_grid
from drydown.lowering.problem import lower
from drydown.run.simulation import SimulationError, chunks
from drydown_validation.drawn_walls import drawn

STEP, BESIDE, TIGHT = 1e-5, 2e-4, 1e-4
WANTED = 1e-4
#: A standard deviation of an input that moves less than this, root mean square, is not counted: the difference that
#: its derivative is held against is rounding.
FELT = {"u": 1e-5, "temperature": 1e-4}


def inputs(case, draw, most: int = 8) -> list[Free]:
    """Return some free inputs of a case, drawn."""
    found = []
    for i, part in enumerate(case.assembly.parts, 1):
        keys = ["permeance_factor"]
        if not isinstance(part, Film):
            keys = ["thickness", "conductivity_factor", "permeability_factor", "liquid_factor"]
            keys += ["start_humidity"]
        found += [f"layer.{i}.{key}" for key in keys]
    found += ["outside.absorptance", "rain_share.1.share", "air_leak.1.q50", "ventilated_gap.1.air_changes"]
    out = []
    for path in draw.permutation(found):
        try:
            one = free(case, str(path))
        except InputError:
            continue
        if not (path.endswith("start_humidity") and not 0.02 < one.median < 0.98):  # an end of what can be
            out.append(one)
        if len(out) == most:
            break
    return out


def check(case, seed: int) -> list[tuple[float, str]]:
    """Return relative errors, root mean square over hours and cells, with what they are of."""
    frees = inputs(case, np.random.default_rng(seed))
    base = put_all(case, frees, np.zeros(len(frees)))
    problem = lower(base, grid=make_grid(base.assembly))
    cells = sorted({int(c) for j in range(len(base.assembly.layers)) for c in problem.grid.cells(j)[[0, -1]]})
    e = np.eye(len(frees))
    cases = [put_all(case, frees, STEP * row) for row in e]
    got, left = march(problem, cases, np.full(len(frees), STEP), cells, newton=TIGHT)
    out = []
    for j, x in enumerate(frees):
        if j in left:
            out.append((0.0, f"{x.path}: marched in step"))
            continue
        two = []
        for sign in (1.0, -1.0):
            beside = lowered_beside(problem, put_all(case, frees, sign * BESIDE * e[j]))
            two.append(march(beside, cells=cells, steps=got.steps, newton=TIGHT)[0])
        for name in ("u", "temperature"):
            true = (getattr(two[0], name) - getattr(two[1], name)) / (2.0 * BESIDE)
            off = getattr(got, f"d_{name}")[..., j] - true
            size = float(np.sqrt(np.mean(true**2)))
            if size > FELT[name]:
                out.append((float(np.sqrt(np.mean(off**2))) / size, f"{name} by {x.path}"))
    return out


def costs(days: int = 30) -> None:
    """Print seconds of marches with ever more inputs."""
    from year import case as wall

    case = wall()
    case = replace(case, end=case.start + np.timedelta64(days, "D"))
    problem = lower(case)
    names = [f"layer.{i}.{k}_factor" for i, p in enumerate(case.assembly.parts, 1)
             for k in (("permeance",) if isinstance(p, Film) else ("permeability", "conductivity"))]  # fmt: skip
    frees = [free(case, n) for n in names]
    frees = [replace(x, median=1.0) for x in frees]
    made = [put_all(case, [x], [STEP]) for x in frees]

    def timed(act) -> float:
        act()
        begin = time.perf_counter()
        act()
        return time.perf_counter() - begin

    plain = timed(lambda: list(chunks(lower(case, grid=problem.grid))))
    print(f"\n{days} days, {len(problem.grid.dx)} cells; a plain run takes {plain:.2f} s")
    print("inputs   seconds   runs   runs an input, above one run")
    for count in (0, 1, 8, 32, 128):
        chosen = [made[i % len(made)] for i in range(count)]
        took = timed(lambda chosen=chosen, count=count: march(problem, chosen, np.full(count, STEP), [0]))
        each = f"{(took / plain - 1.0) / count:8.2f}" if count else ""
        print(f"{count:6d} {took:9.2f} {took / plain:6.2f} {each}")


def main() -> None:
    """Print both tables."""
    given = [int(x) for x in sys.argv[1:]]
    walls, days = [*given, 20, 4][0], [*given[1:], 4][0]
    seed = given[2] if len(given) > 2 else int(time.time())
    print(f"{walls} walls of {days} days, seed {seed}")
    errors, number, done = [], 0, 0
    while done < walls:
        number += 1
        case = drawn(seed + number)
        case = replace(case, end=case.start + np.timedelta64(days, "D"), wettings=())
        try:
            found = check(case, number)
        except (InputError, SimulationError) as error:
            print(f"wall {seed + number}: left out, {str(error)[:90]}")
            continue
        done += 1
        errors += found
        worst = max(found, default=(0.0, "nothing felt"))
        print(f"wall {seed + number}: {len(found)} derivatives, worst {worst[0]:.1e} ({worst[1]})", flush=True)
    every = np.array([x for x, _ in errors])
    print(f"{len(every)} derivatives: median {np.median(every):.1e}, {np.mean(every < WANTED):.0%} within {WANTED:g}")
    print(f"nine in ten within {np.quantile(every, 0.9):.1e}, worst {every.max():.1e}")
    costs()


if __name__ == "__main__":
    main()
