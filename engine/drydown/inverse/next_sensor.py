"""Which further sensor would tell most about the answer.

With Gaussian doubt C about the inputs (in their coordinates) and readings that are linear in them near where they are
now, a sensor with slopes J and noise of standard deviation s leaves

    C' = (C^-1 + J^T R^-1 J)^-1

and an answer with slopes g the doubt sqrt(g^T C' g) in place of sqrt(g^T C g). What it shrinks by does not hang on what
the sensor will read (the Bayesian linear design; Chaloner and Verdinelli 1995, Statistical Science 10, 273-304, from
memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError, nearest
from ..lowering.grid import Grid
from ..lowering.problem import mesh_of
from ..materials.model import Film
from .answers import ANSWERS, answers
from .derivatives import observed
from .free import Free, put_all
from .sensors import Quantity, Sensor

if TYPE_CHECKING:
    import xarray as xr

#: Standard deviation of what a logger reads wrongly, and how long it stays so: makers' figures of 2 % humidity and
#: 0.3 K are common, electrodes in wood are off by 1.5 % of mass (common practice).
NOISE: dict[str, float] = {
    "relative_humidity": 0.02,
    "temperature": 0.3,
    "moisture_content": 0.015,
    "vapour_pressure": 30.0,
    "water_content": 8.0,
}
#: Days over which what a reading is off by stays the same: calibration drifts, and a model errs over weeks.
STAYS = 10.0


def candidates(case: Case, quantities: Sequence[Quantity] = ("relative_humidity", "temperature")) -> list[Sensor]:
    """Return sensors to choose among: each quantity at each face between layers and in the middle of each layer.

    Where a film lies between two layers, on both its sides. Wood moisture is looked for in wood alone.

    Parameters
    ----------
    case : Case
    quantities : sequence of str
    """
    out = []
    layers = case.assembly.layers
    parts = case.assembly.parts
    behind_a_film = {id(b) for a, b in pairwise(parts) if isinstance(a, Film)}
    for i, layer in enumerate(layers):
        wood = bool({"wood", "panel", "wood panel"} & set(layer.material.tags))
        places = ["outer"] if i > 0 and id(layer) in behind_a_film else []
        if layer.thickness >= 0.01:
            places.append("middle")
        if i + 1 < len(layers):
            places.append("inner")
        for place in places:
            for quantity in quantities:
                if quantity == "moisture_content" and not wood:
                    continue
                out.append(Sensor(_name(quantity, layer.name, place), quantity, layer.name, place))  # type: ignore[arg-type]
    return out


def _name(quantity: str, layer: str, place: str) -> str:
    where = {"middle": "in the middle of", "inner": "at the inner face of", "outer": "at the outer face of"}[place]
    return f"{quantity.replace('_', ' ')} {where} {layer}"


def next_sensor(
    case: Case,
    free: Sequence[Free],
    answer: str = "days_to_90_percent_dry",
    sensors: Sequence[Sensor] | None = None,
    *,
    z: Array | None = None,
    covariance: Array | None = None,
    noise: Mapping[str, float] | None = None,
    stays: float = STAYS,
    until: np.datetime64 | None = None,
    grid: Grid | None = None,
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Return by how much each of several sensors would shrink the doubt about an answer.

    Parameters
    ----------
    case : Case
        With a wetting; its sensors log from the start of the run on.
    free : sequence of Free
        What is not known.
    answer : str
        Of `drydown.inverse.answers.ANSWERS`.
    sensors : sequence of Sensor, optional
        To choose among; `candidates` of the case by default.
    z : array of shape (free,), optional
        Coordinates of the inputs now; the medians of their priors by default.
    covariance : array of shape (free, free), optional
        Doubt about them now, in coordinates: that of a fit; the priors by default.
    noise : mapping of str to float, optional
        Standard deviation of each quantity, in its unit.
    stays : float
        Days over which an error stays the same: readings in between tell nothing new.
    until : datetime64, optional
        End of the log; that of the run by default.
    grid : Grid, optional
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    Dataset
        Over `sensor`, from the best on: `shrinks` [-], the share of the answer's standard deviation that it takes away;
        `left`, the standard deviation that stays, in the unit of the answer; over (sensor, free): `learned` [-], the
        share of the standard deviation of each input that it takes away. Attributes `answer`, `value`, `doubt`.

    Raises
    ------
    InputError
        If there is no such answer, it is not reached, nothing is free, or nothing changes it.
    """
    import xarray as xr

    if answer not in ANSWERS:
        raise InputError(f"no answer is called '{answer}'; {nearest(answer, ANSWERS)}", "next sensor")
    if not free:
        raise InputError("nothing is free; say what is not known", "next sensor")
    of_wall = [x for x in free if not x.of_sensor]
    if len(of_wall) < len(free):
        raise InputError("offset and place of sensors that are not there cannot be free; leave them out", "next sensor")
    known = {**NOISE, **dict(noise or {})}
    tried = candidates(case) if sensors is None else list(sensors)
    at = np.zeros(len(free)) if z is None else np.asarray(z, dtype=float)
    before = np.eye(len(free)) if covariance is None else np.asarray(covariance, dtype=float)
    mesh = mesh_of(put_all(case, free, at)) if grid is None else grid

    def third(offset: float, share: float) -> Callable[[float], None] | None:
        return None if progress is None else (lambda x: progress(offset + share * x))

    found = answers(case, free, at, grid=mesh, progress=third(0.0, 0.67))
    value, slope = float(found.value[found.names.index(answer)]), found.slope(answer)
    if not np.isfinite(value):
        raise InputError(f"{ANSWERS[answer][1]}: not reached within the run; run it longer", "next sensor")
    doubt = float(np.sqrt(slope @ before @ slope))
    if not doubt > 0.0:
        raise InputError("nothing that is free changes the answer", "next sensor")
    logs = observed(case, free, tried, at, grid=mesh, progress=third(0.67, 0.33))
    rows = logs.time <= (logs.time[-1] if until is None else until)
    step = float(np.median(np.diff(logs.time) / np.timedelta64(1, "s"))) / 86400.0
    # readings whose errors stay alike for some days count as one a stretch of twice that (AR(1), many readings)
    weight = min(1.0, step / (2.0 * stays))
    shrinks, left, learned = [], [], []
    for k, sensor in enumerate(tried):
        slopes = logs.by[rows, k, :]
        tells = weight * slopes.T @ slopes / known[sensor.quantity] ** 2
        after = np.linalg.inv(np.linalg.inv(before) + tells)
        rest = float(np.sqrt(slope @ after @ slope))
        left.append(rest)
        shrinks.append(1.0 - rest / doubt)
        learned.append(1.0 - np.sqrt(np.diag(after) / np.diag(before)))
    order = np.argsort(-np.array(shrinks), kind="stable")
    unit, words = ANSWERS[answer]
    return xr.Dataset(
        {
            "shrinks": ("sensor", np.array(shrinks)[order], {"units": "1", "long_name": "doubt that it takes away"}),
            "left": ("sensor", np.array(left)[order], {"units": unit, "long_name": "standard deviation that stays"}),
            "learned": (("sensor", "free"), np.array(learned)[order], {"units": "1"}),
        },
        {
            "sensor": [tried[i].name for i in order],
            "quantity": ("sensor", [tried[i].quantity for i in order]),
            "layer": ("sensor", [tried[i].layer for i in order]),
            "place": ("sensor", [tried[i].place for i in order]),
            "free": [x.name for x in free],
            "by_input": ("free", np.abs(slope) * np.sqrt(np.diag(before)), {"units": unit}),
        },
        {"title": f"drydown next sensor: {case.name}", "answer": words, "value": value, "doubt": doubt, "unit": unit},
    )
