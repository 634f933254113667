"""What criteria find, in sentences and tables; made of the structure of a finding and the words of its criterion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ..criteria import Finding, Place
from ..criteria.model import VERDICTS, Verdict, figure
from ..materials.model import Source
from ..text import day, paragraph, plain, table

#: What a criterion calls the place of all layers together.
WHOLE = "whole assembly"
#: What a verdict is called where it is that of a quick look, which does not decide.
LOOKED: dict[Verdict, str] = {"fine": "below", "watch": "near", "exceeded": "above", "not applicable": "not judged"}
#: What a verdict is called on a page.
VERDICT = {"fine": "fine", "watch": "near its limit", "exceeded": "limit passed", "not applicable": "not judged"}


def said(value: Any) -> str:
    """Return a fact of a finding as people read it: a number with its unit, a date, a place, a word."""
    if isinstance(value, tuple) and not isinstance(value, Place):
        number, unit, *limit = value
        return plain(number, 2) if unit == "number" else figure(float(number), unit, *limit)
    if isinstance(value, np.datetime64):
        return day(value)
    return str(value)


def sentence(f: Finding) -> str:
    """Return what a criterion finds, in a sentence.

    A criterion whose terms have nothing for the case is told by its title, value and limit.
    """
    facts: dict[str, Any] = {
        **f.facts,
        "value": f.value_text,
        "limit": f.limit_text,
        "place": f.place,
        "when": f.when,
        "layer": _layer(f.place),
    }
    template = f.terms.cases.get(f.case)
    if template is None:
        if f.verdict == "not applicable":
            return f"{_capital(f.title)}: not judged here."
        where = f" in {f.place}" if f.place is not None else ""
        when = f", on {day(f.when)}" if f.when is not None else ""
        return f"{_capital(f.title)}: {f.value_text}{where}{when}; the limit is {f.limit_text}."
    return template.format(**{k: said(v) for k, v in facts.items()}) + "."


def _layer(place: Place | None) -> str:
    if place is None:
        return ""
    return f"the {WHOLE}" if place.layer == WHOLE else f"'{place.layer}'"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def gravest_first(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings by how grave they are, the gravest first."""
    return sorted(findings, key=lambda f: -f.severity)


def findings_table(
    after: Sequence[Finding], before: Sequence[Finding] | None = None, weathered: Sequence[Place] = ()
) -> str:
    """Return findings as a table, those without the water beside those with it; what does not apply is left out.

    `weathered` is what is left to the weather (`drydown.criteria.exposed`).
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
        own = dry.get(f.criterion)
        without = [own.value_text if own else "-"] if before is not None else []
        worse = own is not None and VERDICTS.index(own.verdict) > VERDICTS.index(f.verdict)
        word = LOOKED if f.screening else {v: v for v in VERDICTS}
        verdict = f"{word[own.verdict]} without it" if own is not None and worse else word[f.verdict]
        rows.append([("  " if f.screening else "") + f.title, *without, f.value_text, f.limit_text, verdict])
    if len(rows) == 1:
        return "No criterion applies."
    lines = [table(rows)]
    if any(f.screening and f.verdict != "not applicable" for f in after):
        lines.append("Set in: quick looks, which do not decide.")
    for place in weathered:
        lines.append(f"Not judged, but for frost: {place}, which meets the rain.")
    return "\n".join(lines)


def findings_words(findings: Sequence[Finding]) -> list[str]:
    """Return what is past a limit or near it, in sentences, each with its caution."""
    told = [f for f in findings if not f.screening and f.verdict in ("exceeded", "watch")]
    told.sort(key=lambda f: (f.verdict == "watch", -f.severity))
    lines = [paragraph(f"- {sentence(f)}", " ").lstrip() for f in told]
    cautions = dict.fromkeys(f.caution for f in told if f.caution and f.verdict == "exceeded")
    return lines + [paragraph(text) for text in cautions]


def cited(s: Source) -> str:
    """Return a source in a line."""
    year = f", {s.year}" if s.year else ""
    where = f", {s.where}" if s.where else ""
    note = f"; {s.note}" if s.note else ""
    return f"{s.authors}{year}{where} ({s.kind}{note})"


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
