"""The drying reserve: how much water may get in every year.

The largest yearly amount with which an assembly stays within its criteria and gains nothing from year to year, found
by bisection. The last two runs are those of the amount that held and of the one, at most 5 % larger, that did not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from ..case.case import Case
from ..case.wetting import Wetting
from ..criteria import Finding, deciding, of_trial
from ..criteria.limits import DIN_68800, RESERVE, reserve_asked_for
from ..criteria.model import Verdict
from ..errors import InputError
from ..lowering.grid import Grid
from ..lowering.problem import mesh_of
from ..run.simulation import simulate
from .judging import in_rain

SMALLEST = 0.005


class Why(NamedTuple):
    """Why an amount did not hold.

    Parameters
    ----------
    kind : str
        ``"criterion"`` (limits would be passed), ``"gain"`` (it holds more of it from year to year), ``"overflow"``,
        ``"full"`` (it does not fit into the pores), ``"already"`` (limits are passed without the water); empty: it
        held.
    findings : tuple of Finding
        Those past their limits.
    """

    kind: str = ""
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Try:
    """One amount that was run: [kg/m2 a], whether it held, why not, and its gain as a share of the amount."""

    amount: float
    held: bool
    why: Why
    gain: float


@dataclass(frozen=True)
class Reserve:
    """A drying reserve.

    Parameters
    ----------
    amount : float
        The largest yearly amount that held [kg/m2]; 0 if the wall does without any reserve.
    fails : float
        The smallest that did not hold [kg/m2].
    why : Why
        What gave way there.
    layer : str
    month, day : int
        Where and when the water gets in, every year.
    years : int
        Years with a wetting.
    first : datetime64
        The first wetting.
    end : datetime64
        Until when the weather was followed.
    tries : tuple of Try
        All that was run, in order.
    finding : Finding
    """

    amount: float
    fails: float
    why: Why
    layer: str
    month: int
    day: int
    years: int
    first: np.datetime64
    end: np.datetime64
    tries: tuple[Try, ...]
    finding: Finding


def drying_reserve(
    case: Case,
    limits: Mapping[str, float] | None = None,
    years: int = 3,
    tolerance: float = 0.05,
    only: Sequence[str] | None = None,
    progress: Callable[[float], None] | None = None,
) -> Reserve:
    """Find the drying reserve of an assembly.

    Parameters
    ----------
    case : Case
        Its first wetting says where, when in the year and how long the water gets in; its amount is where the
        search begins. The run goes on beyond the end of the case as far as it takes.
    limits : mapping, optional
        As for `drydown.criteria.assess`; also `drying_reserve` and `reserve_gain`.
    years : int
        Yearly wettings, at least 3: what one wetting leaves in the year after it is not yet a gain.
    tolerance : float
        The amount that fails is at most this share larger than the one that holds.
    only : sequence of str, optional
        Criteria that must hold; default: all that decide and that a reserve follows. Free water is none of them: it
        would but repeat that water got in.
    progress : callable, optional
        Called with the fraction done, by estimate.

    Raises
    ------
    InputError
        If the case has no wetting, or its climate is too short.
    SimulationError
        If a run fails.
    """
    if not case.wettings:
        raise InputError("the drying reserve needs a wetting, which says where and when water gets in", "reserve")
    if years < 3:
        raise InputError(f"years is {years}; it takes at least 3 to tell a gain from what dries slowly", "reserve")
    given = dict(limits or {})
    usual = {limit.name: limit.value for limit in RESERVE} | {"drying_reserve": reserve_asked_for(case.outside.tilt)}
    own = {name: given.pop(name, value) for name, value in usual.items()}
    template = case.wettings[0]
    first = template.start
    month = first.astype("datetime64[M]")
    end = ((month + 12 * years).astype("datetime64[s]") + (first - month.astype("datetime64[s]"))).astype(
        "datetime64[h]"
    )
    case = replace(case, wettings=(), end=end)
    asked = [c.name for c in deciding("reserve")] if only is None else list(only)
    done = 0

    def tell(x: float) -> None:
        if progress is not None:
            # most searches take eight to twelve runs
            progress(min(0.97, (done + x) / 11.0))

    grid = _mesh(case, replace(template, yearly=True))
    reference = simulate(case, tell, grid=grid)
    done += 1
    how = in_rain(replace(case, wettings=(template,)), reference, given, asked)
    before = {f.criterion: f for f in how.assess(reference, given, asked)}
    spilt = reference.attrs["overfull_cell_steps"]
    marks = [
        int(np.searchsorted(reference["time"].values, t))
        for t in (
            (month + 12 * k).astype("datetime64[s]") + (first - month.astype("datetime64[s]")) for k in range(1, years)
        )
    ] + [-1]
    dry_water = (reference["water_content"] * reference["width"]).sum("cell").values[marks]
    del reference
    tries: list[Try] = []

    def holds(amount: float) -> bool:
        nonlocal done
        event = replace(template, amount=amount, yearly=True)
        try:
            run = simulate(replace(case, wettings=(event,)), tell, grid=grid)
        except InputError as error:
            if "do not fit" not in error.message:
                raise
            tries.append(Try(amount, False, Why("full"), np.nan))
            return False
        finally:
            done += 1
        excess = (run["water_content"] * run["width"]).sum("cell").values[marks] - dry_water
        gain = float(excess[-1] - excess[-2]) / amount
        _, after = of_trial(list(before.values()), how.assess(run, given, asked), [template.layer])
        broken = [f for f in after if f.verdict == "exceeded" and before[f.criterion].verdict != "exceeded"]
        why = Why()
        if broken:
            why = Why("criterion", tuple(broken))
        elif gain > own["reserve_gain"]:
            why = Why("gain")
        elif run.attrs["overfull_cell_steps"] > spilt:
            why = Why("overflow")
        tries.append(Try(amount, not why.kind, why, gain))
        return not why.kind

    already = [f for f in before.values() if f.verdict == "exceeded"]
    low, high, why = 0.0, np.inf, Why()
    if already:
        why, high = Why("already", tuple(already)), 0.0
    else:
        low, high = _bisect(holds, template.amount, tolerance)
        why = next((t.why for t in tries if t.amount == high), Why())
    return Reserve(
        low, high, why, template.layer, int(str(first)[5:7]), int(str(first)[8:10]), years, first, case.end,
        tuple(tries), _finding(low, own["drying_reserve"]),
    )  # fmt: skip


def _bisect(holds: Callable[[float], bool], begin: float, tolerance: float) -> tuple[float, float]:
    """Return the largest amount found to hold and the smallest found not to, no further apart than the tolerance."""
    if holds(begin):
        low, high = begin, 2.0 * begin
        while holds(high):
            low, high = high, 2.0 * high
    else:
        low, high = 0.5 * begin, begin
        while not holds(low):
            if low < SMALLEST:
                return 0.0, low
            low, high = 0.5 * low, low
    while high > (1.0 + tolerance) * low:
        middle = float(np.sqrt(low * high))
        if holds(middle):
            low = middle
        else:
            high = middle
    return low, high


def _finding(amount: float, limit: float) -> Finding:
    verdict: Verdict = "fine" if amount >= 2.0 * limit else "watch" if amount >= limit else "exceeded"
    return Finding(
        "drying reserve",
        "drying reserve",
        None,
        amount,
        "kg/m2",
        limit,
        verdict,
        None,
        DIN_68800,
        "this place and date of the water and this climate; another layer or season has another reserve",
    )


def _mesh(case: Case, event: Wetting) -> Grid:
    """Return one mesh for all tries: that of the wall with the event as given, or without where it cannot fit."""
    try:
        return mesh_of(replace(case, wettings=(event,)))
    except InputError as error:
        if "do not fit" not in error.message:
            raise
        return mesh_of(case)
