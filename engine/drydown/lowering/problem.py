"""Lowering: a `Case` becomes the flat arrays of the kernel, one function for each of its tuples."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from ..arrays import Array
from ..case.assembly import Layer
from ..case.case import Case, Numerics
from ..case.load import Site, Source
from ..case.sides import Physics, SideForcing
from ..case.surface_factor import surface_note
from ..case.wetting import Wetting
from ..errors import InputError
from ..kernel.humidity import start_u, u_of
from ..kernel.layout import FLOWS, LOAD_COLUMNS, OVERFLOW, RAIN, SIDE_COLUMNS, Control, Forcing, State, Wall
from ..materials.model import REFERENCE_TEMPERATURE, Material
from .grid import Grid, make_grid, pilot_grid, stacked
from .loads import Lowered, lower_loads
from .lowered import Prescribed, Problem
from .media import films_of, materials_of, sample_of
from .overflow import Overflow, limits_of, overflows
from .pilot import MONTH, SHARE_OF_PILOT, STEP, TOLERANCE, bends, sharpened, skins, spots, until, widths
from .sampling import Sampled
from .site import check_room, met_once, site_of, unfilled, wetting_source

#: What `Numerics.tolerance = 1` means for the error indicator of a step.
TOL_PHI = 0.0032
TOL_TEMPERATURE = 0.16
TOL_WATER = 0.8
#: How closely a stage is solved at the default tolerance; 1 stands for 0.4 % of humidity and 0.05 K. What is left over
#: looks to the error control like an error of the step: with 3, one drawn wall in frost and rain took eight times the
#: steps that it takes with this.
NEWTON = 0.5


def lower(
    case: Case,
    *,
    times: Array | None = None,
    idle: Sequence[Wetting] = (),
    prescribed: Prescribed | None = None,
    control: Mapping[str, Any] | None = None,
    grid: Grid | None = None,
    told: bool = True,
) -> Problem:
    """Lower a case.

    Parameters
    ----------
    case : Case
    times : array, optional
        Marks of the run [s from the start, first 0] instead of its hours; all are kept. Between the hours of the case
        the sides run on linearly, beyond its end they stay as they are there.
    idle : sequence of Wetting, optional
        Sources that have a place but bring nothing until `put_in` fills them; they stand before the case's own.
    prescribed : Prescribed, optional
        For a case without wettings and loads.
    control : mapping, optional
        Fields of `Control` that differ from what the case asks for.
    grid : Grid, optional
        The mesh. Default: found by pilot marches (`mesh_of`); by the gradings alone where `times` or `prescribed` are
        given.
    told : bool
        Whether the notes of the problem speak of the surface factor, which takes time to work out.

    Returns
    -------
    Problem

    Raises
    ------
    InputError
        If a material, the climate or an event cannot be used.
    """
    sampled = sample_of(case)
    with met_once():
        if grid is None:
            free = times is None and prescribed is None
            grid = mesh_of(case, idle, sampled) if free else make_grid(case.assembly, case.numerics.refine)
        return _on(case, grid, sampled, times, idle, prescribed, control, told)


def mesh_of(case: Case, idle: Sequence[Wetting] = (), sampled: Sampled | None = None) -> Grid:
    """Return the mesh of a case, found by pilot marches, or as its layers give it.

    Parameters
    ----------
    case : Case
    idle : sequence of Wetting
        As for `lower`; here they happen at their own dates.

    Raises
    ------
    InputError
        If a material, the climate or an event cannot be used.
    """
    if all(part.cells is not None for part in case.assembly.layers):
        return make_grid(case.assembly, case.numerics.refine)
    sampled = sample_of(case) if sampled is None else sampled
    with met_once():
        first = _pilot(case, pilot_grid(case.assembly), sampled, idle)
        ends, faces, seen = spots(first), skins(first), bends(first, MONTH)
        second = stacked(case.assembly, widths(case.assembly, seen, SHARE_OF_PILOT, ends=ends, at_faces=faces))
        seen = sharpened(second, bends(_pilot(case, second, sampled, idle), until(case)))
    return stacked(case.assembly, widths(case.assembly, seen, refine=case.numerics.refine, ends=ends, at_faces=faces))


def _pilot(case: Case, grid: Grid, sampled: Sampled, idle: Sequence[Wetting]) -> Problem:
    """Lower a case for a pilot march, its idle wettings filled."""
    loose = replace(case, numerics=replace(case.numerics, tolerance=TOLERANCE, max_step=STEP))
    problem = without_faces(_on(loose, grid, sampled, None, idle, None, None, told=False))
    marks = problem.forcing.marks
    for source, event in enumerate(idle):
        begin = float((event.start - case.start) / np.timedelta64(1, "s"))
        first, last = (int(np.searchsorted(marks, s)) for s in (begin, begin + round(event.duration)))
        problem = put_in(problem, source, event.amount, first, last)
    return problem


def without_faces(problem: Problem) -> Problem:
    """Return a problem whose marches do not record the states of faces."""
    return problem._replace(wall=problem.wall._replace(faces=np.zeros(0, dtype=np.int64)))


def _on(
    case: Case,
    grid: Grid,
    sampled: Sampled,
    times: Array | None,
    idle: Sequence[Wetting],
    prescribed: Prescribed | None,
    control: Mapping[str, Any] | None,
    told: bool = True,
) -> Problem:
    """Lower a case on a mesh; told : whether its notes speak of the surface factor."""
    from ..kernel.pores import settle

    materials, material = materials_of(case, grid)
    _, film = films_of(case)
    watch, names = _watched(case, grid)
    site, jumps, kept = site_of(case, grid, times, idle)
    lowered = lower_loads(case.loads, site)
    wettings = [*(unfilled(w, site) for w in idle), *(wetting_source(w, site, case.end) for w in case.wettings)]
    sources = [*wettings, *lowered.sources]
    over = overflows(sources, site, grid)
    outside, inside = (site.outside, site.inside) if prescribed is None else (prescribed.outside, prescribed.inside)
    wall = wall_of(case, grid, materials, material, film, sampled, watch, outside, inside)
    drinks = bool(wall.film[0] < 0 and wall.liquid[wall.material[0]] == 1)
    forcing = forcing_of(site, kept, jumps, sources, over, len(wettings), lowered, prescribed, drinks)
    state = state_of(case, grid, len(names), len(sources) + len(over), len(lowered.moving), prescribed)
    settle(wall, sampled.tables, state.u, state.temperature, state.water, state.heat)
    n = len(grid.dx)
    damp, _heat = np.zeros(n), np.zeros(n)
    settle(wall, sampled.tables, np.full(n, u_of(0.98)), np.full(n, 293.15), damp, _heat)
    saturation = sampled.saturation[material]
    for event, source in zip([*idle, *case.wettings], wettings, strict=True):
        check_room(event, source, grid, saturation, state.water)
    damp /= grid.dx
    surface = surface_note(case.assembly, case.loads, site.hours, site.outside, site.inside) if told else {}
    return Problem(
        case=case,
        grid=grid,
        sampled=sampled,
        wall=wall,
        forcing=forcing,
        control=control_of(case.numerics)._replace(**(control or {})),
        state=state,
        stamps=case.start + np.round(site.marks).astype("timedelta64[s]"),
        interfaces=tuple(names),
        saturation=saturation,
        water_content_at_98=damp,
        lowered=lowered,
        notes={f"outside {k}": v for k, v in outside.notes.items()}
        | {f"inside {k}": v for k, v in (inside.notes | surface).items()}
        | shed_rain(case, forcing)
        | lowered.notes,
    )


def shed_rain(case: Case, forcing: Forcing) -> dict[str, str]:
    """Return a note where rain meets a material that takes no liquid up: by its nature, or for want of data."""
    first = case.assembly.parts[0]
    material = first.material if isinstance(first, Layer) else None
    if material is None or material.liquid is not None or material.diffusivity is not None:
        return {}
    if not np.any(forcing.outside[:, RAIN] > 0.0):
        return {}
    if material.sheds_rain:
        return {"outside rain surface": f"'{material.name}' sheds the rain: no liquid enters it"}
    text = f"no liquid transport of '{material.name}' is known: rain runs off it, whatever it may take up in truth"
    return {"outside rain surface": text}


def put_in(problem: Problem, source: int, amount: float, first: int, last: int) -> Problem:
    """Return a problem whose idle source brings water between two marks, evenly; nothing is shared that it changes.

    Parameters
    ----------
    problem : Problem
    source : int
        Position among the sources.
    amount : float
        [kg/m2].
    first, last : int
        Marks.
    """
    forcing, marks = problem.forcing, problem.forcing.marks
    rate, jump = forcing.rate.copy(), forcing.jump.copy()
    both = [source, *np.flatnonzero(forcing.limited == OVERFLOW + source)]
    rate[first + 1 : last + 1, both] = amount / (marks[last] - marks[first])
    jump[[first, last]] = 1
    return problem._replace(forcing=forcing._replace(rate=rate, jump=jump))


def forcing_of(
    site: Site,
    kept: np.ndarray,
    jumps: Array,
    sources: Sequence[Source],
    over: Sequence[Overflow],
    events: int,
    lowered: Lowered,
    prescribed: Prescribed | None,
    drinks: bool,
) -> Forcing:
    """Return what happens, at the marks; `drinks`: the outer surface takes rain up, so that it jumps with the rain.

    over : where sources overflow to; those stand after all others; events : how many of the sources are wettings.
    """
    n, marks = len(site.widths), site.marks
    share = np.zeros((len(sources) + len(over), n))
    places: list[Source | Overflow] = [*sources, *over]
    for s, place in enumerate(places):
        fill = np.ones(len(place.cells)) if place.fill is None else place.fill
        share[s, place.cells] = fill / np.sum(fill * site.widths[place.cells])
    if prescribed is None:
        outside, inside = (_between(site, side_array(side)) for side in (site.outside, site.inside))
        water, heat = np.zeros((0, n)), np.zeros((0, n))
    else:
        if sources or lowered.moving:
            raise InputError("sides and sources are prescribed; leave out wettings and loads", "case")
        outside, inside = side_array(prescribed.outside), side_array(prescribed.inside)
        centre = np.cumsum(site.widths) - 0.5 * site.widths
        water, heat = prescribed.sources(centre[None, :], marks[:, None])
    jump = np.isin(marks, jumps).astype(np.int64)
    if drinks:
        wet = outside[:, -1] > 0.0
        jump[:-1] |= (wet[1:] != wet[:-1]).astype(np.int64)
    rates = [np.broadcast_to(np.asarray(s.rate, dtype=float), marks.shape) for s in sources]
    rates += [rates[o.source] for o in over]
    return Forcing(
        marks=marks,
        keep=kept.astype(np.int64),
        jump=jump,
        outside=outside,
        inside=inside,
        rate=np.stack(rates, axis=1) if rates else np.zeros((len(marks), 0)),
        share=share,
        limited=limits_of(sources, over, events),
        water_source=water,
        heat_source=heat,
        loads=lowered.loads,
    )


def side_array(side: SideForcing) -> Array:
    """Return a side's forcing as [mark, column]."""
    columns = [
        side.temperature,
        side.vapour_pressure,
        side.heat_transfer,
        side.vapour_transfer,
        side.radiation_in,
        np.broadcast_to(side.emissivity, np.shape(side.temperature)),
        side.rain,
    ]
    out = np.stack([np.asarray(c, dtype=float) for c in columns], axis=1)
    if not np.all(np.isfinite(out)):
        row, col = np.argwhere(~np.isfinite(out))[0]
        raise InputError(f"column {SideForcing._fields[col]} is not finite at hour {row} of the run", "climate")
    assert out.shape[1] == SIDE_COLUMNS
    return out


def _between(site: Site, values: Array) -> Array:
    """Return forcing at all marks: states linear, rain (last column) that of the hour around the mark."""
    if np.array_equal(site.marks, site.seconds):
        return values
    out = np.stack([site.at_marks(values[:, j]) for j in range(values.shape[1])], axis=1)
    out[:, -1] = site.over_marks(values[:, -1])
    return out


def _watched(case: Case, grid: Grid) -> tuple[np.ndarray, list[str]]:
    """Return the row of each face in the record of fluxes, and the names of the rows."""
    n = len(grid.dx)
    faces, names = [0], ["outer surface"]
    for j, layer in enumerate(case.assembly.layers):
        face = int(grid.cells(j)[-1]) + 1
        if face < n:
            faces.append(face)
            names.append(f"inner face of {layer.name}")
    faces.append(n)
    names.append("inner surface")
    watch = np.full(n + 1, -1, dtype=np.int64)
    watch[faces] = np.arange(len(faces))
    return watch, names


def wall_of(
    case: Case,
    grid: Grid,
    materials: Sequence[Material],
    material: np.ndarray,
    film: Sequence[int],
    sampled: Sampled,
    watch: np.ndarray,
    outside: SideForcing,
    inside: SideForcing,
) -> Wall:
    """Return cells, faces and constants."""
    physics: Physics = case.physics
    return Wall(
        dx=grid.dx,
        material=material,
        heat=np.array([m.density * m.heat_capacity for m in materials]),
        kappa=sampled.kappa,
        temperature_power=sampled.temperature_power,
        kappa_v=sampled.kappa_v,
        temperature_factor=sampled.temperature_factor,
        conductivity_factor=sampled.conductivity_factor,
        slope=np.array([m.conductivity_temperature_coefficient for m in materials]),
        liquid=sampled.liquid,
        freeze=np.array([1 if m.freezing else 0 for m in materials], dtype=np.int64),
        resolve=sampled.resolve,
        film=np.array([film[i] if i >= 0 else -1 for i in grid.film], dtype=np.int64),
        film_temperature_factor=sampled.film_temperature_factor,
        film_mean=1 if case.numerics.film_reading == "mean" else 0,
        kind_out=outside.kind,
        kind_in=inside.kind,
        latent=physics.latent_heat,
        c_vapour=physics.vapour_heat_capacity,
        c_water=physics.water_heat_capacity,
        r_vapour=physics.vapour_gas_constant,
        t_ref=REFERENCE_TEMPERATURE,
        melting=physics.melting_temperature,
        fusion=physics.latent_heat_of_fusion,
        c_ice=physics.ice_heat_capacity,
        frozen=np.array([m.frozen_conductivity - 1.0 if m.freezing else 0.0 for m in materials]),
        watch=watch,
        faces=grid.faces,
    )


def state_of(case: Case, grid: Grid, faces: int, sources: int, moving: int, prescribed: Prescribed | None) -> State:
    """Return the state at the start, not yet settled."""
    n = len(grid.dx)
    if prescribed is None:
        names = [layer.name for layer in case.assembly.layers]
        start = case.initial
        phi, temperature = np.full(n, start.humidity), np.full(n, start.temperature)
        if start.profile is not None:
            ends = np.cumsum([0.0, *(layer.thickness for layer in case.assembly.layers)])
            temperature, phi = start.profile.on(grid.x, grid.layer, ends)
        phi = np.array([start.layers.get(names[j], phi[i]) if j >= 0 else phi[i] for i, j in enumerate(grid.layer)])
        u = start_u(phi)
    else:
        temperature, phi = (np.array(x, dtype=float) for x in prescribed.profile(grid.x))
        u = u_of(phi)
    return State(
        u=u,
        temperature=temperature,
        water=np.zeros(n),
        heat=np.zeros(n),
        flow=np.zeros((faces, FLOWS)),
        added=np.zeros(sources),
        refused=np.zeros(sources),
        load=np.zeros((moving, LOAD_COLUMNS)),
    )


def control_of(numerics: Numerics) -> Control:
    """Return the control of steps that a case asks for."""
    strict = min(1.0, numerics.tolerance)
    return Control(
        tol_phi=TOL_PHI * numerics.tolerance,
        tol_temperature=TOL_TEMPERATURE * numerics.tolerance,
        tol_water=TOL_WATER * numerics.tolerance,
        newton=NEWTON * max(strict, 1e-4),
        max_step=numerics.max_step,
        min_step=numerics.min_step,
        fixed=0,
        max_sweeps=30,
    )
