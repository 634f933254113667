"""Does advice ever harm? Walls drawn at random, each with what it is advised, judged anew by code of its own.

    python benchmarks/advice.py --walls 200 --seed 7

Each judged number of every advised change is held against that of the wall as it is; the change that is ranked first
and the smallest one are run again, dry and wetted, and assessed here. As in a trial, a wall is dry and wetted on one
mesh; one that gets less water alone is the same wall, on the same mesh. What is printed is the greatest rise, as a
share of the limit. Ends with 1 where a number rises by more than a thousandth of its limit.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from typing import Any

import numpy as np

ALLOWED = 1e-3


def pick(draw: np.random.Generator, choices: Any) -> Any:
    """Return one of several."""
    return choices[int(draw.integers(len(choices)))]


def wall(seed: int, number: int) -> Any:
    """Return a drawn wall or roof of a frame, with a wetting in its sheathing four times in five."""
    from drydown import Assembly, Case, Initial, Layer, Numerics, Wetting
    from drydown.case.loads import VentilatedGap
    from drydown.plugins import climate, film, material
    from drydown.sides.exposure import Exposure, Outdoor
    from drydown.sides.indoor import AirConditioned, Constant, FromOutdoor, HumidityClass, Indoor

    draw = np.random.default_rng([seed, number])
    place = pick(draw, ("fernmoor", "kelpwick", "thornvale", "saltreed", "rimefell", "ochreflat"))
    roof = draw.random() < 0.2
    parts: list[Any] = []
    loads: list[Any] = []
    if roof:
        parts.append(film(pick(draw, ("bitumen roofing", "EPDM sheet 1.1 mm", "breather membrane"))))
    else:
        name, thick = pick(
            draw, (("western red cedar", 0.018), ("fibre cement", 0.008), ("stucco", 0.02), ("clay brick", 0.1))
        )
        parts.append(Layer(material(name), thick))
        if draw.random() < 0.6:
            parts.append(Layer(material("air gap 25 mm"), draw.uniform(0.01, 0.04), "gap"))
            if draw.random() < 0.6:
                loads.append(VentilatedGap("gap", 10.0 ** draw.uniform(-3.5, -1.3)))
        parts.append(film(pick(draw, ("weather-resistive membrane", "building paper 30 min", "felt #15"))))
    board = pick(draw, ("OSB", "plywood", "spruce", "wood fibreboard"))
    parts.append(Layer(material(board), draw.uniform(0.009, 0.025), "board"))
    fill = pick(draw, ("glass fibre batt", "mineral wool", "dense cellulose", "wood fibre insulation"))
    parts.append(Layer(material(fill), draw.uniform(0.09, 0.3), "fill"))
    inner = pick(draw, ("", "kraft paper facing", "polyethylene 0.15 mm", "humidity-dependent vapour retarder"))
    if inner:
        parts.append(film(inner))
    parts += [Layer(material("gypsum board"), 0.0125), film("latex paint")]
    model = pick(
        draw,
        (FromOutdoor(), FromOutdoor(high_occupancy=True), Constant(294.15, draw.uniform(0.3, 0.6)), HumidityClass(3)),
    )
    if place == "saltreed":
        model = AirConditioned()
    exposure = Exposure(azimuth=draw.uniform(0.0, 359.0), tilt=30.0 if roof else 90.0, absorptance=0.7)
    start = np.datetime64("2021-10-01", "s")
    wettings: tuple[Any, ...] = ()
    if draw.random() < 0.8:
        date = start + np.timedelta64(int(draw.integers(10, 240)), "D")
        wettings = (Wetting("board", 10.0 ** draw.uniform(-1.0, 0.3), date, 21600.0),)
    return Case(
        Assembly(tuple(parts)),
        Outdoor(climate(place), exposure),
        Indoor(model),
        start,
        start + np.timedelta64(400, "D"),
        wettings,
        Initial(283.15, draw.uniform(0.5, 0.85)),
        numerics=Numerics(tolerance=10.0, refine=0.4),
        name=f"wall {number}",
        loads=tuple(loads),
    )


def judged(case: Any, grid: Any) -> dict[str, tuple[float, float]]:
    """Return every judged number of the dry and the wetted wall with its limit."""
    from drydown import simulate
    from drydown.criteria import assess

    out = {}
    for state, one in (("dry", replace(case, wettings=())), ("wetted", case)):
        for f in assess(simulate(one, grid=grid)):
            if f.verdict != "not applicable" and np.isfinite(f.value):
                out[f"{f.title}, {state}"] = (max(float(f.value), 0.0), float(f.limit))
    return out


def kept(tried: Any) -> dict[str, tuple[float, float]]:
    """Return the numbers that the advice has of a change, named as those of `judged`; all layers count in them."""
    out = {}
    for state, numbers in (("dry", tried.dry), ("wetted", tried.wet)):
        for n in numbers:
            whole = [m for m in numbers if m.title == n.title]
            out[f"{n.title}, {state}"] = (max(m.value for m in whole), n.limit)
    return out


def rises(seed: int, number: int) -> tuple[int, int, int, str, float, str]:
    """Return number, changes tried and advised, what it comes to, and the greatest rise of an advised change."""
    from drydown import InputError
    from drydown.lowering.problem import mesh_of
    from drydown.run.simulation import SimulationError
    from drydown.trial.advice import advise

    case = wall(seed, number)
    try:
        advice = advise(case)
    except (InputError, SimulationError) as error:
        return number, 0, 0, f"not run: {error}", 0.0, ""
    grid = mesh_of(case)
    now = judged(case, grid) if advice.advised else {}
    again = [t for t in (*advice.advised[:1], advice.smallest) if t is not None]
    worst, where = 0.0, ""
    for t in advice.advised:
        found = [kept(t)] + ([judged(t.case, grid if t.kinds == ("water",) else mesh_of(t.case))] if t in again else [])
        for key, (value, limit) in (pair for numbers in found for pair in numbers.items()):
            old = now.get(key, (0.0, limit))[0]
            rise = (value - old) / limit if limit > 0.0 else 0.0
            if rise > worst:
                worst, where = rise, f"{t.words}: {key} from {old:.4g} to {value:.4g}"
    state = "sound as it is" if advice.now.passes else advice.smallest.words if advice.smallest else "none of these"
    return number, len(advice.tried), len(advice.advised), state, worst, where


def main() -> None:
    """Draw, ask, judge and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walls", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first wall")
    parser.add_argument("--processes", type=int, default=2)
    given = parser.parse_args()
    began, found = time.monotonic(), []
    with ProcessPoolExecutor(given.processes) as pool:
        jobs = [pool.submit(rises, given.seed, n) for n in range(given.first, given.first + given.walls)]
        for job in as_completed(jobs):
            found.append(job.result())
            number, tried, advised, state, worst, _ = found[-1]
            print(f"wall {number}: {tried} tried, {advised} advised; {state}; greatest rise {worst:.2g}", flush=True)
    harmed = [f for f in found if f[4] > ALLOWED]
    for number, *_, worst, where in harmed:
        print(f"wall {number} is harmed by {worst:.3f} of the limit: {where}")
    states = [f[3] for f in found]
    print(
        f"{len(found)} walls of seed {given.seed}, {sum(f[2] for f in found)} advised changes, {len(harmed)} walls "
        f"harmed, greatest rise {max((f[4] for f in found), default=0.0):.2g} of a limit; sound as they are "
        f"{states.count('sound as it is')}, nothing helps {states.count('none of these')}; "
        f"{time.monotonic() - began:.0f} s"
    )
    sys.exit(1 if harmed else 0)


if __name__ == "__main__":
    main()
