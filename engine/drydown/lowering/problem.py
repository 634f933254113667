"""Lowering: a `Case` becomes the flat arrays of the kernel."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..case.loads import RainShare
from ..case.sides import Physics, SideForcing
from ..case.wetting import Wetting
from ..errors import InputError
from ..kernel.layout import FLOWS, SIDE_COLUMNS, Control, Forcing, State, Wall
from ..materials.model import REFERENCE_TEMPERATURE, Film, Material
from .grid import Grid, contact_air, make_grid
from .loads import Lowered, load_marks, lower_loads, place_cells
from .sampling import Sampled, sample

#: What `Numerics.tolerance = 1` means for the error indicator of a step.
TOL_PHI = 0.0032
TOL_TEMPERATURE = 0.16
TOL_WATER = 0.8


class Problem(NamedTuple):
    """A case in flat arrays, with what is needed to label the results."""

    case: Case
    grid: Grid
    sampled: Sampled
    wall: Wall
    forcing: Forcing
    control: Control
    state: State
    stamps: np.ndarray  # [mark] datetime64[s]
    interfaces: tuple[str, ...]  # names of the watched faces
    saturation: Array  # [cell] water content with full pores, kg/m3
    water_content_at_98: Array  # [cell] water content at 98 % relative humidity, kg/m3
    lowered: Lowered  # its loads
    notes: dict[str, str]


def side_array(side: SideForcing) -> Array:
    """Return a side's forcing as [mark, column]."""
    columns = [
        side.temperature,
        side.vapour_pressure,
        side.heat_transfer,
        side.vapour_transfer,
        side.radiation_in,
        side.rain,
    ]
    out = np.stack([np.asarray(c, dtype=float) for c in columns], axis=1)
    if not np.all(np.isfinite(out)):
        row, col = np.argwhere(~np.isfinite(out))[0]
        raise InputError(f"column {SideForcing._fields[col]} is not finite at hour {row} of the run", "climate")
    assert out.shape[1] == SIDE_COLUMNS
    return out


def _between(hours: Array, marks: Array, values: Array) -> Array:
    """Return forcing at all marks: states linear, rain (last column) that of the hour around the mark."""
    if len(marks) == len(hours):
        return values
    out = np.stack([np.interp(marks, hours, values[:, j]) for j in range(values.shape[1])], axis=1)
    ending = np.clip(np.searchsorted(hours, marks, side="left"), 0, len(hours) - 1)
    out[:, -1] = values[ending, -1]
    return out


def check_room(case: Case, grid: Grid, saturation: Array, water: Array) -> None:
    """Raise InputError where a wetting is larger than the free pores of its place at the start."""
    for event in case.wettings:
        cells = place_cells(case, grid, event)
        room = float(np.sum(grid.dx[cells] * saturation[cells] - water[cells]))
        if event.amount > room:
            raise InputError(
                f"{event.amount:g} kg/m2 do not fit; the free pores there hold {max(room, 0.0):.3g} kg/m2",
                f"wetting of '{event.layer}'",
            )


def build(case: Case) -> Problem:
    """Lower a case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Problem

    Raises
    ------
    InputError
        If a material, the climate or an event cannot be used.
    """
    from ..kernel.step import settle

    physics: Physics = case.physics
    numerics = case.numerics
    grid = make_grid(case.assembly, numerics.refine)
    materials: list[Material] = []
    for layer in case.assembly.layers:
        if not any(layer.material is m for m in materials):
            materials.append(layer.material)
    films: list[Film] = []
    film_index = []
    for film in case.assembly.films:
        if not any(film is f for f in films):
            films.append(film)
        film_index.append(next(i for i, f in enumerate(films) if f is film))
    if np.any(grid.layer < 0):
        materials.append(contact_air())
    of_layer = [next(i for i, m in enumerate(materials) if m is layer.material) for layer in case.assembly.layers]
    material = np.array([of_layer[j] if j >= 0 else len(materials) - 1 for j in grid.layer], dtype=np.int64)
    sampled = sample(materials, films, physics)
    n = len(grid.dx)

    watch = np.full(n + 1, -1, dtype=np.int64)
    faces, names = [0], ["outer surface"]
    for j, layer in enumerate(case.assembly.layers):
        face = int(grid.cells(j)[-1]) + 1
        if face < n:
            faces.append(face)
            names.append(f"inner face of {layer.name}")
    faces.append(n)
    names.append("inner surface")
    watch[faces] = np.arange(len(faces))

    hours = case.marks
    outside = case.outside.forcing(hours, physics, case.inside)
    inside = case.inside.forcing(hours, physics, case.outside)
    t0 = hours[0]
    seconds = (hours - t0).astype("timedelta64[s]").astype(float)
    extra = load_marks(case)
    spans = [
        [float((begin - t0) / np.timedelta64(1, "s")) for begin in event.starts(case.end)] for event in case.wettings
    ]
    for event, begins in zip(case.wettings, spans, strict=True):
        extra += begins + [begin + round(event.duration) for begin in begins]
    marks = np.unique(np.concatenate([seconds, extra])) if extra else seconds
    hourly = np.isin(marks, seconds)
    every = round(numerics.output_every / 3600.0)
    keep = (hourly & (np.round(marks / 3600.0).astype(np.int64) % every == 0)).astype(np.int64)
    keep[[0, -1]] = 1
    lowered = lower_loads(case, grid, seconds, marks, outside, inside)
    wettings = len(case.wettings)
    places: list[Wetting | RainShare] = [*case.wettings, *lowered.rain]
    rate = np.concatenate([np.zeros((len(marks), wettings)), lowered.rain_rate], axis=1)
    share = np.zeros((len(places), n))
    limited = np.array([0] * wettings + [1] * len(lowered.rain), dtype=np.int64)
    jump = np.isin(marks, extra).astype(np.int64)
    for s, place in enumerate(places):
        cells = place_cells(case, grid, place)
        share[s, cells] = 1.0 / np.sum(grid.dx[cells])
    for s, event in enumerate(case.wettings):
        for begin in spans[s]:
            end = begin + round(event.duration)
            during = (marks > begin) & (marks <= end)
            rate[during, s] += event.amount / (end - begin)
    out_array = _between(seconds, marks, side_array(outside))
    in_array = _between(seconds, marks, side_array(inside))
    wet = out_array[:, -1] > 0.0
    jump[:-1] |= (wet[1:] != wet[:-1]).astype(np.int64)
    none = np.zeros((0, n))
    forcing = Forcing(
        marks=marks,
        keep=keep,
        jump=jump,
        outside=out_array,
        inside=in_array,
        rate=rate,
        share=share,
        limited=limited,
        water_source=none,
        heat_source=none,
        loads=lowered.loads,
    )

    wall = Wall(
        dx=grid.dx,
        material=material,
        heat=np.array([m.density * m.heat_capacity for m in materials]),
        kappa=sampled.kappa,
        temperature_power=sampled.temperature_power,
        kappa_v=sampled.kappa_v,
        temperature_factor=sampled.temperature_factor,
        slope=np.array([m.conductivity_temperature_coefficient for m in materials]),
        liquid=sampled.liquid,
        freeze=np.array([1 if m.freezing else 0 for m in materials], dtype=np.int64),
        resolve=sampled.resolve,
        film=np.array([film_index[i] if i >= 0 else -1 for i in grid.film], dtype=np.int64),
        film_temperature_factor=sampled.film_temperature_factor,
        film_mean=1 if numerics.film_reading == "mean" else 0,
        kind_out=outside.kind,
        kind_in=inside.kind,
        eps_out=float(outside.emissivity),
        eps_in=float(inside.emissivity),
        latent=physics.latent_heat,
        c_vapour=physics.vapour_heat_capacity,
        c_water=physics.water_heat_capacity,
        r_vapour=physics.vapour_gas_constant,
        t_ref=REFERENCE_TEMPERATURE,
        watch=watch,
    )
    layer_names = [layer.name for layer in case.assembly.layers]
    phi = np.array(
        [
            case.initial.layers.get(layer_names[j], case.initial.humidity) if j >= 0 else case.initial.humidity
            for j in grid.layer
        ]
    )
    u = np.log(-np.log(np.clip(phi, 1e-5, 1.0 - 1e-8)))
    state = State(
        u=u,
        temperature=np.full(n, case.initial.temperature),
        water=np.zeros(n),
        heat=np.zeros(n),
        flow=np.zeros((len(faces), FLOWS)),
        added=np.zeros(len(places)),
        refused=np.zeros(len(places)),
        load=np.zeros((len(lowered.moving), 2)),
    )
    settle(wall, sampled.tables, state.u, state.temperature, state.water, state.heat)
    damp, _heat = np.zeros(n), np.zeros(n)
    settle(wall, sampled.tables, np.full(n, np.log(-np.log(0.98))), np.full(n, 293.15), damp, _heat)
    saturation = sampled.saturation[material]
    check_room(case, grid, saturation, state.water)
    strict = min(1.0, numerics.tolerance)
    control = Control(
        tol_phi=TOL_PHI * numerics.tolerance,
        tol_temperature=TOL_TEMPERATURE * numerics.tolerance,
        tol_water=TOL_WATER * numerics.tolerance,
        newton=3.0 * max(strict, 1e-4),
        max_step=numerics.max_step,
        min_step=numerics.min_step,
        fixed=0,
        max_sweeps=30,
    )
    notes = {f"outside {k}": v for k, v in outside.notes.items()}
    notes |= {f"inside {k}": v for k, v in inside.notes.items()} | lowered.notes
    stamps = t0 + np.round(marks).astype("timedelta64[s]")
    damp /= grid.dx
    return Problem(
        case, grid, sampled, wall, forcing, control, state, stamps, tuple(names), saturation, damp, lowered, notes
    )
