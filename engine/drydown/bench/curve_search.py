"""The permeance curve that protects a set of walls best, within what can be made.

Two numbers of a wall pull in opposite directions: what the film lets in in winter, and what it lets out when water got
in. `design` looks for the curve of a family whose worst wall is best; the search goes along derivatives (two runs that
differ in one parameter on one mesh), from several starts, first with coarse runs, then with full ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Semaphore
from typing import Literal

import numpy as np

from ..arrays import Array
from ..materials.model import Film
from .families import Family
from .least_worst import Least, Numbers, greatest, keeps, least_worst
from .makeable import Makeable
from .protection import Guarded, Runs

Goal = Literal["margin", "drying", "both"]
#: Step of a difference, as a share of the range of a parameter: above what the choice of steps leaves as noise.
DIFFERENCE = 0.01
#: Curves that are looked at before the search, and those of them that it begins from.
LOOKED_AT, STARTS = 8, 3
#: Most steps of a search with coarse runs from every start, on from the best of their ends, and with full runs.
FIRST_STEPS, COARSE_STEPS, FULL_STEPS = 4, 6, 4
#: Most rounds of a search: one more where a wall that took no part turns out worst.
ROUNDS = 3
#: Stands for a bound that is not there.
NO_BOUND = 1e9
#: A wall that is not within its limits with any film: what it is over by is taken as it is and must not grow.
SLACK = 1e-3


class Pool:
    """Runs walls with curves side by side and remembers what came out; several searches may share one.

    Parameters
    ----------
    guards : sequence of Guard
        Or anything that has a `name` and can be `measured` with a film.
    family : Family
    workers : int
        Walls that are run at a time, whoever asks.
    tick : callable
        Called after each wall.
    """

    def __init__(self, guards: Sequence[Runs], family: Family, workers: int, tick: Callable[[], None]) -> None:
        self.guards, self.family, self.workers, self.tick = list(guards), family, workers, tick
        self.known: dict[tuple[int, bytes], Guarded] = {}
        self._free = Semaphore(workers)

    def run(self, jobs: Sequence[tuple[int, Film]]) -> list[Guarded]:
        """Return what films do to walls, given by their position.

        Parameters
        ----------
        jobs : sequence of (int, Film)
        """

        def one(job: tuple[int, Film]) -> Guarded:
            with self._free:
                found = self.guards[job[0]].measured(job[1])
                self.tick()
                return found

        if self.workers == 1 or len(jobs) < 2:
            return [one(job) for job in jobs]
        with ThreadPoolExecutor(self.workers) as pool:
            return list(pool.map(one, jobs))

    def curves(self, points: Sequence[Array], walls: Sequence[int] | None = None) -> list[list[Guarded]]:
        """Return what the curve of each set of working parameters does to each wall, or to some of them.

        Parameters
        ----------
        points : sequence of Array
        walls : sequence of int, optional
        """
        which = range(len(self.guards)) if walls is None else walls
        new = {(w, p.tobytes()): (w, p) for p in points for w in which if (w, p.tobytes()) not in self.known}
        films = {p.tobytes(): curve_film(self.family, p) for p in points}
        done = self.run([(w, films[p.tobytes()]) for w, p in new.values()])
        self.known.update(zip(new, done, strict=True))
        return [[self.known[w, p.tobytes()] for w in which] for p in points]


def curve_film(family: Family, parameters: Array) -> Film:
    """Return a film of working parameters of a family.

    Parameters
    ----------
    family : Family
    parameters : Array
    """
    return Film("designed", family.curve(np.asarray(parameters, dtype=float)))


@dataclass(frozen=True)
class Measure:
    """What is made small and what is only kept, of the walls of a pool.

    Parameters
    ----------
    goal : {'margin', 'drying', 'both'}
        The greatest load of all walls; how long water stays in the slowest wall while every load is kept; or that and
        the wettest days, weighed, for a front.
    caps : Array
        Load that each wall is allowed, where drying is the goal.
    stay, wettest : float
        What counts as one: of the stay of water [d], and of the wettest days [kg/kg].
    """

    goal: Goal
    caps: Array
    stay: float = 100.0
    wettest: float = 0.2

    def row(self, found: Sequence[Guarded]) -> Array:
        """Return loads, stays and wettest days of walls, one after the other.

        Parameters
        ----------
        found : sequence of Guarded
        """
        stays = [g.stay / self.stay if np.isfinite(g.stay) else 0.0 for g in found]
        return np.array([[g.load for g in found], stays, [g.wettest / self.wettest for g in found]]).ravel()

    def numbers(self, pool: Pool, made: Makeable, walls: Sequence[int]) -> Numbers:
        """Return the problem that a search works on.

        Parameters
        ----------
        pool : Pool
        made : Makeable
        walls : sequence of int
            Those that take part.
        """
        box = made.box(pool.family)
        step = DIFFERENCE * (box[:, 1] - box[:, 0])
        n = len(walls)
        small = np.zeros(3 * n, dtype=bool)
        small[:n] = self.goal == "margin"
        small[n : 2 * n] = self.goal in ("drying", "both")
        small[2 * n :] = self.goal == "both"
        no_cap = np.full(n, NO_BOUND)
        most = np.concatenate([self.caps[list(walls)] if self.goal == "drying" else no_cap, no_cap, no_cap])

        def values(p: Array) -> Array:
            return self.row(pool.curves([p], walls)[0])

        def slopes(p: Array) -> Array:
            base = values(p)
            way = np.where(p + step > box[:, 1], -step, step)
            there = pool.curves([p + way[i] * np.eye(len(p))[i] for i in range(len(p))], walls)
            return np.column_stack([(self.row(found) - base) / way[i] for i, found in enumerate(there)])

        return Numbers(values, slopes, small, most, lambda p: made.room(pool.family, p), box)

    def worst(self, rows: Sequence[Sequence[Guarded]], number: int) -> list[int]:
        """Return the walls that are among the worst `number` with any of several curves.

        Parameters
        ----------
        rows : sequence of sequence of Guarded
            Of each curve what it does to every wall.
        number : int
        """
        found: set[int] = set()
        for row in rows:
            loads, stays, wet = self.row(row).reshape(3, -1)
            asked = {"margin": [loads], "drying": [stays, loads / self.caps], "both": [stays, wet]}[self.goal]
            found |= {int(i) for numbers in asked for i in np.argsort(-numbers)[:number]}
        return sorted(found)


@dataclass(frozen=True)
class Designed:
    """A curve that was found, and what it does.

    Parameters
    ----------
    family : Family
    parameters : Array
        Working parameters.
    goal : str
    measure : float
        The greatest load [-], or the longest mean stay [d], with full runs.
    walls : tuple of str
    found : tuple of Guarded
        What it does to each wall, with full runs.
    starts : Array
        Measure that each start of the coarse search ended at.
    """

    family: Family
    parameters: Array
    goal: Goal
    measure: float
    walls: tuple[str, ...]
    found: tuple[Guarded, ...]
    starts: Array

    @property
    def film(self) -> Film:
        """The film."""
        return curve_film(self.family, self.parameters)

    @property
    def values(self) -> dict[str, float]:
        """Parameters that a person reads, SI."""
        return dict(zip(self.family.parameters, self.family.values(self.parameters).tolist(), strict=True))


def measure_of(goal: Goal, found: Sequence[Guarded]) -> float:
    """Return the measure of a set of walls: the greatest load [-], or the longest mean stay of the water [d].

    Parameters
    ----------
    goal : {'margin', 'drying'}
    found : sequence of Guarded
    """
    if goal == "margin":
        return max(g.load for g in found)
    return max(g.stay for g in found)


def search(
    coarse: Pool,
    full: Pool,
    goal: Goal = "margin",
    made: Makeable | None = None,
    *,
    starts: int = STARTS,
    seed: int = 0,
) -> Designed:
    """Look for the curve whose worst wall is best.

    Parameters
    ----------
    coarse, full : Pool
        The same walls, with coarse runs for the search, and with full ones for what is found.
    goal : {'margin', 'drying'}
        The greatest value over its limit of all that is judged, dry and wetted, over all walls; or how long water stays
        in the slowest wall, while every limit is kept that some curve keeps.
    made : Makeable, optional
        What can be made.
    starts : int
        Curves that the search begins from.
    seed : int
        Of the curves that are looked at first.

    Returns
    -------
    Designed

    Raises
    ------
    InputError
        If a wall cannot be run, or hardly any curve can be made.
    """
    family, bounds = full.family, made or Makeable()
    points = bounds.starts(family, max(LOOKED_AT, starts), seed)
    looked = coarse.curves(list(points))
    measure = Measure(goal, _caps(looked))
    whole = measure.numbers(coarse, bounds, range(len(full.guards)))
    order = sorted(range(len(points)), key=lambda i: _order(whole, measure.row(looked[i])))
    walls = measure.worst(looked, 1)
    problem = measure.numbers(coarse, bounds, walls)
    if coarse.workers == 1:
        ends = [least_worst(problem, points[i], FIRST_STEPS) for i in order[:starts]]
    else:
        # side by side: one search alone asks for one curve at a time, and leaves processors idle
        with ThreadPoolExecutor(starts) as searches:
            ends = list(searches.map(lambda i: least_worst(problem, points[i], FIRST_STEPS), order[:starts]))
    best, walls = _searched(measure, coarse, bounds, min(ends, key=_rank), walls, COARSE_STEPS)
    polished, _ = _searched(measure, full, bounds, best, walls, FULL_STEPS)
    found = full.curves([polished.parameters])[0]
    scale = measure.stay if goal == "drying" else 1.0
    reached = scale * np.array([e.greatest for e in ends])
    names = tuple(g.name for g in full.guards)
    return Designed(family, polished.parameters, goal, measure_of(goal, found), names, tuple(found), reached)


def front(coarse: Pool, begin: Array, made: Makeable, number: int = 5) -> list[Array]:
    """Return curves between winter protection and summer drying, from the tightest side on.

    Each makes the greater of two numbers least: of the wettest days without water and of the stay of the water,
    weighed differently for each (Chebyshev's scalarisation, which also finds where a front is hollow).

    Parameters
    ----------
    coarse : Pool
        Of walls that each have a wetting.
    begin : Array
        Working parameters to begin from.
    made : Makeable
    number : int
        Curves.
    """
    looked = coarse.curves(list(made.starts(coarse.family, LOOKED_AT)))
    wettest = np.array([max(g.wettest for g in found) for found in looked])
    stay = np.array([max(g.stay for g in found) for found in looked])
    found, point = [], begin
    for share in np.linspace(0.15, 0.85, number) if number > 1 else [0.5]:
        # a share of the span between the best and the worst curve that was looked at, of both
        wet = float(wettest.min() + share * np.ptp(wettest))
        dry = float(stay.min() + (1.0 - share) * np.ptp(stay))
        measure = Measure("both", np.ones(len(coarse.guards)), dry, wet)
        walls = measure.worst([*looked, *coarse.curves([point])], 1)
        point = least_worst(measure.numbers(coarse, made, walls), point, FIRST_STEPS).parameters
        found.append(point)
    return found


def _caps(looked: Sequence[Sequence[Guarded]]) -> Array:
    """Return the load that each wall is allowed: 1, or what the best curve looked at leaves it."""
    least: Array = np.min([[g.load for g in found] for found in looked], axis=0)
    caps: Array = np.maximum(1.0, least * (1.0 + SLACK))
    return caps


def _rank(end: Least) -> tuple[bool, float]:
    return not end.kept, end.greatest


def _order(problem: Numbers, row: Array) -> tuple[float, float]:
    """Order curves by what they break, then by what is to be small."""
    over = np.maximum(row[~problem.small] - problem.most[~problem.small], 0.0)
    return float(np.max(over, initial=0.0)), greatest(problem, row)


def _searched(
    measure: Measure, pool: Pool, made: Makeable, begin: Least, walls: Sequence[int], steps: int
) -> tuple[Least, list[int]]:
    """Search on from a curve with the walls that matter; where another turns out worse it takes part as well.

    Returns the best curve by all walls, and the walls that took part.
    """
    whole = measure.numbers(pool, made, range(len(pool.guards)))
    best: Least | None = None
    part = list(walls)
    for _ in range(ROUNDS):
        at = begin if best is None else best
        end = least_worst(measure.numbers(pool, made, part), at.parameters, steps)
        rows = pool.curves([at.parameters, end.parameters])
        tried = [
            Least(p.parameters, greatest(whole, measure.row(row)), keeps(whole, measure.row(row)), 0, 0)
            for p, row in zip((at, end), rows, strict=True)
        ]
        best = min([*tried, *([] if best is None else [best])], key=_rank)
        more = [w for w in measure.worst(rows, 1) if w not in part]
        if not more:
            break
        part += more
    assert best is not None
    return best, part
