"""What is said of a fit: what was learned, what not, how well it tells what was logged."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..inverse.fitting import CLOCK, Fit
from ..inverse.free import Free
from ..inverse.questions import QUESTIONS
from ..inverse.sampling import Sampled
from ..inverse.sensors import QUANTITIES
from ..text import paragraph, table

#: An input further than this many standard deviations of its prior stands for something that is not in the model.
FAR = 2.5
#: A surrogate that is off by more than this is told.
OFF = 0.5
_SHOWN = {"relative_humidity": (100.0, "%"), "temperature": (1.0, "K"), "moisture_content": (100.0, "%MC")}

#: Heads and captions of the page of a fit.
FIT_PAGE = {
    "title": "fitted to what was logged in it",
    "inputs": "What was learned, and what was not",
    "every input": "Every input that was free, before and after",
    "figures": "Readings and what is left over",
    "readings": "What was logged, on the fitted wall; nine readings in ten should lie in the band",
    "residuals": "What is left over in time: what holds on for days, the wall or its loggers have and the model lacks",
    "drivers": "What is left over against what drives the wall: a slope says what is missing",
    "loggers": "How well it tells each logger",
    "every logger": "Left over: root mean square of logged less fitted; holds on by: correlation from hour to hour",
}


def shown_reading(quantity: str, value: float) -> str:
    """Return a difference of two readings in the unit that people read."""
    factor, unit = _SHOWN.get(quantity, (1.0, QUANTITIES[quantity][1]))
    return f"{factor * value:.2g} {unit}"


def shown(x: Free, value: float) -> str:
    """Return a value of an input in the unit that people read."""
    key = x.path.rpartition(".")[2].strip('"')
    if key == "q50":
        return f"{3600.0 * value:.3g} m3/(m2 h)"
    if key in ("share", "start_humidity", "humidity", "portion", "absorptance"):
        return f"{100.0 * value:.3g} %"
    if key in ("thickness", "depth"):
        return f"{1000.0 * value:.3g} mm"
    if key == "start_water":
        return f"{value:.3g} kg/m3"
    if key.endswith("_factor"):
        return f"x {value:.3g}"
    if key == "amount":
        return f"{value:.3g} kg/m2"
    if key == "clock":
        return f"{value / 60.0:.3g} min"
    return f"{value:.4g}"


def interval(fit: Fit, j: int, sampled: Sampled | None) -> tuple[float, float]:
    """Return between which values an input lies nine times in ten: of the sampler where there are draws."""
    return fit.interval(j) if sampled is None else sampled.interval(fit, j)


def fit_answer(fit: Fit, sampled: Sampled | None = None, question: str = "") -> list[str]:
    """Return the paragraphs on a fit."""
    lines = []
    if question:
        lines.append(_answer(fit, sampled, question))
    rows: list[Sequence[str]] = [("input", "before", "fitted", "nine in ten", "")]
    for j, x in enumerate(fit.free):
        low, high = interval(fit, j, sampled)
        said = ""
        if x.name in fit.not_learned:
            said = "not learned"
        elif abs(float(fit.z[j])) > FAR:
            said = "far from its prior"
        value = shown(x, x.value(float(fit.z[j])))
        rows.append((x.name, shown(x, x.median), value, f"{shown(x, low)} to {shown(x, high)}", said))
    lines.append(table(rows, left=0))
    lines += [paragraph(text) for text in remarks(fit, sampled)]
    return lines


def _answer(fit: Fit, sampled: Sampled | None, question: str) -> str:
    return paragraph(_said_of_question(fit, sampled, question))


def _said_of_question(fit: Fit, sampled: Sampled | None, question: str) -> str:
    x = fit.free[0]
    low, high = interval(fit, 0, sampled)
    head = f"{QUESTIONS[question][0].upper()}{QUESTIONS[question][1:]}?"
    if x.name in fit.not_learned:
        return f"{head} These readings do not tell: {x.name} was not learned from them."
    value = shown(x, x.value(float(fit.z[0])))
    return f"{head} {x.name}: {value}; nine times in ten between {shown(x, low)} and {shown(x, high)}."


def fit_headline(fit: Fit, sampled: Sampled | None = None, question: str = "") -> str:
    """Return what a fit says in one sentence."""
    if question:
        return _said_of_question(fit, sampled, question)
    learned = [x.name for x in fit.free if x.name not in fit.not_learned and not _of_logger(x)]
    loggers = len(fit.logs)
    who = "One logger tells" if loggers == 1 else f"{loggers} loggers tell"
    if not learned:
        return f"{who} nothing of what was asked about this wall."
    return f"{who} of this wall: {', '.join(learned)}."


def learned_words(fit: Fit, sampled: Sampled | None = None) -> list[str]:
    """Return a sentence on each input of the wall that was learned."""
    out = []
    for j, x in enumerate(fit.free):
        if x.name in fit.not_learned or _of_logger(x):
            continue
        low, high = interval(fit, j, sampled)
        value, before = shown(x, x.value(float(fit.z[j]))), shown(x, x.median)
        between = f"between {shown(x, low)} and {shown(x, high)}"
        name = x.name if "." in x.name else f"{x.name[:1].upper()}{x.name[1:]}"
        out.append(f"{name}: {value}, nine times in ten {between}; it was held for {before}.")
    return out


def _of_logger(x: Free) -> bool:
    return x.of_sensor or x.path.endswith(CLOCK)


def remarks(fit: Fit, sampled: Sampled | None) -> list[str]:
    """Return what is to be said of a fit beside its table."""
    out = [f"{log.left_out}." for log in fit.logs if log.left_out]
    if fit.not_learned:
        names = ", ".join(fit.not_learned)
        out.append(f"Not learned from these readings: {names}. What is told of it is what was held of it before.")
    far = [x.name for x, z in zip(fit.free, fit.z, strict=True) if abs(float(z)) > FAR]
    if far:
        out.append(
            f"Far from what was held of it: {', '.join(far)}. It may stand for something that this wall lacks, such as "
            "studs, moving air or a probe that stands elsewhere; do not take it for a property."
        )
    for log, noise in zip(fit.logs, fit.noise, strict=True):
        factor, unit = _SHOWN.get(log.sensor.quantity, (1.0, ""))
        out.append(
            f"{log.sensor.name}: {len(log.time)} hours; what is left over has a standard deviation of "
            f"{factor * noise.sd:.2g} {unit} and holds on from hour to hour by {noise.rho:.2f}."
        )
    if sampled is not None and sampled.off > OFF:
        out.append(
            f"The posterior is drawn from a straight-line stand-in of the wall, which full runs find off by "
            f"{sampled.off:.2g} in the logarithm of the density: take the edges as rough."
        )
    if not fit.settled:
        out.append("The iterations did not come to their end; free fewer inputs, or give narrower priors.")
    return out


def posterior_words(found: Sequence[dict[str, float]], names: Sequence[str]) -> str:
    """Return what the posterior of a fit does to the answer of a trial, in one paragraph."""
    days = np.array([x["days_to_90_percent_dry"] for x in found])
    inward = np.array([x["share_inward"] for x in found])
    known = days[np.isfinite(days)]
    late = int(np.sum(~np.isfinite(days)))
    text = f"Drawn {len(found)} times from the fit ({', '.join(names)}): "
    if len(known):
        text += f"nine tenths leave after {known.min():.0f} to {known.max():.0f} days"
    else:
        text += "nine tenths leave in no draw within the run"
    if late and len(known):
        text += f", in {late} of them not within the run"
    low, high = max(0.0, float(inward.min())), min(1.0, float(inward.max()))
    return paragraph(f"{text}; {100.0 * low:.0f} to {100.0 * high:.0f} % go inward.")
