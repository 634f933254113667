"""What a criterion finds: words, places, what was found in each layer and at the worst of them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from typing import Any, Literal, NamedTuple

import numpy as np

from ..materials.model import Source
from ..text import plain, share

Verdict = Literal["fine", "watch", "exceeded", "not applicable"]
#: From the best to the worst.
VERDICTS: tuple[Verdict, ...] = ("not applicable", "fine", "watch", "exceeded")


class Severity(IntEnum):
    """How grave it is that a limit is passed; a plugin may take any number between."""

    LOOK = 10  # a quick look that says nothing of damage
    CAUTIOUS = 20  # over a cautious limit for a part of each year, and below it again
    WATER = 30  # free water or rust: more is to be asked
    TOO_WET = 40
    GATHERS = 50  # wetter from year to year
    FROST = 60
    MOULD = 70
    ROT = 80


@dataclass(frozen=True)
class Terms:
    """The words of a criterion; `drydown.wording` makes its sentences of them.

    Parameters
    ----------
    harm : str
        What it means that the limit is passed, for people who build: ``"mould grows too much"``.
    short : str
        The same as a word in a table: ``"mould"``.
    what : str
        What comes to its limit: ``"the mould index"``.
    column : str
        Head of a column in a comparison of variants; empty: no column of its own.
    cases : mapping of str to str
        What is said of a finding by its `case`: a sentence without its stop, with the names of its `facts`, ``value``,
        ``limit``, ``place``, ``when`` and ``layer`` in braces.
    harms : mapping of str to str
        What it means in some cases, instead of `harm`.
    severities : mapping of str to int
        How grave some cases are, instead of the severity of the criterion.
    of_water : mapping of str to str
        Cases of a season's damp, which harms nothing, and the case that tells it where it is the water of a trial.
    """

    harm: str = ""
    short: str = ""
    what: str = ""
    column: str = ""
    cases: Mapping[str, str] = field(default_factory=dict)
    harms: Mapping[str, str] = field(default_factory=dict)
    severities: Mapping[str, int] = field(default_factory=dict)
    of_water: Mapping[str, str] = field(default_factory=dict)


#: Of a criterion without words of its own: it is told by its title.
NO_TERMS = Terms()


class Place(NamedTuple):
    """A spot in the assembly.

    Parameters
    ----------
    layer : str
    distance : float
        From the outer surface [m]; NaN: the whole layer.
    what : str
        What is judged there: ``"outer face"``, ``"inner face"``, ``"outer 10 mm"``, ``"whole thickness"``; empty: the
        spot itself.
    """

    layer: str
    distance: float = float("nan")
    what: str = ""

    def __str__(self) -> str:
        if self.what:
            return f"the {self.what} of '{self.layer}'"
        if np.isnan(self.distance):
            return f"'{self.layer}'"
        return f"'{self.layer}', {plain(1e3 * self.distance)} mm from outside"


@dataclass(frozen=True)
class LayerResult:
    """What a criterion finds in one layer, at the worst of its spots.

    Parameters
    ----------
    layer : str
    value, limit : float
    verdict : str
    place : Place or None
    when : datetime64 or None
    case : str
        Which of the criterion's sentences tells it.
    facts : mapping
        Further values of that sentence: numbers as (value, unit), dates, words.
    column : int
        Of the worst spot among the criterion's `values`; -1: none.
    """

    layer: str
    value: float
    verdict: Verdict
    limit: float = float("nan")
    place: Place | None = None
    when: np.datetime64 | None = None
    case: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)
    column: int = -1

    def order(self) -> tuple[int, float]:
        """How bad it is: the verdict, then the value against its limit."""
        against = self.value / self.limit if self.limit > 0.0 else self.value
        return VERDICTS.index(self.verdict), -np.inf if np.isnan(against) else against


@dataclass(frozen=True)
class Outcome:
    """What a tracker has found: the part of a `Finding` that depends on the results.

    Parameters
    ----------
    value, limit, verdict, place, when, case, facts, column
        As in `LayerResult`, at the worst place of all.
    by_layer : tuple of LayerResult
    """

    value: float
    limit: float
    verdict: Verdict
    place: Place | None = None
    when: np.datetime64 | None = None
    by_layer: tuple[LayerResult, ...] = ()
    case: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)
    column: int = -1


@dataclass(frozen=True)
class Finding:
    """What one criterion says about one run, at the worst place of the assembly.

    Parameters
    ----------
    criterion, title : str
    place : Place or None
        Where it is worst; None where the criterion does not apply.
    value, limit : float
        In SI; `value_text` and `limit_text` are for people.
    unit : str
        ``"index"``, ``"fraction"``, ``"d"``, ``"h/a"``, ``"1/a"``, ``"kg/m2"``, ``"kg/(m2 a)"`` or ``"1"``.
    verdict : {'fine', 'watch', 'exceeded', 'not applicable'}
    when : datetime64 or None
        When it was worst.
    source : Source
    validity, caution : str
    screening : bool
        True: a quick look that another criterion decides; it does not count in the verdict on the wall.
    by_layer : tuple of LayerResult
        What was found in every layer that was judged, from outside to inside.
    terms : Terms
        Of the criterion.
    severity : int
        How grave it is.
    case, facts, column
        As in `LayerResult`.
    wetted_counts : bool
        Whether what happens in a layer that was wetted on purpose counts.
    """

    criterion: str
    title: str
    place: Place | None
    value: float
    unit: str
    limit: float
    verdict: Verdict
    when: np.datetime64 | None
    source: Source
    validity: str = ""
    caution: str = ""
    screening: bool = False
    by_layer: tuple[LayerResult, ...] = ()
    terms: Terms = NO_TERMS
    severity: int = 0
    case: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)
    column: int = -1
    wetted_counts: bool = True

    @property
    def value_text(self) -> str:
        """The value as people read it, with its unit."""
        return figure(self.value, self.unit, self.limit)

    @property
    def limit_text(self) -> str:
        """The limit as people read it, with its unit."""
        return figure(self.limit, self.unit)

    @property
    def harm(self) -> str:
        """What it means that the limit is passed."""
        return self.terms.harms.get(self.case) or self.terms.harm or f"the limit on {self.title} is passed"

    @property
    def short(self) -> str:
        """The same as a word in a table."""
        return self.terms.short or self.title

    @property
    def what(self) -> str:
        """What comes to its limit."""
        return self.terms.what or f"the {self.title}"

    def without(self, layers: Collection[str]) -> Finding:
        """Return the finding of the other layers: some are left out, never the finding.

        Parameters
        ----------
        layers : sequence of str
            Names of the layers that are left out.
        """
        return self.with_rows([r for r in self.by_layer if r.layer not in layers])

    def with_rows(self, rows: Sequence[LayerResult]) -> Finding:
        """Return the finding of other results of its layers, at the worst of them.

        Parameters
        ----------
        rows : sequence of LayerResult
        """
        rest = tuple(rows)
        if rest == self.by_layer:
            return self
        worst = max(rest, key=LayerResult.order, default=None)
        if worst is None:
            nan = float("nan")
            return replace(
                self, place=None, value=nan, verdict="not applicable", when=None, by_layer=(), case="", column=-1
            )
        return replace(
            self, **{k: getattr(worst, k) for k in _SHARED}, by_layer=rest, severity=self.graveness(worst.case)
        )

    def graveness(self, case: str) -> int:
        """Return how grave a case of this finding is.

        Parameters
        ----------
        case : str
            Which of its cases is meant.
        """
        return self.terms.severities.get(case, self.severity)


#: What a finding has in common with the result of its worst layer.
_SHARED = ("value", "limit", "verdict", "place", "when", "case", "facts", "column")

#: [kg/m2].
GRAM = 1e-3
_UNITS = {
    "index": "",
    "1": "",
    "d": " days",
    "h/a": " h",
    "1/a": "",
    "kg/m2": " kg/m2",
    "kg/(m2 a)": " kg/m2",
}


def figure(value: float, unit: str, limit: float = float("nan")) -> str:
    """Return a value of a finding as people read it: 2.4, 21 %, 140 days; if it is of a year the title says so.

    With a limit beside it the value gets as many digits as it takes to see on which side of it it is.
    """
    if np.isnan(value):
        return "-"
    if unit == "index" and value != limit and f"{value:.1f}" == f"{limit:.1f}":
        return f"just {'under' if value < limit else 'over'} {limit:.1f}"
    for digits in range(4):
        text = _figure(value, unit, digits)
        if np.isnan(limit) or value == limit or text != _figure(limit, unit, digits):
            break
    return text


def _figure(value: float, unit: str, more: int) -> str:
    if unit == "fraction":
        if not more and share(value) == "100 %" and value < 1.0:
            # nearly all is not all: a limit of 99.99 % is told as such
            return next((t for d in (1, 2) if float((t := f"{100.0 * value:.{d}f} %")[:-2]) < 100.0), "100 %")
        return share(value) if not more else f"{100.0 * value:.{more}f} %"
    if unit == "index":
        return f"{value:.{1 + more}f}"
    if unit == "1":
        return plain(value, 3 + more)
    if unit in ("d", "h/a"):
        text = f"{value:.{more}f}{_UNITS[unit]}"
        return "1 day" if text == "1 days" else text
    if unit.startswith("kg/") and abs(value) < GRAM / 20.0:
        value = 0.0  # less than anybody weighs
    return plain(value, 2 + more) + _UNITS.get(unit, f" {unit}")


def nothing(case: str, limit: float = float("nan")) -> Outcome:
    """Return the outcome of a criterion that does not apply; `case` says why, among the sentences of its terms."""
    return Outcome(float("nan"), limit, "not applicable", case=case)


def worst_layer(rows: tuple[LayerResult, ...]) -> Outcome:
    """Return the outcome whose worst layer is the worst of those given."""
    worst = max(rows, key=LayerResult.order)
    return Outcome(**{k: getattr(worst, k) for k in _SHARED}, by_layer=rows)


def chosen(criterion: Any, limits: Mapping[str, float] | None) -> dict[str, float]:
    """Return the limits of a criterion by name: its own values, or those given instead."""
    given = limits or {}
    return {limit.name: float(given.get(limit.name, limit.value)) for limit in criterion.limits}
