"""Criteria followed through a trial that is marched by hand, without a Dataset of its states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..criteria import Criterion, Followers
from ..criteria.reading import RAIN, SKIN, Block, Wall, rained, read_wall
from ..kernel.humidity import humidity_of
from ..kernel.layout import Record
from ..lowering.lowered import Problem
from ..run.interfaces import Reader
from ..run.results import offered_rain
from ..run.simulation import simulate


def wall_of(case: Case, problem: Problem) -> Wall:
    """Return what criteria need to know of a wall; it has a skin if rain falls on a surface that takes it up."""
    wall = read_wall(simulate(replace(case, end=case.start + np.timedelta64(2, "h")), grid=problem.grid))
    bare = problem.wall.film[0] < 0 and problem.wall.liquid[problem.wall.material[0]] == 1
    rain = bool(bare) and float(offered_rain(problem)[-1]) > RAIN
    skin = (wall.layer == 0) & (np.cumsum(wall.width) - 0.5 * wall.width < SKIN) & rain
    return wall._replace(skin=skin, rained=rained(wall.kinds, rain), time=problem.stamps)


def _states(record: Record) -> tuple[Array, Array, Array, Array]:
    """Return what criteria see of a record."""
    return record.temperature, record.u, record.water, record.faces


class Watch:
    """Follows criteria from one mark of a run on.

    Parameters
    ----------
    wall : Wall
    problem : Problem
        Its marks are an hour apart, and all are kept.
    mark : int
    begun : Record
        Of that mark alone.
    asked : sequence of Criterion
    limits : mapping, optional
        As for `drydown.criteria.assess`.
    """

    def __init__(
        self,
        wall: Wall,
        problem: Problem,
        mark: int,
        begun: Record,
        asked: Sequence[Criterion],
        limits: Mapping[str, float] | None = None,
    ) -> None:
        self.problem, self.begin, self.mark = problem, mark, mark
        self.followers = Followers(wall._replace(time=wall.time[mark:]), asked, limits, 1, worst=True)
        self.row = _states(begun)
        self.cells = [problem.grid.cells(j) for j in range(len(wall.names))]
        self.faces = Reader(problem)

    def see(self, stop: int, record: Record) -> None:
        """Take the marks up to `stop`."""
        before, rows = self.row, _states(record)
        t, u, water, faces = (np.concatenate([old, new]) for old, new in zip(before, rows, strict=True))
        time = self.problem.stamps[self.mark : stop + 1]
        hours = np.diff(time) / np.timedelta64(3600, "s")
        whole = np.ones(len(hours), dtype=bool)
        layer_water = np.stack([water[:, cells].sum(axis=1) for cells in self.cells], axis=1)
        at = self.faces.of(faces)
        block = Block(
            time,
            hours,
            whole,
            t - 273.15,
            humidity_of(u),
            water / self.problem.grid.dx,
            layer_water,
            at.temperature - 273.15,
            np.stack([at.outer_side, at.inner_side], axis=2),
        )
        self.followers.see(block)
        self.mark, self.row = stop, (t[-1:], u[-1:], water[-1:], faces[-1:])

    def values(self) -> tuple[float, ...]:
        """Return what each criterion found at its worst place; NaN where it does not apply."""
        return tuple(f.value for f in self.followers.findings())

    def worst_until(self, mark: int) -> Array:
        """Return the greatest value of each criterion up to a mark, at any place; NaN where there is none."""
        out = []
        for rows in self.followers.rows.values():
            course = np.concatenate(rows)[: mark - self.begin + 1, 0]
            out.append(np.nan if np.isnan(course).all() else float(np.nanmax(course)))
        return np.array(out)
