"""The page put together."""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Callable, Sequence
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import figures as drawn
from ..criteria import without_wetted
from ..figures.courses import Followed
from ..text import TELL, counted_from, day, layers_named, told_html
from ..trial.unknown import unknowns
from ..wording import page as words
from ..wording.story import Story, put_in, tell
from ..wording.unknown import unknown_words
from . import fragments as fr
from .drawing import hatch_css
from .pack import pack, stretch_of
from .parts import Part, layers_of, parts_of
from .sheet import changed, sheet

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from ..case.case import Case
    from ..casefile.heading import Heading
    from ..trial.advice import Advice
    from .further import Further

#: Widths of the figures [in]: for a screen or paper, and for a phone.
WIDE, SLIM = 8.6, 4.2
#: Nothing is fetched: the page may use only what it holds.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:"


def page(
    results: xr.Dataset,
    trial: xr.Dataset | None = None,
    case: Case | None = None,
    followed: Followed | None = None,
    before: Sequence[Any] = (),
    advice: Advice | None = None,
    heading: Heading | None = None,
    further: Sequence[Further] = (),
) -> str:
    """Return the page of a run as one HTML document that needs nothing else.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`, with the wetting where there is one; may be opened lazily from a file.
    trial : Dataset, optional
        Of `drydown.dryout` of the same case.
    case : Case, optional
        What was run; without it the page knows neither films nor sources.
    followed : Followed, optional
        Of `drydown.figures.courses.follow`; made here if not given.
    before : sequence of Finding
        Of the run without the wetting.
    advice : Advice, optional
        Of `drydown.trial.advice.advise`.
    heading : Heading, optional
        What a case file says of itself: address, builder, date, units, line.
    further : sequence of Further
        What was asked beside the trial (`drydown.report.further`).

    Returns
    -------
    str
        HTML, below 5 MB for runs of up to some decades.
    """
    from ..figures.courses import follow

    parts = parts_of(results, case.assembly if case is not None else None)
    digest = drawn.digest(results, stretch_of(results)).load()
    seen = follow(results) if followed is None else followed
    story = tell(trial, seen.findings, before, digest)
    data = pack(digest, parts, events(trial, digest), seen, dry_mass(results))
    wetted = _wetted(trial, digest)
    name = str(results.attrs.get("case", "a wall"))
    body = "\n".join(
        [
            _head(name, results),
            "<main id='main'>",
            sheet(
                name,
                story,
                parts,
                wetted,
                heading,
                advice,
                unknown_words(unknowns(case, results, seen.findings)) if case is not None else (),
            ),
            _questions(story, without_wetted(seen.findings, wetted), without_wetted(before, wetted), advice),
            _more(further),
            "<section id='look'><h2>Look inside, day by day</h2>"
            f"<p>{words.LOOK}</p>" + fr.explorer(digest, parts, data) + "</section>",
            "<section id='figures'><h2>The figures</h2>" + _figures(digest, trial, seen, parts, wetted) + "</section>",
            "<section id='inputs'><h2>What went in</h2>" + fr.inputs(results, parts, case) + "</section>",
            "<section id='sure'><h2>How sure is this?</h2>" + fr.numerics(results, trial) + "</section>",
            "<section id='sources'><h2>Sources</h2>" + fr.sources(results, parts, seen.findings) + "</section>",
            "<section id='cautions' class='cautions'><h2>Before you build</h2>" + fr.cautions() + "</section>",
            "</main>",
            f"<footer>Made by {escape(str(results.attrs.get('source', 'drydown')))}. {words.ALONE}</footer>",
        ]
    )
    data["units"] = units()
    return _document(name, story, told_html(body), data)


def one_sheet(
    results: xr.Dataset,
    trial: xr.Dataset | None = None,
    case: Case | None = None,
    followed: Followed | None = None,
    before: Sequence[Any] = (),
    advice: Advice | None = None,
    heading: Heading | None = None,
    further: Sequence[Further] = (),  # noqa: ARG001 - asked for like the page
) -> str:
    """Return the first sheet of the page alone, to print on one side of paper; parameters as for `page`."""
    from ..figures.courses import follow

    parts = parts_of(results, case.assembly if case is not None else None)
    seen = follow(results) if followed is None else followed
    digest = drawn.digest(results, stretch_of(results)).load()
    story = tell(trial, seen.findings, before, digest)
    wetted = _wetted(trial, digest)
    name = str(results.attrs.get("case", "a wall"))
    unknown = unknown_words(unknowns(case, results, seen.findings)) if case is not None else ()
    body = (
        f"<main id='main'>{sheet(name, story, parts, wetted, heading, advice, unknown)}"
        f"<section id='cautions' class='cautions only-screen'><h2>Before you build</h2>{fr.cautions()}</section></main>"
    )
    return _document(name, story, told_html(body), None)


def units() -> dict[str, Any]:
    """Return factor, offset and label of what the script of the page writes."""
    from ..units import scale, us_label

    us = TELL.get() is not None
    return {
        name: [*scale(unit), us_label(unit)] if us else [1.0, 0.0, label]
        for name, unit, label in (
            ("temperature", "degC", "°C"), ("water", "kg/m2", "kg/m²"), ("flow", "g/(m2 d)", "g/m²"),
        )
    }  # fmt: skip


def _document(name: str, story: Story, body: str, data: dict[str, Any] | None) -> str:
    moving = ""
    if data is not None:
        assets = files("drydown.report").joinpath("assets")
        explorer, start = (assets.joinpath(f"{name}.js").read_text(encoding="utf-8") for name in ("explorer", "page"))
        script = explorer.replace("export function", "function") + start  # the desk imports the first as a module
        packed = json.dumps(data, separators=(",", ":"), ensure_ascii=True).replace("<", "\\u003c")
        moving = f"<script type='application/json' id='data'>{packed}</script>\n<script>\n{script}</script>\n"
    return framed(f"{name}: does it dry?", story.headline, body, moving)


def framed(title: str, about: str, body: str, moving: str = "") -> str:
    """Return a document that needs nothing else, in the look of the page.

    Parameters
    ----------
    title, about : str
        Plain text.
    body : str
        HTML.
    moving : str
        Scripts with what they read, HTML.
    """
    assets = files("drydown.report").joinpath("assets")
    sheets = (assets.joinpath(f"{sheet}.css").read_text(encoding="utf-8") for sheet in ("page", "print"))
    css = "".join(sheets) + hatch_css()
    return (
        "<!DOCTYPE html>\n<html lang='en'>\n<head>\n<meta charset='utf-8'>\n"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>\n"
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        f"<title>{escape(title)}</title>\n"
        f'<meta name="description" content="{escape(about)}">\n'
        "<link rel='icon' href='data:,'>\n"
        f"<style>\n{css}\n</style>\n</head>\n<body>\n{body}\n{moving}</body>\n</html>\n"
    )


def _wetted(trial: xr.Dataset | None, digest: xr.Dataset) -> list[str]:
    """Return the layers that the trial wets, or that anything is put in."""
    if trial is None:
        return [layer for layer, *_ in put_in(digest)]
    return layers_named(trial.attrs["wetted_layers"], trial["layer"].values)


def _head(name: str, results: xr.Dataset) -> str:
    time = results["time"].values
    place = results.attrs.get("note_outside_climate", "")
    when = f"{day(time[0])} to {day(time[-1])}"
    links = (
        ("answer", "Answer"), ("look", "Look inside"), ("figures", "Figures"), ("inputs", "What went in"),
        ("sure", "How sure"), ("sources", "Sources"), ("cautions", "Cautions"),
    )  # fmt: skip
    items = "".join(f"<li><a href='#{ident}'>{head}</a></li>" for ident, head in links)
    where = f", weather of {escape(str(place))}" if place else ""
    return (
        "<a class='skip' href='#main'>To the answer</a><header class='top'><div class='over'>"
        f"<span><strong>{escape(name)}</strong>{where}, {when}</span></div>"
        f"<nav aria-label='On this page'><ul>{items}</ul></nav></header>"
    )


def _questions(story: Story, findings: Sequence[Any], before: Sequence[Any], advice: Advice | None) -> str:
    first = "Does it dry?" if len(story.drying) > 1 else "Would it dry?"
    blocks = [f"<div><h3>{first}</h3>{fr.paragraphs(story.drying)}</div>"]
    if story.sides:
        blocks.append(f"<div><h3>To which side?</h3>{fr.paragraphs(story.sides)}</div>")
    out = f"<section><h2>In plain words</h2><div class='questions'>{''.join(blocks)}</div>"
    table = fr.judged(findings, before)
    out += f"<div class='change harm'><h3>Is anything harmed?</h3><div class='two'>{fr.paragraphs(story.harm)}</div>"
    if table:
        out += f"<details><summary>The numbers behind these words</summary>{table}</details>"
    out += "</div>"
    if advice is not None:
        out += f"<div class='change'><h3>What would change it?</h3>{changed(advice)}</div>"
    note = f"<p class='small soft' style='margin-top:1.2rem'>{words.PACE}</p>"
    return out + (note if story.sides else "") + "</section>"


def _more(further: Sequence[Further]) -> str:
    """Return the blocks of what was asked beside the trial."""
    if not further:
        return ""
    blocks = [
        f"<div class='change'><h3>{fr.text(one.head)}</h3>{fr.paragraphs(one.sentences)}"
        + (f"<div class='figures'>{picture(one.caption, one.draw)}</div>" if one.draw is not None else "")
        + "</div>"
        for one in further
    ]
    return f"<section id='more'><h2>{words.MORE}</h2>{''.join(blocks)}</section>"


def events(trial: xr.Dataset | None, results: xr.Dataset) -> list[tuple[str, np.datetime64]]:
    """Return what happened when: the water that got in, half of it gone, nine tenths gone."""
    if trial is None:
        return [("water gets in", date) for _, _, date in put_in(results)[:3]]
    began = np.datetime64(trial.attrs["began"], "s")
    out = [("water gets in", began)]
    for name, event in (("days_to_50_percent_dry", "half gone"), ("days_to_90_percent_dry", "nine tenths gone")):
        days = float(trial.attrs[name])
        if np.isfinite(days):
            out.append((event, counted_from(trial.attrs) + np.timedelta64(round(86400 * days), "s")))
    return out


def dry_mass(results: xr.Dataset) -> dict[str, float]:
    """Return the dry mass of the layers of wood [kg/m2], where it is known."""
    from ..criteria.reading import read_wall

    wall = read_wall(results)
    out = {}
    for j, name in enumerate(wall.names):
        if wall.kinds[j] in ("wood", "panel") and np.isfinite(wall.density[j]):
            out[name] = float(wall.density[j] * wall.width[wall.layer == j].sum())
    return out


def _figures(
    digest: xr.Dataset, trial: xr.Dataset | None, seen: Followed, parts: Sequence[Part], wetted: Sequence[str]
) -> str:
    kinds = {p.name: p.kind for p in layers_of(list(parts))}
    place = wetted[0] if wetted else _wettest(digest)
    name = str(digest.attrs.get("case", ""))
    made: list[tuple[str, Callable[[float], Figure]]] = []
    said = words.CAPTIONS
    if trial is not None:
        asked = trial
        made.append((said["trial"], lambda w: drawn.trial_figure(asked, w)))
        made.append((said["drying"], lambda w: drawn.drying_figure(asked, w)))
    made += [
        (words.history(place), lambda w: drawn.history_figure(digest, place, w)),
        (said["section"], lambda w: drawn.section_figure(digest, None, kinds, w)),
        (said["months"], lambda w: drawn.months_figure(digest, w)),
    ]
    if seen.courses:
        made.append((said["criteria"], lambda w: drawn.criteria_figure(seen.courses, name, w)))
    made.append((said["budget"], lambda w: drawn.budget_figure(digest, w)))
    if trial is None:
        made.append((said["vapour"], lambda w: drawn.drying_figure(digest, w)))
    return '<div class="figures">' + "".join(picture(caption, draw) for caption, draw in made) + "</div>"


def _wettest(digest: xr.Dataset) -> str:
    """Return the layer behind the outermost that is wettest in the mean."""
    mean = digest["relative_humidity"].values.mean(axis=0)
    names = [str(n) for n in digest["layer"].values]
    place = digest["layer_of_cell"].values
    rest = names[1:] or names
    return max(rest, key=lambda n: float(mean[place == n].max()))


def picture(caption: str, draw: Callable[[float], Figure]) -> str:
    """Return a figure for screen and phone, with its words as text alternative.

    Parameters
    ----------
    caption : str
    draw : callable
        Of a width [in]; returns a figure.
    """
    units = TELL.get()
    wide, slim = (made if units is None else units.figure(made) for made in (draw(WIDE), draw(SLIM)))
    said = _said(wide)
    size = wide.get_size_inches()
    return (
        f"<figure><picture><source media='screen and (max-width: 40rem)' srcset='{inline(slim)}'>"
        f"<img alt=\"{escape(said)}\" src='{inline(wide)}' width='{100 * size[0]:.0f}' height='{100 * size[1]:.0f}' "
        f"></picture><figcaption>{fr.text(caption)}</figcaption></figure>"
    )


def _said(figure: Figure) -> str:
    """Return the words in a figure, as its text alternative."""
    found = [t.get_text() for t in figure.texts]
    for axes in figure.axes:
        found += [axes.get_title(loc="left"), axes.get_xlabel(), *(t.get_text() for t in axes.texts)]
    return "; ".join(" ".join(t.split()) for t in found if t.strip())


def inline(figure: Figure) -> str:
    """Return a figure as a data address of SVG."""
    buffer = io.BytesIO()
    # A fixed salt and no date: the same result makes the same page.
    import matplotlib as mpl

    with mpl.rc_context({"svg.hashsalt": "drydown", "path.simplify_threshold": 0.4}):
        figure.savefig(buffer, format="svg", dpi=110, metadata={"Date": None})
    return "data:image/svg+xml;base64," + base64.b64encode(buffer.getvalue()).decode("ascii")
