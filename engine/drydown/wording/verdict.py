"""The verdict in plain words: does it dry, does it stay sound."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..criteria import Finding, Severity, counted
from ..text import listed, share
from .findings import gravest_first

if TYPE_CHECKING:
    import xarray as xr

#: Days within which nine tenths have left "quickly", and "slowly". Bounds of words, ours, not those of a standard.
QUICK, YEAR = 90.0, 365.0
#: Share of what left from which a side counts.
USED = 0.05
SOUND = "Does it stay sound?"


def pace(half: float, tenth: float) -> str:
    """Return how well it dries in a word, by the days to half and to nine tenths gone; NaN: not within the run.

    One of "quickly", "slowly", "hardly", "in part", "no".
    """
    if math.isnan(half):
        return "no"
    if math.isnan(tenth):
        return "in part"
    return "quickly" if tenth <= QUICK else "slowly" if tenth <= YEAR else "hardly"


def which_side(inward: float) -> str:
    """Return the side, by the share of what left that left inward [-]; NaN: nothing left."""
    if math.isnan(inward):
        return "to no side"
    if inward < USED:
        return "outward"
    if inward > 1.0 - USED:
        return "inward"
    if inward < 0.4:
        return "mostly outward"
    return "mostly inward" if inward > 0.6 else "to both sides alike"


def remaining_of_last(trial: xr.Dataset) -> float:
    """Return what is still there at the end, as a share of the last dose: the share that the days are counted by."""
    a = trial.attrs
    return max(float(a["remaining"]) * float(a["amount"]) / float(a.get("last_dose", a["amount"])), 0.0)


def parts_left(remaining: float, again: bool = False) -> str:
    """Return how much has left: '76 % has left'; again: of what came every year that which came last is counted."""
    gone, of = 1.0 - remaining, " of what got in last" if again else ""
    return f"next to nothing{of} has left" if gone < 0.1 else f"{share(gone)}{of} has left"


def came_again(trial: xr.Dataset) -> bool:
    """Return whether water came more than once, so that days and shares are of the last time."""
    a = trial.attrs
    return float(a.get("last_dose", a["amount"])) < 0.999 * float(a["amount"])


def does_it_dry(trial: xr.Dataset) -> str:
    """Return whether it dries, in one line."""
    a = trial.attrs
    half, tenth = (float(a[k]) for k in ("days_to_50_percent_dry", "days_to_90_percent_dry"))
    side = which_side(float(a["share_inward"]))
    remaining = remaining_of_last(trial)
    days = f"{tenth:.0f} day{'' if round(tenth) == 1 else 's'}" if not math.isnan(tenth) else ""
    after = f"{side}: nine tenths of the water have left after {days}."
    left = parts_left(remaining, came_again(trial))
    words = {
        "no": f"Not within the run: {left} by its end{f', {side}' if remaining < 0.9 else ''}.",
        "in part": f"Only in part: {left} by the end of the run, {side}.",
        "quickly": f"Yes, quickly, {after}",
        "slowly": f"Yes, but slowly, {after}",
        "hardly": f"Hardly, {after}",
    }
    return f"Does it dry? {words[pace(half, tenth)]}"


def does_it_stay_sound(
    before: Sequence[Finding],
    after: Sequence[Finding],
    wetted: Sequence[str] = (),
    days: float = math.inf,
    unjudged: Sequence[str] = (),
) -> str:
    """Return whether it stays within its criteria, without the water and with it, in a few sentences.

    Parameters
    ----------
    before, after : sequence of Finding
        Without the water and with it.
    wetted : sequence of str
        Layers that the water was put into.
    days : float
        Length of the run.
    unjudged : sequence of str
        What no criterion judges (`drydown.wording.unknown.unjudged`).
    """

    def told(findings: Sequence[Finding], verdict: str) -> list[Finding]:
        return _of(findings, verdict, wetted)

    first = SOUND
    dry, wet = told(before, "exceeded"), told(after, "exceeded")
    names = {f.criterion for f in dry}
    new = [f.harm for f in wet if f.criterion not in names]
    if dry:
        also = f" With it, {listed(new)} as well." if new else ""
        return f"{first} Not even without the water: {listed([f.harm for f in dry])}.{also}"

    if new:
        without = _cautious(told(before, "watch"))
        held = (
            f"Without it {listed(without)}; no other limit is passed." if without else "Without it every limit holds."
        )
        return f"{first} Not with this water: {listed(new)}. {held}"
    return f"{first} {_beside(unjudged, _unharmed(after, told(after, 'watch'), days))}"


def _beside(unjudged: Sequence[str], rest: str) -> str:
    """Return what is said of a part in which nothing was found, after what is not judged in it."""
    return f"Not judged: {listed(unjudged)}. Otherwise: {rest.removeprefix('Yes, ')}" if unjudged else rest


def is_it_sound(findings: Sequence[Finding], days: float = math.inf, unjudged: Sequence[str] = ()) -> str:
    """Return whether a run stays within its criteria, in a few sentences.

    Parameters
    ----------
    findings : sequence of Finding
    days : float
        Length of the run.
    unjudged : sequence of str
        As for `does_it_stay_sound`.
    """
    passed = _of(findings, "exceeded")
    if passed:
        return f"{SOUND} No: {listed([f.harm for f in passed])}."
    return f"{SOUND} {_beside(unjudged, _unharmed(findings, _of(findings, 'watch'), days))}"


def _of(findings: Sequence[Finding], verdict: str, wetted: Sequence[str] = ()) -> list[Finding]:
    """Return the findings that count and have a verdict, the gravest first."""
    return gravest_first([f for f in counted(findings, wetted) if f.verdict == verdict])


def _is_over(f: Finding) -> bool:
    """Return whether a finding to be watched is over a cautious limit."""
    return f.severity <= Severity.CAUTIOUS and f.value > f.limit


def _cautious(watched: Sequence[Finding]) -> list[str]:
    return [f.harm for f in watched if _is_over(f)]


def _unharmed(findings: Sequence[Finding], watched: Sequence[Finding], days: float) -> str:
    """Return the words on a part that passes no limit of damage."""
    over = _cautious(watched)
    near = [f.title for f in watched if not _is_over(f)]
    also = f" To be watched: {listed(near)}." if near else ""
    if over:
        return f"No limit that tells of damage is passed, but {listed(over)}.{also}"
    if near:
        return f"Yes, within its limits.{also}"
    if not any(f.verdict == "fine" for f in findings):
        return "No criterion applies to these layers or to so short a run."
    if days < YEAR:
        return f"Within every limit, as far as {days:.0f} days can tell; a year and more tell it."
    return "Yes, within every limit."
