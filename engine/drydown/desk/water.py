"""Where and when water can get into the case on the desk."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..casefile.values import read_section
from ..errors import InputError
from ..materials.kinds import kind_of
from ..materials.model import Material
from ..plugins import materials
from .document import Document
from .edits import called

#: Kinds that insulate, and kinds that hold no water to speak of.
_INSULATION, _DRY = ("fibre", "foam"), ("air", "metal")


def layers_that_hold(document: Document) -> list[str]:
    """Return the names of the layers that can hold water, from outside to inside."""
    return [name for name, kind in _kinds(document) if kind not in _DRY]


def cold_face(document: Document) -> str:
    """Return the layer in which air from inside meets its dew point: the first that holds water outside the insulation.

    Where nothing insulates it is the innermost that holds water.
    """
    kinds = _kinds(document)
    last = max((i for i, (_, kind) in enumerate(kinds) if kind in _INSULATION), default=len(kinds))
    first = next((i for i, (_, kind) in enumerate(kinds) if kind in _INSULATION), last)
    before = [name for name, kind in kinds[:first] if kind not in _DRY]
    holding = [name for name, kind in kinds if kind not in _DRY]
    return before[-1] if before else holding[-1] if holding else ""


def met_by_water(document: Document) -> str:
    """Return the layer that water which got past the outermost one meets: the cold face, else the second layer."""
    names = layers_that_hold(document)
    if any(kind in _INSULATION for _, kind in _kinds(document)):
        return cold_face(document)
    return names[1] if len(names) > 2 else names[-1] if names else ""


def _kinds(document: Document) -> list[tuple[str, str]]:
    out = []
    for table in document.get("layer", []):
        if "material" in table:
            found = materials().get(str(table["material"]))
            kind = kind_of(found.tags, found.name) if isinstance(found, Material) else "other"
            out.append((called(table), kind))
    return out


def first_date(given: Any) -> np.datetime64 | None:
    """Return a date that stands in a document; None where it is none."""
    try:
        found: np.datetime64 = read_section({"start": given}, "period", "")["start"]
    except InputError:
        return None
    return found


def dates(document: Document, month: int) -> np.datetime64:
    """Return the middle of a month, the first time that it comes in the period of a document."""
    start = first_date(document.get("period", {}).get("start"))
    start = np.datetime64("2021-10-01", "s") if start is None else start
    year = int(str(start)[:4])
    day = np.datetime64(f"{year}-{month:02d}-15", "D")
    return day if day >= start.astype("datetime64[D]") else np.datetime64(f"{year + 1}-{month:02d}-15", "D")
