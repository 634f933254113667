"""The one loop that takes trackers through a run: whatever asks criteria, asks here."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

import numpy as np

from ..arrays import Array
from .finding import Finding, Outcome, chosen
from .reading import BLOCK, Block, Wall, blocks, read_wall
from .spots import Spots, cells

if TYPE_CHECKING:
    import xarray as xr


class Asked(Protocol):
    """What is needed of a criterion here; `drydown.criteria.Criterion` has it."""

    @property
    def name(self) -> str:
        """Its name."""
        ...

    @property
    def tracker(self) -> Callable[[Wall, Mapping[str, float]], Any]:
        """Returns a fresh tracker of a wall and the limits."""
        ...

    def finding(self, found: Outcome) -> Finding:
        """Return a finding of what a tracker found."""
        ...


def _tracked(criterion: Any) -> bool:
    return hasattr(criterion, "tracker") and hasattr(criterion, "finding")


class Followed(NamedTuple):
    """What each criterion found, in the order asked; and by name, where they were kept, its spots and values."""

    findings: list[Finding]
    spots: dict[str, Spots]
    values: dict[str, Array]  # criterion -> shape (marks kept, spots)


class Followers:
    """Trackers of some criteria, fed together.

    Parameters
    ----------
    wall : Wall
    asked : sequence of Criterion
    limits : mapping, optional
        Values by name instead of those the criteria bring.
    every : int
        Keep the values at every so many marks; 0: none.
    worst : bool
        Keep of every mark the greatest value alone.
    """

    def __init__(
        self,
        wall: Wall,
        asked: Sequence[Asked],
        limits: Mapping[str, float] | None = None,
        every: int = 0,
        worst: bool = False,
    ) -> None:
        self.asked, self.every, self.worst, self.done = list(asked), every, worst, 1
        self.left_out = wall.left_out
        self.trackers = [c.tracker(wall, chosen(c, limits)) for c in self.asked]
        self.spots = {
            c.name: getattr(t, "spots", None) or cells(wall) for c, t in zip(self.asked, self.trackers, strict=True)
        }
        self.rows: dict[str, list[Array]] = {}
        for c, tracker in zip(self.asked, self.trackers, strict=True):
            self.rows[c.name] = [self._kept(np.asarray(tracker.start(), dtype=float)[None, :])]

    def see(self, block: Block) -> None:
        """Take the marks of a block.

        Parameters
        ----------
        block : Block
            The next marks of the run.
        """
        for c, tracker in zip(self.asked, self.trackers, strict=True):
            new = tracker.feed(block)
            if self.every:
                self.rows[c.name].append(self._kept(new[(-self.done) % self.every :: self.every]))
        self.done += len(block.hours)

    def _kept(self, rows: Array) -> Array:
        if not self.worst:
            return np.array(rows)
        if not rows.shape[1]:
            return np.full((len(rows), 1), np.nan)
        worst: Array = np.fmax.reduce(rows, axis=1)[:, None]
        return worst

    def findings(self) -> list[Finding]:
        """Return what each criterion found so far, in the order asked."""
        found = [c.finding(tracker.outcome()) for c, tracker in zip(self.asked, self.trackers, strict=True)]
        return [f.without(self.left_out) for f in found]


def follow(
    dataset: xr.Dataset, asked: Sequence[Any], limits: Mapping[str, float] | None = None, every: int = 0
) -> Followed:
    """Take criteria through a result; a file is read once, in blocks.

    Parameters
    ----------
    dataset : Dataset
        Of `drydown.simulate`.
    asked : sequence
        Criteria; one that is no `Criterion` is asked by its own `judge`, and has no values here.
    limits, every
        As for `Followers`.

    Raises
    ------
    InputError
        If the Dataset is no result of a run.
    """
    wall = read_wall(dataset)
    followers = Followers(wall, [c for c in asked if _tracked(c)], limits, every)
    for block in blocks(dataset, wall, BLOCK) if followers.asked else ():
        followers.see(block)
    found = {f.criterion: f for f in followers.findings()}
    findings = [found[c.name] if _tracked(c) else c.judge(dataset, limits) for c in asked]
    values = {name: np.concatenate(rows) for name, rows in followers.rows.items()} if every else {}
    return Followed(findings, followers.spots, values)
