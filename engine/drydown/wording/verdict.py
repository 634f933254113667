"""The verdict in plain words: does it dry, does it stay sound, what the water did."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ..criteria import Finding, counted
from ..text import listed, paragraph, share, table

if TYPE_CHECKING:
    import xarray as xr

#: Days within which nine tenths have left "quickly", and "slowly". Bounds of words, ours, not those of a standard.
QUICK, YEAR = 90.0, 365.0
#: Share of what left from which a side counts.
USED = 0.05
#: What an exceeded criterion means, for people who build, under any limit that a case sets; the gravest first.
DAMAGE_WORDS = {
    "decay": "rot can set in",
    "mould": "mould grows too much",
    "accumulation": "water gathers from year to year",
    "frost": "frost can burst what is full of water",
    "fibre saturation": "wood gets soaked",
    "wood moisture": "wood stays too wet for too long",
    "condensation": "too much free water stands in it",
    "corrosion": "metal can rust",
}


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


def damage(criterion: str) -> str:
    """Return what an exceeded criterion means; a criterion of a plugin is named."""
    return DAMAGE_WORDS.get(criterion, f"the limit on {criterion} is passed")


def gravest_first(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings in the order of `DAMAGE_WORDS`, those of plugins last."""
    order = list(DAMAGE_WORDS)
    return sorted(findings, key=lambda f: order.index(f.criterion) if f.criterion in order else len(order))


def does_it_dry(trial: xr.Dataset) -> str:
    """Return whether it dries, in one line."""
    a = trial.attrs
    half, tenth, remaining = (float(a[k]) for k in ("days_to_50_percent_dry", "days_to_90_percent_dry", "remaining"))
    side = which_side(float(a["share_inward"]))
    left = f"{share(1.0 - remaining)} of the water left, {side}"
    after = f"{side}: nine tenths of the water have left after {tenth:.0f} days."
    words = {
        "no": "No: by the end of the run most of the water is still there.",
        "in part": f"Only in part: {left}; the rest is still there at the end of the run.",
        "quickly": f"Yes, quickly, {after}",
        "slowly": f"Yes, but slowly, {after}",
        "hardly": f"Hardly, {after}",
    }
    return f"Does it dry? {words[pace(half, tenth)]}"


def does_it_stay_sound(
    before: Sequence[Finding], after: Sequence[Finding], wetted: Sequence[str] = (), days: float = math.inf
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
    """

    def said(findings: Sequence[Finding], verdict: str) -> list[str]:
        of = gravest_first([f for f in counted(findings, wetted) if f.verdict == verdict])
        return [damage(f.criterion) for f in of]

    dry, wet = said(before, "exceeded"), said(after, "exceeded")
    new = [w for w in wet if w not in dry]
    if dry:
        also = f" With it, {listed(new)} as well." if new else ""
        return f"Does it stay sound? Not even without the water: {listed(dry)}.{also}"
    if new:
        return f"Does it stay sound? Not with this water: {listed(new)}. Without it every limit holds."
    near = [f.title for f in counted(after, wetted) if f.verdict == "watch"]
    if near:
        return f"Does it stay sound? Within its limits, but to be watched: {listed(near)}."
    if not any(f.verdict == "fine" for f in after):
        return "Does it stay sound? No criterion applies to these layers or to so short a run."
    if days < YEAR:
        return f"Does it stay sound? Within every limit, as far as {days:.0f} days can tell; a year and more tell it."
    return "Does it stay sound? Yes, within every limit."


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
