"""What the default settings cost in accuracy: against a mesh four times finer at a tight tolerance."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from drydown import Case
from drydown.lowering.grid import Grid
from drydown.lowering.problem import TOL_PHI, lower
from drydown.materials.model import REFERENCE_TEMPERATURE
from drydown.run.simulation import chunks

from .assemblies import ASSEMBLIES

Array = np.ndarray
#: Promises of DESIGN section 6: root mean square in every cell, humidity [-] and temperature [K].
HUMIDITY, TEMPERATURE = 3e-3, 0.1
TIME_HUMIDITY, TIME_TEMPERATURE = 3e-4, 0.03
FINER = 4.0
TIGHT: dict[str, Any] = {"tolerance": 0.1, "max_step": 450.0}


@dataclass(frozen=True)
class Field:
    """Hourly humidity [-] and temperature [K] of every cell, where the cells are and how wide [m], and the effort."""

    humidity: Array
    temperature: Array
    x: Array
    width: Array
    layer: Array
    steps: int
    seconds: float
    indicator: tuple[float, float]


def march(case: Case, grid: Grid | None = None, **numerics: Any) -> Field:
    """Run a case with other numerics, on its own mesh or on one that is given."""
    problem = lower(replace(case, numerics=replace(case.numerics, **numerics)), grid=grid)
    begin = time.perf_counter()
    rows = [record for _, record in chunks(problem)]
    seconds = time.perf_counter() - begin
    u = np.concatenate([r.u for r in rows])
    totals, counters = rows[-1].totals, rows[-1].counters
    rms = float(np.sqrt(totals[4] / max(int(counters[0]), 1)))
    return Field(
        np.exp(-np.exp(u)),
        np.concatenate([r.temperature for r in rows]),
        problem.grid.x,
        problem.grid.dx,
        problem.grid.layer,
        int(counters[0]),
        seconds,
        (float(totals[3]), rms),
    )


def at_centres(coarse: Field, fine: Field, values: Array) -> Array:
    """Interpolate hourly values of the fine mesh to the centres of the coarse one, layer by layer."""
    out = np.empty((len(values), len(coarse.x)))
    for layer in np.unique(coarse.layer):
        here, there = np.flatnonzero(coarse.layer == layer), np.flatnonzero(fine.layer == layer)
        if layer < 0:  # one cell of contact air each
            out[:, here] = values[:, there]
            continue
        x = fine.x[there]
        right = np.clip(np.searchsorted(x, coarse.x[here]), 1, len(there) - 1)
        share = (coarse.x[here] - x[right - 1]) / (x[right] - x[right - 1])
        out[:, here] = (1 - share) * values[:, there[right - 1]] + share * values[:, there[right]]
    return out


def as_held(case: Case, coarse: Field, fine: Field) -> Array:
    """Return the humidity [-], hourly, at which each coarse cell holds what the fine mesh holds there.

    A cell stands for the mean of what it holds. Where a front is inside a cell that is not the value at its centre,
    however well the front is placed.
    """
    from drydown.kernel.humidity import humidity_of, u_of
    from drydown.lowering.sampling import material_functions

    out, u = coarse.humidity.copy(), u_of(np.clip(fine.humidity, 1e-12, 1.0 - 1e-16))
    z = np.linspace(-36.0, 2.5, 20000)
    for j, layer in enumerate(case.assembly.layers):
        here, there = np.flatnonzero(coarse.layer == j), np.flatnonzero(fine.layer == j)
        of = material_functions(layer.material, case.physics)
        water = of.water(z)
        warm = fine.temperature[:, there]
        edges = np.concatenate([[0.0], np.cumsum(fine.width[there])])
        ends = np.minimum(np.concatenate([[0.0], np.cumsum(coarse.width[here])]), edges[-1])

        def mean(values: Array, edges: Array = edges, ends: Array = ends) -> Array:
            total = np.concatenate([np.zeros((len(values), 1)), np.cumsum(values * np.diff(edges), axis=1)], axis=1)
            upto = np.stack([np.interp(ends, edges, row) for row in total])
            found: Array = np.diff(upto, axis=1) / np.diff(ends)
            return found

        held = mean(np.interp(u[:, there] + of.kappa * np.log(warm / REFERENCE_TEMPERATURE), z, water))
        rising, first = np.unique(water, return_index=True)
        out[:, here] = humidity_of(
            np.interp(held, rising, z[first]) - of.kappa * np.log(mean(warm) / REFERENCE_TEMPERATURE)
        )
    return out


def rms(a: Array, b: Array | float) -> Array:
    """Root mean square over the hours, of every cell."""
    found: Array = np.sqrt(np.mean((a - b) ** 2, axis=0))
    return found


@dataclass(frozen=True)
class Accuracy:
    """Errors of the worst cell of an assembly, and where it is.

    Humidity [-] and temperature [K], of mesh and time together, and of time alone; the same over all cells; cells,
    steps, seconds a year; error indicator (greatest, root mean square).
    """

    name: str
    humidity: float
    temperature: float
    time_humidity: float
    time_temperature: float
    all_humidity: float
    all_temperature: float
    where: str
    cells: int
    steps: int
    seconds: float
    indicator: tuple[float, float]
    layers: dict[str, tuple[float, float]]

    @property
    def kept(self) -> bool:
        """Whether the promises are kept."""
        return (
            self.humidity < HUMIDITY
            and self.temperature < TEMPERATURE
            and self.time_humidity < TIME_HUMIDITY
            and self.time_temperature < TIME_TEMPERATURE
        )


def measure(name: str, finer: float = FINER, **numerics: Any) -> Accuracy:
    """Measure one assembly; `numerics` change the run that is measured."""
    case = ASSEMBLIES[name]()
    usual = march(case, **numerics)
    same = march(case, **{**numerics, **TIGHT})
    fine = march(case, **{**numerics, **TIGHT, "refine": finer * numerics.get("refine", 1.0)})
    e = rms(usual.humidity, at_centres(usual, fine, fine.humidity))
    f = rms(usual.temperature, at_centres(usual, fine, fine.temperature))
    names = [layer.name for layer in case.assembly.layers]
    worst = int(np.argmax(e))
    inside = np.flatnonzero(usual.layer == usual.layer[worst])
    label = names[usual.layer[worst]] if usual.layer[worst] >= 0 else "contact air"
    return Accuracy(
        name,
        float(e.max()),
        float(f.max()),
        float(rms(usual.humidity, same.humidity).max()),
        float(rms(usual.temperature, same.temperature).max()),
        float(np.sqrt(np.mean(e**2))),
        float(np.sqrt(np.mean(f**2))),
        f"{label}, cell {worst - inside[0] + 1} of {len(inside)}",
        len(usual.x),
        usual.steps,
        usual.seconds,
        usual.indicator,
        {n: (float(e[usual.layer == i].max()), float(f[usual.layer == i].max())) for i, n in enumerate(names)},
    )


def table(rows: list[Accuracy]) -> str:
    """Return the table as text."""
    lines = [
        "Root mean square over a year of hours, worst cell: defaults against a mesh four times finer at a tight",
        f"tolerance, and time alone. Promised: {100 * HUMIDITY:g} % RH and {TEMPERATURE:g} K; "
        f"time alone {100 * TIME_HUMIDITY:g} % RH and {TIME_TEMPERATURE:g} K.",
        "",
        "                              in all           time alone      indicator",
        "assembly             cells   RH %     T K    RH %     T K     rms   most   steps  kept  worst cell",
    ]
    for a in rows:
        lines.append(
            f"{a.name:20s} {a.cells:5d} {100 * a.humidity:6.3f} {a.temperature:7.3f}  {100 * a.time_humidity:6.4f} "
            f"{a.time_temperature:7.4f}  {a.indicator[1]:6.2f} {a.indicator[0]:6.1f} {a.steps:7d}  "
            f"{'yes' if a.kept else 'NO':4s}  {a.where}"
        )
    kept = sum(a.kept for a in rows)
    cells = sum(a.cells for a in rows)
    over = [a.indicator[1] * TOL_PHI / a.time_humidity for a in rows]
    lines += [
        "",
        f"{kept} of {len(rows)} assemblies keep the promises, with {cells / len(rows):.0f} cells on average",
        f"the indicator, in its unit of {100 * TOL_PHI:g} % RH, is {min(over):.0f} to {max(over):.0f} times the error "
        "of time",
    ]
    return "\n".join(lines)


def measure_all(
    names: Iterable[str] | None = None,
    progress: Callable[[float], None] | None = None,
    processes: int = 2,
) -> list[Accuracy]:
    """Measure several assemblies (all by default), side by side."""
    wanted = list(names or ASSEMBLIES)
    if processes == 1 or len(wanted) == 1:
        return [measure(name) for name in wanted]
    found = []
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for a in pool.imap(measure, wanted):
            found.append(a)
            if progress is not None:
                progress(len(found) / len(wanted))
    return found
