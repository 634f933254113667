"""The first sheet of the page: the answer on one side of paper, with what heads it and what to do about it.

On a screen it is the top of the page. In print it fills one side of A4 or Letter: address, builder and date, the
wall, the answer, three numbers, what to change, the cautions.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..wording import page as words
from ..wording.advice import HEADS, rows, what_to_change
from ..wording.lines import caution
from . import fragments as fr
from .drawing import key, section, side

if TYPE_CHECKING:
    from ..casefile.heading import Heading
    from ..trial.advice import Advice
    from ..wording.story import Story
    from .parts import Part

#: Numbers on the sheet, and sentences on what to change.
FACTS, CHANGES = 3, 3


def sheet(
    name: str,
    story: Story,
    parts: Sequence[Part],
    wetted: Sequence[str],
    heading: Heading | None = None,
    advice: Advice | None = None,
    unknown: Sequence[str] = (),
) -> str:
    """Return the first section of the page.

    Parameters
    ----------
    name : str
        Of the case.
    story : Story
    parts : sequence of Part
    wetted : sequence of str
        Names of the layers that the water was put into.
    heading : Heading, optional
        Of the case file; what it leaves empty is a line to write on.
    advice : Advice, optional
    unknown : sequence of str
        What is not known, said first.
    """
    first = fr.paragraphs([words.unknown(t) for t in unknown])
    before = fr.paragraphs([*words.SHORT, _line(heading)])
    facts = "".join(
        f"<div><dt>{fr.text(about)}</dt><dd>{fr.text(number)}</dd></div>" for number, about in story.facts[:FACTS]
    )
    return (
        f"<section id='answer' class='answer'>{_head(name, heading)}<h1>{fr.text(story.headline)}</h1>"
        + (f"<div class='lead'>{first}</div>" if first else "")
        + f"<div class='lead'>{fr.paragraphs(story.lead)}</div>"
        f"<div class='picture'>{side('outside', story)}{section(parts, wetted)}{side('inside', story)}</div>"
        f"{key(parts)}"
        + (f"<dl class='facts'>{facts}</dl>" if facts else "")
        + (f"<div class='todo'><h2>What to change</h2>{_todo(advice)}</div>" if advice is not None else "")
        + f"<div class='only-print before'><h2>Before you build</h2>{before}</div>"
        + f"<p class='care only-screen'>{words.CARE} <a href='#cautions'>Read the cautions</a> {words.READ_CAUTIONS} "
        f"{fr.text(_line(heading))}</p></section>"
    )


def _line(heading: Heading | None) -> str:
    return caution(heading.line) if heading is not None else ""


def _head(name: str, heading: Heading | None) -> str:
    """Return what heads the sheet; on a screen what is not given is left out."""
    given = (
        ("address", "" if heading is None else heading.address),
        ("builder", "" if heading is None else heading.builder),
        ("date", "" if heading is None else heading.date),
    )
    unseen = " class='only-print'"
    cells = "".join(
        f"<div{'' if value else unseen}><dt>{what}</dt><dd>{fr.text(value) or '&nbsp;'}</dd></div>"
        for what, value in given
    )
    hidden = "" if any(value for _, value in given) else " only-print"
    part = f"<div{unseen}><dt>part</dt><dd>{fr.text(name)}</dd></div>"
    return f"<dl class='sheet-head{hidden}'>{part}{cells}</dl>"


def _todo(advice: Advice) -> str:
    return "".join(f"<p>{fr.text(s)}</p>" for s in what_to_change(advice)[:CHANGES])


def changed(advice: Advice) -> str:
    """Return what to change, in sentences, and the table of what was tried."""
    lines = []
    for i, (what, dry, inward, passed, worse) in enumerate(rows(advice)):
        cells = "".join(
            f'<td data-label="{head}">{fr.text(value)}</td>'
            for head, value in zip(HEADS[1:], (dry, inward, passed, worse), strict=True)
        )
        now = "" if i else " class=now"
        lines.append(f'<tr{now}><th scope="row">{fr.text(what[:1].upper() + what[1:])}</th>{cells}</tr>')
    foot = f"<p class='small soft'>{words.SD}</p>" if any("sd " in t.words for t in advice.tried) else ""
    return fr.paragraphs(what_to_change(advice)) + fr.table(words.EACH_CHANGE, HEADS, lines) + foot
