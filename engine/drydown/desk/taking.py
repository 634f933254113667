"""A change that was tried on the case, written into the document as a builder would have made it by hand."""

from __future__ import annotations

from copy import deepcopy
from pathlib import Path
from typing import Any

import numpy as np

from ..case.assembly import Layer
from ..case.case import Case
from ..casefile.inside import write_inside
from ..casefile.loads import write_load
from ..errors import InputError
from ..materials.curves import by_humidity
from ..materials.model import Film
from ..plugins import materials
from ..quantities import convert, parse
from .document import Document, parsed

#: Humidities at which the permeance of a film that is in no library is written [-].
LEVELS = np.linspace(0.0, 1.0, 21)


def taken(document: Document, base: Case, tried: Case) -> Document:
    """Return a document with what differs between two cases written into it.

    Parameters
    ----------
    document : dict
        Of the case `base`, or one that ends later.
    base, tried : Case

    Raises
    ------
    InputError
        The change is of a kind that is not written yet.
    """
    out = deepcopy(document)
    _parts(out, base, tried)
    for load in tried.loads:
        if load not in base.loads:
            found = parsed(write_load(load, tried.outside), "a load")
            for section, tables in found.items():
                out.setdefault(section, []).extend(tables)
    if tried.inside != base.inside:
        out["inside"] = parsed(write_inside(tried.inside, Path("case.toml"))[0], "inside")["inside"]
    if tried.wettings != base.wettings:
        _water(out, base, tried)
    return out


def _parts(document: Document, base: Case, tried: Case) -> None:
    old, tables = base.assembly.parts, document.get("layer", [])
    if len(old) != len(tables):
        raise InputError("the layers of the case have been changed meanwhile; look again", "take")
    left = list(range(len(old)))
    out = []
    for i, part in enumerate(tried.assembly.parts):
        same = next((k for k in left if old[k] is part or old[k] == part), None)
        if same is not None:
            left.remove(same)
            out.append(tables[same])
        elif isinstance(part, Film):
            out.append(_film(document, part))
        else:
            was = old[i] if i < len(old) else None
            table = tables[i] if isinstance(was, Layer) and was.name == part.name else {}
            out.append(_layer(part, table))
    document["layer"] = out


def _film(document: Document, film: Film) -> Document:
    """Return the entry of a film, which the document then holds where no library has it."""
    registry = materials()
    if not (film.name in registry and registry[film.name] is film):
        read = by_humidity(film.permeance)
        values = [f"{convert(float(read(h)), 'permeance'):.6g}" for h in LEVELS]
        given: Any = f"{values[0]} ng/(Pa s m2)"
        if len(set(values)) > 1:
            humidity = " ".join(f"{100 * h:g}" for h in LEVELS)
            given = {"humidity": f"{humidity} %", "permeance": f"{' '.join(values)} ng/(Pa s m2)"}
        document.setdefault("film", {})[film.name] = {"permeance": given}
    return {"film": film.name}


def _layer(layer: Layer, table: Document) -> Document:
    out: Document = {"material": layer.material.name, "thickness": f"{1e3 * layer.thickness:.6g} mm"}
    if table.get("thickness") is not None:
        out["thickness"] = table["thickness"]
    if layer.name != layer.material.name:
        out["name"] = layer.name
    return out


def _water(document: Document, base: Case, tried: Case) -> None:
    if not base.wettings or len(base.wettings) != len(tried.wettings):
        raise InputError("the water of this change cannot be written", "take")
    factor = tried.wettings[0].amount / base.wettings[0].amount
    for table in document.get("wetting", []):
        amount = factor * parse(table["amount"], "water_mass")
        table["amount"] = f"{amount:.12g} kg/m2"
