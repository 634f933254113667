"""The case in the result: packed as plain data, so that a result can be computed again.

Nothing that is read becomes code: classes and functions are looked up among those of the engine and of the loads that
are installed. A climate that is installed is kept by its name and a hash, every other one with its hours.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import lru_cache
from types import FunctionType, ModuleType
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import moist_air, plugins
from ..case import air_leak, air_leakage, assembly, case, load, loads, partial_cover, profile, sides, wetting
from ..climate import driving_rain, model, shading
from ..errors import InputError
from ..frozen import FrozenMap
from ..materials import curve, gaps, source
from ..materials import model as materials
from ..materials.curves import basic, laminate, liquid, permeance, storage, wood
from ..sides import exposure, ground, indoor, indoor_balance, indoor_measured

if TYPE_CHECKING:
    import xarray as xr

#: The variable of a result that holds it, and its dimension.
NAME, BYTE = "packed_case", "byte_of_case"
#: Most bytes that are unpacked: 300 years of hours.
MOST = 500_000_000

ROOMS: tuple[ModuleType, ...] = (
    moist_air, assembly, case, profile, sides, wetting, load, loads, air_leak, air_leakage, partial_cover, model,
    driving_rain, shading, materials, source, curve, basic, laminate, liquid, permeance, storage, wood, gaps, exposure,
    ground, indoor, indoor_balance, indoor_measured,
)  # fmt: skip


class CannotKeep(Exception):
    """Something that cannot be told in plain data, and where it is."""


@lru_cache(maxsize=1)
def known() -> dict[str, Any]:
    """Return the classes and functions that a case may be made of, by module and name."""
    out: dict[str, Any] = {}
    for room in ROOMS:
        for name, thing in vars(room).items():
            kept = isinstance(thing, FunctionType) or (
                isinstance(thing, type) and (is_dataclass(thing) or hasattr(thing, "_fields"))
            )
            if kept and thing.__module__ == room.__name__:
                out[f"{room.__name__.removeprefix('drydown.')}.{name}"] = thing
    for name, kind in plugins.loads().entries().items():
        out.setdefault(f"load {name}", kind)
    return out


@lru_cache(maxsize=1)
def _names() -> dict[Any, str]:
    return {thing: name for name, thing in reversed(known().items())}


def _climate_hash(climate: model.Climate) -> str:
    digest = hashlib.blake2b(digest_size=16)
    for name, values in [("time", climate.time), *climate.columns().items()]:
        digest.update(name.encode() + np.ascontiguousarray(values).tobytes())
    return digest.hexdigest()


def encode(thing: Any, where: str) -> Any:
    """Return plain data of a thing; raise CannotKeep with its place where that cannot be."""
    if thing is None or isinstance(thing, bool | int | float | str):
        return thing
    if isinstance(thing, np.datetime64):
        return {"date": str(thing), "unit": np.datetime_data(thing)[0]}
    if isinstance(thing, np.generic):
        return thing.item()
    if isinstance(thing, np.ndarray) and thing.dtype.kind in "fiuM":
        packed = base64.b64encode(np.ascontiguousarray(thing).tobytes()).decode()
        return {"array": packed, "dtype": thing.dtype.str, "shape": list(thing.shape)}
    if isinstance(thing, Mapping):
        return {"map": [[encode(k, where), encode(v, f"{where}, {k}")] for k, v in thing.items()]}
    if isinstance(thing, tuple | list) and not hasattr(thing, "_fields"):
        return {"items": [encode(v, where) for v in thing], "tuple": isinstance(thing, tuple)}
    if isinstance(thing, model.Climate) and plugins.climates().get(thing.name) == thing:
        return {"climate": thing.name, "hash": _climate_hash(thing)}
    if isinstance(thing, FunctionType) and thing in _names():
        return {"function": _names()[thing]}
    if type(thing) in _names():
        names = getattr(thing, "_fields", None) or [f.name for f in fields(thing) if f.init]
        here = f"{where}, {thing.name}" if isinstance(getattr(thing, "name", None), str) else where
        return {"of": _names()[type(thing)], "with": {n: encode(getattr(thing, n), f"{here}, {n}") for n in names}}
    raise CannotKeep(f"{where}: {type(thing).__qualname__}")


def decode(data: Any, where: str) -> Any:
    """Return the thing of plain data.

    Raises
    ------
    InputError
        Where it names what this version does not know, or a climate that is not installed as it was.
    """
    if not isinstance(data, dict):
        return data
    try:
        if "date" in data:
            return np.datetime64(data["date"], data["unit"])
        if "array" in data:
            raw = np.frombuffer(base64.b64decode(data["array"]), dtype=np.dtype(data["dtype"]))
            return raw.reshape(data["shape"]).copy()
        if "map" in data:
            return FrozenMap([(decode(k, where), decode(v, where)) for k, v in data["map"]])
        if "items" in data:
            items = [decode(v, where) for v in data["items"]]
            return tuple(items) if data["tuple"] else items
        if "climate" in data:
            found = plugins.climate(data["climate"], where)
            if _climate_hash(found) != data["hash"]:
                raise InputError(f"the climate '{data['climate']}' is another than it was for this result", where)
            return found
        if "function" in data:
            return known()[data["function"]]
        given = {name: decode(value, where) for name, value in data["with"].items()}
        return known()[data["of"]](**given)
    except KeyError as error:
        raise InputError(f"its case names {error}, which this version does not know", where) from None
    except (TypeError, ValueError) as error:
        if isinstance(error, InputError):
            raise error.at(where) from None
        raise InputError(f"its case cannot be read ({' '.join(str(error).split())[:120]})", where) from None


def packed(given: case.Case) -> tuple[np.ndarray | None, dict[str, str]]:
    """Return the bytes of a case; where it holds what cannot be kept none, and an attribute that says what."""
    try:
        text = json.dumps(encode(given, "case"))
    except CannotKeep as error:
        return None, {"case_not_kept": f"the case is not kept: it holds what plain data cannot tell ({error})"}
    return np.frombuffer(zlib.compress(text.encode(), 6), dtype=np.uint8), {}


def case_of(data: xr.Dataset, where: str = "result") -> case.Case:
    """Return the case that a result was computed from.

    Parameters
    ----------
    data : Dataset
        Of `drydown.simulate`, in memory or opened from its file.
    where : str
        For errors.

    Returns
    -------
    Case
        Equal to the one that was run.

    Raises
    ------
    InputError
        If the case is not kept there (it held functions or classes of one's own), or is not known as it was: a climate
        that has changed, names of another version.
    """
    if NAME not in data:
        raise InputError(str(data.attrs.get("case_not_kept", "it holds no case; it is no run of this version")), where)
    unpacker = zlib.decompressobj()
    try:
        text = unpacker.decompress(np.asarray(data[NAME].values, dtype=np.uint8).tobytes(), MOST)
        plain = json.loads(text)
    except (zlib.error, ValueError, RecursionError):
        raise InputError("the case in it is damaged", where) from None
    found = decode(plain, where)
    if not isinstance(found, case.Case):
        raise InputError("what it holds is no case", where)
    return found
