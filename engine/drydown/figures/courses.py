"""The course of criteria over time at their worst places, read from a result a piece at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .criteria import Course

if TYPE_CHECKING:
    import xarray as xr

#: How a unit is drawn: factor and words.
_DRAWN = {"fraction": (100.0, "%"), "1": (1.0, ""), "index": (1.0, "index")}


def courses_of(
    results: xr.Dataset,
    findings: Sequence[Any] | None = None,
    only: Sequence[str] | None = None,
    most: int = 1500,
    limits: Mapping[str, float] | None = None,
) -> list[Course]:
    """Return the criteria that apply, each over time at its worst place.

    Parameters
    ----------
    results : Dataset
        Of `drydown.simulate`.
    findings : sequence of Finding, optional
        Of `drydown.criteria.assess`; made here if not given.
    only : sequence of str, optional
        Names of criteria.
    most : int
        Points in time.
    limits : mapping, optional
        As for `assess`.
    """
    from ..criteria import assess, catalogue

    found = findings if findings is not None else assess(results, limits, only)
    known = catalogue()
    every = max(1, -(-results.sizes["time"] // most))
    courses = []
    for finding in found:
        criterion = known.get(finding.criterion)
        if finding.verdict == "not applicable" or finding.place is None or criterion is None:
            continue
        values = criterion.values(results, limits, every)
        where = _column(values, finding.place)
        factor, unit = _DRAWN.get(finding.unit, (1.0, finding.unit))
        courses.append(
            Course(
                finding.title,
                str(finding.place),
                unit,
                values["time"].values,
                factor * values.values[:, where],
                factor * float(finding.limit),
            )
        )
    return courses


def _column(values: xr.DataArray, place: Any) -> int:
    """Return the column of a place: the cell nearest to it, or its layer."""
    if "layer" in values.dims:
        return int(np.flatnonzero(values["layer"].values == place.layer)[0])
    distance = np.abs(values["x"].values - place.distance)
    same = values["layer_of_cell"].values == place.layer
    if np.isnan(place.distance):
        distance = -np.nanmax(values.values, axis=0)
    return int(np.argmin(np.where(same, distance, np.inf)))
