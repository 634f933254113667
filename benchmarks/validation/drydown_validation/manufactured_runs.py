"""Run the kernel on a manufactured solution: same lowering as any case, forcing and sources put in their place."""

from __future__ import annotations

import numpy as np
from drydown import Assembly, Case, Chamber, Layer, Material, Physics
from drydown.case.sides import SURFACE, SideForcing
from drydown.lowering.lowered import Prescribed, Problem
from drydown.lowering.problem import lower
from drydown.run.simulation import chunks

from .engine_side import START, Of
from .references.manufactured import Manufactured, Medium, saturation_pressure


def material(m: Medium, name: str) -> Material:
    """Return a `Medium` of the reference as a material of the engine."""
    return Material(
        name=name,
        density=m.dry_capacity / 1000.0,
        heat_capacity=1000.0,
        conductivity=Of("water content", m.conductivity),
        storage=Of("humidity", m.storage),
        permeability=Of("humidity", m.permeability),
        liquid=Of("water content", m.liquid_conductivity),
        saturation=float(m.storage(1.0)),
    )


def problem(exact: Manufactured, cells: int, marks: np.ndarray, newton: float = 1e-3) -> Problem:
    """Return the problem with steps from mark to mark [s]."""
    layers = tuple(
        Layer(material(m, f"medium {i}"), d, f"layer {i}", cells)
        for i, (m, d) in enumerate(zip(exact.media, exact.thickness, strict=True))
    )
    hours = int(np.ceil(marks[-1] / 3600.0))
    case = Case(
        Assembly(layers),
        Chamber(285.0, 0.7, surface=True),
        Chamber(285.0, 0.7, surface=True),
        START,
        START + np.timedelta64(max(hours, 1), "h"),
        physics=Physics(saturation_pressure=saturation_pressure),
    )
    t = np.asarray(marks, dtype=float)

    def side(x: float) -> SideForcing:
        temperature, phi = exact.state(x, t)
        none = np.zeros(len(t))
        vapour = phi * saturation_pressure(temperature)
        return SideForcing(temperature, vapour, none, none, none, 0.0, none, SURFACE, {})

    return lower(
        case,
        times=t,
        prescribed=Prescribed(
            side(0.0), side(sum(exact.thickness)), lambda x: exact.state(x, 0.0), lambda x, s: exact.sources(x, s)
        ),
        control={"fixed": 1, "max_step": float(np.max(np.diff(t))), "newton": newton},
    )


def end_state(p: Problem) -> tuple[np.ndarray, np.ndarray]:
    """March to the end and return temperature [K] and humidity [-]."""
    record = [r for _, r in chunks(p)][-1]
    assert record.totals[0] < 1e-9  # water closure of every step, kg/m2
    return p.state.temperature.copy(), np.exp(-np.exp(p.state.u))


def order(errors: list[float]) -> float:
    """Return the least order observed between successive halvings."""
    e = np.array(errors)
    return float(np.min(np.log2(e[:-1] / e[1:])))
