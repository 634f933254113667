"""The verdict in plain words: does it dry, does it stay sound, what the water did."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from .criteria import Finding, counted
from .words import paragraph, share, table

if TYPE_CHECKING:
    import xarray as xr

#: Days within which what got in should have left again.
YEAR = 365.0
#: What is wrong, by criterion, in words that finish "with this water ..." and "it cannot be said that ...".
WRONG = {
    "mould": "mould grows too much",
    "wood moisture": "wood stays too wet for too long",
    "decay": "rot can set in",
    "condensation": "too much free water stands in a layer",
    "accumulation": "the wall gathers water from year to year",
    "frost": "masonry freezes too wet too often",
}


def does_it_dry(trial: xr.Dataset) -> str:
    """Return whether a wall dries, in one line."""
    a = trial.attrs
    tenth, remaining, inward = (float(a[k]) for k in ("days_to_tenth", "remaining", "share_inward"))
    if math.isnan(tenth):
        if remaining > 0.5:
            return "Does it dry? No: most of the water is still there at the end of the run."
        return f"Does it dry? Too slowly: {share(remaining)} of the water is still there at the end of the run."
    side = "to both sides"
    if inward < 0.05:
        side = "outward alone"
    elif inward > 0.95:
        side = "inward alone"
    if tenth > YEAR:
        return f"Does it dry? Slowly: it takes more than a year until nine tenths have left, {tenth:.0f} days, {side}."
    return f"Does it dry? Yes, {side}: nine tenths of the water have left after {tenth:.0f} days."


def does_it_stay_sound(
    before: Sequence[Finding], after: Sequence[Finding], wetted: Sequence[str] = (), days: float = math.inf
) -> str:
    """Return whether a wall stays within its criteria, without the water and with it, in a few sentences.

    Parameters
    ----------
    before, after : sequence of Finding
        Without the water and with it.
    wetted : sequence of str
        Layers that the water was put into.
    days : float
        Length of the run.
    """

    def said(findings: Sequence[Finding], verdict: str) -> list[str]:
        of = [f for f in counted(findings, wetted) if f.verdict == verdict]
        return [WRONG.get(f.criterion, f"the {f.title} passes its limit") for f in of]

    dry, wet = said(before, "exceeded"), said(after, "exceeded")
    new = [w for w in wet if w not in dry]
    if dry:
        also = f" With it, {_and(new)} as well." if new else ""
        return f"Does it stay sound? Not even without the water: {_and(dry)}.{also}"
    if new:
        return f"Does it stay sound? Not with this water: {_and(new)}. Without it every limit holds."
    near = [f.title for f in counted(after, wetted) if f.verdict == "watch"]
    if near:
        return f"Does it stay sound? Within its limits, but to be watched: {_and(near)}."
    if not any(f.verdict == "fine" for f in after):
        return "Does it stay sound? No criterion applies to these layers or to so short a run."
    if days < YEAR:
        return f"Does it stay sound? Within every limit, as far as {days:.0f} days can tell; a year and more tell it."
    return "Does it stay sound? Yes, within every limit."


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def findings_table(
    after: Sequence[Finding], before: Sequence[Finding] | None = None, weathered: Sequence[str] = ()
) -> str:
    """Return findings as a table, those without the water beside those with it; what does not apply is left out.

    `weathered` names the layer whose outer part is not judged (`drydown.criteria.exposed`).
    """
    dry = {f.criterion: f for f in before or ()}
    head = [
        "what the water does, at the worst place" if before is not None else "criterion, at its worst place",
        "value",
        "limit",
        "verdict",
    ]
    if before is not None:
        head[1:2] = ["without", "with it"]
    rows = [head]
    for f in after:
        if f.verdict == "not applicable":
            continue
        without = [dry[f.criterion].value_text if f.criterion in dry else "-"] if before is not None else []
        rows.append([("  " if f.screening else "") + f.title, *without, f.value_text, f.limit_text, f.verdict])
    if len(rows) == 1:
        return "No criterion applies."
    lines = [table(rows)]
    if any(f.screening and f.verdict != "not applicable" for f in after):
        lines.append("Set in: quick looks, which do not decide.")
    for name in weathered:
        lines.append(f"Not judged, but for frost: the outer 30 mm of '{name}', which meets the rain.")
    return "\n".join(lines)


def findings_words(findings: Sequence[Finding]) -> list[str]:
    """Return what is past a limit or near it, in sentences, each with its caution."""
    told = [f for f in findings if not f.screening and f.verdict in ("exceeded", "watch")]
    told.sort(key=lambda f: f.verdict == "watch")
    lines = [paragraph(f"- {f.words}", " ").lstrip() for f in told]
    cautions = dict.fromkeys(f.caution for f in told if f.caution and f.verdict == "exceeded")
    return lines + [paragraph(text) for text in cautions]


def sources(findings: Sequence[Finding]) -> list[str]:
    """Return what the criteria rest on, one line each."""
    lines = []
    for f in findings:
        if f.verdict != "not applicable":
            s = f.source
            year = f" ({s.year})" if s.year else ""
            lines.append(paragraph(f"{f.title}: {s.authors}{year}, {s.where}, {s.kind}", "  "))
    return list(dict.fromkeys(lines))


def limits_changed(limits: Mapping[str, float]) -> list[str]:
    """Return which limits the case file has changed."""
    if not limits:
        return []
    return [paragraph(f"Limits set in the case file: {', '.join(sorted(limits))}.")]
