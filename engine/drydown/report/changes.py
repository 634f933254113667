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
from ..text import share
from .story import SHORT

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
    mould : float
        Highest mould index with the water; NaN where not judged.
    harmed, harmed_dry : tuple of str
        Criteria exceeded, in a word, with the water, and without it.
    """

    words: str
    days_to_90_percent_dry: float
    inward: float
    remaining: float
    mould: float
    harmed: tuple[str, ...]
    harmed_dry: tuple[str, ...]


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
    from ..trial.dryout import account, twins

    reference, wetted = twins(case)
    trial: xr.Dataset = account(case, reference, wetted)
    dry, wet = assess(reference, limits), assess(wetted, limits)
    layers = [w.layer for w in case.wettings]
    mould = next((f.value for f in wet if f.criterion == "mould"), math.nan)

    def harmed(findings: list[Any]) -> tuple[str, ...]:
        return tuple(SHORT.get(f.criterion, f.title) for f in counted(findings, layers) if f.verdict == "exceeded")

    a = trial.attrs
    return Change(
        words,
        float(a["days_to_90_percent_dry"]),
        float(a["share_inward"]),
        float(a["remaining"]),
        float(mould),
        harmed(wet),
        harmed(dry),
    )


def advice(changes: Sequence[Change]) -> list[str]:
    """Return what the changes say, in plain sentences: what helps most, what hurts most.

    Parameters
    ----------
    changes : sequence of Change
        Of `try_changes`; the first is the wall as it is.
    """
    if len(changes) < 2:
        return ["No film or closed gap in it could be changed for a try. Change the case file and run it again."]
    now = changes[0]
    others = [c for c in changes[1:] if c.words != LESS]
    less = next((c for c in changes[1:] if c.words == LESS), None)
    safe = [c for c in others if set(c.harmed_dry) <= set(now.harmed_dry)]
    best = min(safe, key=_rank, default=None)
    out = []
    if now.harmed_dry:
        out.append(
            f"As it is, a limit is passed even if no water gets in: {', '.join(now.harmed_dry)}. That comes first."
        )
    if best is not None and (_slower(now, best) or _rank(best)[:2] < _rank(now)[:2]):
        out.append(
            f"What helps most of what was tried: {best.words}. Then {_span(best)}, instead of {_now(now)}"
            f"{_harm(best, now)}."
        )
    else:
        best = None
        out.append("None of the changes tried makes it dry much sooner without harm elsewhere.")
    new = set(now.harmed) - set(now.harmed_dry)
    if new and (best is None or set(best.harmed) - set(best.harmed_dry)):
        out.append(
            f"{'It is still not enough' if best is not None else 'So'}: with this much water a limit is passed "
            "whatever was tried. Keeping the water out comes first: flashings, joints, windows."
        )
        if less is not None:
            passed = f"limits passed: {', '.join(less.harmed)}" if less.harmed else "no limit is passed"
            out.append(f"With half of the water, {_span(less)}; {passed}.")
    worst = max(others, key=_days, default=None)
    if worst is not None and worst is not best and _slower(worst, now):
        out.append(f"What to leave alone: {worst.words}. Then {_span(worst)}{_harm(worst, now)}.")
    hurt = [c.words for c in others if not set(c.harmed_dry) <= set(now.harmed_dry)]
    if hurt:
        further = " further" if now.harmed_dry else ""
        out.append(f"Even if no water ever gets in, a{further} limit is passed with {'; or with '.join(hurt)}.")
    return out


def _now(change: Change) -> str:
    return (
        f"{share(change.remaining)} still there"
        if math.isnan(change.days_to_90_percent_dry)
        else f"{change.days_to_90_percent_dry:.0f}"
    )


def _days(change: Change) -> float:
    return (
        change.days_to_90_percent_dry
        if not math.isnan(change.days_to_90_percent_dry)
        else 1e4 * (1.0 + change.remaining)
    )


def _slower(one: Change, other: Change) -> bool:
    """Return whether one dries much slower: 15 % longer, or, where neither gets there, 15 % more left."""
    if math.isnan(one.days_to_90_percent_dry) and math.isnan(other.days_to_90_percent_dry):
        return one.remaining > 1.15 * other.remaining
    return _days(one) > 1.15 * _days(other)


def _rank(change: Change) -> tuple[int, int, float]:
    return len(change.harmed_dry), len(change.harmed), _days(change)


def _span(change: Change) -> str:
    if math.isnan(change.days_to_90_percent_dry):
        return f"{share(change.remaining)} of it is still there at the end of the run"
    return f"nine tenths gone in {change.days_to_90_percent_dry:.0f} days"


def _harm(change: Change, now: Change) -> str:
    gone = [t for t in now.harmed if t not in change.harmed]
    new = [t for t in change.harmed if t not in now.harmed]
    if new:
        return f", and a further limit is passed: {', '.join(new)}"
    return f", and these limits are kept: {', '.join(gone)}" if gone else ""
