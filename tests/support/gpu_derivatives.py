"""Derivatives on a GPU that the processor plays: run by `test_gpu` on its own, which finds those of the processor."""

from __future__ import annotations

import json
import os

if __name__ == "__main__":
    os.environ |= {"NUMBA_ENABLE_CUDASIM": "1", "NUMBA_DISABLE_JIT": "1"}

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Numerics
from drydown.case.loads import RainShare, VentilatedGap
from drydown.inverse.free import Free, free
from drydown.inverse.many_draws import sensitivities_many
from drydown.inverse.sensors import Sensor
from drydown.lowering.lowered import Problem
from drydown.lowering.problem import lower
from drydown.plugins import film, material
from drydown.sides.indoor import Constant, Indoor

SENSORS = (
    Sensor("face", "relative_humidity", "OSB", "outer", 0.004),
    Sensor("board", "moisture_content", "OSB", "middle"),
    Sensor("behind the film", "relative_humidity", "OSB", "outer"),
)
#: Of a material, a side, a film and a sensor.
PATHS = (
    "layer.OSB.permeability_factor",
    "inside.humidity",
    "layer.weather-resistive membrane.permeance_factor",
    "sensor.face.depth",
)
DRAWS = np.array([[0.3, -0.4, 0.1, 0.2]])


def case() -> Case:
    """A gap with air, a film and a board that rain is let into; long steps, for a GPU that is played is slow."""
    parts = (
        Layer(material("air gap 25 mm"), 0.025, cells=1),
        film("weather-resistive membrane"),
        Layer(material("OSB"), 0.011, cells=2),
    )
    start = np.datetime64("2021-01-01T00:00:00")
    return Case(
        Assembly(parts), Chamber(275.15, 0.9, rain=1e-4), Indoor(Constant()), start, start + np.timedelta64(1, "h"),
        initial=Initial(283.15, 0.7), numerics=Numerics(tolerance=100.0, max_step=3600.0),
        loads=(VentilatedGap("air gap 25 mm", 20.0 / 3600.0), RainShare("OSB", 0.02)),
    )  # fmt: skip


def inputs(wall: Case) -> list[Free]:
    """Return the free inputs."""
    depth = {"transform": "linear", "within": (-0.002, 0.002)}
    return [free(wall, p, **(depth if p.startswith("sensor") else {})) for p in PATHS]


def hurried() -> tuple[Problem, Problem]:
    """Return the wall, and the same with a longest step that is less than what the first takes."""
    first = lower(case())
    return first, first._replace(control=first.control._replace(max_step=300.0))


def in_step() -> list[float]:
    """Return the humidity coordinate of the last cell of both at the end, the second marched in steps of the first."""
    from drydown.gpu.in_step import march_in_step

    end = {}

    def take(numbers, rows, u, temperature, water) -> None:
        end.update({i: float(u[-1, k, 0]) for k, i in enumerate(numbers)})

    assert march_in_step(hurried(), [0, 0], [np.array([2])] * 2, take) == ["", ""]
    return [end[0], end[1]]


def main() -> None:
    """Print readings and derivatives, and where walls in step end."""
    wall = case()
    found = sensitivities_many(wall, inputs(wall), SENSORS, DRAWS, device="cuda")
    told = {name: found[name].values.tolist() for name in ("reading", "by_coordinate", "trouble")}
    print(json.dumps(told | {"in step": in_step()}))


if __name__ == "__main__":
    main()
