"""One membrane of a wall in many variants, each tried with the dry-out trial; in threads, in a fixed order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Lock
from typing import Any, Literal

from ..case.assembly import Assembly
from ..case.case import Case
from ..errors import InputError, nearest
from ..materials.model import CurveLike, Film
from .dryout import dryout

Direction = Literal["both", "inward", "outward"]
#: What is kept of a trial: name -> (unit, long name).
ANSWERS = {
    "days_to_90_percent_dry": ("days", "days until a tenth of the water is left"),
    "share_inward": ("1", "share of what left that left inward"),
    "remaining": ("1", "share of the water still there at the end"),
    "closure_max": ("kg m-2", "greatest closure of the balance of the trial"),
}


def film_of(case: Case, name: str) -> Film:
    """Return the film of a case by name.

    Raises
    ------
    InputError
        If the wall has no film of that name.
    """
    for film in case.assembly.films:
        if film.name == name or name in film.aliases:
            return film
    names = [film.name for film in case.assembly.films]
    said = nearest(name, names) if names else "the wall has no film; put one in"
    raise InputError(f"no film of the wall is called '{name}'; {said}", "film")


def with_film(case: Case, film: Film, new: Film) -> Case:
    """Return the case with another film in the place of one of its own."""
    parts = tuple(new if part is film else part for part in case.assembly.parts)
    return replace(case, assembly=Assembly(parts, case.assembly.name))


def changed(film: Film, change: Callable[[CurveLike], CurveLike], direction: Direction = "both") -> Film:
    """Return a film with another permeance.

    Parameters
    ----------
    film : Film
    change : callable
        Makes the new curve of the present one.
    direction : {'both', 'inward', 'outward'}
        Of the flow whose curve is changed. Both: a film with one curve keeps one, a film with two has both changed.
    """
    inward, outward = film.permeance, film.permeance_outward
    if direction == "both":
        return replace(film, permeance=change(inward), permeance_outward=None if outward is None else change(outward))
    if direction == "inward":
        return replace(film, permeance=change(inward), permeance_outward=inward if outward is None else outward)
    if direction == "outward":
        return replace(film, permeance_outward=change(inward if outward is None else outward))
    raise InputError(f"direction is '{direction}'; use 'both', 'inward' or 'outward'", f"film '{film.name}'")


def tried(
    cases: Sequence[Case], workers: int = 2, progress: Callable[[float], None] | None = None
) -> list[dict[str, float]]:
    """Return the answers of the dry-out trial of each case, in their order.

    Parameters
    ----------
    cases : sequence of Case
    workers : int
        Threads; the march itself runs without Python's lock. The results do not depend on their number.
    progress : callable, optional
        Called with the fraction done.
    """
    done, lock = [0], Lock()

    def one(case: Case) -> dict[str, float]:
        attrs: dict[str, Any] = dryout(case).attrs
        with lock:
            done[0] += 1
            if progress is not None:
                progress(done[0] / len(cases))
        return {key: float(attrs[key]) for key in ANSWERS}

    if workers < 1:
        raise InputError(f"workers is {workers}; at least 1 is needed", "trials")
    if workers == 1:
        return [one(case) for case in cases]
    with ThreadPoolExecutor(workers) as pool:
        running = [pool.submit(one, case) for case in cases]
        try:
            return [r.result() for r in running]
        except BaseException:
            for r in running:
                r.cancel()
            raise
