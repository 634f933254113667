"""Criteria followed through a result in one pass: what each finds, and its course at the worst place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from .criteria import Course

if TYPE_CHECKING:
    import xarray as xr

#: How a unit is drawn: factor and words.
_DRAWN = {"fraction": (100.0, "%"), "1": (1.0, ""), "index": (1.0, "0 to 6")}


class Followed(NamedTuple):
    """Findings of all criteria, the courses of those that apply, and the mould index by layer."""

    findings: list[Any]
    courses: list[Course]
    mould_time: np.ndarray  # datetime64, shape (n,)
    mould: dict[str, np.ndarray]  # layer -> highest index in the layer, shape (n,); only where something can grow


def follow(
    results: xr.Dataset,
    limits: Mapping[str, float] | None = None,
    only: Sequence[str] | None = None,
    most: int = 700,
) -> Followed:
    """Follow criteria through a result; a file is read once, in blocks.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    limits, only
        As for `drydown.criteria.assess`.
    most : int
        Points in time of a course, about.
    """
    from ..criteria import Criterion, assess
    from ..criteria.model import chosen
    from ..criteria.reading import BLOCK, blocks, read_wall
    from ..plugins import criteria, criterion

    asked = list(criteria().entries().values()) if only is None else [criterion(n, "criteria") for n in only]
    ours = [c for c in asked if isinstance(c, Criterion)]
    wall = read_wall(results)
    every = max(1, -(-results.sizes["time"] // most))
    trackers = {c.name: c.tracker(wall, chosen(c, limits)) for c in ours}
    rows = {name: [np.asarray(t.start(), dtype=np.float32)[None, :]] for name, t in trackers.items()}
    done = 1
    for block in blocks(results, wall, BLOCK):
        for name, tracker in trackers.items():
            new = tracker.feed(block)
            rows[name].append(np.asarray(new[(-done) % every :: every], dtype=np.float32))
        done += len(block.time) - 1
    time = results["time"].values[::every]
    findings, courses = [], []
    mould: dict[str, np.ndarray] = {}
    for c in asked:
        if not isinstance(c, Criterion):
            findings += assess(results, limits, [c.name])
            continue
        finding = c.finding(trackers[c.name].outcome())
        findings.append(finding)
        values = np.concatenate(rows[c.name])
        if c.name == "mould":
            for j, layer in enumerate(wall.names):
                cells = np.flatnonzero((wall.layer == j) & ~wall.skin)
                if wall.mould_classes[j] and len(cells):
                    mould[layer] = np.nanmax(values[:, cells], axis=1)
        column = _column(finding.place, wall, c.places)
        if finding.verdict == "not applicable" or column is None or np.all(np.isnan(values[:, column])):
            continue
        if not np.nanmax(np.abs(values[:, column])) > 0.01 * abs(finding.limit):
            # a line at zero far from its limit says nothing
            continue
        factor, unit = _DRAWN.get(finding.unit, (1.0, finding.unit))
        limit = factor * float(finding.limit)
        courses.append(Course(finding.title, str(finding.place), unit, time, factor * values[:, column], limit))
    return Followed(findings, courses, time, mould)


def _column(place: Any, wall: Any, places: str) -> int | None:
    """Return the column of a place among the values of a criterion; None where it is no single one."""
    if place is None or place.layer not in wall.names:
        return None
    j: int = wall.names.index(place.layer)
    if places == "layer":
        return j
    if np.isnan(place.distance):
        return None
    cells = np.flatnonzero(wall.layer == j)
    return int(cells[np.argmin(np.abs(wall.x[cells] - place.distance))])
