"""What the search for a drying reserve found, in sentences."""

from __future__ import annotations

from ..text import day, listed, paragraph, plain
from ..trial.reserve import Reserve

CAUTION = "It is no leave to let water in: flashing, membranes and roofs are to keep it out."
#: What a reserve is against the one that is asked for.
GRADES = {"fine": "ample", "watch": "enough", "exceeded": "too little"}


def gave_way(r: Reserve) -> str:
    """Return what gave way at the smallest amount that did not hold."""
    past = listed([f.what for f in r.why.findings]) if r.why.findings else ""
    return {
        "criterion": f"{past} would pass the limit",
        "gain": "it would hold more of it from year to year",
        "overflow": f"the pores of '{r.layer}' would overflow",
        "full": f"that much does not fit into the pores of '{r.layer}'",
        "already": f"{past} {'is' if len(r.why.findings) == 1 else 'are'} past the limit even without the water",
        "": "nothing was found to give way",
    }[r.why.kind]


def reserve_sentence(r: Reserve) -> str:
    """Return the reserve in a sentence, with the years of weather it was found in."""
    date = day(r.first).rpartition(" ")[0]
    weather = f"in the weather from {day(r.first)} to {day(r.end)}"
    if r.amount > 0.0:
        return (
            f"Up to {plain(r.amount, 2)} kg/m2 of water a year may get into '{r.layer}' on {date}, "
            f"{r.years} years in a row, {weather}; with a little more, {gave_way(r)}."
        )
    return f"It has no reserve for water in '{r.layer}' on {date}, {weather}: {gave_way(r)}."


def reserve_answer(r: Reserve) -> str:
    """Return the paragraph on the drying reserve."""
    return paragraph(reserve_words(r))


def reserve_words(r: Reserve) -> str:
    """Return what is said of a drying reserve."""
    f = r.finding
    text = f"Drying reserve: {reserve_sentence(r)} That is {GRADES[f.verdict]} against the {f.limit_text} a year that"
    source = f"{f.source.authors}, {f.source.kind}; of walls and ceilings 0.1, of roofs 0.25 kg/m2"
    return f"{text} are asked for ({source}). {CAUTION}"
