"""The same case given to the engine and to the method of lines of `drydown_validation`, on one mesh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Literal, NamedTuple

import numpy as np
from drydown import Case, Film, Layer, Material, simulate
from drydown.case.sides import SideForcing
from drydown.lowering.problem import mesh_of

from .references import method_of_lines as mol
from .references import wall_parts

KINDS: tuple[Literal["air", "surface", "sealed"], ...] = ("air", "surface", "sealed")


def _of(curve: Any) -> str:
    return getattr(curve, "of", "humidity")


def reference_material(m: Material) -> wall_parts.Material:
    """Return the curves of a material as plain functions."""

    def conductivity(w: Any, T: Any) -> Any:
        of = _of(m.conductivity)
        if of == "water content":
            value = m.conductivity(w)
        else:
            assert of == "humidity" and np.ptp(m.conductivity(np.array([0.1, 0.5, 0.9]))) == 0.0
            value = m.conductivity(0.5 + 0.0 * w)
        if m.conductivity_temperature is not None:
            return value * m.conductivity_temperature(T)
        return value * (1.0 + m.conductivity_temperature_coefficient * (T - 283.15))

    def liquid(p: Any, w: Any) -> Any:
        assert m.liquid is not None
        return m.liquid(p) if _of(m.liquid) == "suction" else m.liquid(w)

    of_vapour = _of(m.permeability)
    assert of_vapour in ("humidity", "water content")
    return wall_parts.Material(
        m.density * m.heat_capacity,
        conductivity,
        m.storage,
        (lambda phi, w: m.permeability(phi)) if of_vapour == "humidity" else (lambda phi, w: m.permeability(w)),
        storage_of="suction" if _of(m.storage) == "suction" else "humidity",
        permeability_of="humidity" if of_vapour == "humidity" else "storage",
        liquid=liquid if m.liquid is not None else None,
        diffusivity=m.diffusivity,
        permeability_factor=m.permeability_temperature,
        storage_temperature=m.sorption_temperature_exponent,
    )


def reference_film(f: Film) -> wall_parts.Film:
    """Return a film; its curves are asked between 1e-9 and 1 - 1e-12, as the engine does."""

    def clipped(curve: Any) -> Callable[[Any], Any]:
        return lambda phi: curve(np.clip(phi, 1e-9, 1.0 - 1e-12))

    reverse = None if f.permeance_outward is None else clipped(f.permeance_outward)
    return wall_parts.Film(clipped(f.permeance), reverse, f.permeance_temperature)


def reference_wall(case: Case) -> wall_parts.Wall:
    """Return the assembly on the engine's mesh."""
    grid = mesh_of(case)
    layers: list[wall_parts.Layer] = []
    films: dict[int, wall_parts.Film] = {}
    known: dict[int, wall_parts.Material] = {}
    for part in case.assembly.parts:
        if isinstance(part, Layer):
            m = known.setdefault(id(part.material), reference_material(part.material))
            layers.append(wall_parts.Layer(m, tuple(grid.dx[grid.cells(len(layers))])))
        else:
            assert len(layers) not in films
            films[len(layers)] = reference_film(part)
    return wall_parts.Wall(tuple(layers), films)


def reference_side(f: SideForcing) -> wall_parts.Side:
    """Return the forcing of a side, whose emissivity is one number: no snow."""
    (emissivity,) = np.unique(f.emissivity)
    return wall_parts.Side(
        f.temperature,
        f.vapour_pressure,
        f.heat_transfer,
        f.vapour_transfer,
        f.radiation_in,
        float(emissivity),
        KINDS[f.kind],
        f.rain,
    )


def run_reference(case: Case, tolerance: mol.Tolerance, constants: mol.Constants | None = None) -> mol.Trace:
    """March a case without wettings by the method of lines."""
    assert not case.wettings
    wall = reference_wall(case)
    names = [layer.name for layer in case.assembly.layers]
    cells = [len(layer.widths) for layer in wall.layers]
    phi = np.repeat([case.initial.layers.get(n, case.initial.humidity) for n in names], cells)
    return mol.solve(
        wall,
        reference_side(case.outside.forcing(case.marks, case.physics, case.inside)),
        reference_side(case.inside.forcing(case.marks, case.physics, case.outside)),
        np.full(len(phi), case.initial.temperature),
        phi,
        tolerance=tolerance,
        constants=constants or mol.Constants(film_reading=case.numerics.film_reading),
    )


class Difference(NamedTuple):
    """Root mean square and greatest difference over all cells and hours.

    Humidity [-], temperature [K], water that entered through both surfaces [kg/m2].
    """

    humidity: float
    temperature: float
    humidity_most: float
    temperature_most: float
    entered: float


def compare(case: Case, trace: mol.Trace, tolerance: float = 1.0, **numerics: Any) -> Difference:
    """Run the engine at a tolerance and return how far it is from the reference."""
    data = simulate(replace(case, numerics=replace(case.numerics, tolerance=tolerance, **numerics)))
    phi = data.relative_humidity.values - trace.humidity
    t = data.temperature.values - trace.temperature
    passed = (data.vapour_passed + data.liquid_passed).values[-1]
    entered = np.array([passed[0], -passed[-1]]) - trace.entered[-1]
    return Difference(
        float(np.sqrt(np.mean(phi**2))),
        float(np.sqrt(np.mean(t**2))),
        float(np.max(np.abs(phi))),
        float(np.max(np.abs(t))),
        float(np.max(np.abs(entered))),
    )
