"""What the two leak models say of one leak, in one answer."""

from __future__ import annotations

from collections.abc import Sequence

from ..text import paragraph, plain
from ..trial.leaks import OF_WALLS, WALL_AREA, LeakBounds


def leak_words(bounds: Sequence[LeakBounds]) -> list[str]:
    """Return a paragraph on each leak: what the screening model and an even flow let condense, at most."""
    low, mean, high = (f"{100.0 * share:.0f}" for share in OF_WALLS)
    lines = []
    for b in bounds:
        if b.screening is None:
            first = "the house is too leaky for the screening model"
        else:
            first = f"by the screening model at most {plain(b.screening)} kg/m2 a year can condense from it"
        here = (
            "This run took the screening model." if b.way == "screening" else "This run took an even flow of all of it."
        )
        lines.append(
            paragraph(
                f"Two models of '{b.label}': {first}; if the walls' part of the leakage passed the layers as an even "
                f"flow, at most {plain(b.flow[1])} kg/m2 ({plain(b.flow[0])} to {plain(b.flow[2])}), the upper bound. "
                f"Walls pass {mean} % of a house's leakage ({low} to {high} %; ASHRAE Handbook Fundamentals 2021, "
                f"ch. 16) on {100.0 * WALL_AREA:.0f} % of its envelope (assumed). {here}"
            )
        )
    return lines
