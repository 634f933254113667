"""What the criteria find in the two runs of a trial, each knowing what is of its water.

The outer part of a layer that rain wets is left to the weather. Where a trial puts its water into just that part, it is
judged there by every criterion whose limit the weather alone keeps.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from ..case.case import Case
from ..criteria import Finding, Place, assess, of_trial
from ..criteria.reading import IN_RAIN, LEFT
from .unknown import wet_weathered

if TYPE_CHECKING:
    import xarray as xr


class InRain(NamedTuple):
    """How the part that rain wets is judged in a trial that wets it.

    Parameters
    ----------
    place : Place or None
        That part; None: the trial puts no water there, and it is left to the weather as ever.
    left : frozenset of str
        Criteria that decide and whose limit the weather alone passes there.
    """

    place: Place | None = None
    left: frozenset[str] = frozenset()

    def mixed(self, plain: Sequence[Finding], there: Sequence[Finding]) -> list[Finding]:
        """Return findings, those of criteria that are left to the weather without that part.

        Parameters
        ----------
        plain, there : sequence of Finding
            Without that part and with it.
        """
        return [p if p.criterion in self.left else t for p, t in zip(plain, there, strict=True)]

    def assess(
        self, run: xr.Dataset, limits: Mapping[str, float] | None = None, only: Sequence[str] | None = None
    ) -> list[Finding]:
        """Return what the criteria find in a run of the trial; as `drydown.criteria.assess`."""
        plain = assess(run, limits, only)
        return plain if self.place is None else self.mixed(plain, assess(_there(run), limits, only))

    def titles(self, findings: Sequence[Finding]) -> tuple[str, ...]:
        """Return the titles of what is left to the weather."""
        return tuple(f.title for f in findings if f.criterion in self.left)


def in_rain(
    case: Case, reference: xr.Dataset, limits: Mapping[str, float] | None = None, only: Sequence[str] | None = None
) -> InRain:
    """Return how the part that rain wets is judged, by the run without the water.

    Parameters
    ----------
    case : Case
        With its wettings.
    reference : Dataset
        The run without them.
    limits, only
        As for `drydown.criteria.assess`.
    """
    place = wet_weathered(case, reference)
    if place is None:
        return InRain()
    return _by_dry(place, assess(reference, limits, only), assess(_there(reference), limits, only))


def judge_trial(
    case: Case,
    runs: tuple[xr.Dataset, xr.Dataset],
    before: Sequence[Finding],
    after: Sequence[Finding],
    limits: Mapping[str, float] | None = None,
) -> tuple[list[Finding], list[Finding]]:
    """Return the findings of both runs of a trial as they count in it (`drydown.criteria.of_trial`).

    Parameters
    ----------
    case : Case
    runs : (Dataset, Dataset)
        Without the water and with it; what is left to the weather is noted in the attributes of the second.
    before, after : sequence of Finding
        What all criteria find in each, by itself.
    limits : mapping, optional
        As for `drydown.criteria.assess`.
    """
    reference, wetted = runs
    place = wet_weathered(case, reference)
    if place is not None:
        there = assess(_there(reference), limits)
        how = _by_dry(place, before, there)
        before, after = how.mixed(before, there), how.mixed(after, assess(_there(wetted), limits))
        wetted.attrs[LEFT] = "; ".join(how.titles(before))
    return of_trial(before, after, [w.layer for w in case.wettings])


def _by_dry(place: Place, plain: Sequence[Finding], there: Sequence[Finding]) -> InRain:
    """Return how a part is judged, by what is found in the run without the water: without that part, and with it."""
    passed = (t for p, t in zip(plain, there, strict=True) if t.verdict == "exceeded" != p.verdict and not t.screening)
    return InRain(place, frozenset(t.criterion for t in passed))


def _there(run: xr.Dataset) -> xr.Dataset:
    return run.assign_attrs({IN_RAIN: 1})
