"""Results as one xarray Dataset with CF attributes, in memory or streamed to netCDF.

Variables (dimensions):

temperature, relative_humidity, water_content (time, cell)
    State of every finite volume: [K], [-], [kg m-3].
ice_content (time, cell)
    What of the water is ice [kg m-3]; only where a material freezes.
layer_water (time, layer)
    Water stored in each layer [kg m-2].
vapour_passed, liquid_passed, convected_vapour_passed, heat_passed (time, interface)
    Time integrals of the flux through the two surfaces and the inner face of every layer, positive from
    outside to inside: vapour by diffusion, liquid, vapour carried by an air flow [kg m-2], enthalpy [J m-2].
water_added (time, wetting)
    Water put in by each wetting so far [kg m-2].
load_water (time, load)
    Water brought in by each load so far [kg m-2]: by the ventilation of a gap (negative: it dries), by the end of
    an air flow in a gap, by leaking air that condenses, by a share of the rain.
load_heat (time, load)
    Enthalpy brought in by moving air [J m-2]; what rain brings arrives at the temperature of its place and is not
    counted here.
load_refused (time, load)
    What of a share of the rain found no room in the pores and ran off [kg m-2].
rain_offered, rain_run_off (time)
    Driving rain that reached the outer surface, and what of it was not taken up [kg m-2].

Attributes tell what was run and how well. `error_indicator_rms`, `_max`: the bend of the state over a step, in units
of 0.32 % relative humidity, 0.16 K or 0.8 kg/m3 (times the tolerance); a cautious measure of the time error (see
docs/numerics.md). `water_closure_*`, `heat_closure_*`: what the budgets leave open. `overfull_cell_steps`: occasions on
which a cell held more water than its pores. `steps` and `sweeps`, and
both per simulated year: the effort. `faces_short_of_tolerance`: occasions on
which the state of a face was taken before its iteration had come to an end.
"""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.assembly import Layer
from ..errors import InputError
from ..files import beside, not_written, settle
from ..kernel.humidity import humidity_of
from ..kernel.layout import (
    AIR,
    CONVECTED,
    ERROR_MAX,
    ERROR_SQUARES,
    FAILED,
    HEAT,
    HEAT_CLOSURE_MAX,
    LIQUID,
    LOAD_HEAT,
    LOAD_WATER,
    OVERFULL,
    RAIN,
    REJECTED,
    SHORT_FACES,
    STEPS,
    SWEEPS,
    VAPOUR,
    WATER_CLOSURE_MAX,
    WATER_CLOSURE_SUM,
    Record,
)  # fmt: skip
from ..lowering.problem import Problem
from ..materials.kinds import group_of

if TYPE_CHECKING:
    import xarray as xr

#: name -> (dimensions, unit, long name, CF standard name or empty)
VARIABLES: dict[str, tuple[tuple[str, ...], str, str, str]] = {
    "temperature": (("time", "cell"), "K", "temperature", ""),
    "relative_humidity": (("time", "cell"), "1", "relative humidity of the pore air", ""),
    "water_content": (("time", "cell"), "kg m-3", "water content", ""),
    "layer_water": (("time", "layer"), "kg m-2", "water stored in the layer", ""),
    "vapour_passed": (("time", "interface"), "kg m-2", "vapour passed inward so far", ""),
    "liquid_passed": (("time", "interface"), "kg m-2", "liquid water passed inward so far", ""),
    "convected_vapour_passed": (("time", "interface"), "kg m-2", "vapour carried inward by air flow so far", ""),
    "heat_passed": (("time", "interface"), "J m-2", "enthalpy passed inward so far", ""),
    "water_added": (("time", "wetting"), "kg m-2", "water added by wettings so far", ""),
    "load_water": (("time", "load"), "kg m-2", "water brought in by the load so far", ""),
    "load_heat": (("time", "load"), "J m-2", "enthalpy brought in by moving air so far", ""),
    "load_refused": (("time", "load"), "kg m-2", "water of the load that found no room so far", ""),
    "rain_offered": (("time",), "kg m-2", "driving rain on the outer surface so far", ""),
    "rain_run_off": (("time",), "kg m-2", "driving rain not taken up so far", ""),
}


#: Marks in one chunk of a file.
ROWS = 732
#: Dimensions that a case may leave empty; a file then holds one entry "none" with zeros.
MAY_BE_NONE = ("wetting", "load")


def variables(problem: Problem) -> dict[str, tuple[tuple[str, ...], str, str, str]]:
    """Return the variables of a result; ice only where a material freezes."""
    if not np.any(problem.wall.freeze):
        return VARIABLES
    return {**VARIABLES, "ice_content": (("time", "cell"), "kg m-3", "ice in the pores", "")}


def rows_of(problem: Problem, marks: slice, record: Record) -> dict[str, Any]:
    """Return the variables for the kept marks of one stretch."""
    keep = np.flatnonzero(problem.forcing.keep[marks]) + marks.start
    n = len(keep)
    water = record.water[:n]
    layers = problem.case.assembly.layers
    layer_water = np.stack([water[:, problem.grid.cells(j)].sum(axis=1) for j in range(len(layers))], axis=1)
    offered = offered_rain(problem)[keep]
    taken = record.flow[:n, 0, LIQUID] if problem.wall.kind_out == AIR else 0.0 * offered
    events = len(problem.case.wettings)
    none = np.zeros_like(record.load[:n, :, LOAD_WATER])
    ice = {}
    if np.any(problem.wall.freeze):
        from ..kernel.ice import ice_of

        ice = {"ice_content": np.zeros_like(water)}
        ice_of(problem.wall, problem.sampled.tables, record.temperature[:n], water, ice["ice_content"])
    return {
        "time": problem.stamps[keep],
        "temperature": record.temperature[:n],
        "relative_humidity": humidity_of(record.u[:n]),
        "water_content": water / problem.grid.dx,
        "layer_water": layer_water,
        "vapour_passed": record.flow[:n, :, VAPOUR],
        "liquid_passed": record.flow[:n, :, LIQUID],
        "convected_vapour_passed": record.flow[:n, :, CONVECTED],
        "heat_passed": record.flow[:n, :, HEAT],
        "water_added": record.added[:n, :events],
        "load_water": np.concatenate([record.load[:n, :, LOAD_WATER], record.added[:n, events:]], axis=1),
        "load_heat": np.concatenate([record.load[:n, :, LOAD_HEAT], np.zeros_like(record.added[:n, events:])], axis=1),
        "load_refused": np.concatenate([none, record.refused[:n, events:]], axis=1),
        "rain_offered": offered,
        "rain_run_off": offered - taken,
        **ice,
    }


def offered_rain(problem: Problem) -> np.ndarray:
    """Return the driving rain on the outer surface up to each mark [kg/m2]."""
    f = problem.forcing
    return np.concatenate([[0.0], np.cumsum(np.diff(f.marks) * f.outside[1:, RAIN])])


def labels(problem: Problem) -> dict[str, Any]:
    """Return the coordinates that do not change in time."""
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
        "critical_saturation_of_layer": (
            "layer",
            np.array([_critical(layer) for layer in layers]),
            {"units": "1", "long_name": "degree of saturation above which frost damages; not a number: not stated"},
        ),
        "thickness_of_layer": ("layer", np.array([layer.thickness for layer in layers]), {"units": "m"}),
        "interface": ("interface", list(problem.interfaces)),
        "wetting": ("wetting", [f"{i + 1}: {w.layer}" for i, w in enumerate(problem.case.wettings)]),
        "load": ("load", [*problem.lowered.moving, *problem.lowered.raining]),
        **load_words(problem),
    }


def _critical(layer: Layer) -> float:
    """Return the critical saturation that a layer or its material states [-], else NaN."""
    stated = (layer.critical_saturation, layer.material.critical_saturation)
    return next((s for s in stated if s is not None), np.nan)


def load_words(problem: Problem) -> dict[str, Any]:
    """Return the words that each load brings for what became of its water; nothing where there is no load."""
    words = problem.lowered.words
    if not words:
        return {}
    return {
        "load_brought": ("load", [w.brought for w in words]),
        "load_took": ("load", [w.took for w in words]),
        "load_found_no_room": ("load", [w.refused for w in words]),
        "load_silent_at_zero": ("load", np.array([float(w.silent_at_zero) for w in words])),
    }


def attributes(problem: Problem, record: Record | None) -> dict[str, Any]:
    """Return the attributes of a result: what was run, how, and how well it closed."""
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
        out["note: " + key] = text
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
        if c[OVERFULL] > 0:
            out["warning"] = (
                "some cells held more water than their pores; the surplus is kept in the balance "
                "(overfull_cell_steps counts the occasions)"
            )
    return out


class MemorySink:
    """Collects stretches and makes a Dataset of them."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.parts: list[dict[str, Any]] = []
        self.record: Record | None = None

    def append(self, marks: slice, record: Record) -> None:
        """Take the rows of one stretch."""
        self.parts.append(rows_of(self.problem, marks, record))
        self.record = record

    def close(self) -> xr.Dataset:
        """Return the Dataset."""
        import xarray as xr

        data = {}
        for name, (dims, unit, long_name, _) in variables(self.problem).items():
            values = np.concatenate([p[name] for p in self.parts])
            data[name] = (dims, values, {"units": unit, "long_name": long_name})
        time = np.concatenate([p["time"] for p in self.parts]).astype("datetime64[ns]")
        coords = {"time": ("time", time, {"long_name": "local standard time"}), **labels(self.problem)}
        return xr.Dataset(data, coords, attributes(self.problem, self.record))

    def abandon(self) -> xr.Dataset:
        """Return what there is after a failure."""
        return self.close()

    def discard(self) -> None:
        """Drop everything."""
        self.parts.clear()


class FileSink:
    """Streams stretches to a netCDF file; the final name appears only when all is written."""

    def __init__(self, problem: Problem, path: Path) -> None:
        import netCDF4

        self.problem = problem
        self.path = path
        self.record: Record | None = None
        self.row = 0
        if not path.parent.is_dir():
            raise InputError(f"the folder {path.parent} does not exist", str(path))
        self.temporary = beside(path)
        try:
            self.file = netCDF4.Dataset(self.temporary, "w", format="NETCDF4")
        except (OSError, RuntimeError) as error:
            self.temporary.unlink(missing_ok=True)
            raise not_written(error, path) from error
        coords = labels(problem)
        sizes = {"cell": len(problem.grid.dx), "layer": len(problem.case.assembly.layers)}
        sizes |= {name: len(coords[name][1]) for name in ("interface", *MAY_BE_NONE)}
        self.file.createDimension("time", None)
        for name, size in sizes.items():
            # a dimension of size 0 would count as unlimited
            self.file.createDimension(name, max(size, 1))
        time = self.file.createVariable("time", "i8", ("time",))
        time.units = f"seconds since {str(problem.stamps[0]).replace('T', ' ')}"
        time.calendar = "proleptic_gregorian"
        time.standard_name = "time"
        time.long_name = "local standard time"
        for name, entry in coords.items():
            values = entry[1]
            if name in MAY_BE_NONE and len(values) == 0:
                values = ["none"]
            kind: Any = str if not isinstance(values, np.ndarray) else "f8"
            var = self.file.createVariable(name, kind, (entry[0],))
            var[:] = values if isinstance(values, np.ndarray) else np.array(values, dtype=object)
            if len(entry) > 2:
                var.setncatts(entry[2])
        for name, (dims, unit, long_name, _) in variables(problem).items():
            # by default netCDF4 would cut the unlimited time into chunks of one mark
            chunks = tuple(ROWS if d == "time" else len(self.file.dimensions[d]) for d in dims)
            var = self.file.createVariable(name, "f8", dims, zlib=True, complevel=1, shuffle=True, chunksizes=chunks)
            # room for two chunks: whole chunks of a stretch are written once
            var.set_var_chunk_cache(2 * 8 * int(np.prod(chunks)))
            var.units = unit
            var.long_name = long_name
            if "cell" in dims:
                var.coordinates = "x width layer_of_cell saturation"

    def append(self, marks: slice, record: Record) -> None:
        """Write the rows of one stretch."""
        rows = rows_of(self.problem, marks, record)
        n = len(rows["time"])
        at = slice(self.row, self.row + n)
        try:
            self.file["time"][at] = (rows["time"] - self.problem.stamps[0]).astype("timedelta64[s]").astype(np.int64)
            for name in variables(self.problem):
                self.file[name][at] = rows[name] if rows[name].size else 0.0
        except (OSError, RuntimeError) as error:
            raise not_written(error, self.path) from error
        self.row += n
        self.record = record

    def _finish(self, path: Path) -> xr.Dataset:
        import xarray as xr

        try:
            self.file.setncatts(dict(attributes(self.problem, self.record).items()))
            self.file.close()
            settle(self.temporary, path)
        except (OSError, RuntimeError) as error:
            said = not_written(error, path)
            self.discard()
            raise said from error
        return xr.open_dataset(path)

    def close(self) -> xr.Dataset:
        """Give the file its name and open it lazily."""
        return self._finish(self.path)

    def abandon(self) -> xr.Dataset:
        """Keep what there is under ``<path>.partial``."""
        return self._finish(self.path.with_name(self.path.name + ".partial"))

    def discard(self) -> None:
        """Remove the temporary file."""
        with contextlib.suppress(OSError, RuntimeError):  # a full disk refuses the last bytes as well
            self.file.close()
        self.temporary.unlink(missing_ok=True)
