"""Derivatives by free inputs: against central differences on drawn walls, and what they cost.

    python benchmarks/derivatives.py [WALLS] [DAYS] [SEED]

Walls of `drydown_validation.drawn_walls`, newly drawn each time unless a seed is given, a few days each. Every
derivative of temperature and of u = ln(-ln humidity) in the cells at the faces of layers is held against walls that
march in step (same steps, stages solved more closely), a little to both sides.

A central difference has an error of its own: over a large step the wall bends, or a surface turns wet between the two
walls; over a small one what a stage leaves over is divided by it. So differences are taken
over six steps, two at a time made one of fourth order (Richardson), and of those the one is held against that its
neighbour says most nearly. Where not even these two agree to 3e-5, or the differences to both sides tend to
different ends (a kink: pores just full, a surface just wet), the difference decides nothing; those are counted apart,
and the tangent held against the side that it is nearer to. Told are the derivatives of `sensitivities` and those of the
looser stages that a fit goes by.

Then the seconds of a march of a winter with 0, 1, 8, 32 and 128 inputs against those of a plain run, on the wall of
`year.py`.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from drydown import Film, InputError
from drydown.inverse.derivatives import EXACT
from drydown.inverse.free import Free, free, put_all
from drydown.inverse.marching import NEWTON, march
from drydown.inverse.stacking import lowered_beside
from drydown.lowering.grid import make_grid
from drydown.lowering.problem import lower
from drydown.run.simulation import SimulationError, chunks
from drydown_validation.drawn_walls import drawn

STEP = 1e-5
#: Steps of differences, from one to the next by four; and what two neighbours may differ by for one to be believed.
BESIDE, SETTLED = tuple(2.56e-2 / 4.0**k for k in range(6)), 3e-5
WANTED = 1e-4
#: How closely stages of the walls in step are solved.
TIGHT = 1e-5
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


class Checked(NamedTuple):
    """Relative errors, root mean square over hours and cells, of one derivative; what its difference is known to."""

    error: float
    loose: float
    known: float
    kink: float  # by how much the two sides differ
    side: float  # relative error against the nearer side, hour by hour and cell by cell
    what: str


def settled(c: Checked) -> bool:
    """Return whether the central difference is a derivative: known closely, the same to both sides."""
    return c.known < SETTLED and c.kink < SETTLED


def rms(x: np.ndarray) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(x**2)))


def check(case, seed: int) -> list[Checked]:
    """Return what was found of every derivative of a wall."""
    frees = inputs(case, np.random.default_rng(seed))
    base = put_all(case, frees, np.zeros(len(frees)))
    problem = lower(base, grid=make_grid(base.assembly))
    cells = sorted({int(c) for j in range(len(base.assembly.layers)) for c in problem.grid.cells(j)[[0, -1]]})
    e = np.eye(len(frees))
    cases = [put_all(case, frees, STEP * row) for row in e]
    got, left = march(problem, cases, np.full(len(frees), STEP), cells, newton=EXACT)
    loose, _ = march(problem, cases, np.full(len(frees), STEP), cells, steps=got.steps, newton=NEWTON)
    base, _ = march(problem, cells=cells, steps=got.steps, newton=TIGHT)
    out = []
    for j, x in enumerate(frees):
        if j not in left:
            out += _checked(problem, case, frees, e[j], j, x.path, cells, base, (got, loose))
    return out


def _checked(problem, case, frees, e, j, path, cells, base, found) -> list[Checked]:
    plain: dict[str, list[np.ndarray]] = {"u": [], "temperature": []}
    bends: dict[str, list[np.ndarray]] = {"u": [], "temperature": []}
    for h in BESIDE:
        try:
            up, down = (
                march(lowered_beside(problem, put_all(case, frees, sign * h * e)), cells=cells, steps=base.steps,
                      newton=TIGHT)[0]
                for sign in (1.0, -1.0)
            )  # fmt: skip
        except (InputError, SimulationError):  # beyond what can be, or not to be solved in the steps of the other
            for rows in (*plain.values(), *bends.values()):
                rows.clear()
            continue
        for name, rows in plain.items():
            ahead, behind, here = (getattr(c, name) for c in (up, down, base))
            rows.append((ahead - behind) / (2.0 * h))
            bends[name].append((ahead - 2.0 * here + behind) / h)
    out = []
    for name, rows in plain.items():
        better = [(16.0 * fine - coarse) / 15.0 for coarse, fine in pairwise(rows)]
        if len(better) < 2 or rms(better[-1]) < FELT[name]:
            continue
        apart = [rms(a - b) for a, b in pairwise(better)]
        best = int(np.argmin(apart))
        true = better[best + 1]
        # half of what the two sides still differ by where the step goes to nothing
        half = [0.5 * np.abs(4.0 * fine - coarse) / 3.0 for coarse, fine in pairwise(bends[name])][best + 1]
        off = [getattr(c, f"d_{name}")[..., j] - true for c in found]
        errors = [rms(x) / rms(true) for x in off]
        side = rms(np.minimum(np.abs(np.abs(off[0]) - half), np.abs(off[0]))) / rms(true)
        kink = rms(half) / rms(true)
        out.append(Checked(errors[0], errors[1], apart[best] / rms(true), kink, side, f"{name} by {path}"))
    return out


def costs(days: int = 120) -> None:
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
        best = float("inf")
        for _ in range(2):
            begin = time.process_time()
            act()
            best = min(best, time.process_time() - begin)
        return best

    plain = timed(lambda: list(chunks(lower(case, grid=problem.grid))))
    print(f"\n{days} days, {len(problem.grid.dx)} cells; a plain run takes {plain:.2f} s")
    print("inputs   seconds   runs   runs an input, above one run (of `sensitivities`, and of a fit)")
    for count in (0, 1, 8, 32, 128):
        chosen = [made[i % len(made)] for i in range(count)]
        text = f"{count:6d}"
        for newton in (EXACT, NEWTON):
            took = timed(lambda c=chosen, n=newton: march(problem, c, np.full(len(c), STEP), [0], newton=n))
            each = f"{(took / plain - 1.0) / count:8.2f}" if count else " " * 8
            text += f" {took:9.2f} {took / plain:6.2f} {each}"
        print(text, flush=True)


def main() -> None:
    """Print both tables."""
    given = [int(x) for x in sys.argv[1:]]
    walls, days = [*given, 20, 4][0], [*given[1:], 4][0]
    seed = given[2] if len(given) > 2 else int(time.time())
    print(f"{walls} walls of {days} days, seed {seed}")
    checked: list[Checked] = []
    number = done = 0
    while done < walls:
        number += 1
        try:
            case = drawn(seed + number)
            case = replace(case, end=case.start + np.timedelta64(days, "D"), wettings=())
            found = check(case, number)
        except (InputError, SimulationError) as error:
            print(f"wall {seed + number}: left out, {str(error)[:90]}")
            continue
        done += 1
        checked += found
        worst = max((c for c in found if settled(c)), default=Checked(0.0, 0.0, 0.0, 0.0, 0.0, "nothing felt"))
        print(f"wall {seed + number}: {len(found)} derivatives, worst {worst.error:.1e} ({worst.what})", flush=True)
    sure = [c for c in checked if settled(c)]
    for head, numbers in (
        ("derivatives of `sensitivities`", [c.error for c in sure]),
        ("those that a fit goes by", [c.loose for c in sure]),
    ):
        every = np.array(numbers)
        print(f"{len(every)} {head}: median {np.median(every):.1e}, {np.mean(every < WANTED):.1%} within {WANTED:g},"
              f" 99 in 100 within {np.quantile(every, 0.99):.1e}, worst {every.max():.1e}")  # fmt: skip
    rest = [c for c in checked if not settled(c)]
    near = sum(c.side < max(WANTED, 3.0 * c.known) for c in rest)
    print(f"{len(rest)} differences are not settled or stand over a kink; {near} tangents are within what those leave")
    for c in sorted(checked, key=lambda c: -c.error)[:8]:
        print(
            f"  {c.error:.1e}, difference known to {c.known:.1e}, kink {c.kink:.1e}, nearer side {c.side:.1e}: {c.what}"
        )
    costs()


if __name__ == "__main__":
    main()
