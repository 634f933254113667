"""Results as one xarray Dataset with CF attributes, in memory or streamed to netCDF.

The variables stand in `run.variables`.

Attributes tell what was run and how well. `error_indicator_rms`, `_max`: the bend of the state over a step, in units
of 0.32 % relative humidity, 0.16 K or 0.8 kg/m3 (times the tolerance); a cautious measure of the time error (see
docs/numerics.md). `water_closure_*`, `heat_closure_*`: what the budgets leave open. `overfull_cell_steps`: occasions on
which a cell held more water than its pores; `overfull_most` [kg m-3], `overfull_surplus` [kg m-2] and `overfull_where`
say how much, of the fullest cell and of the whole part, and where, at the marks kept. `steps` and `sweeps`, and both
per simulated year: the effort. `faces_short_of_tolerance`: occasions on
which the state of a face was taken before its iteration had come to an end.
"""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError
from ..files import beside, not_written, settle
from ..kernel.humidity import humidity_of
from ..kernel.layout import (
    AIR,
    BETA,
    CONVECTED,
    H_CONV,
    HEAT,
    LIQUID,
    LOAD_HEAT,
    LOAD_WATER,
    P_AIR,
    RADIATION,
    RAIN,
    T_AIR,
    VAPOUR,
    Record,
)  # fmt: skip
from ..lowering.lowered import Problem
from .films import Films
from .interfaces import Reader, watched
from .keep import ALL_OF_IT, Keep
from .kept_case import BYTE, NAME, packed
from .labels import attributes, labels
from .overfull import Fullest
from .passed_on import by_source
from .variables import FACE_STATES, FACES, FILMS, ICE, VARIABLES, Variable

if TYPE_CHECKING:
    import xarray as xr

#: Marks in one chunk of a file.
ROWS = 732
#: Dimensions that a case may leave empty; a file then holds one entry "none" with zeros.
MAY_BE_NONE = ("wetting", "load_term")
#: What is said of the case in the result.
CASE = {"long_name": "the case, to be computed again: results.drydown.case()"}
#: What passes a face, and what a side brings: names to columns.
FLUXES = {"vapour": VAPOUR, "liquid": LIQUID, "convected_vapour": CONVECTED, "heat": HEAT}
MET = {
    "temperature": T_AIR, "vapour_pressure": P_AIR, "heat_transfer": H_CONV, "vapour_transfer": BETA,
    "radiation": RADIATION,
}  # fmt: skip


def variables(problem: Problem, keep: Keep = ALL_OF_IT) -> dict[str, Variable]:
    """Return the variables of a result that are kept; ice where a material freezes, films where there are some."""
    there = dict(VARIABLES)
    if np.any(problem.wall.freeze):
        there |= ICE
    if problem.case.assembly.films:
        there |= FILMS
    if keep.faces:
        there |= FACES
    lost = [name for name in keep.variables or () if name not in there]
    if lost:
        why = {**dict.fromkeys(FACES, "set faces=True"), **dict.fromkeys(FILMS, "there is no film")}
        raise InputError(f"'{lost[0]}' is not there: {why.get(lost[0], 'nothing freezes')}", "keep")
    return {name: v for name, v in there.items() if keep.wants(name)}


class Rows:
    """Makes rows of variables of what a march leaves behind.

    Parameters
    ----------
    problem : Problem
    keep : Keep
    """

    def __init__(self, problem: Problem, keep: Keep = ALL_OF_IT) -> None:
        self.problem, self.keep = problem, keep
        self.variables = variables(problem, keep)
        self.interfaces = watched(problem) if keep.faces else np.arange(len(problem.interfaces))
        self.faces = Reader(problem) if len(problem.wall.faces) else None
        self.films = Films(problem) if "film_permeance" in self.variables else None
        self.fullest = Fullest(problem)

    def of(self, marks: slice, record: Record) -> dict[str, Any]:
        """Return the variables for the kept marks of one stretch."""
        problem = self.problem
        at = np.flatnonzero(problem.forcing.keep[marks]) + marks.start
        n = len(at)
        water = record.water[:n]
        self.fullest.see(at, water)
        layers = problem.case.assembly.layers
        flow = record.flow[:n]
        offered = offered_rain(problem)[at]
        taken = flow[:, 0, LIQUID] if problem.wall.kind_out == AIR else 0.0 * offered
        events = len(problem.case.wettings)
        none = np.zeros_like(record.load[:n, :, LOAD_WATER])
        cells = [problem.grid.cells(j) for j in range(len(layers))]
        humidity = humidity_of(record.u[:n])
        added, passed_on = by_source(problem, record.added[:n])
        sources = added.shape[1]
        out = {
            "temperature": record.temperature[:n],
            "relative_humidity": humidity,
            "water_content": water / problem.grid.dx,
            "layer_water": np.stack([water[:, c].sum(axis=1) for c in cells], axis=1),
            **{f"{what}_passed": flow[:, self.interfaces, column] for what, column in FLUXES.items()},
            **{f"{what}_through": flow[:, :, column] for what, column in FLUXES.items() if self.keep.faces},
            "water_added": added[:, :events],
            "load_water": np.concatenate([record.load[:n, :, LOAD_WATER], added[:, events:]], axis=1),
            "load_heat": np.concatenate([record.load[:n, :, LOAD_HEAT], np.zeros_like(added[:, events:])], axis=1),
            "load_passed_on": np.concatenate([none, passed_on[:, events:]], axis=1),
            "load_refused": np.concatenate([none, record.refused[:n, events:sources]], axis=1),
            "rain_offered": offered,
            "rain_run_off": offered - taken,
        }
        for side, forcing in (("outside", problem.forcing.outside), ("inside", problem.forcing.inside)):
            out |= {f"{side}_{name}": forcing[at, column] for name, column in MET.items()}
        if "ice_content" in self.variables:
            from ..kernel.ice import ice_of

            out["ice_content"] = np.zeros_like(water)
            ice_of(problem.wall, problem.sampled.tables, record.temperature[:n], water, out["ice_content"])
        if self.faces is not None:
            out |= dict(zip(FACE_STATES, self.faces.of(record.faces[:n]), strict=True))
        if self.films is not None:
            out["film_permeance"] = self.films.permeance(record.faces[:n])
        kept = {name: np.asarray(out[name], dtype=self.keep.dtype) for name in self.variables}
        return {"time": problem.stamps[at], **kept}


def offered_rain(problem: Problem) -> np.ndarray:
    """Return the driving rain on the outer surface up to each mark [kg/m2]."""
    f = problem.forcing
    return np.concatenate([[0.0], np.cumsum(np.diff(f.marks) * f.outside[1:, RAIN])])


def about(variable: Variable) -> dict[str, str]:
    """Return the CF attributes of a variable."""
    named = {"standard_name": variable.standard_name} if variable.standard_name else {}
    return {"units": variable.unit, "long_name": variable.long_name, **named}


class MemorySink:
    """Collects stretches and makes a Dataset of them."""

    def __init__(self, problem: Problem, keep: Keep = ALL_OF_IT) -> None:
        self.problem, self.rows = problem, Rows(problem, keep)
        self.parts: list[dict[str, Any]] = []
        self.record: Record | None = None

    def append(self, marks: slice, record: Record) -> None:
        """Take the rows of one stretch."""
        self.parts.append(self.rows.of(marks, record))
        self.record = record

    def close(self) -> xr.Dataset:
        """Return the Dataset."""
        import xarray as xr

        data = {}
        for name, variable in self.rows.variables.items():
            # what was joined is let go, so that two runs side by side need room for little more than their results
            data[name] = (variable.dimensions, np.concatenate([p.pop(name) for p in self.parts]), about(variable))
        time = np.concatenate([p["time"] for p in self.parts]).astype("datetime64[ns]")
        words = {"standard_name": "time", "long_name": "local standard time"}
        coords = {"time": ("time", time, words), **labels(self.problem, self.rows.variables)}
        case, why = packed(self.problem.case)
        if case is not None:
            data[NAME] = ((BYTE,), case, CASE)
        return xr.Dataset(data, coords, {**attributes(self.problem, self.record, self.rows.fullest), **why})

    def abandon(self) -> xr.Dataset:
        """Return what there is after a failure."""
        return self.close()

    def discard(self) -> None:
        """Drop everything."""
        self.parts.clear()


class FileSink:
    """Streams stretches to a netCDF file; the final name appears only when all is written."""

    def __init__(self, problem: Problem, path: Path, keep: Keep = ALL_OF_IT) -> None:
        import netCDF4

        self.problem, self.rows = problem, Rows(problem, keep)
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
        coords = labels(problem, self.rows.variables)
        sizes = {entry[0]: len(entry[1]) for entry in coords.values()}
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
            kind: Any = str if not isinstance(values, np.ndarray) else values.dtype
            var = self.file.createVariable(name, kind, (entry[0],))
            var[:] = values if isinstance(values, np.ndarray) else np.array(values, dtype=object)
            if len(entry) > 2:
                var.setncatts(entry[2])
        for name, variable in self.rows.variables.items():
            dims = variable.dimensions
            # by default netCDF4 would cut the unlimited time into chunks of one mark
            chunks = tuple(ROWS if d == "time" else len(self.file.dimensions[d]) for d in dims)
            zipped: dict[str, Any] = {"zlib": True, "complevel": keep.compression, "shuffle": True}
            var = self.file.createVariable(
                name, keep.dtype, dims, chunksizes=chunks, **(zipped if keep.compression else {})
            )
            # room for two chunks: whole chunks of a stretch are written once
            var.set_var_chunk_cache(2 * 8 * int(np.prod(chunks)))
            var.setncatts(about(variable))
            if "cell" in dims:
                var.coordinates = "x width layer_of_cell saturation"

        case, self.why = packed(problem.case)
        if case is not None:
            self.file.createDimension(BYTE, len(case))
            kept = self.file.createVariable(NAME, "u1", (BYTE,))
            kept[:] = case
            kept.setncatts(CASE)

    def append(self, marks: slice, record: Record) -> None:
        """Write the rows of one stretch."""
        rows = self.rows.of(marks, record)
        n = len(rows["time"])
        at = slice(self.row, self.row + n)
        try:
            self.file["time"][at] = (rows["time"] - self.problem.stamps[0]).astype("timedelta64[s]").astype(np.int64)
            for name in self.rows.variables:
                self.file[name][at] = rows[name] if rows[name].size else 0.0
        except (OSError, RuntimeError) as error:
            raise not_written(error, self.path) from error
        self.row += n
        self.record = record

    def _finish(self, path: Path) -> xr.Dataset:
        import xarray as xr

        try:
            self.file.setncatts({**attributes(self.problem, self.record, self.rows.fullest), **self.why})
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
