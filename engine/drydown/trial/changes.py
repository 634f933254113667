"""What to change: the same wall, weather and water, with one thing different, run and compared."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.assembly import Assembly, Layer
from ..case.case import Case
from ..materials.model import Film

if TYPE_CHECKING:
    import xarray as xr

#: The try that changes the water and not the wall.
LESS = "half of that water"
#: Runs of changes end this long after the water got in [days].
LONGEST = 800
#: Permeance of a film with an sd of 1 m [kg/(m2 s Pa)], still air at 296.15 K (DIN 52615: 2.0e-7 T^0.81/P).
ONE_METRE = 2.0e-7 * 296.15**0.81 / 101325.0


@dataclass(frozen=True)
class Change:
    """One thing that is different, and what came of it.

    Parameters
    ----------
    words : str
        What is changed.
    days_to_90_percent_dry : float
        [d], NaN if not reached.
    inward : float
        Share of what left [-].
    remaining : float
        Share still stored at the end of the run [-].
    harmed, harmed_dry : tuple of str
        Criteria exceeded, in a word, with the water, and without it.
    columns : tuple of (str, str)
        Head and value of every criterion with a column of its own, with the water.
    """

    words: str
    days_to_90_percent_dry: float
    inward: float
    remaining: float
    harmed: tuple[str, ...]
    harmed_dry: tuple[str, ...]
    columns: tuple[tuple[str, str], ...] = ()


def candidates(case: Case) -> list[tuple[str, Case]]:
    """Return the changes that are worth a try: other films on either side of the water, a ventilated gap.

    Parameters
    ----------
    case : Case
        With a wetting.
    """
    parts = case.assembly.parts
    wetted = {w.layer for w in case.wettings}
    places = [i for i, p in enumerate(parts) if isinstance(p, Layer) and p.name in wetted]
    if not places:
        return []
    out: list[tuple[str, Case]] = []
    inner = [i for i, p in enumerate(parts) if isinstance(p, Film) and i > places[-1] and not _paint(p)]
    outer = [i for i, p in enumerate(parts) if isinstance(p, Film) and i < places[0] and not _paint(p)]
    for where, side in ((inner, "inside"), (outer, "outside")):
        for i in where[-1:] if side == "inside" else where[:1]:
            old = parts[i]
            for film, what in _films(old, side):
                words = f"{what} in place of {old.name}"
                out.append((words, _with(case, (*parts[:i], film, *parts[i + 1 :]))))
    if not inner:
        at = _behind_lining(parts, places[-1])
        if at is not None:
            for film, what in _films(None, "inside"):
                out.append((f"{what} added behind the inner lining", _with(case, (*parts[:at], film, *parts[at:]))))
    out += _ventilated(case, places[0])
    less = tuple(replace(w, amount=0.5 * w.amount) for w in case.wettings)
    return [*out, (LESS, replace(case, wettings=less))]


def _behind_lining(parts: Sequence[Any], wetted: int) -> int | None:
    """Return where a film goes that is added: outside of the innermost layer."""
    layers = [i for i, p in enumerate(parts) if isinstance(p, Layer)]
    return layers[-1] if len(layers) > 1 and layers[-1] > wetted else None


def _paint(film: Any) -> bool:
    return "paint" in film.tags or any(w in film.name.lower() for w in ("paint", "primer", "enamel", "wallpaper"))


def _ratio(film: Film) -> tuple[float, float]:
    values = np.asarray(film.permeance(np.array([0.25, 0.85])), dtype=float)
    return float(values[0]), float(values[1])


def _films(old: Any, side: str) -> list[tuple[Film, str]]:
    """Return a tight, a humidity-dependent and an open film, without what is like the one there."""
    tight = Film("vapour-tight sheet, sd 100 m", lambda phi: np.full_like(np.asarray(phi, float), ONE_METRE / 100.0))
    loose = Film("vapour-open sheet, sd 0.2 m", lambda phi: np.full_like(np.asarray(phi, float), ONE_METRE / 0.2))
    # A film that opens with humidity: sd 8 m when dry, 0.2 m when humid; round demo figures of the kind.
    smart = Film(
        "humidity-dependent film, sd 8 to 0.2 m",
        lambda phi: ONE_METRE / (0.2 + 7.8 / (1.0 + np.exp((np.asarray(phi, float) - 0.65) / 0.05))),
    )
    out = []
    for film in (tight, smart, loose) if side == "inside" else (tight, loose):
        if old is not None:
            dry, wet = _ratio(old)
            dry_new, wet_new = _ratio(film)
            if abs(math.log(dry / dry_new)) < math.log(4.0) and abs(math.log(wet / wet_new)) < math.log(4.0):
                continue
            if side == "outside" and film is loose and dry > dry_new:
                continue
        out.append((film, f"a {film.name}"))
    return out


def _ventilated(case: Case, wetted: int) -> list[tuple[str, Case]]:
    """Return the case with its closed outer air gap ventilated, where there is one."""
    from ..case.loads import VentilatedGap

    if not hasattr(case, "loads"):
        return []
    for part in case.assembly.parts[:wetted]:
        if isinstance(part, Layer) and "air" in part.material.tags:
            if any(part.name in load.layers for load in case.loads):
                continue
            gap = VentilatedGap(part.name, air_changes=20.0 / 3600.0)
            return [(f"the {part.name} ventilated, 20 air changes an hour", replace(case, loads=(*case.loads, gap)))]
    return []


def _with(case: Case, parts: tuple[Any, ...]) -> Case:
    return replace(case, assembly=Assembly(parts, case.assembly.name))


def shortened(case: Case) -> Case:
    """Return a case that ends at most `LONGEST` days after its first wetting."""
    last = min(w.start for w in case.wettings) + np.timedelta64(LONGEST, "D")
    return replace(case, end=min(case.end, last.astype("datetime64[h]").astype("datetime64[s]")))


def try_changes(
    case: Case,
    limits: Any = None,
    progress: Callable[[float], None] | None = None,
    own: Sequence[tuple[str, Case]] = (),
) -> list[Change]:
    """Run the wall as it is, and with each change; the first is the wall as it is.

    Parameters
    ----------
    case : Case
        With a wetting.
    limits : mapping, optional
        As for `drydown.criteria.assess`.
    progress : callable, optional
        Called with the fraction done.
    own : sequence of (str, Case)
        Changes of one's own, tried first; those without a wetting are left out.
    """
    from concurrent.futures import ThreadPoolExecutor

    tries = [("as it is", case), *((words, one) for words, one in own if one.wettings), *candidates(case)]
    out = []
    # Two at a time: the march runs without Python's lock; more would hold more results in memory at once.
    pool = ThreadPoolExecutor(min(2, os.cpu_count() or 1))
    try:
        jobs = [pool.submit(_tried, words, shortened(one), limits) for words, one in tries]
        for i, job in enumerate(jobs):
            found = job.result()
            if found is not None:
                out.append(found)
            if progress is not None:
                progress((i + 1) / len(jobs))
    finally:
        pool.shutdown(cancel_futures=True)
    return out


def _tried(words: str, case: Case, limits: Any) -> Change | None:
    """Return what came of a change; None where it cannot be run to the end and so says nothing."""
    from ..run.simulation import SimulationError

    try:
        return _compared(words, case, limits)
    except SimulationError:
        return None


def _compared(words: str, case: Case, limits: Any) -> Change:
    from ..criteria import assess, counted
    from .dryout import account, twins

    reference, wetted = twins(case)
    trial: xr.Dataset = account(case, reference, wetted)
    dry, wet = assess(reference, limits), assess(wetted, limits)
    layers = [w.layer for w in case.wettings]

    def harmed(findings: list[Any]) -> tuple[str, ...]:
        return tuple(f.short for f in counted(findings, layers) if f.verdict == "exceeded")

    a = trial.attrs
    return Change(
        words,
        float(a["days_to_90_percent_dry"]),
        float(a["share_inward"]),
        float(a["remaining"]),
        harmed(wet),
        harmed(dry),
        tuple((f.title, f.value_text) for f in counted(wet, layers) if f.terms.column),
    )
