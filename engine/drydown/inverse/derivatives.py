"""Derivatives of what is observed of a wall, and of answers of its trial, by free inputs.

    sensitivities(case, free, observe=sensors) -> Dataset

One march carries the derivatives by all inputs along (`drydown.kernel.tangent_stage`). What is read of the courses
is differenced along them: the course is moved by a little of its own derivative, and read again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..lowering.grid import Grid
from ..lowering.lowered import Problem
from ..lowering.problem import lower
from ..run.many import need_device
from ..run.simulation import SimulationError
from .free import Free, put_all
from .marching import NEWTON, Courses, march
from .sensors import ALONG, QUANTITIES, Sensor, by_place_and_offset, cells_for, read_all, with_inputs
from .setting import each_once
from .stacking import lowered_beside, scaled_grid

if TYPE_CHECKING:
    import xarray as xr

#: Step of an input in its coordinate, for what it changes in the balances.
STEP = 1e-5
#: Step of a difference in step, for inputs that the tangents leave out.
IN_STEP = 1e-3
#: How closely stages are solved where derivatives are asked for themselves: within 1e-4 of differences. A fit is
#: content with less (`NEWTON`), and saves half a sweep a stage.
EXACT = 1e-4
#: Most free inputs of one march.
MOST = 200


@dataclass(frozen=True)
class Observed:
    """What sensors read, and its derivatives.

    Parameters
    ----------
    time : array of shape (row,)
        datetime64[s].
    value : array of shape (row, sensor)
        In the unit of each quantity.
    by : array of shape (row, sensor, free)
        Derivatives by the coordinates of the inputs (`Free.slope` leads to those by the numbers themselves).
    courses : Courses
    marched : tuple of str
        Names of inputs that were differenced by walls marched in step.
    """

    time: np.ndarray
    value: Array
    by: Array
    courses: Courses
    marched: tuple[str, ...] = ()


def observed(
    case: Case,
    free: Sequence[Free],
    sensors: Sequence[Sensor],
    z: Array | None = None,
    *,
    grid: Grid | None = None,
    newton: float = NEWTON,
    progress: Callable[[float], None] | None = None,
) -> Observed:
    """Return what sensors read and its derivatives by the coordinates of free inputs.

    Parameters
    ----------
    case : Case
    free : sequence of Free
    sensors : sequence of Sensor
    z : array of shape (free,), optional
        Coordinates at which the derivatives are taken; by default the medians of the priors.
    grid : Grid, optional
        Cells of the case; found by pilots of the case otherwise. A fit keeps to one mesh, so that what it minimises
        is smooth.
    newton : float
        How closely stages are solved.
    progress : callable, optional
        Called with the fraction done.

    Raises
    ------
    InputError
        If there are none or too many inputs, or a path leads nowhere.
    SimulationError
        If a step cannot be solved.
    """
    if len(free) > MOST:
        raise InputError(f"there are {len(free)} free inputs; at most {MOST} can be", "free inputs")
    each_once(case, [x.path for x in free])
    at = np.zeros(len(free)) if z is None else np.asarray(z, dtype=float)
    base = put_all(case, free, at)
    problem = lower(base, grid=None if grid is None else scaled_grid(grid, case, base))
    of_wall = [j for j, x in enumerate(free) if not x.of_sensor]
    cases = [put_all(case, free, at + STEP * np.eye(len(free))[j]) for j in of_wall]
    placed = with_inputs(sensors, free, at)
    cells = cells_for(problem, placed)
    courses, left = march(
        problem, cases, np.full(len(of_wall), STEP), [int(c) for c in cells], newton=newton, progress=progress
    )
    value = _read_all(placed, problem, problem.grid, courses, None)
    by = np.zeros((*value.shape, len(free)))
    for k, j in enumerate(of_wall):
        e = np.eye(len(free))[j]
        if k in left:
            by[..., j] = _in_step(case, free, at, e, sensors, courses, newton)
            continue
        thicker = scaled_grid(problem.grid, base, put_all(case, free, at + ALONG * e))
        thinner = scaled_grid(problem.grid, base, put_all(case, free, at - ALONG * e))
        up = _read_all(placed, problem, thicker, courses, (k, ALONG))
        down = _read_all(placed, problem, thinner, courses, (k, -ALONG))
        by[..., j] = (up - down) / (2.0 * ALONG)
    placing = by_place_and_offset(
        sensors, free, at, lambda moved: _read_all(moved, problem, problem.grid, courses, None)
    )
    for j, of_sensor in placing.items():
        by[..., j] = of_sensor
    return Observed(courses.time, value, by, courses, tuple(free[of_wall[k]].name for k in left))


def _read_all(
    sensors: Sequence[Sensor], problem: Problem, grid: Grid, courses: Courses, moved: tuple[int, float] | None
) -> Array:
    """Return what all sensors read, (row, sensor), of courses moved along a derivative by so much."""
    u, t, w = courses.u, courses.temperature, courses.water
    if moved is not None:
        k, h = moved
        u = u + h * courses.d_u[..., k]
        t = t + h * courses.d_temperature[..., k]
        w = w + h * courses.d_water[..., k]
    return read_all(sensors, problem, grid, courses.cells, u, t, w)


def _in_step(
    case: Case, free: Sequence[Free], z: Array, e: Array, sensors: Sequence[Sensor], courses: Courses, newton: float
) -> Array:
    """Return the derivative by an input from two walls that march in the steps of the other."""
    found = []
    for sign in (1.0, -1.0):
        at = z + sign * IN_STEP * e
        beside = lowered_beside(courses.problem, put_all(case, free, at))
        other, _ = march(beside, cells=[int(c) for c in courses.cells], steps=courses.steps, newton=newton)
        found.append(_read_all(with_inputs(sensors, free, at), beside, beside.grid, other, None))
    out: Array = (found[0] - found[1]) / (2.0 * IN_STEP)
    return out


def sensitivities(
    case: Case,
    free: Sequence[Free],
    observe: Sequence[Sensor],
    z: Array | None = None,
    *,
    grid: Grid | None = None,
    device: str = "cpu",
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Return courses at places of a wall and their derivatives by free inputs.

    Parameters
    ----------
    case : Case
    free : sequence of Free
        At most 200.
    observe : sequence of Sensor
        What is read where.
    z : array of shape (free,), optional
        Coordinates of the inputs; by default the medians of their priors.
    grid : Grid, optional
        Cells of the case, if not its own.
    device : {'cpu', 'cuda'}
        On a GPU walls march on both sides of each input, in step with the wall itself; that is for many at a time
        (`drydown.inverse.many_draws`).
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    Dataset
        `reading` (time, sensor) in the unit of each; `by_coordinate` (time, sensor, free), by a standard deviation of
        the prior; `by_value` (time, sensor, free), by the number itself in SI; coordinates `quantity`, `unit` and
        `layer` of each sensor, `path`, `value` and `transform` of each input.

    Raises
    ------
    InputError
        If a path or a place leads nowhere, or there is no GPU where one is asked for.
    SimulationError
        If a step cannot be solved.

    Notes
    -----
    The equation stands in `drydown.kernel.tangent_stage`. Where a surface turns wet or dry, pores fill or water begins
    to freeze, what is differentiated has a kink; the derivative is that of the branch in force.
    """
    at = np.zeros(len(free)) if z is None else np.asarray(z, dtype=float)
    need_device(device)
    if device == "cuda":
        from .on_card import observed_on_card

        if grid is None:  # the mesh that the processor would find
            base = put_all(case, free, at)
            grid = scaled_grid(lower(base).grid, base, case)
        seen = observed_on_card(case, free, observe, at[None], EXACT, grid=grid, progress=progress)
        if seen.trouble[0]:
            raise SimulationError(seen.trouble[0])
        marched = tuple(x.name for x in free if not x.of_sensor)
        return labelled(case, free, observe, at, seen.time, seen.value[0], seen.by[0], marched)
    found = observed(case, free, observe, at, grid=grid, newton=EXACT, progress=progress)
    return labelled(case, free, observe, at, found.time, found.value, found.by, found.marched)


def labelled(
    case: Case,
    free: Sequence[Free],
    sensors: Sequence[Sensor],
    z: Array,
    time: np.ndarray,
    value: Array,
    by: Array,
    marched: Sequence[str],
) -> xr.Dataset:
    """Return readings and derivatives by coordinates as a Dataset, with the derivatives by the numbers.

    Parameters
    ----------
    case : Case
    free : sequence of Free
    sensors : sequence of Sensor
    z : array of shape ([draw,] free)
        Where each stands.
    time : array of shape (row,)
    value : array of shape ([draw,] row, sensor)
    by : array of shape ([draw,] row, sensor, free)
    marched : sequence of str
        Names of inputs that were differenced by walls marched in step.
    """
    import xarray as xr

    z = np.asarray(z, dtype=float)
    many = ("draw",)[: z.ndim - 1]
    columns = [z[..., j].ravel() for j in range(len(free))]
    slopes, at = (
        np.array([[f(x, c) for c in column] for x, column in zip(free, columns, strict=True)])
        .reshape(len(free), *z.shape[:-1])
        .swapaxes(0, -1)
        for f in (Free.slope, Free.value)
    )
    dims = (*many, "time", "sensor", "free")
    return xr.Dataset(
        {
            "reading": (dims[:-1], value, {"long_name": "what the sensor reads"}),
            "by_coordinate": (dims, by, {"long_name": "derivative by a standard deviation of the prior"}),
            "by_value": (dims, by / slopes[..., None, None, :], {"long_name": "derivative by the number, SI"}),
        },
        {
            "time": time.astype("datetime64[ns]"),
            "sensor": [s.name for s in sensors],
            "quantity": ("sensor", [s.quantity for s in sensors]),
            "unit": ("sensor", [QUANTITIES[s.quantity][1] for s in sensors]),
            "layer": ("sensor", [s.layer for s in sensors]),
            "free": [x.name for x in free],
            "path": ("free", [x.path for x in free]),
            "value": ((*many, "free"), at),
            "transform": ("free", [x.transform for x in free]),
        },
        {"title": f"drydown sensitivities: {case.name}", "marched_in_step": ", ".join(marched)},
    )
