"""The page of a fit: what was learned and what not, readings on their bands, what is left over, what to be wary of."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from typing import TYPE_CHECKING

import numpy as np

from ..figures.fit import drivers_figure, readings_figure, residuals_figure
from ..text import day
from ..wording import page as words
from ..wording.fit import FAR, FIT_PAGE, fit_headline, interval, learned_words, remarks, shown, shown_reading
from . import fragments as fr
from .document import framed, picture
from .drawing import key, section
from .parts import parts_of

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from ..inverse.fitting import Fit
    from ..inverse.sampling import Sampled


def fit_page(found: xr.Dataset, fit: Fit, sampled: Sampled | None = None, question: str = "", line: str = "") -> str:
    """Return the page of a fit as one HTML document that needs nothing else.

    Parameters
    ----------
    found : Dataset
        Of `drydown.inverse.results.dataset` of the same fit.
    fit : Fit
    sampled : Sampled, optional
        Draws of the sampler.
    question : str
        That was asked (`drydown.inverse.questions`), or nothing.
    line : str
        What the case file says under every answer.
    """
    parts = parts_of(None, fit.case.assembly)
    headline = fit_headline(fit, sampled, question)
    figures: list[tuple[str, Callable[[float], Figure]]] = [
        (FIT_PAGE["readings"], lambda w: readings_figure(found, w)),
        (FIT_PAGE["residuals"], lambda w: residuals_figure(found, w)),
        (FIT_PAGE["drivers"], lambda w: drivers_figure(found, w)),
    ]
    drawn = "".join(picture(caption, draw) for caption, draw in figures)
    body = "\n".join(
        [
            _head(fit, found),
            "<main id='main'>",
            f"<section id='answer' class='answer'><h1>{fr.text(headline)}</h1>"
            f"<div class='lead'>{''.join(f'<p>{_set(t)}</p>' for t in learned_words(fit, sampled))}</div>"
            f"<div class='picture'>{_side('outside')}{section(parts)}{_side('inside')}</div>{key(parts)}"
            f"<p class='care'>{words.CARE} {fr.text(line)}</p></section>",
            f"<section id='inputs'><h2>{FIT_PAGE['inputs']}</h2>{_inputs(fit, sampled)}"
            f"{fr.paragraphs(remarks(fit, sampled))}</section>",
            f"<section id='figures'><h2>{FIT_PAGE['figures']}</h2>"
            f"<div class='figures' style='columns:1'>{drawn}</div></section>",
            f"<section id='sure'><h2>{FIT_PAGE['loggers']}</h2>{_loggers(fit, found)}</section>",
            f"<section id='cautions' class='cautions'><h2>Before you build</h2>{fr.cautions()}</section>",
            "</main>",
            f"<footer>{words.ALONE}</footer>",
        ]
    )
    return framed(f"{fit.case.name}: {FIT_PAGE['title']}", headline, body)


def _side(where: str) -> str:
    return f"<div class='side {where[0]}'><span class='where'>{where}</span></div>"


def _set(value: str) -> str:
    """Return text for HTML, powers set."""
    return fr.text(value).replace("m3", "m³").replace("m2", "m²")


def _head(fit: Fit, found: xr.Dataset) -> str:
    time = found["time"].values
    links = (
        ("answer", "Answer"), ("inputs", "Learned and not"), ("figures", "Readings"), ("sure", "Loggers"),
        ("cautions", "Cautions"),
    )  # fmt: skip
    items = "".join(f"<li><a href='#{ident}'>{head}</a></li>" for ident, head in links)
    return (
        "<a class='skip' href='#main'>To the answer</a><header class='top'><div class='over'>"
        f"<span><strong>{escape(fit.case.name)}</strong>, {FIT_PAGE['title']}, {day(time[0])} to {day(time[-1])}</span>"
        f"</div><nav aria-label='On this page'><ul>{items}</ul></nav></header>"
    )


def _inputs(fit: Fit, sampled: Sampled | None) -> str:
    heads = ("what was free", "held before", "fitted", "nine in ten", "learned")
    rows = []
    for j, x in enumerate(fit.free):
        low, high = interval(fit, j, sampled)
        cells = (shown(x, x.median), shown(x, x.value(float(fit.z[j]))), f"{shown(x, low)} to {shown(x, high)}")
        rows.append(_row(x.name, heads, [*map(_set, cells), _learned(fit, j)]))
    return fr.table(FIT_PAGE["every input"], heads, rows)


def _learned(fit: Fit, j: int) -> str:
    if fit.free[j].name in fit.not_learned:
        return "<span class='tag none'>not learned</span>"
    if abs(float(fit.z[j])) > FAR:
        return "<span class='tag watch'>far from what was held</span>"
    return f"<span class='tag'>yes, to {100.0 * float(fit.sd[j]):.0f} % of what was open</span>"


def _loggers(fit: Fit, found: xr.Dataset) -> str:
    heads = ("logger", "hours", "left over", "noise, one sd", "holds on by", "in the band")
    rows = []
    for log, noise in zip(fit.logs, fit.noise, strict=True):
        one = found.sel(sensor=log.sensor.name)
        left = one["residual"].values
        known = np.isfinite(left)
        held = float(np.mean(np.abs(left[known]) < one["edge"].values[known])) if known.any() else float("nan")
        rms = float(np.sqrt(np.mean(left[known] ** 2))) if known.any() else float("nan")
        cells = [
            str(len(log.time)), shown_reading(log.sensor.quantity, rms), shown_reading(log.sensor.quantity, noise.sd),
            f"{noise.rho:.2f}", f"{100.0 * held:.0f} %",
        ]  # fmt: skip
        rows.append(_row(log.sensor.name, heads, [_set(c) for c in cells]))
    return fr.table(FIT_PAGE["every logger"], heads, rows)


def _row(name: str, heads: Sequence[str], cells: Sequence[str]) -> str:
    inner = "".join(f'<td data-label="{escape(h)}">{c}</td>' for h, c in zip(heads[1:], cells, strict=True))
    return f'<tr><th scope="row">{fr.text(name)}</th>{inner}</tr>'
