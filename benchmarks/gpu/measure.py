"""Walls on a GPU: do they agree with the processor, and how many wall-years a second are there.

    python benchmarks/gpu/measure.py --walls 1000 --days 30 --rate 1 1000 30000 --out measured.txt

First walls drawn at random (`drydown_validation.drawn_walls`: loads, wettings, films, frost, any climate) are marched
here and there, and the greatest relative difference of every stored quantity is printed with the wall it is of. Then
the wall of `benchmarks/year.py`, turned to many orientations and begun at many humidities, is marched on the card,
from one wall to many, and on every core of this host; the compiling of the first launch stands apart. Needs a GPU.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
from drydown import Assembly, Case, InputError, Layer
from drydown.gpu import together
from drydown.gpu.card import about, how_many, need_card, using
from drydown.gpu.marching import ManyMarcher
from drydown.gpu.packing import pack
from drydown.gpu.together import march_all
from drydown.kernel.layout import HEAT_CLOSURE_MAX, STEPS, SWEEPS, WATER_CLOSURE_MAX, Record, State
from drydown.kernel.pores import settle
from drydown.lowering.lowered import Problem
from drydown.lowering.marcher import Marcher
from drydown.lowering.problem import lower, without_faces
from drydown.systems import processors
from drydown_validation.drawn_walls import drawn

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import year

QUANTITIES = ("u", "temperature", "water", "flow", "added", "refused", "load", "faces")
STRETCH = 732
#: Differences that count as none. A wall beyond is marched so many times on the processor, its state off by rounding at
#: the start or every so many marks, to see whether that alone decides.
CLOSE, SHAKES, BETWEEN_SHAKES = 1e-6, 96, 6
CLOSURES = (WATER_CLOSURE_MAX, HEAT_CLOSURE_MAX)
DAY = np.timedelta64(1, "D")


def _shortened(case: Case, days: int) -> Case:
    end = min(case.end, case.start + days * DAY)
    wettings = tuple(w for w in case.wettings if w.start + np.timedelta64(int(w.duration), "s") <= end)
    return replace(case, end=end, wettings=wettings)


def _on_processor(
    problem: Problem, every: int = STRETCH, between: Callable[[State], None] | None = None
) -> tuple[list[Record], str]:
    """Return the records of a march and why it ended early; `between` may touch the state before each stretch."""
    march = Marcher(problem)
    march.begin()
    records, last, said = [], len(problem.forcing.marks) - 1, ""
    while march.here < last and not said:
        if between:
            between(problem.state)
        record, said = march.run_to(min(march.here + every, last))
        records.append(record)
    return records, said


def marched(asked: tuple[int, int]) -> tuple[Problem, list[Record], str] | None:
    """Return a drawn wall lowered, what the processor makes of it, and why it ended early."""
    number, days = asked
    try:
        problem = lower(_shortened(drawn(number), days))
    except InputError:
        return None
    records, said = _on_processor(_copied(problem))
    return problem, records, said


def _copied(problem: Problem) -> Problem:
    return problem._replace(state=State(*(x.copy() for x in problem.state)))


@lru_cache(maxsize=2)
def _undisturbed(number: int, days: int, every: int) -> tuple[Problem, list[Record]]:
    problem = lower(_shortened(drawn(number), days))
    return problem, _on_processor(_copied(problem), every)[0]


def shaken(asked: tuple[int, int, int]) -> float:
    """Return how far the processor is from itself on a drawn wall whose state is off by 1e-15 to 1e-13 of it.

    Off at the start, or, every other time, at the start of each of its stretches.
    """
    number, days, shake = asked
    problem, still = _undisturbed(number, days, (STRETCH, BETWEEN_SHAKES)[shake % 2])
    draw = np.random.default_rng([number, shake])

    def between(state: State) -> None:
        for x in (state.u, state.temperature, state.water, state.heat):
            x *= 1.0 + 10.0 ** -(13 + shake // 2 % 3) * draw.standard_normal(len(x))

    every = (STRETCH, BETWEEN_SHAKES)[shake % 2]
    return _most(differences(_on_processor(_copied(problem), every, between)[0], still))


def differences(mine: list[Record], theirs: list[Record]) -> dict[str, float]:
    """Return the greatest difference of every quantity over the greatest value it takes in the wall."""
    out = {"counters": float(np.abs(mine[-1].counters - theirs[-1].counters).max())}
    for name in QUANTITIES:
        a, b = (np.concatenate([getattr(r, name) for r in some]) for some in (mine, theirs))
        if a.shape != b.shape:
            out[name] = np.inf
        elif b.size:
            scale = np.nanmax(np.abs(b).reshape(-1, b.shape[-1]), axis=0) if name == "load" else np.nanmax(np.abs(b))
            if name == "flow":  # vapour, liquid and what air carries are of one kind
                top = np.abs(b).max(axis=(0, 1))
                scale = np.array([max(top[0], top[1], top[3])] * 2 + [top[2], max(top[0], top[1], top[3])])
            if name == "faces":
                scale = np.nanmax(np.abs(b), axis=(0, 1))
            out[name] = float(np.nanmax(np.abs(a - b) / np.maximum(scale, 1e-12)))
    return out


def _most(found: dict[str, float]) -> float:
    """Return the greatest of the differences of quantities."""
    return max(found[name] for name in QUANTITIES if name in found)


def agreement(walls: int, seed: int, days: int, seconds: float, say: Callable[[str], None]) -> None:
    """March drawn walls on both, those of few sweeps first, until the time is up; print the greatest differences."""
    numbers = [(seed + i, days) for i in range(walls)]
    begin = time.perf_counter()
    with ProcessPoolExecutor(processors()) as pool:
        found = [(n, x) for (n, _), x in zip(numbers, pool.map(marched, numbers, chunksize=4), strict=True) if x]
    say(f"{len(found)} drawn walls of {days} days, seed {seed}: {time.perf_counter() - begin:.1f} s on the processor")
    found.sort(key=lambda x: int(x[1][1][-1].counters[SWEEPS]))
    theirs: list[list[Record]] = [[] for _ in found]
    said: list[str] = []
    begin = time.perf_counter()
    while len(said) < len(found) and time.perf_counter() - begin < seconds:
        first = len(said)
        some = [x[0] for _, x in found[first : first + max(32, len(found) // 8)]]
        said += march_all(some, lambda i, _, record, first=first: theirs[first + i].append(record))
    say(
        f"  {len(said)} of them on the card, of up to {found[len(said) - 1][1][1][-1].counters[SWEEPS]} sweeps: "
        f"{time.perf_counter() - begin:.1f} s, compiling included; the others, of up to "
        f"{found[-1][1][1][-1].counters[SWEEPS]} sweeps, were left out for want of time"
    )
    found, theirs = found[: len(said)], theirs[: len(said)]
    cells = [len(x[0].wall.dx) for _, x in found]
    early = [(bool(x[2]), bool(y)) for (_, x), y in zip(found, said, strict=True)]
    here, there = (sum(x) for x in zip(*early, strict=True))
    say(f"  cells {min(cells)} to {max(cells)}; ended early here {here}, there {there}")
    compared, closure = [], [0.0, 0.0]
    for (number, (_, records, trouble)), own, why in zip(found, theirs, said, strict=True):
        if not (trouble or why):
            compared.append((number, differences(own[1:], records)))
            closure = [max(c, own[-1].totals[k]) for c, k in zip(closure, CLOSURES, strict=True)]
    alike = [x for x in compared if x[1]["counters"] == 0.0]
    say(f"  the same steps and sweeps on {len(alike)} of {len(compared)}; differences, of the greatest value:")
    for name in QUANTITIES:
        off = [(x[1][name], x[0]) for x in alike if name in x[1]]
        worst, number = max(off, default=(0.0, 0))
        median = np.median([d for d, _ in off] or [0.0])
        beyond = sum(d > CLOSE for d, _ in off)
        say(f"    {name:12s} greatest {worst:8.1e} (wall {number}), median {median:7.1e}; beyond {CLOSE:g} on {beyond}")
    apart = [x for x in compared if x[1]["counters"] > 0.0 or max(x[1][n] for n in QUANTITIES if n in x[1]) > CLOSE]
    say(
        f"  other steps, or a quantity beyond {CLOSE:g}, on {len(apart)}. Of these the processor made {SHAKES} marches "
        "whose states are off by 1e-15 to 1e-13:"
    )
    with ProcessPoolExecutor(processors()) as pool:
        again = list(pool.map(shaken, [(number, days, k) for number, _ in apart for k in range(SHAKES)]))
    for i, (number, mine) in enumerate(apart):
        own = again[i * SHAKES : (i + 1) * SHAKES]
        say(
            f"    wall {number}: the card is off by {_most(mine):.1e} (counters by {mine['counters']:.0f}), "
            f"the processor from itself by up to {max(own):.1e}, beyond {CLOSE:g} in {sum(d > CLOSE for d in own)}"
        )
    say(f"  closure of a step at most {closure[0]:.1e} kg/m2, {closure[1]:.1e} J/m2")


def family(walls: int, days: int, cells: int) -> list[Problem]:
    """Return the wall of a year turned to 24 orientations, begun at humidities of its own each."""
    base = year.case()
    factor = cells / sum(year.CELLS)
    parts = [
        replace(p, cells=max(2, round(p.cells * factor))) if isinstance(p, Layer) else p for p in base.assembly.parts
    ]
    lowered = []
    for i in range(min(24, walls)):
        exposure = replace(base.outside.exposure, azimuth=15.0 * i)
        case = replace(base, assembly=Assembly(tuple(parts)), outside=replace(base.outside, exposure=exposure))
        lowered.append(lower(replace(case, end=case.start + days * DAY)))
    draw = np.random.default_rng(16)
    out = []
    for i in range(walls):  # those of one orientation beside each other
        p = lowered[i * len(lowered) // walls]
        u = p.state.u + draw.uniform(-0.2, 0.2)
        state = p.state._replace(u=u, water=np.empty_like(u), heat=np.empty_like(u))
        settle(p.wall, p.sampled.tables, u, state.temperature, state.water, state.heat)
        out.append(p._replace(state=state))
    return out


def rate(walls: int, days: int, cells: int, lanes: int, say: Callable[[str], None]) -> None:
    """Print wall-years a second of many walls on the card."""
    problems = family(walls, days, cells)
    begin = time.perf_counter()
    many = ManyMarcher(problems, lanes)
    packed = time.perf_counter() - begin
    begin = time.perf_counter()
    many.run_to(len(problems[0].forcing.marks) - 1, keep=False)
    many.wait()
    seconds = time.perf_counter() - begin
    _, counters = many.efforts()
    ended = sum(map(bool, many.troubles()))
    n = len(problems[0].wall.dx)
    per_sweep = 1e9 * seconds / (counters[:, SWEEPS].sum() * n)
    say(
        f"  {walls:7d} walls, {n} cells, {many.packed.many.lanes:2d} lanes, {days} days: {seconds:8.2f} s, "
        f"{walls * days / 365 / seconds:8.1f} wall-years/s, {per_sweep:6.3f} ns a cell and sweep; "
        f"packing {packed:.1f} s; steps {counters[:, STEPS].mean():.0f}, ended early {ended}"
    )


def on_cards(walls: int, days: int, cells: int, say: Callable[[str], None]) -> None:
    """Print wall-years a second of `march_all` on one card and on all that are seen; only the end is kept."""
    problems = []
    for p in family(walls, days, cells):
        keep = np.zeros_like(p.forcing.keep)
        keep[0] = keep[-1] = 1
        problems.append(without_faces(p._replace(forcing=p.forcing._replace(keep=keep))))
    begin = time.perf_counter()
    pack(problems[: walls // 8], 8)
    packing = 8.0 * (time.perf_counter() - begin)
    with ThreadPoolExecutor(how_many()) as pool:  # compiled, and loaded on every card
        list(pool.map(_warmed, range(how_many())))
    ends: list[Any] = []
    for cards in range(1, how_many() + 1):
        last: dict[int, Any] = {}
        with mock.patch.object(together, "how_many", lambda cards=cards: cards):
            begin = time.perf_counter()
            march_all(problems, lambda i, _, record, last=last: last.__setitem__(i, record.u[-1]))
            seconds = time.perf_counter() - begin
        ends.append(np.concatenate([last[i] for i in range(walls)]))
        years = walls * days / 365
        say(
            f"  {cards} cards, {walls} walls, {cells} cells, {days} days: {seconds:.1f} s, about {packing:.1f} s of it "
            f"packing, {years / seconds:.1f} wall-years/s, {years / max(seconds - packing, 1e-9):.1f} without it; "
            f"as on one card: {np.array_equal(ends[0], ends[-1])}"
        )


def _warmed(card: int) -> None:
    with using(card):
        many = ManyMarcher(family(8, 1, 100))
        many.run_to(2, keep=False)
        many.wait()


def _on_a_core(asked: tuple[int, int]) -> float:
    days, cells = asked
    p = family(1, days, cells)[0]
    Marcher(p._replace(state=p.state._replace(u=p.state.u.copy()))).run_to(24)
    p = family(1, days, cells)[0]
    begin = time.perf_counter()
    Marcher(p).run_to(len(p.forcing.marks) - 1)
    return time.perf_counter() - begin


def on_cores(days: int, cells: int, say: Callable[[str], None]) -> None:
    """Print wall-years a second of one core, and of all of them at once."""
    alone = _on_a_core((days, cells))
    n = processors()
    with ProcessPoolExecutor(n) as pool:
        all_of_them = max(pool.map(_on_a_core, [(days, cells)] * n))
    years = days / 365
    say(
        f"  processor, {cells} cells: {years / alone:.2f} wall-years/s alone, "
        f"{n * years / all_of_them:.1f} on {n} cores"
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walls", type=int, default=1000, help="walls drawn")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=600.0, help="no further drawn walls on the card after that")
    parser.add_argument("--rate", type=int, nargs="*", default=[1, 1000, 10000, 30000, 100000])
    parser.add_argument("--rate-days", type=int, default=20)
    parser.add_argument("--cells", type=int, nargs="*", default=[100])
    parser.add_argument("--lanes", type=int, nargs="*", default=[0], help="threads of a wall; 0: what is taken")
    parser.add_argument("--cards", type=int, default=0, help="walls marched on one card and on all")
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
        agreement(asked.walls, asked.seed, asked.days, asked.seconds, say)
    if asked.rate:
        begin = time.perf_counter()
        rate(8, 1, 100, asked.lanes[0], lambda text: None)
        say(f"first launch: {time.perf_counter() - begin:.1f} s")
        on_cores(asked.rate_days, asked.cells[0], say)
    for cells in asked.cells:
        for lanes in asked.lanes:
            for walls in asked.rate:
                rate(walls, asked.rate_days, cells, lanes, say)
    if asked.cards:
        on_cards(asked.cards, asked.rate_days, asked.cells[0], say)
    if asked.out:
        asked.out.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
