"""Walls that are kept to be looked at side by side, up to four."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ..casefile.heading import heading_of
from ..casefile.variants import Variant
from ..errors import InputError
from ..trial.compare import one_period, side_by_side
from ..units import told_in
from ..wording.comparison import comparison_words
from ..wording.difference import difference
from .answering import Answer, names_in, said
from .history import Step

#: Most pins.
MOST = 4


@dataclass(frozen=True)
class Pin:
    """A wall that is kept.

    Parameters
    ----------
    number : int
    name : str
    step : Step
    answer : Answer or None
        None: it was kept the last time, and is not worked out anew yet.
    """

    number: int
    name: str
    step: Step
    answer: Answer | None


def pinned(pins: Sequence[Pin], name: Any, step: Step, answer: Answer) -> Pin:
    """Return a new pin, named as asked or by its turn.

    Raises
    ------
    InputError
        There are four already, or the name cannot be.
    """
    if len(pins) >= MOST:
        raise InputError(f"{MOST} walls are kept already; let one go first", "pin")
    number = max((p.number for p in pins), default=0) + 1
    text = "" if name is None else name
    if not isinstance(text, str) or len(text) > 80:
        raise InputError("a name is a text of at most 80 letters", "pin")
    text = " ".join(text.split()) or f"wall {number}"
    taken = {p.name for p in pins}
    if text in taken:
        text = next(n for i in range(2, MOST + 3) if (n := f"{text} {i}") not in taken)
    return Pin(number, text, step, answer)


def told_of(pins: Sequence[Pin]) -> dict[str, Any]:
    """Return the pins for the page: what each says, in what it differs from the first, and what all show."""
    out: list[dict[str, Any]] = []
    first = pins[0].answer if pins else None
    for pin in pins:
        if pin.answer is None:
            out.append({"pin": pin.number, "name": pin.name, "headline": "", "verdict": "", "facts": []})
            out[-1] |= {"days": None, "inward": None, "remaining": None, "differs": "", "parts": []}
            continue
        given, shown = pin.answer.given, pin.answer.told
        differs = ""
        if first is not None and pin.answer is not first:
            with told_in(heading_of(given.document, given.path).system, names_in(given.case)):
                differs = said(difference(first.given.case, given.case))
        numbers = shown["numbers"]
        out.append(
            {
                "pin": pin.number,
                "name": pin.name,
                "headline": shown["headline"],
                "verdict": shown["verdict"],
                "facts": shown["facts"],
                "days": numbers.get("days_to_90_percent_dry"),
                "inward": numbers.get("share_inward"),
                "remaining": numbers.get("remaining"),
                "differs": differs,
                "parts": shown["parts"],
            }
        )
    return {"pins": out, "sentences": _compared(pins)}


def _compared(pins: Sequence[Pin]) -> list[str]:
    known = [(p.name, p.answer) for p in pins if p.answer is not None]
    if len(known) < 2:
        return []
    variants = [Variant(name, answer.given.case) for name, answer in known]
    try:
        one_period(variants)
        found = side_by_side(variants, [answer.row for _, answer in known])
    except (InputError, ValueError):  # other periods, or criteria of other plugins
        return []
    given = known[0][1].given
    with told_in(heading_of(given.document, given.path).system, names_in(given.case)):
        return [said(f"{text}.") for text in comparison_words(found)]
