"""What would change the answer, as cards: each a change that was tried and makes nothing worse."""

from __future__ import annotations

import math
from typing import Any

from ..casefile import CaseFile
from ..casefile.heading import heading_of
from ..trial.advice import Advice
from ..units import told_in
from ..wording.advice import effect, what_to_change
from .answering import names_in, said

#: Most cards.
MOST = 6


def cards_of(advice: Advice, given: CaseFile) -> dict[str, Any]:
    """Return the cards of what was advised, the best first; the smallest change that passes is among them."""
    with told_in(heading_of(given.document, given.path).system, names_in(given.case)):
        shown = list(advice.advised[:MOST])
        if advice.smallest is not None and advice.smallest not in shown:
            shown = [advice.smallest, *shown[: MOST - 1]]
        return {
            "now": said(advice.now.words),
            "sentences": [said(s) for s in what_to_change(advice)],
            "cards": [
                {
                    "id": advice.advised.index(t),
                    "words": said(t.words),
                    "kinds": list(t.kinds),
                    "size": t.size,
                    "days": _number(t.days_to_90_percent_dry),
                    "inward": _number(t.inward),
                    "remaining": _number(t.remaining),
                    "passes": t.passes,
                    "smallest": t is advice.smallest,
                    "because": _sentence(said(effect(t, advice.now))),
                }
                for t in shown
            ],
        }


def _sentence(text: str) -> str:
    text = text.removeprefix(":").strip()
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
