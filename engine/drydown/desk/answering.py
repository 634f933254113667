"""The answer of a case: run as the commands run it, told as they and the page tell it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import unescape
from typing import TYPE_CHECKING, Any

from .. import figures as drawn
from ..case.case import Case
from ..casefile import CaseFile
from ..casefile.heading import heading_of
from ..criteria import assess, exposed, without_wetted, worst_of
from ..figures.courses import Followed, follow
from ..report import document as page
from ..report import fragments as fr
from ..report.pack import pack, stretch_of
from ..report.parts import cells_of, layers_of, parts_of
from ..run.simulation import simulate
from ..text import layers_named, paragraph, told
from ..trial import built_in
from ..trial.built_in import built_in_runs, wet_at_start
from ..trial.compare import Row, tried, untried
from ..trial.dryout import account, held_twins, of_both
from ..trial.judging import judge_trial
from ..trial.leaks import leak_bounds
from ..trial.unknown import unknowns
from ..units import told_in
from ..wording import page as words
from ..wording.answer import built_in_answer, run_answer, trial_answer
from ..wording.built_in import built_in_sentences
from ..wording.findings import VERDICT
from ..wording.leaks import leak_sentences, leak_words
from ..wording.lines import caution
from ..wording.story import Story, tell
from ..wording.unknown import unknown_words

if TYPE_CHECKING:
    import xarray as xr

    from ..criteria import Finding

Progress = Callable[[float], None]
#: Numbers of a trial that go to the page as they are.
NUMBERS = (
    "days_to_50_percent_dry", "days_to_90_percent_dry", "share_outward", "share_inward", "remaining", "closure_max",
    "amount",
)  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """What is known of a case.

    Parameters
    ----------
    given : CaseFile
    told : dict
        For the page.
    row : tuple
        For a comparison with others: `drydown.trial.compare.Row`.
    """

    given: CaseFile
    told: dict[str, Any]
    row: Row


def names_in(case: Case) -> list[str]:
    """Return the names that keep their letters whatever the units are."""
    materials = [layer.material.name for layer in case.assembly.layers]
    return [case.name, *(part.name for part in case.assembly.parts), *materials]


def answer_of(given: CaseFile, progress: Progress) -> Answer:
    """Run a case and tell what came of it.

    Parameters
    ----------
    given : CaseFile
    progress : callable
        Called with the fraction done.

    Raises
    ------
    InputError
        It cannot be run so.
    SimulationError
        The march could not go on.
    """
    began, worked = time.perf_counter(), time.thread_time()
    heading = heading_of(given.document, given.path)
    with told_in(heading.system, names_in(given.case)):
        made = _tried(given, progress) if given.case.wettings else _untried(given, progress)
        line = caution(heading.line)
        made.told["line"] = said(line)
        made.told["text"] += f"\n\n{told(paragraph(line))}" if line else ""
    # what it took, and what of it this thread was at work: on a machine with other work the second tells more
    made.told["seconds"] = round(time.perf_counter() - began, 3)
    made.told["worked"] = round(time.thread_time() - worked, 3)
    return made


def said(text: object) -> str:
    """Return a sentence as the page of a result sets it, in the units of the case."""
    return told(unescape(fr.text(text)))


def _tried(given: CaseFile, progress: Progress) -> Answer:
    case, limits = given.case, given.limits
    with held_twins(case, progress=progress) as (reference, wetted):
        trial = account(case, reference, wetted)

        def judged(run: xr.Dataset) -> Any:
            return follow(run, limits) if run is wetted else assess(run, limits)

        before, followed = of_both(judged, (reference, wetted))
        layers = layers_named(trial.attrs["wetted_layers"], trial["layer"].values)
        before, after = judge_trial(case, (reference, wetted), before, followed.findings, limits)
        followed = followed._replace(findings=after)
        weathered, unknown = exposed(wetted), unknowns(case, wetted, after)
        more = leak_words(leak_bounds(case))
        text = trial_answer(trial, case, before, after, more, (), limits, weathered, unknown, False)
        shown = _shown(given, wetted, trial, followed, before, layers, unknown_words(unknown))
    shown["text"] = told(text)
    shown["numbers"] = {name: _number(float(trial.attrs[name])) for name in NUMBERS}
    shown["verdict"] = worst_of(after, [w.layer for w in case.wettings])
    return Answer(given, shown, tried(case, trial, after, before))


def _untried(given: CaseFile, progress: Progress) -> Answer:
    case, limits = given.case, given.limits
    wet = wet_at_start(case)
    base, results = built_in_runs(case, progress) if wet else (None, simulate(case, progress))
    followed = follow(results, limits)
    unknown = unknowns(case, results, followed.findings)
    shown = _shown(given, results, None, followed, (), (), unknown_words(unknown))
    if base is not None:
        found, before = built_in.account(case, base, results), assess(base, limits)
        text = built_in_answer(found, case, before, followed.findings, limits, exposed(results), unknown)
        shown["text"] = told(text)
        shown["drying"] = [said(s) for s in built_in_sentences(found)]
        shown["numbers"] = {n: _number(float(found.attrs[n])) for n in NUMBERS if n in found.attrs}
    else:
        leaks = leak_words(leak_bounds(case))
        after = followed.findings
        text = run_answer(results, case, after, limits, exposed(results), unknown, False, leaks)
        shown["text"] = told(text)
        shown["numbers"] = {}
    shown["verdict"] = worst_of(followed.findings)
    return Answer(given, shown, untried(case, results["time"].values, followed.findings))


def _shown(
    given: CaseFile,
    results: xr.Dataset,
    trial: xr.Dataset | None,
    followed: Followed,
    before: Sequence[Finding],
    wetted: Sequence[str],
    unknown: Sequence[str],
) -> dict[str, Any]:
    """Return the parts of the answer that the page of a result has too."""
    case = given.case
    parts = parts_of(results, case.assembly)
    digest = drawn.digest(results, stretch_of(results)).load()
    story = tell(trial, followed.findings, before, digest)
    data = pack(digest, parts, page.events(trial, digest), followed, page.dry_mass(results))
    spans = list(zip((p.name for p in layers_of(parts)), cells_of(digest), strict=True))
    return {
        **_story(story),
        "unknown": [said(words.unknown(t)) for t in unknown],
        "leaks": [said(s) for s in leak_sentences(leak_bounds(case))] if case.loads else [],
        "judged": _judged(without_wetted(followed.findings, wetted), without_wetted(before, wetted)),
        "parts": [
            {"kind": "film" if p.kind == "film" else "layer", "name": p.name, "hatch": p.kind, "mm": p.thickness}
            for p in parts
        ],
        "map": data,
        "map_units": page.units(),
        "map_words": said(words.map_in_words(digest, spans)),
        "axis": [{"at": x, "words": w, "minor": m} for x, w, m in fr.axis_marks(digest["time"].values, data["hours"])],
        "cautions": [said(c) for c in words.CAUTIONS],
        "sure": [said(s) for s in words.how_well(results, trial)],
    }


def _story(story: Story) -> dict[str, Any]:
    return {
        "headline": said(story.headline),
        "lead": [said(s) for s in story.lead],
        "facts": [[said(number), said(about)] for number, about in story.facts],
        "drying": [said(s) for s in story.drying],
        "sides": [said(s) for s in story.sides],
        "harm": [said(s) for s in story.harm],
        "outward": _number(story.outward),
        "inward": _number(story.inward),
    }


def _judged(findings: Sequence[Any], before: Sequence[Any]) -> list[dict[str, Any]]:
    was = {f.criterion: f for f in before}
    out = []
    for f in sorted(findings, key=lambda f: (f.screening, f.verdict == fr.NA)):
        other = was.get(f.criterion)
        out.append(
            {
                "title": said(f.title),
                "verdict": f.verdict,
                "verdict_words": VERDICT.get(f.verdict, f.verdict),
                "value": said(f.value_text) if f.verdict != fr.NA else "",
                "before": said(other.value_text) if other is not None and other.verdict != fr.NA else "",
                "before_verdict": other.verdict if other is not None else "",
                "before_words": VERDICT.get(other.verdict, other.verdict) if other is not None else "",
                "limit": said(f.limit_text),
                "place": said(f"in {f.place}") if f.place is not None else "",
                "layer": f.place.layer if f.place is not None else "",
                "harm": said(f.harm) if f.verdict in ("watch", "exceeded") else "",
                "screening": bool(f.screening),
                "decides": not f.screening,
            }
        )
    return out


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
