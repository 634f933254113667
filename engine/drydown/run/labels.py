"""The coordinates and attributes of a result: what stands where, what was run and how well."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any

import numpy as np

from ..case.assembly import Layer
from ..kernel.layout import (
    ERROR_MAX,
    ERROR_SQUARES,
    FAILED,
    HEAT_CLOSURE_MAX,
    OVERFULL,
    REJECTED,
    SHORT_FACES,
    STEPS,
    SWEEPS,
    WATER_CLOSURE_MAX,
    WATER_CLOSURE_SUM,
    Record,
)  # fmt: skip
from ..lowering.lowered import Problem
from ..materials.kinds import group_of
from .interfaces import interface_labels
from .overfull import Fullest
from .passed_on import by_source, neighbours

#: How the attributes begin that say what was assumed and where data came from.
NOTE = "note_"


def labels(problem: Problem, variables: Collection[str] = ()) -> dict[str, Any]:
    """Return the coordinates that do not change in time; of films and faces where a variable has them."""
    grid = problem.grid
    layers = problem.case.assembly.layers
    names = [layer.name for layer in layers]
    kinds = [group_of(layer.material.tags, layer.material.name) for layer in layers]
    return {
        "x": ("cell", grid.x, {"units": "m", "long_name": "distance from the outer surface"}),
        "width": ("cell", grid.dx, {"units": "m", "long_name": "width of the cell"}),
        "layer_of_cell": ("cell", [names[j] if j >= 0 else "contact air" for j in grid.layer]),
        "saturation": ("cell", problem.saturation, {"units": "kg m-3", "long_name": "water content with full pores"}),
        "water_content_at_98": (
            "cell",
            problem.water_content_at_98,
            {"units": "kg m-3", "long_name": "water content at 98 % relative humidity"},
        ),
        "layer": ("layer", names),
        "kind_of_layer": ("layer", kinds),
        "tags_of_layer": ("layer", [", ".join(layer.material.tags) for layer in layers]),
        "material_of_layer": ("layer", [layer.material.name for layer in layers]),
        "density_of_layer": ("layer", np.array([layer.material.density for layer in layers]), {"units": "kg m-3"}),
        "mould_class_of_layer": ("layer", [layer.mould_class or layer.material.mould_class for layer in layers]),
        "judged_of_layer": ("layer", np.array([float(layer.judged) for layer in layers])),
        "takes_up_water_of_layer": (
            "layer",
            np.array([float(m.liquid is not None or m.diffusivity is not None) for m in (x.material for x in layers)]),
            {"units": "1", "long_name": "1: water moves in it as a liquid; 0: as vapour alone"},
        ),
        "critical_saturation_of_layer": (
            "layer",
            np.array([_critical(layer) for layer in layers]),
            {"units": "1", "long_name": "degree of saturation above which frost damages; not a number: not stated"},
        ),
        "thickness_of_layer": ("layer", np.array([layer.thickness for layer in layers]), {"units": "m"}),
        "interface": ("interface", list(problem.interfaces)),
        **interface_labels(problem),
        "wetting": ("wetting", [f"{i + 1}: {w.layer}" for i, w in enumerate(problem.case.wettings)]),
        "load_term": ("load_term", [*problem.lowered.moving, *problem.lowered.raining]),
        **load_words(problem),
        **(_film_labels(problem) if "film_permeance" in variables else {}),
        **(_face_labels(problem) if "vapour_through" in variables else {}),
    }


def _critical(layer: Layer) -> float:
    """Return the critical saturation that a layer or its material states [-], else NaN."""
    stated = (layer.critical_saturation, layer.material.critical_saturation)
    return next((s for s in stated if s is not None), np.nan)


def _film_labels(problem: Problem) -> dict[str, Any]:
    """Return the names of the films, told apart where two are alike, and where they lie."""
    names = [film.name for film in problem.case.assembly.films]
    told = [n if names.count(n) == 1 else f"{n} ({names[: i + 1].count(n)})" for i, n in enumerate(names)]
    edges = np.concatenate([[0.0], np.cumsum(problem.grid.dx)])
    at = np.array([edges[int(np.flatnonzero(problem.grid.film == i)[0])] for i in range(len(names))])
    return {
        "film": ("film", told),
        "x_of_film": ("film", at, {"units": "m", "long_name": "distance of the film from the outer surface"}),
    }


def _face_labels(problem: Problem) -> dict[str, Any]:
    edges = np.concatenate([[0.0], np.cumsum(problem.grid.dx)])
    return {"x_of_face": ("face", edges, {"units": "m", "long_name": "distance of the face from the outer surface"})}


def load_words(problem: Problem) -> dict[str, Any]:
    """Return the words that each load brings for what became of its water; nothing where there is no load."""
    words = problem.lowered.words
    if not words:
        return {}
    events = len(problem.case.wettings)
    return {
        "load_neighbour": ("load_term", [*("" for _ in problem.lowered.moving), *neighbours(problem)[events:]]),
        "load_brought": ("load_term", [w.brought for w in words]),
        "load_took": ("load_term", [w.took for w in words]),
        "load_found_no_room": ("load_term", [w.refused for w in words]),
        "load_silent_at_zero": ("load_term", np.array([float(w.silent_at_zero) for w in words])),
    }


#: What is kept back of a wetting is said from this share on [-]: below it is rounding.
KEPT_BACK = 1e-6


def attributes(problem: Problem, record: Record | None, fullest: Fullest) -> dict[str, Any]:
    """Return the attributes of a result: what was run, how, how well it closed, what found no room."""
    from ..version import __version__

    case = problem.case
    out: dict[str, Any] = {
        "Conventions": "CF-1.11",
        "title": f"drydown: {case.name}",
        "source": f"drydown {__version__}",
        "case": case.name,
        "assembly": case.assembly.name,
        "film_reading": case.numerics.film_reading,
        "tolerance": case.numerics.tolerance,
        "cells": len(problem.grid.dx),
        "table_error_bound": problem.sampled.worst,
        "table_error_worst_in": problem.sampled.worst_name,
    }
    for key, text in problem.notes.items():
        out[NOTE + re.sub(r"\W+", "_", key)] = text
    if record is not None:
        t, c = record.totals, record.counters
        steps = max(int(c[STEPS]), 1)
        span = problem.stamps[-1] - problem.stamps[0]
        years = float(span / np.timedelta64(1, "s")) / (365.25 * 86400.0)
        out |= {
            "water_closure_step_max": float(t[WATER_CLOSURE_MAX]),
            "water_closure_total": float(t[WATER_CLOSURE_SUM]),
            "heat_closure_step_max": float(t[HEAT_CLOSURE_MAX]),
            "error_indicator_max": float(t[ERROR_MAX]),
            "error_indicator_rms": float(np.sqrt(t[ERROR_SQUARES] / steps)),
            "steps": int(c[STEPS]),
            "steps_rejected": int(c[REJECTED]),
            "sweeps": int(c[SWEEPS]),
            "steps_per_year": float(c[STEPS] / years),
            "sweeps_per_year": float(c[SWEEPS] / years),
            "steps_failed": int(c[FAILED]),
            "overfull_cell_steps": int(c[OVERFULL]),
            "faces_short_of_tolerance": int(c[SHORT_FACES]),
        }
        said = []
        if c[OVERFULL] > 0:
            said.append(fullest.sentence())
            out |= fullest.attributes()
        passed = by_source(problem, record.added[-1:])[1][0] if len(record.added) else ()
        for event, on, beside in zip(case.wettings, passed, neighbours(problem), strict=False):
            if on > KEPT_BACK * event.amount:
                said.append(
                    f"{on:.3g} kg/m2 of the water for '{event.layer}' found no room in the pores of its place "
                    f"and went on into '{beside}'"
                )
        refused = record.refused[-1] if len(record.refused) else ()
        for event, kept_back in zip(case.wettings, refused, strict=False):
            if kept_back > KEPT_BACK * event.amount:
                said.append(
                    f"{kept_back:.3g} kg/m2 of the water for '{event.layer}' found no room in the pores of its place "
                    "at its date and were kept back"
                )
        if said:
            out["warning"] = "; ".join(said)
    return out
