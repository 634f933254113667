"""The verdict in plain words: does it dry, to which side, is anything harmed, what would change it.

Words of the verdict and their bounds are those of `drydown.wording.verdict`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from ..criteria import counted
from ..text import counted_from, day, layers_named, listed, plain
from .answer import on_its_way, still_there, when_gone, which_way
from .findings import gravest_first, sentence
from .verdict import USED, came_again, pace, parts_left, remaining_of_last, which_side

if TYPE_CHECKING:
    import xarray as xr


@dataclass(frozen=True)
class Story:
    """The verdict, from the headline to the detail.

    Parameters
    ----------
    headline : str
        The answer in one sentence.
    lead : tuple of str
        Sentences below it.
    facts : tuple of (str, str)
        A number and what it is.
    drying, sides, harm : tuple of str
        Paragraphs that answer: does it dry; to which side; is anything harmed.
    outward, inward, kept : float
        [kg/m2]; NaN without a trial.
    """

    headline: str
    lead: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    drying: tuple[str, ...]
    sides: tuple[str, ...]
    harm: tuple[str, ...]
    outward: float = math.nan
    inward: float = math.nan
    kept: float = math.nan
    amount: float = field(default=math.nan)


def about(days: float) -> str:
    """Return a length of time as people say it: 12 days, about 8 months, about 2 years."""
    if days < 60.0:
        number = round(days)
        return f"{number} day" if number == 1 else f"{number} days"
    months = round(days / 30.44)
    if months < 22:
        return f"about {months} months"
    return f"about {plain(days / 365.25, 2)} years"


def tell(
    trial: xr.Dataset | None,
    findings: Sequence[Any] = (),
    before: Sequence[Any] = (),
    results: xr.Dataset | None = None,
) -> Story:
    """Return the verdict.

    Parameters
    ----------
    trial : Dataset or None
        Of `drydown.dryout`.
    findings : sequence of Finding
        Of the run (with the wetting, where there is one).
    before : sequence of Finding
        Of the same run without the wetting.
    results : Dataset, optional
        Of `drydown.simulate`; speaks where there is no trial.
    """
    wetted = layers_named(trial.attrs["wetted_layers"], trial["layer"].values) if trial is not None else []
    judged = counted(findings, wetted)
    harmed = [f for f in judged if f.verdict == "exceeded"]
    watched = [f for f in judged if f.verdict == "watch"]
    told = _harm(judged, before, trial is not None)
    if trial is None:
        return _untried(results, harmed, watched, findings, told)
    a = trial.attrs
    tenth, half = float(a["days_to_90_percent_dry"]), float(a["days_to_50_percent_dry"])
    amount = float(a["amount"])
    left = trial["left"].values[-1]
    outs = trial["outward"].values.astype(bool)
    outward, inward = float(left[outs].sum()), float(left[~outs].sum())
    facts = [
        (_days(half), "until half of the water was gone"),
        (_days(tenth), "until nine tenths were gone"),
    ]
    if abs(outward + inward) > 0.005 * amount:
        facts.append((f"{_percent(outward, inward)} : {_percent(inward, outward)}", "per cent left outward : inward"))
    layers = a["wetted_layers"]
    began = np.datetime64(a["began"])
    when = f"on {day(began)}" if counted_from(a) == began else f"from {day(began)} on, year by year"
    lead = f"The test: {litres(amount)} got into {layers} {when}."
    dry = [f for f in counted(before, wetted) if f.verdict == "exceeded"]
    first = worst(dry) or worst(harmed)
    rest = [f.harm for f in gravest_first(harmed) if first is None or f.criterion != first.criterion]
    also = f"Besides, {listed(rest)}." if rest else ""
    if not harmed and findings:
        also = (
            "It comes near its limits meanwhile, but goes over none."
            if watched
            else "Nothing in it goes over a limit meanwhile."
        )
    drying = [when_gone(trial) + ".", still_there(trial).replace("kg/m2", "kg/m²") + "."]
    between = on_its_way(trial)
    if between:
        drying.append(between.replace("kg/m2", "kg/m²") + ".")
    return Story(
        _headline(tenth, half, remaining_of_last(trial), came_again(trial), outward, inward, harmed, dry),
        tuple(x for x in (f"{lead} {which_way(trial)}.", also) if x),
        tuple(facts),
        tuple(drying),
        tuple(_sides(trial, outward, inward)),
        tuple(told),
        outward,
        inward,
        float(trial["excess"].values[-1]),
        amount,
    )


def _days(days: float) -> str:
    return "not reached" if math.isnan(days) else f"{days:.0f} days"


def _percent(one: float, other: float) -> int:
    return round(100.0 * min(max(one / (one + other), 0.0), 1.0))


def _headline(
    tenth: float,
    half: float,
    kept: float,
    again: bool,
    outward: float,
    inward: float,
    harmed: list[Any],
    before: Sequence[Any],
) -> str:
    """Return the answer in one sentence: drying, and the gravest of what is harmed."""
    side = which_side(inward / (outward + inward) if outward + inward > 0.0 else math.nan)
    grave, dry = worst(harmed), worst(before)
    then = f"even without that water {dry.harm}" if dry else grave.harm if grave else ""
    how, long = pace(half, tenth), about(tenth) if not math.isnan(tenth) else ""
    if how == "no":
        first = f"Not within the run: {parts_left(kept, again)} by its end{f', {side}' if kept < 0.9 else ''}"
        return f"{first}, and {then}." if then else f"{first}."
    if how == "in part":
        first = f"Only in part: {parts_left(kept, again)} by the end of the run, {side}"
        return f"{first}, and {then}." if then else f"{first}."
    if how == "hardly":
        first = f"Hardly: it takes {long} to dry, {side}"
        return f"{first}, and {then}." if then else f"{first}."
    if dry or (then and how == "quickly"):
        return f"It dries {how}, {side}, in {long}, but {then}."
    if then:
        return f"Not soon enough: it dries slowly, {side}, in {long}, and {then} meanwhile."
    if how == "quickly":
        return f"Yes: it dries quickly, {side}, in {long}."
    return f"Yes, but slowly: it dries {side}, in {long}."


def worst(harmed: Sequence[Any]) -> Any:
    """Return the gravest among findings; None where there is none."""
    return gravest_first(harmed)[0] if harmed else None


def _sides(trial: xr.Dataset, outward: float, inward: float) -> list[str]:
    total = outward + inward
    if total < 0.005 * float(trial.attrs["amount"]):
        return ["Next to nothing left to either side. The layers on both sides of the water hold it in."]
    out = [
        f"{max(outward, 0.0):.2f} kg/m² left to the outside, {max(inward, 0.0):.2f} kg/m² to the room.",
    ]
    x = inward / total
    if x < USED:
        out.append(
            "It relies on its outer side. Whatever is added or painted on outside must stay open to vapour; "
            "on the inner side little would change."
        )
    elif x > 1.0 - USED:
        out.append(
            "It relies on its inner side. A vapour-tight paint, tiling or foil on the inside would shut its only "
            "way out."
        )
    else:
        out.append(
            "Both sides are at work. A tight layer added on either side would take its share of the drying away."
        )
    return out


def _harm(findings: Sequence[Any], before: Sequence[Any], tried: bool) -> list[str]:
    """Return what is harmed, and whether it would have been without the water."""
    told = [f for f in findings if f.verdict != "not applicable"]
    if not findings:
        return ["Mould, rot and other damage were not judged on this page."]
    if not told:
        return ["No criterion of damage applies to it, or the results do not say enough about its materials."]
    bad = gravest_first([f for f in told if f.verdict == "exceeded"])
    near = gravest_first([f for f in told if f.verdict == "watch"])
    was = {f.criterion: f.verdict for f in before}
    out = []
    for f in (*bad, *near):
        words = sentence(f).replace("kg/m2", "kg/m²")
        if tried and f.criterion in was:
            words += {
                "exceeded": " This is so without the water, too.",
                "watch": f" Without the water it comes near its limit{', too' if f in near else ''}.",
                "fine": " Without the water it stays well below its limit.",
            }.get(was[f.criterion], "")
        out.append(words)
    if not out:
        out.append("Nothing in it reaches a limit for mould, rot or other damage that was judged.")
    return out


def put_in(results: xr.Dataset | None) -> list[tuple[str, float, np.datetime64]]:
    """Return layer, amount [kg/m2] and first date of every wetting that a run has in it."""
    if results is None or "water_added" not in results:
        return []
    added = results["water_added"].values
    out = []
    for j, name in enumerate(str(n) for n in results["wetting"].values):
        if added.shape[1] > j and added[-1, j] > 0.0:
            first = int(np.argmax(added[:, j] > 0.0))
            out.append((name.split(": ", 1)[-1], float(added[-1, j]), results["time"].values[first]))
    return out


def _untried(
    results: xr.Dataset | None, harmed: list[Any], watched: list[Any], findings: Sequence[Any], told: list[str]
) -> Story:
    """Return the verdict on a run alone, which may have water of wettings in it."""
    wettings = put_in(results)
    when = "With the water that got in" if wettings else "In use"
    if harmed:
        headline = f"{when}, it gets too damp: {worst(harmed).harm}."
    elif watched:
        headline = f"{when}, it stays within its limits, but comes near them."
    elif findings:
        headline = f"{when}, nothing in it reaches a limit that was judged."
    else:
        headline = f"{when}: how damp it gets."
    lead = tuple(f"{litres(amount)} got into {layer} on {day(date)}." for layer, amount, date in wettings)
    if wettings:
        ask = (
            "How much of that water left, and to which side, this page does not say: that takes a second run without "
            "the water."
        )
    else:
        ask = (
            "No water is put in on trial here, so this page does not say whether such water would leave again. Whoever "
            "made it can have that counted as well."
        )
    facts = []
    if results is not None:
        water = results["layer_water"].isel(time=[0, -1]).values.sum(axis=1)
        facts = [
            (f"{plain(water[0])} kg/m²", "of water in it at the start"),
            (f"{plain(water[1])} kg/m²", "at the end"),
        ]
    return Story(headline, lead, tuple(facts), (ask,), (), tuple(told))


def litres(amount: float) -> str:
    """Return an amount of water [kg/m2] as people see it before them."""
    number = plain(amount)
    return f"{number} kg/m² of water, {number} litre{'' if number == '1' else 's'} on every square metre,"
