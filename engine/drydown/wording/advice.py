"""What to change, in sentences: what helps and harms nothing, the smallest change that passes, what to leave alone."""

from __future__ import annotations

import math

from ..text import listed, share
from ..trial.advice import Advice, Number, Tried

#: Said where no change keeps every limit.
KEEP_OUT = "None of these keeps every limit with this much water: keep the water out. Flashings, joints, windows first."
#: A change is not heard of as one that harms where the number that rises stays below this share of its limit.
HEARD = 0.5


def what_to_change(advice: Advice) -> list[str]:
    """Return what to change, the most important first; what is advised makes nothing that is judged worse."""
    now, good = advice.now, advice.advised
    if not advice.tried:
        return ["Nothing in it could be changed for a try. Change the case file and run it again."]
    out = []
    dry = [n.title for n in now.dry if n.decides and n.verdict == "exceeded"]
    if dry and now.wet is not now.dry:
        out.append(f"As it is, a limit is passed even if no water gets in: {listed(dry)}. That comes first.")
    if now.passes:
        out.append("Nothing has to be changed: every limit that is judged is kept.")
        if good:
            out.append(f"More margin would come with {good[0].words}{effect(good[0], now)}.")
    elif advice.smallest is not None:
        one = advice.smallest
        out.append(f"The smallest change that keeps every limit: {one.words}{effect(one, now)}.")
        if good and good[0] is not one and good[0].load < one.load - 0.05:
            out.append(f"The most margin: {good[0].words}{effect(good[0], now)}.")
    else:
        out.append(KEEP_OUT if now.wet is not now.dry else "None of these keeps every limit.")
        if good:
            out.append(f"What helps most, and harms nothing: {good[0].words}{effect(good[0], now)}. It is not enough.")
    harm = harmful(advice)
    if harm is not None:
        out.append(f"What to leave alone: {harm.words}. It makes worse: {listed(harm.worse[:3])}.")
    return out


def effect(tried: Tried, now: Tried) -> str:
    """Return what a change does to the number that is nearest to its limit now, and to the drying."""
    pairs = [
        (before, after)
        for befores, afters in ((now.wet, tried.wet), (now.dry, tried.dry))
        for before in befores
        for after in afters
        if before.criterion == after.criterion and before.decides and before.limit > 0.0
    ]
    told = [p for p in pairs if p[1].value < p[0].value and _of(p[0]) != _of(p[1])]
    worst = max(told, key=lambda p: p[0].value / p[0].limit, default=None)
    said = []
    if worst is not None:
        said.append(f"{worst[0].title} at {_of(worst[1])} of its limit, instead of {_of(worst[0])}")
    if not math.isnan(tried.days_to_90_percent_dry):
        here, there = span(tried), span(now)
        if here != there:
            said.append(f"nine tenths of the water gone {here}, instead of {there.removeprefix('in ')}")
    return f": {'; '.join(said)}" if said else ""


def _of(number: Number) -> str:
    return f"{100.0 * number.value / number.limit:.0f} %"


def span(tried: Tried) -> str:
    """Return how long nine tenths of the water take to leave."""
    if math.isnan(tried.days_to_90_percent_dry):
        return f"not within the run ({share(max(tried.remaining, 0.0))} left)"
    return f"in {tried.days_to_90_percent_dry:.0f} days"


def harmful(advice: Advice) -> Tried | None:
    """Return the change that raises a number that decides the most, where that comes near its limit."""

    def rise(t: Tried) -> float:
        rises = [0.0]
        for before, after in ((advice.now.dry, t.dry), (advice.now.wet, t.wet)):
            was = {n.criterion: n.value for n in before}
            rises += [
                (n.value - was[n.criterion]) / n.limit
                for n in after
                if n.decides and n.criterion in was and n.limit > 0.0 and n.value > HEARD * n.limit
            ]
        return max(rises)

    worst = max((t for t in advice.tried if not t.harmless), key=rise, default=None)
    return worst if worst is not None and rise(worst) > 0.05 else None


def rows(advice: Advice) -> list[tuple[str, ...]]:
    """Return the table of what was tried: words, drying, share inward, what is passed, what gets worse."""
    out: list[tuple[str, ...]] = []
    for t in (advice.now, *advice.tried):
        dry = "–" if math.isnan(t.remaining) else span(t).removeprefix("in ")
        inward = "–" if math.isnan(t.inward) or t.remaining > 0.9 else share(min(max(t.inward, 0.0), 1.0))
        worse = ", ".join(t.worse) or ("–" if t is advice.now else "nothing")
        out.append((t.words, dry, inward, ", ".join(t.exceeded) or "none", worse))
    return out


#: Heads of that table.
HEADS = ("what is tried", "nine tenths gone in", "left inward", "limits passed", "what gets worse")
