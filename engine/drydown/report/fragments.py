"""Pieces of the page: the map, the tables, what went in, how sure, sources, cautions."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from html import escape
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING, Any

import numpy as np

from ..figures.stretches import monthly_means
from ..text import MONTHS, day, plain, share, span
from ..wording import page as words
from ..wording.findings import VERDICT, cited
from .drawing import strip
from .parts import Part, cells_of, layers_of

if TYPE_CHECKING:
    import xarray as xr

    from ..case.case import Case

NA = "not applicable"


def text(value: object) -> str:
    """Return text for HTML, units and dashes set."""
    quoted = re.sub(r"(?<!\w)'([^']+)'(?!\w)", "\u201c\\1\u201d", str(value))
    said = escape(quoted).replace("kg/m2", "kg/m²").replace(" %", "\u00a0%")
    return re.sub(r"(?<![\w-])-(?=\d)", "\u2212", said)


def paragraphs(sentences: Sequence[str]) -> str:
    """Return paragraphs."""
    return "".join(f"<p>{text(s)}</p>" for s in sentences if s)


def tag(verdict: str) -> str:
    """Return a verdict in words with its sign."""
    return f'<span class="tag {"none" if verdict == NA else verdict}">{VERDICT.get(verdict, verdict)}</span>'


def judged(findings: Sequence[Any], before: Sequence[Any]) -> str:
    """Return the table of criteria, with the water and without it."""
    was = {f.criterion: f for f in before}
    rows = []
    for f in sorted(findings, key=lambda f: (f.screening, f.verdict == NA)):
        if f.verdict == NA:
            continue
        place = f"in {f.place}" if f.place is not None else ""
        kind = " <span class='soft small'>(a first look; the criteria above decide)</span>" if f.screening else ""
        cells = [f'<td data-label="with the water">{tag(f.verdict)}<br>{text(f.value_text)}</td>' if before else
                 f'<td data-label="verdict">{tag(f.verdict)}<br>{text(f.value_text)}</td>']  # fmt: skip
        if before:
            other = was.get(f.criterion)
            cells.append(
                f'<td data-label="without it">{tag(other.verdict)}<br>{text(other.value_text)}</td>'
                if other is not None
                else '<td data-label="without it">not judged</td>'
            )
        rows.append(
            f'<tr><th scope="row">{text(f.title[:1].upper() + f.title[1:])}{kind}</th>{"".join(cells)}'
            f'<td data-label="limit">{text(f.limit_text)}</td>'
            f'<td class="wide" data-label="worst place">{text(place)}</td></tr>'
        )
    if not rows:
        return ""
    heads = ["what is judged", *(["with the water", "without it"] if before else ["verdict"]), "limit", "worst place"]
    left = [f.title for f in findings if f.verdict == NA]
    rest = f"<p class='small soft'>{text(words.not_judged(left))}</p>" if left else ""
    return table(words.EVERY_CRITERION, heads, rows) + rest


def table(caption: str, heads: Sequence[str], rows: Sequence[str], ident: str = "") -> str:
    """Return a table that becomes cards on a phone."""
    name = f' id="{ident}"' if ident else ""
    head = "".join(f'<th scope="col">{text(h)}</th>' for h in heads)
    return (
        f'<div class="scroll"><table class="cards"{name} role="table"><caption>{text(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def explorer(digest: xr.Dataset, parts: Sequence[Part], data: dict[str, Any]) -> str:
    """Return the map of humidity with the wall beside it, the cursor in time and what it reads out."""
    layers = layers_of(list(parts))
    heads = ["layer", "it is", "temperature", "humidity", "at its wettest", "water"]
    heads += [c["title"] for c in data["criteria"]]
    labels = heads[2:]
    rows = []
    for p in layers:
        cells = "".join(
            f'<td data-label="{h}"{" class=wide" if h == "water" else ""}><span>–</span></td>' for h in labels
        )
        rows.append(
            f'<tr><th scope="row"><span class="badge">{p.mark}</span> {text(p.name)}</th><td><b>–</b></td>{cells}</tr>'
        )
    ways = "".join(f"<li><span>{text(w['name'])}</span><b>–</b> <i></i></li>" for w in data["ways"])
    jumps = "".join(
        f'<button type="button" data-jump="{e["at"]}">{text(e["words"])}</button>'
        for e in data["events"]
        if 0 <= e["at"] < data["n"]
    )
    template = files("drydown.report").joinpath("assets/explorer.html").read_text(encoding="utf-8")
    return Template(template).substitute(
        strip=strip(parts, data),
        begin=day(digest["time"].values[0]),
        what=escape(words.map_in_words(digest, list(zip((p.name for p in layers), cells_of(digest), strict=True)))),
        axis=_axis(digest["time"].values, data["hours"]),
        last=data["n"] - 1,
        jumps=jumps,
        low=f"{data['low']:.0f}",
        high=f"{data['high']:.0f}",
        ramp=_ramp(data["colours"]),
        layers=table(words.AT_THE_CURSOR, heads, rows, "layers"),
        ways=ways,
        months=_months_table(digest, layers),
    )


def _ramp(colours: str) -> str:
    return ",".join("#" + colours[6 * i : 6 * i + 6] for i in range(0, 256, 15))


def _axis(time: np.ndarray, hours: float) -> str:
    return "".join(
        f'<span style="left:{100 * x:.2f}%"{" class=minor" if minor else ""}>{label}</span>'
        for x, label, minor in axis_marks(time, hours)
    )


def axis_marks(time: np.ndarray, hours: float) -> list[tuple[float, str, bool]]:
    """Return the dates below the map: months, years or days, at most about a dozen.

    Parameters
    ----------
    time : ndarray of datetime64
    hours : float
        Length of a stretch of the map [h].

    Returns
    -------
    list of (float, str, bool)
        Share of the width at which each stands, its words, and whether a narrow screen does without it.
    """
    begin = time[0]
    length = float((time[-1] - begin) / np.timedelta64(1, "h")) + hours
    months = np.arange(begin.astype("datetime64[M]"), time[-1].astype("datetime64[M]") + 1)
    if len(months) <= 2:
        days = np.arange(begin.astype("datetime64[D]"), time[-1].astype("datetime64[D]") + 1)
        marks = [(d, str(int(str(d)[8:]))) for d in days[:: max(1, -(-len(days) // 10))]]
        marks = [(d, f"{w} {MONTHS[int(str(d)[5:7]) - 1][:3]}") for d, w in marks]
    else:
        every = next((e for e in (1, 2, 3, 4, 6, 12, 24, 60) if len(months) / e <= 9), 120)
        marks = [
            (m, str(m)[:4] if str(m)[5:] == "01" or every >= 12 else MONTHS[int(str(m)[5:]) - 1][:3])
            for m in months
            if (m.astype(int) % every) == 0
        ]
    out = []
    year = next((i for i, (_, label) in enumerate(marks) if label.isdigit()), 0)  # years are among those that stay
    for i, (mark, label) in enumerate(marks):
        x = float((mark.astype("datetime64[h]") - begin.astype("datetime64[h]")) / np.timedelta64(1, "h")) / length
        if -0.001 <= x <= 0.95:
            out.append((x, label, bool((i - year) % 2)))
    return out


def _months_table(digest: xr.Dataset, layers: Sequence[Part]) -> str:
    months, means = monthly_means(100.0 * digest["relative_humidity"].values, digest["time"].values)
    width = digest["width"].values
    rows = []
    every = max(1, -(-len(months) // 60))
    for i in range(0, len(months), every):
        cells = "".join(f"<td>{np.average(means[i, c], weights=width[c]):.0f} %</td>" for c in cells_of(digest))
        rows.append(
            f'<tr><th scope="row">{MONTHS[int(str(months[i])[5:]) - 1][:3]} {str(months[i])[:4]}</th>{cells}</tr>'
        )
    head = "".join(f'<th scope="col">{text(p.name)}</th>' for p in layers)
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Mean humidity by month and layer"><table>'
        f'<thead><tr><th scope="col">month</th>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table></div>'
    )


def inputs(results: xr.Dataset, parts: Sequence[Part], case: Case | None) -> str:
    """Return what went in."""
    rows = []
    for p in parts:
        what = f" ({p.material})" if p.material else ""
        kinds = ", ".join(dict.fromkeys(s.kind for s in p.sources)) or "not stated here"
        size = f"{plain(p.thickness)} mm" if p.thickness else "film"
        rows.append(
            f'<tr><th scope="row"><span class="badge">{p.mark}</span> {text(p.label + what)}</th>'
            f'<td data-label="thickness">{size}</td><td data-label="its data are">{text(kinds)}</td></tr>'
        )
    heads = ("layer or film", "thickness", "its data are")
    out = table("From outside to inside", heads, rows)
    time = results["time"].values
    items: list[tuple[str, str]] = [("period", f"{day(time[0])} to {day(time[-1])}, hour by hour")]
    if case is not None:
        for w in case.wettings:
            edge = "" if w.place == "whole" else f", its {w.place} {plain(1e3 * w.depth)} mm"
            items.append(
                (
                    "water that gets in",
                    f"{plain(w.amount)} kg/m² into {w.layer}{edge}, {day(w.start)}, over {span(w.duration)}",
                )
            )
        start = case.initial
        items.append(
            ("at the start", f"{plain(start.temperature - 273.15)} °C, {share(start.humidity)} relative humidity")
        )
        for load in case.loads:
            items.append(("besides", load.label))
    for name, value in results.attrs.items():
        if name.startswith("note_"):
            items.append((name.removeprefix("note_").replace("_", " "), str(value)))
    return out + pairs(items)


def pairs(items: Sequence[tuple[str, str]]) -> str:
    """Return names and values."""
    return '<dl class="plain">' + "".join(f"<dt>{text(k)}</dt><dd>{text(v)}</dd>" for k, v in items) + "</dl>"


def numerics(results: xr.Dataset, trial: xr.Dataset | None) -> str:
    """Return how well the run was computed."""
    a = results.attrs
    rejected, steps = int(a.get("steps_rejected", 0)), int(a.get("steps", 0))
    items = [
        ("cells", f"{a.get('cells', results.sizes['cell'])}, finer towards the faces of layers"),
        ("time steps", f"{steps}, and {rejected} repeated because their error was too large"),
        ("tolerance", f"{float(a.get('tolerance', 1.0)):g} (1 aims at 0.03 % relative humidity and 0.03 K a step)"),
        (
            "tables of material data",
            f"within {words.power(float(a.get('table_error_bound', math.nan)))} of the curves, relative",
        ),
        ("films read by", f"{a.get('film_reading', '')}"),
        ("heat balance, worst step", f"{words.power(float(a.get('heat_closure_step_max', math.nan)))} J/m²"),
    ]
    warnings = [words.warning(str(v)) for k, v in a.items() if k.split(": ")[-1] == "warning"]
    return paragraphs(words.how_well(results, trial)) + paragraphs(warnings) + pairs(items)


def sources(results: xr.Dataset, parts: Sequence[Part], findings: Sequence[Any]) -> str:
    """Return the sources of materials, criteria, climate and of the page itself."""
    blocks = []
    named: dict[str, list[str]] = {}
    for p in parts:
        for s in p.sources:
            named.setdefault(cited(s), []).append(p.name)
    if named:
        items = "".join(f"<li>{text(', '.join(dict.fromkeys(n)))}: {text(c)}</li>" for c, n in named.items())
        blocks.append(f"<details><summary>Materials and films</summary><ul class='list'>{items}</ul></details>")
    seen: dict[str, str] = {}
    for f in findings:
        seen.setdefault(cited(f.source), "")
        seen[cited(f.source)] += ("; " if seen[cited(f.source)] else "") + f.title
    if seen:
        items = "".join(f"<li>{text(t)}: {text(c)}</li>" for c, t in seen.items())
        limits = "".join(
            f"<li>{text(f.title)}: {text(f.validity)} {text(f.caution)}</li>"
            for f in findings
            if f.validity or f.caution
        )
        blocks.append(f"<details><summary>Criteria of damage</summary><ul class='list'>{items}</ul></details>")
        blocks.append(
            f"<details><summary>Where each criterion is valid</summary><ul class='list'>{limits}</ul></details>"
        )
    climate = [str(v) for k, v in results.attrs.items() if k.startswith("note_") and "source" in k]
    items = "".join(f"<li>climate: {text(c)}</li>" for c in climate)
    items += f"<li>{words.COLOURS}</li>"
    blocks.append(f"<details><summary>Climate and colours</summary><ul class='list'>{items}</ul></details>")
    return "".join(blocks)


def cautions() -> str:
    """Return the cautions."""
    return '<ul class="list">' + "".join(f"<li>{text(c)}</li>" for c in words.CAUTIONS) + "</ul>"
