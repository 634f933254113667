"""What the two leak models say of one leak, in one answer."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..case.air_leakage import OF_WALLS, WALL_AREA
from ..text import paragraph, plain, share
from ..trial.leaks import LeakBounds


def leak_sentences(bounds: Sequence[LeakBounds]) -> list[str]:
    """Return a text on each leak: what the screening model and an even flow let condense, at most."""
    return [_said(b) for b in bounds]


def leak_words(bounds: Sequence[LeakBounds]) -> list[str]:
    """Return the same as paragraphs."""
    return [paragraph(text) for text in leak_sentences(bounds)]


def _said(b: LeakBounds) -> str:
    if b.screening is None:
        first = "the house is too leaky for the screening model"
    else:
        of = "" if math.isnan(b.up_to) else f", of the class up to q50 {plain(b.up_to)} m3/(m2 h),"
        first = f"by the screening model{of} at most {plain(b.screening)} kg/m2 a year can condense from it"
    if b.of_joint:
        even = (
            "if all of the joint's air passed the layers as an even flow, at most "
            f"{plain(b.flow[1])} kg/m2, the upper bound."
        )
    else:
        low, mean, high = (f"{100.0 * part:.0f}" for part in OF_WALLS)
        even = (
            "if the walls' part of the leakage passed the layers as an even flow, at most "
            f"{plain(b.flow[1])} kg/m2 ({plain(b.flow[0])} to {plain(b.flow[2])}), the upper bound. Walls pass {mean} "
            f"% of a house's leakage ({low} to {high} %; ASHRAE Handbook Fundamentals 2021, ch. 16) on "
            f"{100.0 * WALL_AREA:.0f} % of its envelope (assumed)."
        )
    part = "all" if b.portion == 1.0 else share(b.portion)
    run = "the screening model" if b.way == "screening" else f"an even flow of {part} of it a square metre"
    return f"Two models of '{b.label}': {first}; {even} This run took {run}."
