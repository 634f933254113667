"""What a criterion is, and what it finds.

A criterion is anything with `name`, `title`, `limits`, `judge(dataset, limits)` and `values(dataset, limits)`. Ours are
`Criterion` objects around a tracker: it is fed the results in blocks, keeps its state between them, and so works on
files of many years in the memory of one block.

A criterion owns all that anyone needs to know of it: its words, how grave it is, whether it decides, whether a search
for the drying reserve and a calendar of wettings follow it. Nothing outside lists criteria by name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from ..arrays import Array
from ..errors import InputError, nearest
from ..materials.model import Source
from .finding import NO_TERMS
from .finding import VERDICTS as VERDICTS
from .finding import Finding as Finding
from .finding import LayerResult as LayerResult
from .finding import Outcome as Outcome
from .finding import Place as Place
from .finding import Severity as Severity
from .finding import Terms as Terms
from .finding import Verdict as Verdict
from .finding import chosen as chosen
from .finding import figure as figure
from .finding import nothing as nothing
from .finding import worst_layer as worst_layer
from .reading import Block, Wall

if TYPE_CHECKING:
    import xarray as xr


@dataclass(frozen=True)
class Limit:
    """A threshold that can be changed in the case file.

    Parameters
    ----------
    name : str
        Unique among all criteria; its key in the section `[limits]`.
    value : float
        SI.
    quantity : str
        What a person writes, a name of `drydown.quantities` or ``"number"``.
    about : str
    source : Source
    """

    name: str
    value: float
    quantity: str
    about: str
    source: Source


class Tracker(Protocol):
    """Follows one quantity through a run.

    A tracker may have an attribute `spots` (`drydown.criteria.spots.Spots`): the places that its values run over.
    Without it they are the cells of the wall.
    """

    def start(self) -> Array:
        """Return the values at the first mark, one for each place."""
        ...

    def feed(self, block: Block) -> Array:
        """Return the values at the marks of a block but its first, shape (marks - 1, places)."""
        ...

    def outcome(self) -> Outcome:
        """Return what was found, after the last block."""
        ...


@dataclass(frozen=True)
class Criterion:
    """A criterion made of a tracker.

    Parameters
    ----------
    name : str
        What people type, ``"mould"``.
    title : str
        Heads its line in tables.
    unit : str
        As in `Finding`; that of `values`.
    tracker : callable
        Of the wall and the limits by name; returns a fresh `Tracker`.
    limits : tuple of Limit
    source : Source
    validity, caution : str
    terms : Terms
        Its words.
    severity : int
        How grave it is that its limit is passed, see `Severity`.
    screening : bool
        True: a quick look that does not decide; see `Finding`.
    in_reserve : bool
        Whether it must hold for a yearly amount of water to count in the drying reserve, if it decides at all.
    in_calendar : bool
        Whether it is followed through every trial of a calendar of wettings, if it decides at all.
    wetted_counts : bool
        False: a layer into which a trial puts water is left out.
    """

    name: str
    title: str
    unit: str
    tracker: Callable[[Wall, Mapping[str, float]], Tracker]
    limits: tuple[Limit, ...]
    source: Source
    validity: str = ""
    caution: str = ""
    terms: Terms = NO_TERMS
    severity: int = Severity.TOO_WET
    screening: bool = False
    in_reserve: bool = True
    in_calendar: bool = True
    wetted_counts: bool = True

    def values(self, dataset: xr.Dataset, limits: Mapping[str, float] | None = None, every: int = 1) -> xr.DataArray:
        """Return the criterion over (time, spot), with the layer and the distance from outside [m] of each spot.

        Parameters
        ----------
        dataset : Dataset
            Of `drydown.simulate`.
        limits : mapping, optional
            Values by name instead of those of `limits`.
        every : int
            Keep every so many marks.
        """
        import xarray as xr

        from .following import follow

        followed = follow(dataset, [self], limits, every)
        spots = followed.spots[self.name]
        return xr.DataArray(
            followed.values[self.name],
            {
                "time": dataset["time"].values[::every],
                "layer_of_spot": ("spot", [str(spots.place(i).layer) for i in range(len(spots.layer))]),
                "x_of_spot": ("spot", spots.x, {"units": "m"}),
            },
            ("time", "spot"),
            self.name,
            {"units": self.unit, "long_name": self.title},
        )

    def judge(self, dataset: xr.Dataset, limits: Mapping[str, float] | None = None) -> Finding:
        """Return what the criterion says about a run, at the worst place.

        Parameters
        ----------
        dataset : Dataset
            Of `drydown.simulate`.
        limits : mapping of str to float, optional
            Limits by name [SI] instead of its own.
        """
        from .following import follow

        return follow(dataset, [self], limits).findings[0]

    def finding(self, found: Outcome) -> Finding:
        """Return a finding of what a tracker found.

        Parameters
        ----------
        found : Outcome
            What its tracker says at the end.
        """
        return Finding(
            self.name,
            self.title,
            found.place,
            found.value,
            self.unit,
            found.limit,
            found.verdict,
            found.when,
            self.source,
            self.validity,
            self.caution,
            self.screening,
            found.by_layer,
            self.terms,
            self.terms.severities.get(found.case, self.severity),
            found.case,
            found.facts,
            found.column,
            self.wetted_counts,
        )


def check_names(limits: Mapping[str, float], known: list[str]) -> None:
    """Raise InputError for a limit that no criterion has."""
    for name in limits:
        if name not in known:
            raise InputError(f"no limit is called '{name}'; {nearest(name, known)}", "limits")
