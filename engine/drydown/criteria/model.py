"""What a criterion is, and what it finds.

A criterion is anything with `name`, `title`, `limits`, `judge(dataset, limits)` and `values(dataset, limits)`. Ours are
`Criterion` objects around a tracker: it is fed the results in blocks, keeps its state between them, and so works on
files of many years in the memory of one block.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Protocol

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..materials.model import Source
from ..text import plain, share
from .reading import BLOCK, Block, Wall, blocks, read_wall

if TYPE_CHECKING:
    import xarray as xr

Verdict = Literal["fine", "watch", "exceeded", "not applicable"]
#: From the best to the worst.
VERDICTS: tuple[Verdict, ...] = ("not applicable", "fine", "watch", "exceeded")


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


class Place(NamedTuple):
    """A spot in the assembly: the layer, and the distance from the outer surface [m] (NaN: the whole layer)."""

    layer: str
    distance: float = float("nan")

    def __str__(self) -> str:
        if np.isnan(self.distance):
            return f"'{self.layer}'"
        return f"'{self.layer}', {plain(1e3 * self.distance)} mm from outside"


class LayerResult(NamedTuple):
    """The worst of one layer."""

    layer: str
    value: float
    verdict: Verdict


@dataclass(frozen=True)
class Outcome:
    """What a tracker has found: the part of a `Finding` that depends on the results."""

    value: float
    limit: float
    verdict: Verdict
    words: str
    place: Place | None = None
    when: np.datetime64 | None = None
    by_layer: tuple[LayerResult, ...] = ()


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
    words : str
        One or two plain sentences.
    source : Source
    validity, caution : str
    screening : bool
        True: a quick look that another criterion decides; it does not count in the verdict on the wall.
    by_layer : tuple of LayerResult
        The worst value of every layer that was judged, from outside to inside.
    """

    criterion: str
    title: str
    place: Place | None
    value: float
    unit: str
    limit: float
    verdict: Verdict
    when: np.datetime64 | None
    words: str
    source: Source
    validity: str
    caution: str
    screening: bool = False
    by_layer: tuple[LayerResult, ...] = ()

    @property
    def value_text(self) -> str:
        """The value as people read it, with its unit."""
        return figure(self.value, self.unit)

    @property
    def limit_text(self) -> str:
        """The limit as people read it, with its unit."""
        return figure(self.limit, self.unit)


_UNITS = {
    "index": "",
    "1": "",
    "d": " days",
    "h/a": " h",
    "1/a": "",
    "kg/m2": " kg/m2",
    "kg/(m2 a)": " kg/m2",
}


def figure(value: float, unit: str) -> str:
    """Return a value of a finding as people read it: 2.4, 21 %, 140 days; if it is of a year the title says so."""
    if np.isnan(value):
        return "-"
    if unit == "fraction":
        return share(value)
    if unit in ("index", "1"):
        return f"{value:.1f}" if unit == "index" else plain(value)
    if unit in ("d", "h/a"):
        return f"{value:.0f}{_UNITS[unit]}"
    return plain(value, 2) + _UNITS.get(unit, f" {unit}")


class Tracker(Protocol):
    """Follows one quantity through a run."""

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
    places : {'cell', 'layer'}
        What `values` runs over beside time.
    screening : bool
        See `Finding`.
    """

    name: str
    title: str
    unit: str
    tracker: Callable[[Wall, Mapping[str, float]], Tracker]
    limits: tuple[Limit, ...]
    source: Source
    validity: str
    caution: str = ""
    places: Literal["cell", "layer"] = "cell"
    screening: bool = False

    def values(self, dataset: xr.Dataset, limits: Mapping[str, float] | None = None, every: int = 1) -> xr.DataArray:
        """Return the criterion over (time, cell) or (time, layer).

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

        wall = read_wall(dataset)
        tracker = self.tracker(wall, chosen(self, limits))
        rows = [np.asarray(tracker.start())[None, :]]
        done = 1
        for block in blocks(dataset, wall, BLOCK):
            new = tracker.feed(block)
            rows.append(new[(-done) % every :: every].copy())
            done += len(new)
        coords = {k: v for k, v in dataset.coords.items() if set(v.dims) <= {self.places}}
        return xr.DataArray(
            np.concatenate(rows),
            {"time": dataset["time"].values[::every], **coords},
            ("time", self.places),
            self.name,
            {"units": self.unit, "long_name": self.title},
        )

    def judge(self, dataset: xr.Dataset, limits: Mapping[str, float] | None = None) -> Finding:
        """Return what the criterion says about a run, at the worst place."""
        wall = read_wall(dataset)
        tracker = self.tracker(wall, chosen(self, limits))
        tracker.start()
        for block in blocks(dataset, wall, BLOCK):
            tracker.feed(block)
        return self.finding(tracker.outcome())

    def finding(self, found: Outcome) -> Finding:
        """Return a finding of what a tracker found."""
        return Finding(
            self.name,
            self.title,
            found.place,
            found.value,
            self.unit,
            found.limit,
            found.verdict,
            found.when,
            found.words,
            self.source,
            self.validity,
            self.caution,
            self.screening,
            found.by_layer,
        )


def chosen(criterion: Any, limits: Mapping[str, float] | None) -> dict[str, float]:
    """Return the limits of a criterion by name: its own values, or those given instead."""
    given = limits or {}
    return {limit.name: float(given.get(limit.name, limit.value)) for limit in criterion.limits}


def check_names(limits: Mapping[str, float], known: list[str]) -> None:
    """Raise InputError for a limit that no criterion has."""
    for name in limits:
        if name not in known:
            raise InputError(f"no limit is called '{name}'; {nearest(name, known)}", "limits")


def nothing(words: str, limit: float = float("nan")) -> Outcome:
    """Return the outcome of a criterion that does not apply."""
    return Outcome(float("nan"), limit, "not applicable", words)
