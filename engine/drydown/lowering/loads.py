"""Lowering of loads: what moves air or lets rain in becomes rates at the marks and shares of cells."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.air_leakage import GRAVITY, R_AIR, SCREENING, leak_flow, screening_class, stack_gradient
from ..case.case import Case
from ..case.loads import AirLeak, AirStream, RainShare, VentilatedGap
from ..case.sides import AIR, SideForcing
from ..case.wetting import Wetting
from ..errors import InputError
from ..kernel.layout import Loads
from ..moist_air import CP_AIR, STANDARD_PRESSURE
from .grid import Grid

#: Molar mass of water over that of dry air [-]; kg of vapour per kg of dry air is this times p/P (p small against P).
#: Source: ASHRAE Handbook Fundamentals, chapter 1 (from memory).
MOLAR_RATIO = 0.622


class Lowered(NamedTuple):
    """Loads in arrays. `moving` are the labels of gaps, streams and deposits, in the kernel's order."""

    loads: Loads
    moving: tuple[str, ...]
    rain: tuple[RainShare, ...]
    raining: tuple[str, ...]  # their labels
    rain_rate: Array  # [mark, rain share] kg/(m2 s) over the interval that ends at the mark
    notes: dict[str, str]


def place_cells(case: Case, grid: Grid, event: Wetting | AirLeak | RainShare) -> np.ndarray:
    """Return the cells of a place in a layer."""
    cells = grid.cells(case.assembly.layer_index(event.layer))
    if event.place == "whole":
        return cells
    edges = np.concatenate([[0.0], np.cumsum(grid.dx[cells])])
    centre = 0.5 * (edges[1:] + edges[:-1])
    depth = centre if event.place == "outer" else edges[-1] - centre
    near = cells[depth <= event.depth]
    return near if len(near) else cells[[0]] if event.place == "outer" else cells[[-1]]


def stream_path(case: Case, grid: Grid, layer: str) -> Array:
    """Return the share of a stream that passes each face; in a gap the air leaves evenly over its cells."""
    n = len(grid.dx)
    if not layer:
        return np.ones(n + 1)
    cells = grid.cells(case.assembly.layer_index(layer))
    path = np.zeros(n + 1)
    path[cells[-1] + 1 :] = 1.0
    path[cells] = (np.cumsum(grid.dx[cells]) - grid.dx[cells]) / np.sum(grid.dx[cells])
    return path


def lower_loads(
    case: Case, grid: Grid, seconds: Array, marks: Array, outside: SideForcing, inside: SideForcing
) -> Lowered:
    """Lower the loads of a case.

    Parameters
    ----------
    case : Case
    grid : Grid
    seconds, marks : array
        Hour marks and all marks of the run [s].
    outside, inside : SideForcing
        At the hour marks.

    Raises
    ------
    InputError
        If a load cannot act in this case.
    """
    n = len(grid.dx)
    notes: dict[str, str] = {}

    def at_marks(values: Array) -> Array:
        return np.interp(marks, seconds, values)

    def table(columns: list[Array]) -> Array:
        return np.stack(columns, axis=1) if columns else np.zeros((len(marks), 0))

    gaps = [x for x in case.loads if isinstance(x, VentilatedGap)]
    streams = [x for x in case.loads if isinstance(x, AirStream) or (isinstance(x, AirLeak) and x.way == "flow")]
    deposits = [x for x in case.loads if isinstance(x, AirLeak) and x.way == "screening"]
    rains = tuple(x for x in case.loads if isinstance(x, RainShare))

    constant, wind, lift = [], [], []
    gap_cells = np.zeros((len(gaps), n), dtype=np.int64)
    for j, gap in enumerate(gaps):
        cells = grid.cells(case.assembly.layer_index(gap.layer))
        gap_cells[j, cells] = 1
        constant.append(np.full(len(marks), gap.air_changes))
        length = gap.height / np.sin(np.radians(gap.slope)) if gap.height > 0.0 else 1.0
        lift.append(2.0 * GRAVITY * gap.height / (gap.loss_coefficient * length**2))
        squared = np.zeros(len(seconds))
        if gap.height > 0.0 and gap.pressure_coefficient > 0.0:
            squared = gap.pressure_coefficient * _wind(case, gap) ** 2 / (gap.loss_coefficient * length**2)
        wind.append(at_marks(squared))
    _no_two(gaps, "ventilated gap")

    flows = []
    for stream in streams:
        for side, name in ((outside, "outer"), (inside, "inner")):
            if side.kind != AIR and not (name == "outer" and stream.layer):
                raise InputError(f"the {name} side is a sealed or imposed surface; no air can pass it", stream.label)
        if isinstance(stream, AirStream):
            when = [(t - case.start) / np.timedelta64(1, "s") for t, _ in stream.points]
            flows.append(np.interp(marks, when, [g for _, g in stream.points]))
        else:
            flows.append(at_marks(_leak(case, stream, outside, inside, notes)))
    path = np.array([stream_path(case, grid, s.layer) for s in streams]).reshape(len(streams), n + 1)

    met, brought = [], []
    share = np.zeros((len(deposits), n))
    _no_two(deposits, "screening leak")
    for j, leak in enumerate(deposits):
        cells = place_cells(case, grid, leak)
        share[j, cells] = grid.dx[cells] / np.sum(grid.dx[cells])
        drive = np.maximum(stack_gradient(outside.temperature, inside.temperature), 0.0)
        coefficient = SCREENING[screening_class(float(leak.leakage.flow(50.0)))]
        met.append(at_marks(coefficient * 0.5 * leak.connected_height * drive))
        brought.append(at_marks(inside.vapour_pressure / (case.physics.vapour_gas_constant * inside.temperature)))

    ending = np.clip(np.searchsorted(seconds, marks, side="left"), 0, len(seconds) - 1)
    rain = table([x.share * np.asarray(outside.rain, dtype=float)[ending] for x in rains])
    if rains and not np.any(outside.rain > 0.0):
        notes["rain share"] = "no driving rain reaches the surface in this run"
    loads = Loads(
        active=1 if gaps or streams or deposits else 0,
        gap=table(constant),
        gap_wind=table(wind),
        gap_lift=np.array(lift, dtype=float),
        gap_cells=gap_cells,
        gap_side=np.array([1 if g.side == "inside" else 0 for g in gaps], dtype=np.int64),
        stream=table(flows),
        path=path,
        deposit=table(met),
        brought=table(brought),
        deposit_cells=share,
        ratio=MOLAR_RATIO / STANDARD_PRESSURE,
        c_air=CP_AIR,
        density=STANDARD_PRESSURE / R_AIR,
    )
    names = [x.label for x in (*gaps, *streams, *deposits)]
    return Lowered(loads, tuple(_distinct(names)), rains, tuple(_distinct([x.label for x in rains])), rain, notes)


def load_marks(case: Case) -> list[float]:
    """Return the seconds from the start at which a prescribed stream changes its course."""
    points = [t for x in case.loads if isinstance(x, AirStream) for t, _ in x.points if case.start < t < case.end]
    return [float((t - case.start) / np.timedelta64(1, "s")) for t in points]


def _no_two(loads: Sequence[VentilatedGap | AirLeak], what: str) -> None:
    names = [x.layer for x in loads]
    for name in names:
        if names.count(name) > 1:
            raise InputError("there are two of them in this layer; give one that is their sum", f"{what} '{name}'")


def _distinct(names: list[str]) -> list[str]:
    return [x if names.index(x) == i else f"{x} ({names[:i].count(x) + 1})" for i, x in enumerate(names)]


def _wind(case: Case, gap: VentilatedGap) -> Array:
    """Wind along the surface at the hour marks [m/s]."""
    climate = getattr(case.outside, "climate", None)
    hours = None if climate is None else climate.at_marks(case.marks, getattr(case.outside, "cyclic", None))
    if hours is None or hours.wind_speed is None:
        raise InputError(
            "pressure_coefficient needs a climate with wind; set it to 0 to leave buoyancy alone",
            f"ventilated gap '{gap.layer}'",
        )
    exposure = getattr(case.outside, "exposure", None)
    return getattr(exposure, "wind_factor", 1.0) * np.asarray(hours.wind_speed, dtype=float)


def _leak(case: Case, leak: AirLeak, outside: SideForcing, inside: SideForcing, notes: dict[str, str]) -> Array:
    """Mass flow of dry air at the hour marks [kg/(m2 s)]."""
    climate = getattr(case.outside, "climate", None)
    if climate is None:
        dp = leak.path.mechanical - leak.path.height * stack_gradient(outside.temperature, inside.temperature)
        volume = leak.leakage.flow(dp)
        notes["leak"] = "no weather: stack and fan pressure alone drive the leak"
    else:
        volume, said = leak_flow(
            leak.leakage, leak.path, climate, case.marks, inside.temperature, getattr(case.outside, "cyclic", None)
        )
        notes.update(said)
    source = np.where(volume > 0.0, outside.temperature, inside.temperature)
    found: Array = volume * STANDARD_PRESSURE / (R_AIR * source)
    return found
