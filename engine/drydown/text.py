"""Numbers, dates and tables as people read them."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

MONTHS = tuple("January February March April May June July August September October November December".split())
Rows = Sequence[Sequence[str]]


@dataclass(frozen=True)
class Tell:
    """How what was said in SI is told: its sentences, the rows of its tables, its figures."""

    words: Callable[[str], str]
    rows: Callable[[Rows], Rows]
    figure: Callable[[Any], Any]


#: Set by `drydown.units.told_in`; None: as it was said.
TELL: ContextVar[Tell | None] = ContextVar("TELL", default=None)


def told(text: str) -> str:
    """Return a sentence in the units that were asked for."""
    tell = TELL.get()
    return text if tell is None else tell.words(text)


def told_html(html: str) -> str:
    """Return HTML with its words, and the words of its attributes, in the units that were asked for."""
    tell = TELL.get()
    if tell is None:
        return html

    pieces = re.split(r"(<[^>]*>)", html)
    for i, piece in enumerate(pieces):
        pieces[i] = _ATTRIBUTE.sub(_attribute, piece) if i % 2 else tell.words(piece)
    return "".join(pieces)


_ATTRIBUTE = re.compile(r"""((?:alt|aria-label|title)=(["']))(.*?)(\2)""")


def _attribute(match: re.Match[str]) -> str:
    return f"{match[1]}{told(match[3])}{match[4]}"


def day(time: np.datetime64) -> str:
    """Return a date: 5 September 2022."""
    year, month, number = str(time)[:10].split("-")
    return f"{int(number)} {MONTHS[int(month) - 1]} {year}"


def counted_from(attrs: dict[str, Any]) -> np.datetime64:
    """Return when the days of a trial begin: with its wetting, of yearly ones with the last."""
    import numpy as np

    return np.datetime64(attrs.get("counted_from", attrs["began"]), "s")


def span(seconds: float) -> str:
    """Return a length of time: 90 minutes, 6 hours, 12 days."""
    for size, name in ((86400.0, "day"), (3600.0, "hour"), (60.0, "minute")):
        if seconds >= 2.0 * size or seconds == size:
            number = plain(seconds / size)
            return f"{number} {name}" + ("" if number == "1" else "s")
    return f"{plain(seconds)} seconds"


def share(value: float) -> str:
    """Return a share in percent, with a decimal where it is small: 73 %, 0.2 %, less than 0.1 %."""
    percent = 100.0 * value if abs(value) >= 5e-4 or value > 0.0 else 0.0  # never -0 %
    if 0.0 < percent < 0.05:
        return "less than 0.1 %"
    return f"{percent:.0f} %" if abs(percent) >= 9.95 or abs(percent) < 0.05 else f"{percent:.1f} %"


def listed(words: Sequence[str]) -> str:
    """Return words in a row: a; a and b; a, b and c."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def layers_named(joined: str, known: Iterable[str]) -> list[str]:
    """Return the names that were joined by commas; names may have commas themselves, so they are sought among `known`.

    Parameters
    ----------
    joined : str
        As in `wetted_layers` of a trial.
    known : iterable of str
    """
    names = sorted((str(name) for name in known), key=len, reverse=True)
    found = []
    while joined:
        name = next((n for n in names if joined == n or joined.startswith(f"{n}, ")), joined.partition(", ")[0])
        found.append(name)
        joined = joined[len(name) + 2 :]
    return found


def plain(value: float, digits: int = 3) -> str:
    """Return a number in few digits, without a power of ten where it is large."""
    text = f"{float(value):.{digits}g}"
    return f"{float(text):.0f}" if "e+" in text else text


def without_size(name: str) -> str:
    """Return a name without the size at its end, for where the thickness stands beside it: 'air gap 25 mm'."""
    return re.sub(r" \d+(\.\d+)? mm$", "", name)


def fixed(value: float, digits: int) -> str:
    """Return a number with so many decimals; what is rounded to nothing has no sign."""
    return f"{round(float(value), digits) + 0.0:.{digits}f}"


def paragraph(text: str, indent: str = "") -> str:
    """Return text in lines of at most 88 letters; lines after the first stand in where there is an indent."""
    return textwrap.fill(told(text), 88, initial_indent=indent, subsequent_indent=2 * indent)


def table(rows: Rows, left: int = 1) -> str:
    """Return rows in columns, the first `left` of them to the left, the others to the right."""
    tell = TELL.get()
    if tell is not None:
        rows = [[tell.words(cell) for cell in row] for row in tell.rows(rows)]
    widths = [max(len(row[j]) for row in rows) for j in range(len(rows[0]))]

    def placed(j: int, text: str) -> str:
        return text.ljust(widths[j]) if j < left else text.rjust(widths[j])

    return "\n".join("  ".join(placed(j, text) for j, text in enumerate(row)).rstrip() for row in rows)
