"""The file of a block: results of consecutive cases in netCDF, with a hash that tells damage."""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import numpy as np

from .made import MADE
from .plan import Study

#: netCDF is not made for several threads.
NETCDF = threading.Lock()


class Block(NamedTuple):
    """Results of consecutive cases, arrays by name with the case first."""

    values: dict[str, np.ndarray]
    failed: np.ndarray  # [case] bool
    reason: list[str]
    made: np.ndarray | None = None  # [case] hash of the case as it was run, where a function made it; 0: not told


class Damaged(Exception):
    """A block file that cannot be used, and why."""


def content_hash(block: Block) -> str:
    """Return a hash of all values of a block."""
    digest = hashlib.sha256()
    for name in sorted(block.values):
        array = np.ascontiguousarray(block.values[name])
        digest.update(name.encode() + str(array.dtype).encode() + repr(array.shape).encode() + array.tobytes())
    digest.update(block.failed.astype(np.int8).tobytes() + json.dumps(block.reason).encode())
    if block.made is not None:
        digest.update(block.made.astype("<i8").tobytes())
    return digest.hexdigest()


def encoded(study: Study, identity: str, block: int, results: Block, machine: Mapping[str, str]) -> memoryview:
    """Return the bytes of the file of a block; `identity` is the hash of the inputs of the study."""
    import netCDF4

    fields = study.model.fields()
    with NETCDF:
        file = netCDF4.Dataset("block.nc", "w", format="NETCDF4", memory=4096)
        cases = study.cases_of(block)
        file.createDimension("case", len(cases))
        file.createVariable("case", "i8", ("case",))[:] = np.array(cases)
        for name, values in results.values.items():
            dims = ("case", *fields[name].dimensions)
            for dim, size in zip(dims, values.shape, strict=True):
                if dim not in file.dimensions:
                    file.createDimension(dim, size)
            large = values.size > 4096
            file.createVariable(name, values.dtype, dims, zlib=large, complevel=1, shuffle=large)[:] = values
        file.createVariable("failed", "i1", ("case",))[:] = results.failed.astype(np.int8)
        file.createVariable("reason", str, ("case",))[:] = np.array(results.reason, dtype=object)
        if results.made is not None:
            file.createVariable(MADE, "i8", ("case",))[:] = results.made
        file.setncatts({"study": identity, "block": block, "content": content_hash(results)})
        file.setncattr("machine", "; ".join(f"{name}: {value}" for name, value in machine.items()))
        return file.close()


def decoded(path: Path, study: Study, identity: str, block: int) -> Block:
    """Return the block in a file, checked whole; Damaged where it is not."""
    import netCDF4

    fields = study.model.fields()
    try:
        with NETCDF:
            file = netCDF4.Dataset("block.nc", "r", memory=path.read_bytes())
            file.set_auto_mask(False)
            try:
                if file.getncattr("study") != identity or int(file.getncattr("block")) != block:
                    raise Damaged("it belongs to another study or block")
                sizes = {k: len(v) for k, v in study.model.coordinates().items()}
                cases = len(study.cases_of(block))
                told = (MADE,) if MADE in file.variables else ()
                for name in (*fields, "failed", "reason", *told):  # before it is unpacked
                    due = (cases, *(sizes[d] for d in fields[name].dimensions)) if name in fields else (cases,)
                    if file[name].shape != due:
                        raise Damaged(f"'{name}' has the shape {file[name].shape}, not {due}")
                found = Block(
                    {name: np.asarray(file[name][:]) for name in fields},
                    np.asarray(file["failed"][:]).astype(bool),
                    [str(r) for r in file["reason"][:]],
                    np.asarray(file[MADE][:]) if told else None,
                )
                content = str(file.getncattr("content"))
            finally:
                file.close()
    except Damaged:
        raise
    except Exception as error:
        raise Damaged(f"it cannot be read ({type(error).__name__})") from error
    if content != content_hash(found):
        raise Damaged("its values are not those that were written")
    return found
