"""What a logger in a wall reads: a quantity at a place, with what is wrong with its place and its reading.

Layer and place say on which side of a face it stands, and of a film there: `between_cells` leads from the state of the
cells to that of the place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, get_args

import numpy as np

from ..arrays import Array
from ..case.sides import Physics
from ..errors import InputError, nearest
from ..kernel.humidity import humidity_of
from ..lowering.grid import Grid
from ..lowering.lowered import Problem
from ..moist_air import saturation_pressure_water
from .between_cells import Weights, weights
from .free import SENSOR, Free

Quantity = Literal["temperature", "relative_humidity", "vapour_pressure", "water_content", "moisture_content"]
#: What each is, and its unit.
QUANTITIES: dict[str, tuple[str, str]] = {
    "temperature": ("temperature", "K"),
    "relative_humidity": ("relative humidity over liquid water, as loggers give it", "1"),
    "vapour_pressure": ("vapour pressure", "Pa"),
    "water_content": ("water content", "kg m-3"),
    "moisture_content": ("moisture content by mass", "1"),
}
PLACES = ("outer", "middle", "inner")
#: Cells are kept this far on both sides of a sensor [m], so that its place can be free.
REACH = 0.008
#: Step of an input of a sensor in its coordinate, to both sides.
ALONG = 1e-4


@dataclass(frozen=True)
class Sensor:
    """A logger.

    Parameters
    ----------
    name : str
    quantity : {'temperature', 'relative_humidity', 'vapour_pressure', 'water_content', 'moisture_content'}
    layer : str
        Name of the layer that its place is told in.
    place : {'outer', 'middle', 'inner'}
        Face or middle of the layer.
    depth : float
        Distance from there inward [m]; negative: outward.
    offset : float
        What it reads too much, in the unit of the quantity.
    logger : str
        The box that it stands in with others: a depth or a clock that is free is that of all of them.
    moved : float
        How much further inward it lies than told [m]: a depth that is free. It does not lead through a film.

    Raises
    ------
    InputError
        If quantity or place are none of these.
    """

    name: str
    quantity: Quantity
    layer: str
    place: Literal["outer", "middle", "inner"] = "middle"
    depth: float = 0.0
    offset: float = 0.0
    logger: str = ""
    moved: float = 0.0

    def __post_init__(self) -> None:
        if self.quantity not in get_args(Quantity):
            raise InputError(f"'{self.quantity}' is no quantity; {nearest(self.quantity, QUANTITIES)}", self.name)
        if self.place not in PLACES:
            raise InputError(f"place is '{self.place}'; use 'outer', 'middle' or 'inner'", self.name)

    def at(self, grid: Grid, layers: Sequence[str]) -> float:
        """Return the place that it is told to have, from the outer surface [m].

        Parameters
        ----------
        grid : Grid
        layers : sequence of str
            Names of the layers.

        Raises
        ------
        InputError
            If no layer has that name, or its place lies outside the wall.
        """
        if self.layer not in layers:
            raise InputError(f"no layer is called '{self.layer}'; {nearest(self.layer, layers)}", self.name)
        cells = grid.cells(list(layers).index(self.layer))
        edges = np.concatenate([[0.0], np.cumsum(grid.dx)])
        outer, inner = float(edges[cells[0]]), float(edges[cells[-1] + 1])
        x = {"outer": outer, "middle": 0.5 * (outer + inner), "inner": inner}[self.place] + self.depth
        if not 0.0 <= x <= edges[-1]:
            raise InputError(f"it lies {1e3 * x:.1f} mm from the outer surface, outside the wall", self.name)
        return x


def layer_names(problem: Problem) -> list[str]:
    """Return the names of the layers of a problem."""
    return [layer.name for layer in problem.case.assembly.layers]


def cells_for(problem: Problem, sensors: Sequence[Sensor], reach: float = REACH) -> np.ndarray:
    """Return the cells whose state sensors read, with some room [m] for their places."""
    grid, names = problem.grid, layer_names(problem)
    found: set[int] = set()
    for sensor in sensors:
        x = sensor.at(grid, names) + sensor.moved
        # two on each side: a face is read from two cells of both its layers
        low, high = (int(i) for i in np.searchsorted(grid.x, [x - reach, x + reach]))
        found |= set(range(max(low - 2, 0), min(high + 2, len(grid.x))))
        for way in (-reach, 0.0, reach):
            found |= set(_weights(replace(sensor, moved=sensor.moved + way), problem, grid).cells.tolist())
    return np.array(sorted(found), dtype=np.int64)


def _weights(sensor: Sensor, problem: Problem, grid: Grid) -> Weights:
    """Return how much each cell of a grid counts where a sensor stands."""
    names = layer_names(problem)
    told = sensor.at(grid, names)
    return weights(grid, names.index(sensor.layer), told, told + sensor.moved)


def read(
    sensor: Sensor, problem: Problem, grid: Grid, cells: np.ndarray, u: Array, temperature: Array, water: Array
) -> Array:
    """Return what a sensor reads, in the unit of its quantity, shape (row,).

    Parameters
    ----------
    sensor : Sensor
    problem : Problem
    grid : Grid
        Its cells, those of a changed wall where a thickness is free.
    cells : array of int
        Cells that are given.
    u, temperature, water : array of shape (row, observed)
        State of those cells: ln(-ln humidity), [K], [kg/m2].
    """
    if sensor.quantity in ("water_content", "moisture_content"):
        return np.asarray(_water_at(sensor, problem, grid, cells, water) + sensor.offset)
    at = _weights(sensor, problem, grid)
    given = np.searchsorted(cells, at.cells)
    t = temperature[:, given] @ at.temperature[at.cells]
    if sensor.quantity == "temperature":
        return np.asarray(t + sensor.offset)
    physics: Physics = problem.case.physics
    p = (humidity_of(u[:, given]) * physics.saturation_pressure(temperature[:, given])) @ at.vapour[at.cells]
    p = np.clip(p, 0.0, physics.saturation_pressure(t))
    if sensor.quantity == "vapour_pressure":
        return np.asarray(p + sensor.offset)
    return np.asarray(p / saturation_pressure_water(t) + sensor.offset)


def _water_at(sensor: Sensor, problem: Problem, grid: Grid, cells: np.ndarray, water: Array) -> Array:
    """Return the water where a sensor stands [kg/m3], or its share of the dry mass; within its layer alone."""
    x = sensor.at(grid, layer_names(problem)) + sensor.moved
    mine = grid.x[cells]
    i = _within_layer(sensor, problem, grid, cells, mine, x)
    share = float(np.clip((x - mine[i]) / (mine[i + 1] - mine[i]), 0.0, 1.0))
    held = water[:, i : i + 2] / grid.dx[cells[i : i + 2]]
    value: Array = (1.0 - share) * held[:, 0] + share * held[:, 1]
    if sensor.quantity == "moisture_content":
        j = layer_names(problem).index(sensor.layer)
        value = value / problem.case.assembly.layers[j].material.density
    return value


def read_all(
    sensors: Sequence[Sensor],
    problem: Problem,
    grid: Grid,
    cells: np.ndarray,
    u: Array,
    temperature: Array,
    water: Array,
) -> Array:
    """Return what all sensors read, shape (row, sensor), as `read` does for one."""
    return np.stack([read(s, problem, grid, cells, u, temperature, water) for s in sensors], axis=1)


def by_place_and_offset(
    sensors: Sequence[Sensor], frees: Sequence[Free], z: Array, reading: Callable[[Sequence[Sensor]], Array]
) -> dict[int, Array]:
    """Return the derivatives by the coordinates of inputs that are of sensors, by the number of the input.

    Parameters
    ----------
    sensors : sequence of Sensor
    frees : sequence of Free
    z : array of shape (free,)
    reading : callable
        What sensors placed so read, shape (row, sensor).
    """
    out: dict[int, Array] = {}
    for j, x in enumerate(frees):
        if x.of_sensor:
            e = ALONG * np.eye(len(frees))[j]
            up, down = (reading(with_inputs(sensors, frees, z + way)) for way in (e, -e))
            out[j] = (up - down) / (2.0 * ALONG)
    return out


def _within_layer(sensor: Sensor, problem: Problem, grid: Grid, cells: np.ndarray, mine: Array, x: float) -> int:
    """Return the first of two cells of the sensor's layer that its place lies between: water jumps at faces."""
    j = layer_names(problem).index(sensor.layer)
    own = np.flatnonzero(grid.layer[cells] == j)
    if len(own) < 2:
        raise InputError("its layer has too few cells there; place it further inside the layer", sensor.name)
    return int(np.clip(np.searchsorted(mine, x) - 1, own[0], own[-1] - 1))


def with_inputs(sensors: Sequence[Sensor], frees: Sequence[Free], z: Array) -> list[Sensor]:
    """Return sensors with their free places and offsets at coordinates.

    Raises
    ------
    InputError
        If a path names no sensor, or nothing of one.
    """
    out = {s.name: s for s in sensors}
    for x, at in zip(frees, z, strict=True):
        if not x.of_sensor:
            continue
        name, _, key = x.path.removeprefix(SENSOR).rpartition(".")
        meant = [s.name for s in out.values() if name in (s.name, s.logger)]
        if not meant:
            known = [*out, *(s.logger for s in sensors if s.logger)]
            raise InputError(f"no sensor is called '{name}'; {nearest(name, known)}", x.path)
        if key not in ("depth", "offset"):
            raise InputError(f"'{key}' is nothing of a sensor that can be free; use depth or offset", x.path)
        for each in meant:
            field = "moved" if key == "depth" else key
            given: dict[str, Any] = {field: getattr(out[each], field) + x.value(float(at))}
            out[each] = replace(out[each], **given)
    return list(out.values())
