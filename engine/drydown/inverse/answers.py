"""What a trial answers, with its derivatives by free inputs.

Two marches, with the water and without, carry the derivatives of their courses along; an answer is read of the courses,
and of the courses moved by a little of their own derivatives.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..criteria.mould import DECLINE_OF, MOULD
from ..criteria.mould_model import mould_index
from ..errors import InputError
from ..kernel.humidity import ZERO_CELSIUS
from ..lowering.grid import Grid
from ..lowering.problem import lower, mesh_of
from ..materials.kinds import decline_of, group_of, mould_class
from ..trial.dryout import days_until
from .derivatives import EXACT, IN_STEP, STEP
from .free import Free, put_all
from .marching import Courses, march
from .sensors import ALONG, Sensor, cells_for, read
from .setting import each_once
from .stacking import lowered_beside, scaled_grid

#: What is answered: unit, in words.
ANSWERS = {
    "days_to_90_percent_dry": ("d", "days until a tenth of the water is left"),
    "stay": ("d", "days that the water stays on average, up to the end of the run"),
    "share_inward": ("1", "share of what left that left inward"),
    "remaining": ("1", "share of the water still there at the end"),
    "wettest": ("kg m-2", "water of the wetted layers in their wettest 30 days, without the wetting"),
    "mould_index": ("1", "highest mould index at the place, smoothed"),
}
#: Weight of the smoothed maximum, for an index of one: what lies half an index below the highest hardly counts.
SHARPNESS = 20.0
#: Days of the wettest stretch.
STRETCH = 30.0


@dataclass(frozen=True)
class Answers:
    """Answers of a trial.

    Parameters
    ----------
    names : tuple of str
        Of `ANSWERS`.
    value : array of shape (answer,)
        NaN: not reached.
    by : array of shape (answer, free)
        Derivatives by the coordinates of the inputs.
    """

    names: tuple[str, ...]
    value: Array
    by: Array

    def slope(self, name: str) -> Array:
        """Return the derivatives of one answer, shape (free,).

        Parameters
        ----------
        name : str
        """
        found: Array = self.by[self.names.index(name)]
        return found


def answers(
    case: Case,
    free: Sequence[Free],
    z: Array | None = None,
    *,
    place: Sensor | None = None,
    grid: Grid | None = None,
    progress: Callable[[float], None] | None = None,
) -> Answers:
    """Return what the trial of a case answers and the derivatives by free inputs.

    Parameters
    ----------
    case : Case
        With a wetting.
    free : sequence of Free
    z : array of shape (free,), optional
        Coordinates; by default the medians of the priors.
    place : Sensor, optional
        Where mould is looked for, with its water; the inner face of the first wetted layer by default.
    grid : Grid, optional
        Cells of the case, if not its own.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    Answers

    Raises
    ------
    InputError
        If nothing gets wet, or a path leads nowhere.
    SimulationError
        If a step cannot be solved.

    Notes
    -----
    The highest index is the mean of the index over time weighed with exp(20 M): it has a derivative where two peaks
    are of one height. What leaves with moving air counts as outward, as the balance has it.
    """
    if not case.wettings:
        raise InputError("nothing gets wet in it; add a [[wetting]]", case.name)
    each_once(case, [x.path for x in free])
    at = np.zeros(len(free)) if z is None else np.asarray(z, dtype=float)
    base = put_all(case, free, at)
    mesh = mesh_of(base) if grid is None else scaled_grid(grid, case, base)
    first = case.wettings[0].layer
    spot = place or Sensor("spot", "relative_humidity", first, "inner")

    def half(offset: float) -> Callable[[float], None] | None:
        return None if progress is None else (lambda x: progress(offset + 0.5 * x))

    wet = _courses(case, free, at, mesh, spot, half(0.0))
    dry = _courses(replace(case, wettings=()), free, at, mesh, spot, half(0.5))
    value = _read(case, free, at, wet, dry, spot, None)
    by = np.zeros((len(ANSWERS), len(free)))
    for j in range(len(free)):
        up, down = (_read(case, free, at, wet, dry, spot, (j, sign * ALONG)) for sign in (1.0, -1.0))
        by[:, j] = (up - down) / (2.0 * ALONG)
    return Answers(tuple(ANSWERS), value, by)


def _of_water(x: Free) -> bool:
    return x.path.startswith("wetting")


def _courses(
    case: Case,
    free: Sequence[Free],
    at: Array,
    mesh: Grid,
    spot: Sensor,
    progress: Callable[[float], None] | None,
) -> Courses:
    """March a case with derivatives by all inputs; those of water are nothing where there is none."""
    live = [j for j, x in enumerate(free) if not x.of_sensor and (case.wettings or not _of_water(x))]
    some = [free[j] for j in live]

    def put(z: Array) -> Case:
        return put_all(case, some, z[live])

    problem = lower(put(at), grid=mesh)
    cells = [int(c) for c in cells_for(problem, [spot])]
    changed = [put(at + STEP * np.eye(len(free))[j]) for j in live]
    found, left = march(problem, changed, np.full(len(live), STEP), cells, newton=EXACT, progress=progress)
    for k in left:
        e = IN_STEP * np.eye(len(free))[live[k]]
        up, down = (
            march(lowered_beside(problem, put(at + sign * e)), cells=cells, steps=found.steps, newton=EXACT)[0]
            for sign in (1.0, -1.0)
        )
        for name in _DERIVED:
            slope = (getattr(up, name) - getattr(down, name)) / (2.0 * IN_STEP)
            getattr(found, f"d_{name}")[..., k] = slope
    spread: dict[str, Any] = {f"d_{n}": _spread(getattr(found, f"d_{n}"), live, len(free)) for n in _DERIVED}
    return replace(found, **spread)


_DERIVED = ("u", "temperature", "water", "layer_water", "passed")


def _spread(values: Array, live: Sequence[int], number: int) -> Array:
    out = np.zeros((*values.shape[:-1], number))
    out[..., list(live)] = values
    return out


def _moved(courses: Courses, name: str, moved: tuple[int, float] | None) -> Array:
    value: Array = getattr(courses, name)
    if moved is None:
        return value
    j, h = moved
    found: Array = value + h * getattr(courses, f"d_{name}")[..., j]
    return found


def _read(
    case: Case,
    free: Sequence[Free],
    at: Array,
    wet: Courses,
    dry: Courses,
    spot: Sensor,
    moved: tuple[int, float] | None,
) -> Array:
    """Return the answers of two courses, moved along a derivative by so much."""
    z = at if moved is None else at + moved[1] * np.eye(len(free))[moved[0]]
    now = put_all(case, free, z)
    amount = float(sum(w.amount * len(w.starts(case.end)) for w in now.wettings))
    once = float(sum(w.amount for w in now.wettings))
    hours = np.diff(wet.time) / np.timedelta64(1, "s") / 3600.0
    held = _moved(wet, "layer_water", moved) - _moved(dry, "layer_water", moved)
    excess = held.sum(axis=1)
    since = min(w.starts(case.end)[-1] for w in now.wettings)
    passed = _moved(wet, "passed", moved) - _moved(dry, "passed", moved)
    gone = amount - excess[-1]
    stay = float(np.sum(0.5 * (excess[1:] + excess[:-1]) * hours)) / 24.0 / amount
    names = [layer.name for layer in case.assembly.layers]
    wetted = [names.index(n) for n in dict.fromkeys(w.layer for w in case.wettings)]
    own = _moved(dry, "layer_water", moved)[:, wetted].sum(axis=1)
    return np.array(
        [
            days_until(wet.time, excess / once, 0.1, since),
            stay,
            passed[-1, -1, 0] / gone if gone else float("nan"),
            excess[-1] / amount,
            _wettest(own, float(np.median(hours))),
            _mould(now, wet, spot, moved, hours),
        ]
    )


def _wettest(water: Array, step: float) -> float:
    last = water[-round(365 * 24 / step) :]
    window = min(max(1, round(STRETCH * 24.0 / step)), len(last))
    sums = np.cumsum(np.append(0.0, last))
    return float(np.max(sums[window:] - sums[:-window]) / window)


def _mould(case: Case, courses: Courses, spot: Sensor, moved: tuple[int, float] | None, hours: Array) -> float:
    """Return the smoothed highest mould index at a place; 0 where nothing can grow."""
    layer = next(x for x in case.assembly.layers if x.name == spot.layer)
    material = layer.material
    group = group_of(material.tags, material.name)
    words = f"{material.name}, {', '.join(material.tags)}"
    grows = layer.mould_class or material.mould_class or mould_class(words, group)
    if not grows:
        return 0.0
    state = [_moved(courses, name, moved) for name in ("u", "temperature", "water")]
    u, t, w = state
    problem = courses.problem
    humidity = read(replace(spot, quantity="relative_humidity"), problem, problem.grid, courses.cells, u, t, w)
    warm = read(replace(spot, quantity="temperature"), problem, problem.grid, courses.cells, u, t, w)
    decline = {limit.name: limit.value for limit in MOULD.limits}[DECLINE_OF[decline_of(words, group)]]
    index = mould_index(warm - ZERO_CELSIUS, 100.0 * humidity, hours, grows, decline)
    weight = np.exp(SHARPNESS * (index - index.max()))
    return float(np.sum(index * weight) / np.sum(weight))
