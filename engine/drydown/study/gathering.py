"""All blocks of a study as one Dataset with CF attributes."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..casefile import files_of
from ..errors import InputError
from ..files import beside, keep_apart, not_written, settle
from .models import CaseFileModel
from .plan import Study
from .store import NETCDF, Block, Damaged, Store

if TYPE_CHECKING:
    import xarray as xr

FAILED = {
    "long_name": "whether the case failed",
    "flag_values": np.array([0, 1], dtype=np.int8),
    "flag_meanings": "ok failed",
}
REASON = {"long_name": "why the case failed"}


def _attributes(study: Study) -> dict[str, Any]:
    from ..version import __version__

    out: dict[str, Any] = {
        "Conventions": "CF-1.11",
        "title": f"drydown study: {study.name}",
        "source": f"drydown {__version__}",
        "design": study.design.name,
        "axes": "; ".join(axis.name for axis in study.axes),
    }
    together = getattr(study.design, "correlations", ())
    if together:
        out["correlations"] = "; ".join(f"{a}, {b}: {value:g}" for a, b, value in together)
    for key in ("number", "seed"):
        if hasattr(study.design, key):
            out["samples" if key == "number" else key] = getattr(study.design, key)
    return out


def dataset_of(study: Study, blocks: Sequence[Block]) -> xr.Dataset:
    """Return blocks in their order as one Dataset in memory, with the axes as coordinates of the dimension `case`."""
    import xarray as xr

    fields = study.model.fields()
    data: dict[str, Any] = {}
    for name, f in fields.items():
        data[name] = (("case", *f.dimensions), np.concatenate([b.values[name] for b in blocks]), f.attributes)
    data["failed"] = ("case", np.concatenate([b.failed for b in blocks]).astype(np.int8), FAILED)
    data["reason"] = ("case", np.array([r for b in blocks for r in b.reason], dtype=str), REASON)
    coords: dict[str, Any] = {"case": ("case", np.arange(len(study)), {"long_name": "number of the case"})}
    for name, (values, attributes) in study.columns().items():
        coords[name] = ("case", values.astype(str) if values.dtype == object else values, attributes)
    coords |= study.model.coordinates()
    return xr.Dataset(data, coords, _attributes(study))


def gather(study: Study, path: str | Path, output: str | Path | None = None) -> xr.Dataset:
    """Check every block of a store, write them to one netCDF file and open it lazily.

    Parameters
    ----------
    study : Study
    path : path-like
        The store.
    output : path-like, optional
        The file; ``result.nc`` in the store where it is not given.

    Returns
    -------
    Dataset
        Dimension `case`, with the axes as coordinates; see `drydown.study.on_grid`.

    Raises
    ------
    InputError
        If blocks are missing or damaged, or the store belongs to another study.
    """
    import xarray as xr

    store = Store(path, study)
    if output is not None:
        kept = [
            ("the manifest", store.manifest),
            *((f"in {n} of the store", store.path / n) for n in ("blocks", "locks")),
        ]
        if isinstance(study.model, CaseFileModel):
            kept += files_of(study.model.document, study.model.path)
        keep_apart(Path(output), kept, f"--output {output}")
    store.look()
    status = store.status()
    if not status.complete:
        lost = study.blocks - len(status.done)
        held = f", {len(status.held)} of them in work: {next(iter(status.held.values()))}" if status.held else ""
        raise InputError(f"{lost} of {study.blocks} blocks are missing{held}; `drydown study run` runs them", str(path))
    target = Path(output) if output is not None else store.path / "result.nc"
    part = beside(target)
    file = None
    try:
        with NETCDF:
            file = _start(study, part)
        for block in range(study.blocks):
            try:
                found = store.read(block)
            except Damaged as error:
                message = f"{error}; `drydown study run` sets it aside and runs it anew"
                raise InputError(message, str(store.block_file(block))) from None
            rows = study.cases_of(block)
            with NETCDF:
                at = slice(rows.start, rows.stop)
                for name, values in found.values.items():
                    file[name][at] = values
                file["failed"][at] = found.failed.astype(np.int8)
                file["reason"][at] = np.array(found.reason, dtype=object)
        with NETCDF:
            file.close()
        settle(part, target)
    except (OSError, RuntimeError) as error:
        raise not_written(error, target) from error
    finally:
        if file is not None and file.isopen():
            with contextlib.suppress(OSError, RuntimeError):
                file.close()
        part.unlink(missing_ok=True)
    return xr.open_dataset(target, decode_timedelta=False)


def _start(study: Study, path: Path) -> Any:
    """Return a netCDF file with all dimensions, coordinates and empty variables."""
    import netCDF4

    file = netCDF4.Dataset(path, "w", format="NETCDF4")
    file.set_fill_off()
    file.createDimension("case", len(study))
    case = file.createVariable("case", "i8", ("case",))
    case[:] = np.arange(len(study))
    case.long_name = "number of the case"
    for dim, values in study.model.coordinates().items():
        file.createDimension(dim, len(values))
        _coordinate(file, dim, dim, values, {})
    for name, (values, attributes) in study.columns().items():
        _coordinate(file, name, "case", values, attributes)
    axes = " ".join(axis.name for axis in study.axes)
    for name, f in study.model.fields().items():
        large = len(f.dimensions) > 0
        var = file.createVariable(name, f.dtype, ("case", *f.dimensions), zlib=large, complevel=1, shuffle=large,
                                  fill_value=False)  # fmt: skip
        var.setncatts({**f.attributes, "coordinates": axes})
    file.createVariable("failed", "i1", ("case",)).setncatts({**FAILED, "coordinates": axes})
    file.createVariable("reason", str, ("case",)).setncatts(REASON)
    file.setncatts(_attributes(study))
    return file


def _coordinate(file: Any, name: str, dim: str, values: np.ndarray, attributes: dict[str, str]) -> None:
    if values.dtype.kind == "M":
        var = file.createVariable(name, "i8", (dim,))
        var[:] = values.astype("datetime64[s]").astype(np.int64)
        attributes = {**attributes, "units": "seconds since 1970-01-01", "calendar": "proleptic_gregorian"}
    elif values.dtype == object:
        var = file.createVariable(name, str, (dim,))
        var[:] = values
    else:
        var = file.createVariable(name, values.dtype, (dim,))
        var[:] = values
    var.setncatts(attributes)
