"""Criteria followed through a result in one pass: what each finds, and its course at the worst place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .criteria import Course

if TYPE_CHECKING:
    import xarray as xr

    from ..criteria import Finding

#: How a unit is drawn: factor and words.
_DRAWN = {"fraction": (100.0, "%"), "1": (1.0, ""), "index": (1.0, "0 to 6")}


class Followed(NamedTuple):
    """Findings of all criteria, the courses of those that apply, and by criterion and layer the worst of the layer."""

    findings: list[Finding]
    courses: list[Course]
    time: np.ndarray  # datetime64, shape (n,)
    layers: dict[str, dict[str, np.ndarray]]  # criterion -> layer -> greatest value in the layer, shape (n,)

    def gravest_with_layers(self) -> Finding | None:
        """Return the gravest criterion but one of those that decide, whose course in every layer a page shows.

        It is that of an index, which people read without a unit; None where there is none.
        """
        shown = [f for f in self.findings if not f.screening and f.unit == "index" and self.layers.get(f.criterion)]
        return max(shown, key=lambda f: f.severity, default=None)


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
    from ..criteria import follow as followed
    from ..criteria import installed

    every = max(1, -(-results.sizes["time"] // most))
    found = followed(results, installed(only), limits, every)
    time = results["time"].values[::every]
    courses = []
    layers: dict[str, dict[str, np.ndarray]] = {}
    for finding in found.findings:
        values = found.values.get(finding.criterion)
        if values is None:
            continue
        spots = found.spots[finding.criterion]
        layers[finding.criterion] = {
            name: np.fmax.reduce(values[:, np.flatnonzero(spots.layer == j)], axis=1)
            for j, name in enumerate(spots.names)
            if np.any(spots.layer == j)
        }
        column = finding.column
        if finding.verdict == "not applicable" or column < 0 or np.all(np.isnan(values[:, column])):
            continue
        if not np.nanmax(np.abs(values[:, column])) > 0.01 * abs(finding.limit):
            # a line at zero far from its limit says nothing
            continue
        factor, unit = _DRAWN.get(finding.unit, (1.0, finding.unit))
        limit = factor * float(finding.limit)
        courses.append(Course(finding.title, str(finding.place), unit, time, factor * values[:, column], limit))
    return Followed(found.findings, courses, time, layers)
