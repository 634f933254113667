"""Derivatives on a GPU: are they those of the processor, and what do they cost.

    python benchmarks/gpu/derivatives.py --walls 200 --days 3 --seed 4700 --draws 64 512 --cost-days 30

First walls drawn at random (`drydown_validation.drawn_walls`), with up to eight inputs each, also drawn: what sensors
read in the layers and its derivatives, differences of walls that march in step on the card, against the tangents that
the march of the processor carries along. Where the two differ by more than 1e-4, root mean square over the hours, the
processor differences walls in step too: the card is at fault where it does not say what that says. Then the wall of
`benchmarks/year.py` with eight inputs: derivatives a second of many draws on the card, of one core and of all.
Needs a GPU.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple
from unittest import mock

import numpy as np
from drydown import Case, InputError
from drydown.gpu.card import about, need_card
from drydown.inverse import derivatives
from drydown.inverse.derivatives import EXACT, observed
from drydown.inverse.free import Free, free, put_all
from drydown.inverse.on_card import BESIDE, Drawn, drawn_at, marched
from drydown.inverse.sensors import Sensor
from drydown.kernel.pores import settle
from drydown.lowering.grid import Grid, make_grid
from drydown.lowering.lowered import Problem
from drydown.lowering.problem import lower
from drydown.run.simulation import SimulationError
from drydown.systems import processors
from drydown_validation.drawn_walls import drawn

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import year
from derivatives import inputs

DAY = np.timedelta64(1, "D")
WANTED = 1e-4
#: A standard deviation of an input that moves what a sensor reads by less than this, root mean square, is not counted:
#: [1] of humidity, [K].
FELT = {"relative_humidity": 1e-6, "temperature": 1e-5}


class Wall(NamedTuple):
    """A drawn wall on the processor."""

    number: int
    draw: Drawn
    value: np.ndarray
    by: np.ndarray  # of the tangents
    in_step: np.ndarray  # of differences of walls in step on the processor
    marched: tuple[str, ...]  # inputs that the tangents leave out
    sweeps: int


def sensors_of(case: Case) -> list[Sensor]:
    """Return humidity and temperature in the middle of each layer."""
    names = [layer.name for layer in case.assembly.layers]
    return [
        Sensor(f"{kind} {i}", kind, name)  # type: ignore[arg-type]
        for i, name in enumerate(names)
        if names.count(name) == 1
        for kind in ("relative_humidity", "temperature")
    ]


def on_processor(asked: tuple[int, int]) -> Wall | str:
    """Return a drawn wall with what the processor says of it, or why it is left out."""
    number, days = asked
    try:
        case = drawn(number)
        end = min(case.end, case.start + days * DAY)
        wettings = tuple(w for w in case.wettings if w.start + np.timedelta64(int(w.duration), "s") <= end)
        case = replace(case, end=end, wettings=wettings)
        frees = inputs(case, np.random.default_rng(number))
        sensors, z = sensors_of(case), np.zeros(len(frees))
        grid = make_grid(put_all(case, frees, z).assembly)
        draw = drawn_at(case, frees, sensors, z, grid, EXACT)
        found = observed(case, frees, sensors, z, grid=grid, newton=EXACT)
        beside = np.full(found.by.shape, np.nan)
        with mock.patch.object(derivatives, "IN_STEP", BESIDE):
            for j, e in enumerate(np.eye(len(frees))):
                try:
                    beside[..., j] = derivatives._in_step(case, frees, z, e, sensors, found.courses, EXACT)
                except SimulationError:
                    continue
    except (InputError, SimulationError) as error:
        return f"wall {number}: {str(error)[:100]}"
    return Wall(number, draw, found.value, found.by, beside, found.marched, found.courses.sweeps)


def rms(x: np.ndarray) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(x**2)))


def agreement(walls: int, seed: int, days: int, sweeps: int, say: Callable[[str], None]) -> None:
    """Compare derivatives of drawn walls."""
    on_processor((seed, 1))  # compiled once, for all
    begin = time.perf_counter()
    with ProcessPoolExecutor(processors()) as pool:
        found = list(pool.map(on_processor, [(seed + i, days) for i in range(walls)], chunksize=2))
    mine = [x for x in found if isinstance(x, Wall)]
    say(
        f"{len(mine)} drawn walls of {days} days, seed {seed}, of {walls} (the others are no case, or end early): "
        f"{time.perf_counter() - begin:.1f} s on the processor"
    )
    many = [x for x in mine if x.sweeps > sweeps]
    mine = [x for x in mine if x.sweeps <= sweeps]
    say(f"  {len(many)} of more than {sweeps} sweeps are left out for want of time: {[x.number for x in many]}")
    begin = time.perf_counter()
    theirs = marched([x.draw for x in mine])
    say(f"  on the card: {time.perf_counter() - begin:.1f} s, compiling included")
    rows: list[tuple[float, float, float, float, str]] = []
    early = [f"wall {x.number}: {y.trouble[:100]}" for x, y in zip(mine, theirs, strict=True) if y.trouble]
    reading = 0.0
    for x, y in zip(mine, theirs, strict=True):
        if y.trouble:
            continue
        scale = np.abs(x.value).max(axis=0)
        reading = max(reading, float(np.max(np.abs(y.value - x.value) / scale)))
        for s, sensor in enumerate(x.draw.sensors):
            for j, one in enumerate(x.draw.free):
                true, got, beside = x.by[:, s, j], y.by[:, s, j], x.in_step[:, s, j]
                size = rms(true)
                if one.name in x.marched or not size > FELT[sensor.quantity]:
                    continue
                what = f"wall {x.number}, {sensor.name} by {one.path}"
                here = rms(got - beside) / max(rms(beside), 1e-300)
                rows.append((rms(got - true) / size, rms(beside - true) / size, here, float(y.bend[s, j]), what))
    rows.sort(reverse=True)
    off = np.array([r[0] for r in rows])
    say(f"  ended early on the card, not on the processor: {len(early)} {early}")
    say(f"  readings differ by at most {reading:.1e} of the greatest")
    say(
        f"  {len(off)} derivatives against the tangents: {np.mean(off < WANTED):.2%} within {WANTED:g}, median "
        f"{np.median(off):.1e}, 99 in 100 within {np.quantile(off, 0.99):.1e}, worst {off.max():.1e}"
    )
    beyond = [r for r in rows if r[0] >= WANTED]
    alike = [r for r in beyond if r[1] >= WANTED]
    say(
        f"  beyond: {len(beyond)}, on {len({r[4].split(',')[0] for r in beyond})} walls; of {len(alike)} of them the "
        f"processor's own differences in step are beyond as well; of "
        f"{sum(not r[1] >= WANTED for r in beyond)} they are not"
    )
    one_side = np.array([r[3] for r in rows])
    say(
        f"  differences to one side over the same step would be off by more than {WANTED:g} of themselves on "
        f"{np.mean(one_side >= WANTED):.2%}"
    )
    between = np.array([r[2] for r in rows if np.isfinite(r[2])])
    say(
        f"  card against the processor's differences in step: {np.mean(between < WANTED):.2%} within {WANTED:g}, "
        f"median {np.median(between):.1e}, worst {between.max():.1e}"
    )
    seen: set[str] = set()
    for error, own, here, bend, what in beyond:
        wall = what.split(",")[0]
        if wall not in seen and len(seen) < 15:
            seen.add(wall)
            say(
                f"    {error:.1e} (differences of the processor {own:.1e}, card against those {here:.1e}, both sides "
                f"differ by {bend:.1e}): {what}"
            )


def wall_of_a_year(days: int) -> tuple[Case, list[Free], list[Sensor]]:
    """Return the wall, eight inputs of materials, films, sides and the start, and four sensors."""
    case = year.case()
    case = replace(case, end=case.start + days * DAY)
    paths = (
        "layer.OSB.permeability_factor",
        "layer.wood fibreboard.liquid_factor",
        "layer.mineral wool.conductivity_factor",
        'layer."polyamide film 0.05 mm".permeance_factor',
        'layer."weather-resistive membrane".permeance_factor',
        "layer.OSB.thickness",
        "outside.absorptance",
        "layer.gypsum board.permeability_factor",
    )
    sensors = [
        Sensor("sheathing", "relative_humidity", "OSB", "inner"),
        Sensor("board", "moisture_content", "OSB"),
        Sensor("insulation", "temperature", "mineral wool"),
        Sensor("film", "relative_humidity", "mineral wool", "inner"),
    ]
    return case, [free(case, p) for p in paths], sensors


def begun_elsewhere(draw: Drawn, by: float) -> Drawn:
    """Return a draw whose walls all begin at another humidity; tables and forcing are those of the other."""
    out: list[Problem] = []
    for p in draw.walls:
        u = p.state.u + by
        state = p.state._replace(u=u, water=np.empty_like(u), heat=np.empty_like(u))
        settle(p.wall, p.sampled.tables, u, state.temperature, state.water, state.heat)
        out.append(p._replace(state=state))
    return draw._replace(walls=out)


def _tangents(asked: tuple[int, Grid, np.ndarray]) -> float:
    """Return the seconds of a draw on a core: lowering and march, derivatives with it."""
    days, grid, z = asked
    case, frees, sensors = wall_of_a_year(days)
    begin = time.perf_counter()
    observed(case, frees, sensors, z, grid=grid, newton=EXACT)
    return time.perf_counter() - begin


def costs(days: int, numbers: list[int], lowered: int, most: float, say: Callable[[str], None]) -> None:
    """Print what derivatives at many draws cost."""
    case, frees, sensors = wall_of_a_year(days)
    grid = lower(case).grid
    z = np.clip(np.random.default_rng(16).standard_normal((max(lowered, 8 * processors()), len(frees))), -1.5, 1.5)
    begin = time.perf_counter()
    first = [drawn_at(case, frees, sensors, at, grid, EXACT) for at in z[:lowered]]
    each = (time.perf_counter() - begin) / lowered
    walls = len(first[0].walls)
    say(
        f"{days} days, {len(grid.dx)} cells, {len(frees)} inputs, {walls} walls a draw; lowering them takes "
        f"{each:.2f} s of a core"
    )
    shift = np.random.default_rng(61).uniform(-0.2, 0.2, max(numbers))
    for n in numbers:
        if n * walls * days / 365.0 > most:
            continue
        draws = [begun_elsewhere(first[i * lowered // n], float(shift[i])) for i in range(n)]
        begin = time.perf_counter()
        found = marched(draws)
        seconds = time.perf_counter() - begin
        rate = n * len(frees) * days / 365.0
        say(
            f"  card, {n:5d} draws, {n * walls:6d} walls: {seconds:7.2f} s, {rate / seconds:7.1f} wall-years x inputs "
            f"a second; with the lowering, on one core {rate / (seconds + n * each):6.1f}, on all "
            f"{rate / (seconds + n * each / processors()):6.1f}; ended early {sum(bool(f.trouble) for f in found)}"
        )
    tasks = [(days, grid, at) for at in z]
    alone = [_tangents(t) for t in tasks[:4]][1:]  # the first loads what is compiled
    rate = len(frees) * days / 365.0
    say(f"  one core: {np.mean(alone):.2f} s a draw, {rate / np.mean(alone):.1f} wall-years x inputs a second")
    with ProcessPoolExecutor(processors()) as pool:
        list(pool.map(_tangents, tasks[: processors()]))
        begin = time.perf_counter()
        list(pool.map(_tangents, tasks))
        seconds = time.perf_counter() - begin
    say(f"  {processors()} cores: {len(tasks)} draws in {seconds:.2f} s, {len(tasks) * rate / seconds:.1f} a second")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walls", type=int, default=100, help="walls drawn")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--days", type=int, default=3)
    parser.add_argument("--sweeps", type=int, default=20000, help="most of a drawn wall")
    parser.add_argument("--draws", type=int, nargs="*", default=[64, 512], help="of the wall of a year")
    parser.add_argument("--lowered", type=int, default=32, help="draws that are lowered; the others begin elsewhere")
    parser.add_argument("--cost-days", type=int, nargs="*", default=[30])
    parser.add_argument("--most", type=float, default=5000.0, help="wall-years of one try on the card")
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    need_card()
    lines: list[str] = []

    def say(text: str) -> None:
        lines.append(text)
        print(text, flush=True)

    known: dict[str, Any] = about()
    say("; ".join(f"{name}: {value}" for name, value in known.items()))
    if asked.walls:
        agreement(asked.walls, asked.seed, asked.days, asked.sweeps, say)
    for days in asked.cost_days:
        costs(days, asked.draws, asked.lowered, asked.most, say)
    if asked.out:
        asked.out.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
