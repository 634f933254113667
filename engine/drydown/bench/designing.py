"""`design`: the search, the front, the library on the same measure and what tolerances do, as one Dataset."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError, nearest
from ..materials.model import Argument, CurveLike, Film
from ..systems import processors
from .curve_search import SLACK, STARTS, Designed, Goal, Pool, front, measure_of, search
from .families import FAMILIES
from .makeable import HUMIDITIES, Makeable
from .protection import Guard, Guarded, guard

if TYPE_CHECKING:
    import xarray as xr

Walls = Mapping[str, tuple[Case, Mapping[str, float]]]
Variables = dict[str, tuple[Any, Array, dict[str, str]]]
#: What may be off in a film as made: a third of its permeance (cups of one film in two laboratories differ by 20 to
#: 40 %, from memory), and the humidity at which it opens [-] (our choice).
OFF_PERMEANCE, OFF_HUMIDITY = 1.3, 0.03


@dataclass(frozen=True)
class OffCurve:
    """A curve that is off by a factor and along humidity.

    Parameters
    ----------
    curve : Curve
    factor : float
        On the permeance [-].
    shift : float
        Of humidity [-]; positive: opens later.
    """

    curve: CurveLike
    factor: float = 1.0
    shift: float = 0.0
    of: Argument = "humidity"

    def __call__(self, humidity: Array, /) -> Array:
        """Return the permeance in the shape of the humidity [-]."""
        phi = np.clip(np.asarray(humidity, dtype=float) - self.shift, 0.0, 1.0)
        return self.factor * np.asarray(self.curve(phi))


OFF = {
    "as designed": OffCurve(lambda phi: phi),
    "30 % more open": OffCurve(lambda phi: phi, OFF_PERMEANCE),
    "30 % tighter": OffCurve(lambda phi: phi, 1.0 / OFF_PERMEANCE),
    "opens at 3 % less humidity": OffCurve(lambda phi: phi, 1.0, -OFF_HUMIDITY),
    "opens at 3 % more humidity": OffCurve(lambda phi: phi, 1.0, OFF_HUMIDITY),
}


def design(
    walls: Walls,
    film: str,
    family: str = "logistic",
    goal: Goal = "margin",
    made: Makeable | None = None,
    *,
    library: Mapping[str, Film] | None = None,
    along_front: int = 0,
    starts: int = STARTS,
    seed: int = 0,
    workers: int | None = None,
    tick: Callable[[str], None] = lambda stage: None,
) -> xr.Dataset:
    """Design the permeance curve of a film for a set of walls.

    Parameters
    ----------
    walls : mapping of str to (Case, limits)
        Each a year or longer; limits by name, as its case file states them. Where drying is the goal, or a front is
        asked for, each has a wetting.
    film : str
        Name of the film whose place is taken in every wall.
    family : str
        Of `FAMILIES`.
    goal : {'margin', 'drying'}
        The greatest value over its limit of all that is judged, dry and wetted, over all walls; or how long water stays
        in the slowest wall, while every limit is kept that some curve keeps.
    made : Makeable, optional
        What can be made.
    library : mapping of str to Film, optional
        Films to compare with; the best of them is found with full runs.
    along_front : int
        Curves of a front of winter protection against summer drying; 0: none.
    starts : int
        Curves that the search begins from.
    seed : int
        Of the curves that are looked at first.
    workers : int, optional
        Threads; as many as there are processors by default. The result does not depend on it.
    tick : callable, optional
        Called with the name of the stage after each wall that was run.

    Returns
    -------
    Dataset
        `permeance` (humidity) [kg/(m2 s Pa)] of the curve; over `wall`, of full runs with it: `load` [-], the greatest
        value over its limit, `wettest` [kg/kg], the mean of the wettest 30 days of the layer to be kept dry without the
        water, `stay` [d], how long the water stays on average, `days_to_90_percent_dry` [d], `share_inward` [-]; over
        `off`: `measure_off`, with what may be off in a film as made; over `start`: `measure_of_start`, where the coarse
        searches ended; with a front, over `front`: `permeance_front`, `load_front`, `wettest_front`, `stay_front`; with
        a library, `load_library` and its like over `wall` of its best film. Attributes: `measure`, `library_best`,
        `library_measure`, `beaten` and `compared` (films of the library that are worse, of how many), `parameter_...`.

    Raises
    ------
    InputError
        If a wall has no such film, no wetting where one is needed, or is run for less than a year.
    SimulationError
        If a wall cannot be run to its end.

    Notes
    -----
    Minimax by sequential quadratic programming on differences of runs that share their mesh, first with half the cells
    and longer steps; see `drydown.bench.least_worst`. The end of a search is a local optimum: how far the ends of the
    several starts are apart says how far it can be trusted.
    """
    _check(walls, family, goal, along_front)
    bounds, threads = made or Makeable(), processors() if workers is None else max(1, workers)
    rough, fine = (_guards(walls, film, coarse, threads) for coarse in (True, False))
    coarse = Pool(rough, FAMILIES[family], threads, lambda: tick("search"))
    full = Pool(fine, FAMILIES[family], threads, lambda: tick("check"))
    found = search(coarse, full, goal, bounds, starts=starts, seed=seed)
    data: Variables = {**_of_winner(found), **_off(found, full)}
    attrs: dict[str, float | str] = {
        "title": f"drydown design of '{film}': {goal}",
        "goal": goal,
        "family": family,
        "film": film,
        "measure": found.measure,
        **{f"parameter_{k}": v for k, v in found.values.items()},
        "least_made": bounds.least,
        "greatest_made": bounds.greatest,
        "ratio_made": bounds.ratio,
        "steepness_made": bounds.steepness,
        "runs": float(len(coarse.known) + len(full.known)),
    }
    if library:
        name, best, beaten = best_of(library, full, found)
        attrs |= {"beaten": beaten, "compared": float(len(library))}
        if name:
            attrs |= {"library_best": name, "library_measure": measure_of(goal, best)}
            data |= {f"{k}_library": v for k, v in _numbers(best).items()}
            data["permeance_library"] = _curve(library[name].permeance)
    if along_front:
        data |= _front(front(coarse, found.parameters, bounds, along_front), full)
    return _dataset(data, found, attrs)


def _check(walls: Walls, family: str, goal: str, along_front: int) -> None:
    if family not in FAMILIES:
        raise InputError(f"no family of curves is called '{family}'; {nearest(family, FAMILIES)}", "design")
    if goal not in ("margin", "drying"):
        raise InputError(f"'{goal}' is no goal; use 'margin' or 'drying'", "design")
    if not walls:
        raise InputError("there is no wall to design for", "design")
    for name, (case, _) in walls.items():
        if (goal == "drying" or along_front) and not case.wettings:
            raise InputError("nothing gets wet in it; add a [[wetting]], or design for the margin alone", name)


def _guards(walls: Walls, film: str, coarse: bool, threads: int) -> list[Guard]:
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(lambda k: guard(k, walls[k][0], film, walls[k][1], coarse), walls))


def best_of(library: Mapping[str, Film], full: Pool, found: Designed) -> tuple[str, list[Guarded], float]:
    """Return the film of a library with the best measure, what it does, and how many are worse than the design.

    Where drying is the goal, a film that passes a limit further than the design does is worse, however fast water
    leaves; where all are, the name is empty. A film is left as soon as one wall is worse with it than the worst wall
    with the best film so far; the walls that are worst with the design, and with the films before, come first. Films
    stand side by side for their first wall.

    Parameters
    ----------
    library : mapping of str to Film
    full : Pool
    found : Designed
    """
    allowed = [max(1.0, g.load) * (1.0 + SLACK) for g in found.found]

    def worth(done: Mapping[int, Guarded]) -> float:
        if found.goal == "drying" and any(g.load > allowed[i] for i, g in done.items()):
            return float("inf")
        return measure_of(found.goal, list(done.values()))

    wall_of = [measure_of(found.goal, [g]) for g in found.found]
    order = sorted(range(len(full.guards)), key=lambda i: -wall_of[i])
    name, best, least, beaten = "", list[Guarded](), float("inf"), 0
    films = list(library.items())
    for begin in range(0, len(films), full.workers):
        beside = films[begin : begin + full.workers]
        first = full.run([(order[0], film) for _, film in beside])
        for (candidate, film), one in zip(beside, first, strict=True):
            done, left = {order[0]: one}, order[1:]
            worst = worth(done)
            while left and worst <= max(least, found.measure):
                batch, left = left[: full.workers], left[full.workers :]
                done |= dict(zip(batch, full.run([(i, film) for i in batch]), strict=True))
                worst = worth(done)
            beaten += worst > found.measure
            if not left and worst < least:
                name, least, best = candidate, worst, [done[i] for i in range(len(order))]
        # the wall that is worst with the last film comes first with the next: it tells most of them soonest
        top = max(done, key=lambda i: measure_of(found.goal, [done[i]]))
        order = [top, *(i for i in order if i != top)]
    return name, best, float(beaten)


def _curve(curve: CurveLike) -> tuple[Any, Array, dict[str, str]]:
    values = np.asarray(curve(HUMIDITIES), dtype=float)
    return "humidity", values, {"units": "kg m-2 s-1 Pa-1", "long_name": "permeance"}


def _numbers(found: Sequence[Guarded]) -> Variables:
    columns = {
        "load": ("1", "greatest value over its limit"),
        "wettest": ("kg kg-1", "wettest 30 days of the layer to be kept dry, without the water"),
        "stay": ("d", "how long water stays on average"),
        "days_to_90_percent_dry": ("d", "days until a tenth is left"),
        "share_inward": ("1", "share of what left that left inward"),
    }
    names = {"days_to_90_percent_dry": "days", "share_inward": "inward"}
    return {
        key: ("wall", np.array([getattr(g, names.get(key, key)) for g in found]), {"units": unit, "long_name": words})
        for key, (unit, words) in columns.items()
    }


def _of_winner(found: Designed) -> Variables:
    curve = found.film.permeance
    over = np.array([", ".join(g.exceeded) for g in found.found], dtype=object)
    return {
        "permeance": _curve(curve),
        **_numbers(found.found),
        "exceeded": ("wall", over, {"long_name": "limits that are passed"}),
        "measure_of_start": ("start", found.starts, {"long_name": "measure at the end of each coarse search"}),
    }


def _off(found: Designed, full: Pool) -> Variables:
    """Return the measure with a film that is off by what cups and makers leave open."""
    curve = found.film.permeance
    films = [Film(name, replace(off, curve=curve)) for name, off in OFF.items() if name != "as designed"]
    n = len(full.guards)
    done = full.run([(i, film) for film in films for i in range(n)])
    off = [measure_of(found.goal, done[k * n : (k + 1) * n]) for k in range(len(films))]
    return {"measure_off": ("off", np.array([found.measure, *off]), {"long_name": "measure of a film that is off"})}


def _front(points: Sequence[Array], full: Pool) -> Variables:
    """Return the curves of a front with full runs, without those that another beats in both numbers."""
    every = full.curves(list(points))
    told = [(max(g.wettest for g in row), max(g.stay for g in row)) for row in every]
    kept = [k for k, (a, b) in enumerate(told) if not any(c <= a and d <= b and (c, d) != (a, b) for c, d in told)]
    points, rows = [points[k] for k in kept], [every[k] for k in kept]
    curves = np.array([full.family.curve(p)(HUMIDITIES) for p in points])
    worst = {
        "load_front": ("1", [max(g.load for g in row) for row in rows]),
        "wettest_front": ("kg kg-1", [max(g.wettest for g in row) for row in rows]),
        "stay_front": ("d", [max(g.stay for g in row) for row in rows]),
    }
    return {
        "permeance_front": (("front", "humidity"), curves, {"units": "kg m-2 s-1 Pa-1"}),
        **{k: ("front", np.array(v), {"units": unit}) for k, (unit, v) in worst.items()},
    }


def _dataset(data: Variables, found: Designed, attrs: Mapping[str, float | str]) -> xr.Dataset:
    import xarray as xr

    coords = {
        "humidity": ("humidity", HUMIDITIES, {"units": "1", "long_name": "relative humidity"}),
        "wall": ("wall", np.array(found.walls, dtype=object)),
        "off": ("off", np.array(list(OFF), dtype=object)),
    }
    return xr.Dataset(dict(data), coords, dict(attrs))
