"""What was tried to change an answer, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..text import share
from ..trial.changes import LESS, Change


def advice(changes: Sequence[Change]) -> list[str]:
    """Return what the changes say, in plain sentences: what helps most, what hurts most.

    Parameters
    ----------
    changes : sequence of Change
        Of `drydown.trial.changes.try_changes`; the first is the wall as it is.
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
