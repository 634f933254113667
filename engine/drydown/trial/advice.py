"""What would help a wall: changes that make nothing worse, tried one by one, then in pairs.

A change is advised only where no judged number of the dry wall and of the wetted wall rises. It is ranked by the margin
that it leaves below the limits. Where no change keeps every limit, that is said: then the water has to be kept out.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np

from ..case.case import Case
from ..criteria import Finding, assess
from ..criteria.model import VERDICTS
from ..errors import InputError
from ..lowering.problem import mesh_of
from ..run.simulation import SimulationError, simulate
from .dryout import account
from .judging import judge_trial
from .remedies import Remedy, remedies

#: Runs end this long after the water got in [days].
LONGEST = 800
#: A number has risen where it is up by more than this share of its limit, which is what rounding leaves.
RISEN = 1e-3
#: Single changes of which pairs are made.
BEST = 3


class Number(NamedTuple):
    """One judged number: the value of a criterion at its worst place.

    A negative one, such as water that a wall loses from year to year, counts as none.
    """

    criterion: str
    title: str
    value: float
    limit: float
    verdict: str
    decides: bool


@dataclass(frozen=True)
class Tried:
    """One change and what came of it.

    Parameters
    ----------
    words : str
    kinds : tuple of str
        Of its remedies; empty: the wall as it is.
    size : int
        How much it takes to do.
    dry, wet : tuple of Number
        Without the water, and with it; where there is none they are the same.
    days_to_90_percent_dry : float
        [d], NaN: not within the run, or no water.
    inward, remaining : float
        Share of what left that left inward; share still there at the end [-].
    worse : tuple of str
        Titles of what is judged and gets worse.
    case : Case or None
        What was run.
    """

    words: str
    kinds: tuple[str, ...]
    size: int
    dry: tuple[Number, ...]
    wet: tuple[Number, ...]
    days_to_90_percent_dry: float = math.nan
    inward: float = math.nan
    remaining: float = math.nan
    worse: tuple[str, ...] = ()
    case: Case | None = field(default=None, repr=False, compare=False)

    @property
    def harmless(self) -> bool:
        """Whether nothing that is judged gets worse."""
        return not self.worse

    @property
    def load(self) -> float:
        """The greatest value over its limit of what decides, dry or wetted; below 1 every limit is kept."""
        return max((n.value / n.limit for n in (*self.dry, *self.wet) if n.decides and n.limit > 0.0), default=0.0)

    @property
    def passes(self) -> bool:
        """Whether every limit is kept, dry and wetted."""
        return not any(n.verdict == "exceeded" for n in (*self.dry, *self.wet) if n.decides)

    @property
    def exceeded(self) -> tuple[str, ...]:
        """Titles of the limits that are passed with the water."""
        return tuple(n.title for n in self.wet if n.decides and n.verdict == "exceeded")

    def rank(self) -> tuple[int, float, float]:
        """Order by margin: limits passed, the greatest load, the mean load."""
        deciding = [n for n in (*self.dry, *self.wet) if n.decides]
        loads = [n.value / n.limit for n in deciding if n.limit > 0.0]
        return sum(n.verdict == "exceeded" for n in deciding), round(self.load, 3), float(np.mean(loads or [0.0]))


@dataclass(frozen=True)
class Advice:
    """What was tried, and what is advised.

    Parameters
    ----------
    now : Tried
        The wall as it is.
    tried : tuple of Tried
        Every change, in the order in which it was tried.
    advised : tuple of Tried
        Changes that make nothing worse and something better, the best first.
    smallest : Tried or None
        The smallest change that keeps every limit; None: there is none, or none is needed.
    """

    now: Tried
    tried: tuple[Tried, ...]
    advised: tuple[Tried, ...]
    smallest: Tried | None


def advise(
    case: Case,
    limits: Mapping[str, float] | None = None,
    progress: Callable[[float], None] | None = None,
    own: Sequence[tuple[str, Case]] = (),
    pairs: bool = True,
) -> Advice:
    """Try what would help a wall.

    Parameters
    ----------
    case : Case
    limits : mapping, optional
        As for `drydown.criteria.assess`.
    progress : callable, optional
        Called with the fraction done.
    own : sequence of (str, Case)
        Changes of one's own, tried first. One that changes the climate, the period or the water is left out: it is
        another question, and no help to this wall.
    pairs : bool
        Try pairs of the best single changes too.

    Raises
    ------
    SimulationError
        The wall as it is cannot be run.
    """
    short = shortened(case)
    now = _outcome("as it is", (), 0, short, limits, None)
    assert now is not None
    ours = remedies(short)
    jobs: list[Job] = [(w, ("own",), 3, shortened(c)) for w, c in own if same_question(case, c)]
    jobs += [(r.words, (r.kind,), r.size, r.apply(short)) for r in ours]
    share = 0.75 if pairs else 1.0
    singles = _run(jobs, limits, now, lambda x: progress(share * x) if progress else None)
    best = sorted((t for t in singles if t.harmless and _helps(t, now)), key=Tried.rank)
    found = list(singles)
    if pairs and not any(t.passes for t in best):
        known = {r.words: r for r in ours}
        found += _run(
            _pairs(best, known, short), limits, now, lambda x: progress(0.75 + 0.25 * x) if progress else None
        )
    good = tuple(sorted((t for t in found if t.harmless and _helps(t, now)), key=Tried.rank))
    passing = sorted((t for t in good if t.passes), key=lambda t: (t.size, t.rank()))
    if progress is not None:
        progress(1.0)
    return Advice(now, tuple(found), good, passing[0] if passing and not now.passes else None)


def same_question(case: Case, other: Case) -> bool:
    """Return whether a change leaves weather, period and water as they are."""
    return (
        getattr(case.outside, "climate", None) == getattr(other.outside, "climate", None)
        and (case.start, case.end) == (other.start, other.end)
        and len(case.wettings) == len(other.wettings)
    )


def shortened(case: Case) -> Case:
    """Return a case that ends at most `LONGEST` days after its first wetting, or after its start."""
    first = min((w.start for w in case.wettings), default=case.start)
    last = first.astype("datetime64[h]").astype("datetime64[s]") + np.timedelta64(LONGEST, "D")
    keep = tuple(w for w in case.wettings if w.start + np.timedelta64(round(w.duration), "s") <= last)
    return replace(case, end=min(case.end, last), wettings=keep)


Job = tuple[str, tuple[str, ...], int, Case]


def _pairs(best: Sequence[Tried], known: Mapping[str, Remedy], case: Case) -> list[Job]:
    """Return pairs of the best changes of different kinds."""
    first: dict[str, Remedy] = {}
    for t in best:
        if t.words in known:
            first.setdefault(known[t.words].kind, known[t.words])
    out: list[Job] = []
    for a, b in combinations(list(first.values())[:BEST], 2):
        try:
            out.append((f"{a.words}, and {b.words}", (a.kind, b.kind), a.size + b.size, b.apply(a.apply(case))))
        except (InputError, ValueError, StopIteration):
            continue
    return out


def _run(
    jobs: Sequence[Job],
    limits: Mapping[str, float] | None,
    now: Tried,
    progress: Callable[[float], None],
) -> list[Tried]:
    """Try changes, two at a time: the march runs without Python's lock; more would hold more results in memory."""
    out = []
    pool = ThreadPoolExecutor(min(2, os.cpu_count() or 1))
    try:
        running = [pool.submit(copy_context().run, _job(job, limits, now)) for job in jobs]
        for i, job in enumerate(running):
            found = job.result()
            if found is not None:
                out.append(found)
            progress((i + 1) / len(running))
    finally:
        pool.shutdown(cancel_futures=True)
    return out


def _job(job: Job, limits: Mapping[str, float] | None, now: Tried) -> Callable[[], Tried | None]:
    return lambda: _outcome(*job, limits, now)


def _outcome(
    words: str,
    kinds: tuple[str, ...],
    size: int,
    case: Case,
    limits: Mapping[str, float] | None,
    now: Tried | None,
) -> Tried | None:
    """Return what came of a change; None where it cannot be run to the end and so says nothing."""
    wetted = [w.layer for w in case.wettings]
    try:
        # less water leaves the dry wall as it is: on a mesh of its own the numbers of that wall would move a little
        whole = now.case if now is not None and kinds == ("water",) else None
        grid = mesh_of(whole or case)
        reference = simulate(replace(case, wettings=()), grid=grid)
        before = assess(reference, limits)
        if not wetted:
            dry = numbers(before, before)
            return _weighed(Tried(words, kinds, size, dry, dry, case=case), now)
        run = simulate(case, grid=grid)
    except SimulationError:
        if now is None:
            raise
        return None
    after = assess(run, limits)
    dry, wet = map(numbers, (before, after), judge_trial(case, (reference, run), before, after, limits))
    a: dict[str, Any] = account(case, reference, run).attrs
    days, inward, remaining = (float(a[k]) for k in ("days_to_90_percent_dry", "share_inward", "remaining"))
    return _weighed(Tried(words, kinds, size, dry, wet, days, inward, remaining, case=case), now)


def numbers(findings: Sequence[Finding], judged: Sequence[Finding]) -> tuple[Number, ...]:
    """Return the judged numbers of findings; quick looks are among them, but do not decide.

    judged : the same findings as they count in the trial (`drydown.criteria.of_trial`).
    """
    out = []
    for f, told in zip(findings, judged, strict=True):
        out.append((f.criterion, told, not f.screening))
        if told.by_layer != f.by_layer:  # without the wetted layers it decides; with them it must not rise either
            out.append((f"{f.criterion}, wetted layers too", f, False))
    return tuple(
        Number(key, f.title, max(float(f.value), 0.0), float(f.limit), f.verdict, decides)
        for key, f, decides in out
        if f.verdict != "not applicable" and math.isfinite(float(f.value))
    )


def _weighed(tried: Tried, now: Tried | None) -> Tried:
    if now is None:
        return tried
    worse = risen(now.dry, tried.dry)
    if now.wet is not now.dry:
        worse += [f"{t} with the water" for t in risen(now.wet, tried.wet) if t not in worse]
    return replace(tried, worse=tuple(dict.fromkeys(worse)))


def risen(before: Sequence[Number], after: Sequence[Number]) -> list[str]:
    """Return the titles of the numbers that rise, or whose verdict gets worse.

    What was not judged before and is judged now has risen where it is not fine.
    """
    was = {n.criterion: n for n in before}
    out = []
    for n in after:
        old = was.get(n.criterion)
        if old is None:
            if n.verdict != "fine":
                out.append(n.title)
        elif n.value > old.value + RISEN * abs(n.limit) or VERDICTS.index(n.verdict) > VERDICTS.index(old.verdict):
            out.append(n.title)
    return out


def _helps(tried: Tried, now: Tried) -> bool:
    """Return whether a change lowers some number that decides by more than a hundredth of its limit."""
    for after, before in ((tried.dry, now.dry), (tried.wet, now.wet)):
        was = {n.criterion: n.value for n in before}
        if any(n.decides and n.criterion in was and was[n.criterion] - n.value > 0.01 * abs(n.limit) for n in after):
            return True
    return False
