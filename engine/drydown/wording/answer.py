"""The answer of a run or of a dry-out trial, in plain words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..criteria import Place, of_trial
from ..text import counted_from, day, layers_named, paragraph, plain, share, span, table, without_size
from .built_in import built_in_words
from .findings import findings_table, findings_words, limits_changed, sources
from .loads import brought
from .unknown import unjudged, unknown_words
from .verdict import does_it_dry, does_it_stay_sound, is_it_sound, remaining_of_last

if TYPE_CHECKING:
    import xarray as xr

    from ..case.case import Case
    from ..case.wetting import Wetting
    from ..criteria import Finding
    from ..trial.unknown import Unknown

CAUTION = (
    "Caution: damp can bring mould and rot. This is advice, not a licence: the answer is only as good as what "
    "went in, and it is of one dimension: studs, corners, and leaks that spread are not in it. Local codes, "
    "licensed practice and the makers' instructions come first."
)


def event(w: Wetting) -> str:
    """Return a wetting in words."""
    edge = "" if w.place == "whole" else f"the {w.place} edge of "
    when = f"on {day(w.start)}{' and again every year' if w.yearly else ''}, over {span(w.duration)}"
    return f"{plain(w.amount)} kg/m2 of water got into {edge}'{w.layer}' {when}"


def when_gone(trial: xr.Dataset) -> str:
    """Return how long half and nine tenths of the water of a trial took to leave."""
    began = counted_from(trial.attrs)
    again = f", counted from the last time, {day(began)}" if began > np.datetime64(trial.attrs["began"]) else ""

    def after(days: float) -> str:
        whole = round(days)
        return f"after {whole} day{'' if whole == 1 else 's'} ({day(began + np.timedelta64(whole, 'D'))})"

    half, tenth = (float(trial.attrs[k]) for k in ("days_to_50_percent_dry", "days_to_90_percent_dry"))
    if math.isnan(half):
        if remaining_of_last(trial) > 0.9995:
            return "By the end of the run none of it had left"
        gone = share(1.0 - remaining_of_last(trial))
        return f"By the end of the run {'' if gone.startswith('less') else 'only '}{gone} of it had left"
    if math.isnan(tenth):
        return f"Half of it had left {after(half)}, but nine tenths had not by the end of the run{again}"
    return f"Half of it had left {after(half)}, nine tenths {after(tenth)}{again}"


def still_there(trial: xr.Dataset) -> str:
    """Return how much of the water of a trial is still there at its end."""
    end, remaining = day(trial["time"].values[-1]), remaining_of_last(trial)
    if remaining > 1.005:
        kept = float(trial.attrs["remaining"]) * float(trial.attrs["amount"])
        return f"At the end, on {end}, {plain(kept)} kg/m2 are still there, more than got in the last time"
    return f"At the end, on {end}, {share(remaining)} of it is still there"


def which_way(trial: xr.Dataset) -> str:
    """Return to which side the water of a trial left."""
    inward, remaining = float(trial.attrs["share_inward"]), remaining_of_last(trial)
    if remaining > 0.995 or math.isnan(inward):
        return "Next to none of it has left"
    if -0.0005 <= inward <= 1.0005:
        there, here = _parts(inward)
        return f"Of what left, {there} went outward and {here} inward"
    way, other, much = ("outward", "inside", -inward) if inward < 0.0 else ("inward", "outside", inward - 1.0)
    return (
        f"All of it left {way}; through the {other} it gave off less, or took up more, than "
        f"without the water, by {share(much)} of what left"
    )


def _parts(inward: float) -> tuple[str, str]:
    """Return the shares that went outward and inward, which add up as they are written."""
    small = min(max(min(inward, 1.0 - inward), 0.0), 0.5)
    digits = 0 if small >= 0.0095 else 1
    less, more = f"{100.0 * small:.{digits}f} %", f"{100.0 - round(100.0 * small, digits):.{digits}f} %"
    if small < 0.0005:
        less, more = ("none of it", "all of it") if small < 1e-6 else ("less than 0.1 %", "nearly all")
    return (more, less) if inward < 0.5 else (less, more)


def on_its_way(trial: xr.Dataset) -> str:
    """Return which other layer held most of the water for a time; empty where none held a twentieth."""
    wetted = layers_named(trial.attrs["wetted_layers"], trial["layer"].values)
    others = [name for name in trial["layer"].values.tolist() if name not in wetted]
    if not others:
        return ""
    most = trial["excess_of_layer"].sel(layer=others).max("time").values
    if most.max() < 0.05 * float(trial.attrs["amount"]):
        return ""
    # of doses that come back every year more may stand in a layer than one of them brings
    amount = float(trial.attrs["amount"])
    of = "what got in over the years" if float(trial.attrs.get("last_dose", amount)) < 0.999 * amount else "it"
    return f"For a time up to {plain(most.max(), 2)} kg/m2 of {of} was in '{others[int(most.argmax())]}'"


def trial_answer(
    trial: xr.Dataset,
    case: Case,
    before: Sequence[Finding] = (),
    after: Sequence[Finding] = (),
    more: Sequence[str] = (),
    sure: Sequence[str] = (),
    limits: Mapping[str, float] | None = None,
    weathered: Sequence[Place] = (),
    unknown: Sequence[Unknown] = (),
    in_full: bool = True,
) -> str:
    """Return the answer of a dry-out trial.

    Parameters
    ----------
    trial : Dataset
        Of `drydown.dryout`.
    case : Case
        What was run.
    before, after : sequence of Finding
        What the criteria find without the water and with it; empty: not asked.
    more, sure : sequence of str
        Further paragraphs of the answer, and on how sure it is.
    limits : mapping, optional
        Limits that the case file has set.
    weathered : sequence of Place
        Of `drydown.criteria.exposed`.
    unknown : sequence of Unknown
        Of `drydown.trial.unknown.unknowns`; said before the answer.
    in_full : bool
        With the account of the water, how it was computed, and the sources.
    """
    a = trial.attrs
    wetted = [w.layer for w in case.wettings]
    before, after = of_trial(before, after, wetted)
    sentences = [
        *(event(w) for w in case.wettings),
        when_gone(trial),
        which_way(trial),
        on_its_way(trial),
        still_there(trial),
    ]
    closed = f"The water is counted, not estimated: its balance closes to {a['closure_max']:.1g} kg/m2."
    lines = [paragraph(does_it_dry(trial))]
    if after:
        days = float((case.end - case.start) / np.timedelta64(1, "D"))
        lines.append(paragraph(does_it_stay_sound(before, after, wetted, days, unjudged(unknown))))
    lines += ["", *(paragraph(s + ".") for s in sentences if s), ""]
    if after:
        lines += [findings_table(after, before, weathered), *limits_changed(limits or {}), ""]
        lines += _told(after)
    lines += [line for part in more for line in (part, "")]
    account = [paragraph(closed), *sure, *how(a, "with_")] if in_full else [*sure]
    return _whole([case.name, ""], unknown, lines, account, a, after, in_full)


def _told(findings: Sequence[Finding]) -> list[str]:
    told = findings_words(findings)
    return [*told, ""] if told else []


def _whole(
    head: Sequence[str],
    unknown: Sequence[Unknown],
    lines: Sequence[str],
    account: Sequence[str],
    attrs: Mapping[str, Any],
    findings: Sequence[Finding],
    in_full: bool,
) -> str:
    """Return an answer in its order: head, what is not known, the answer, the account, warnings, sources, caution."""
    last = [*_sources(findings), ""] if in_full else ["Sources, and how it was computed: --sources.", ""]
    return "\n".join([*head, *_unknown(unknown), *lines, *account, *warned(attrs), *last, paragraph(CAUTION)])


def _unknown(unknown: Sequence[Unknown]) -> list[str]:
    told = [paragraph(f"Not known: {text}") for text in unknown_words(unknown)]
    return [*told, ""] if told else []


def _sources(findings: Sequence[Finding]) -> list[str]:
    return ["Criteria, with their sources:", *sources(findings)] if findings else []


def run_answer(
    results: xr.Dataset,
    case: Case,
    findings: Sequence[Finding] = (),
    limits: Mapping[str, float] | None = None,
    weathered: Sequence[Place] = (),
    unknown: Sequence[Unknown] = (),
    in_full: bool = True,
    more: Sequence[str] = (),
) -> str:
    """Return what a run shows: humidity and water of every layer, and what the criteria find.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    case : Case
        What was run.
    findings : sequence of Finding
        Empty: not asked.
    limits : mapping, optional
        Limits that the case file has set.
    weathered : sequence of Place
        Of `drydown.criteria.exposed`.
    unknown : sequence of Unknown
        Of `drydown.trial.unknown.unknowns`; said before the answer.
    in_full : bool
        With the account of the water, how it was computed, and the sources.
    more : sequence of str
        Further paragraphs.
    """
    rows = [
        ("layer, from outside to inside", "thickness", "humidity: mean", "highest", "water: first", "last"),
        ("", "mm", "%", "%", "kg/m2", "kg/m2"),
    ]
    place = results["layer_of_cell"].values
    for i, layer in enumerate(case.assembly.layers):
        cells = np.flatnonzero(place == layer.name)
        humidity = results["relative_humidity"].isel(cell=cells)
        water = results["layer_water"].isel(layer=i).values
        mean = humidity.weighted(results["width"].isel(cell=cells)).mean().item()
        percent = (f"{100 * mean:.0f}", f"{100 * humidity.max().item():.0f}")
        rows.append(
            (without_size(layer.name), plain(1e3 * layer.thickness), *percent, f"{water[0]:.3f}", f"{water[-1]:.3f}")
        )
    a = results.attrs
    closed = f"The balance of the water closes to {abs(a['water_closure_total']):.1g} kg/m2 over the run."
    days = float((case.end - case.start) / np.timedelta64(1, "D"))
    first = [paragraph(is_it_sound(findings, days, unjudged(unknown))), ""] if findings else []
    lines = [*first, table(rows), ""]
    offered, lost = (float(results[k].values[-1]) for k in ("rain_offered", "rain_run_off"))
    if offered > 0.0:
        lines.append(paragraph(f"Driving rain on it: {offered:.0f} kg/m2; {lost:.0f} kg/m2 ran off."))
    lines += brought(results)
    if findings:
        lines += [
            *([""] if lines[-1] else []),
            findings_table(findings, None, weathered),
            *limits_changed(limits or {}),
            "",
        ]
        lines += _told(findings)
    lines += [line for part in more for line in (part, "")]
    account = [paragraph(closed), *how(a)] if in_full else []
    head = [case.name, f"{day(case.start)} to {day(case.end)}", ""]
    return _whole(head, unknown, lines, account, a, findings, in_full)


def built_in_answer(
    found: xr.Dataset,
    case: Case,
    before: Sequence[Finding] = (),
    after: Sequence[Finding] = (),
    limits: Mapping[str, float] | None = None,
    weathered: Sequence[Place] = (),
    unknown: Sequence[Unknown] = (),
) -> str:
    """Return the answer on built-in water.

    Parameters
    ----------
    found : Dataset
        Of `drydown.trial.built_in.built_in`.
    case : Case
        What was run.
    before, after : sequence of Finding
        What the criteria find at the usual moisture and as it is built; empty: not asked.
    limits : mapping, optional
        Limits that the case file has set.
    weathered : sequence of Place
        Of `drydown.criteria.exposed`.
    unknown : sequence of Unknown
        Of `drydown.trial.unknown.unknowns`; said before the answer.
    """
    wet = layers_named(str(found.attrs["wet_layers"]), found["layer"].values)
    before, after = of_trial(before, after, wet)
    first, *rest = built_in_words(found)
    lines = [case.name, "", *_unknown(unknown), first]
    if after:
        days = float((case.end - case.start) / np.timedelta64(1, "D"))
        lines.append(paragraph(does_it_stay_sound(before, after, wet, days, unjudged(unknown))))
    lines += ["", *rest, ""]
    if after:
        lines += [findings_table(after, before, weathered), *limits_changed(limits or {}), "", *_told(after)]
    return "\n".join([*lines, paragraph(CAUTION)])


def how(attrs: Mapping[str, Any], front: str = "") -> list[str]:
    """Return how a run was computed, and what its notes say."""
    cells, steps, tolerance, reading = (attrs[front + k] for k in ("cells", "steps", "tolerance", "film_reading"))
    notes = front + "note_"
    return [
        paragraph(f"Computed in {cells} cells and {steps} steps, tolerance {tolerance:g}, films read as '{reading}'."),
        *(
            paragraph(f"{key.removeprefix(notes).replace('_', ' ')}: {text}", "  ")
            for key, text in attrs.items()
            if key.startswith(notes)
        ),
    ]


def warned(attrs: Mapping[str, Any]) -> list[str]:
    """Return the warnings of a result, each once."""
    with_it = [str(text) for key, text in attrs.items() if key.split(": ")[-1] in ("warning", "with_warning")]
    # of a trial whose wetted run has none: those of the other run
    found = dict.fromkeys(with_it or [str(text) for key, text in attrs.items() if key == "without_warning"])
    return [paragraph(f"Warning: {text}.") for text in found]
