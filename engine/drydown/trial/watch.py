"""Criteria followed through a trial that is marched by hand, without a Dataset of its states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..case.case import Case
from ..criteria import Criterion
from ..criteria.reading import RAIN, SKIN, Block, Wall, read_wall
from ..kernel.layout import Record, State
from ..lowering.problem import Problem
from ..run.simulation import simulate


def wall_of(case: Case, problem: Problem) -> Wall:
    """Return what criteria need to know of a wall; its skin by the rain that the problem's run has taken up."""
    wall = read_wall(simulate(replace(case, end=case.start + np.timedelta64(2, "h"))))
    rain = float(problem.state.flow[0, 1])
    skin = (wall.layer == 0) & (np.cumsum(wall.width) - 0.5 * wall.width < SKIN) & (rain > RAIN)
    return wall._replace(skin=skin, time=problem.stamps)


class Watch:
    """Follows criteria from one mark of a run on.

    Parameters
    ----------
    wall : Wall
    problem : Problem
        Its marks are an hour apart, and all are kept.
    mark : int
    state : State
        At that mark.
    followed : sequence of (Criterion, limits by name)
    """

    def __init__(
        self,
        wall: Wall,
        problem: Problem,
        mark: int,
        state: State,
        followed: Sequence[tuple[Criterion, Mapping[str, float]]],
    ) -> None:
        self.trackers = [c.tracker(wall, limits) for c, limits in followed]
        for tracker in self.trackers:
            tracker.start()
        self.problem, self.mark = problem, mark
        self.row = (state.temperature[None].copy(), state.u[None].copy(), state.water[None].copy())

    def see(self, stop: int, record: Record) -> None:
        """Take the marks up to `stop`."""
        rows = (record.temperature, record.u, record.water)
        t, u, water = (np.concatenate([old, new]) for old, new in zip(self.row, rows, strict=True))
        time = self.problem.stamps[self.mark : stop + 1]
        hours = np.diff(time) / np.timedelta64(3600, "s")
        whole = np.ones(len(hours), dtype=bool)
        dx = self.problem.grid.dx
        block = Block(time, hours, whole, t - 273.15, np.exp(-np.exp(u)), water / dx, np.zeros((len(time), 0)))
        for tracker in self.trackers:
            tracker.feed(block)
        self.mark, self.row = stop, (t[-1:], u[-1:], water[-1:])

    def values(self) -> tuple[float, ...]:
        """Return what each criterion found at its worst place; NaN where it does not apply."""
        return tuple(tracker.outcome().value for tracker in self.trackers)
