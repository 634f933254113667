"""The wall as the drawing shows it: layers and films from outside to inside, readable or not."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from ..casefile.layers import own_entries
from ..catalogue.page import cups, retarder_class
from ..errors import InputError
from ..materials.curves import by_humidity
from ..materials.kinds import kind_of
from ..materials.model import Film, Material
from ..plugins import materials
from ..quantities import convert, parse, show, unit_label
from ..wording.trade import good_for
from .document import Document, Trouble
from .edits import called

#: Humidities at which the curve of a film is drawn [-].
LEVELS = np.linspace(0.0, 1.0, 41)


def entry_of(name: str, own: dict[str, Any]) -> Material | Film | None:
    """Return a material or film of the case or of those installed; None where there is none."""
    try:
        found: Material | Film = own[name]() if name in own else materials().get_entry(name)
    except InputError:
        return None
    return found


def parts_of(document: Document, path: Path, system: Any, wrong: Sequence[Trouble] = ()) -> list[dict[str, Any]]:
    """Return the layers and films of a document as the page draws them."""
    try:
        own = own_entries(document, tuple(document.get("catalogues", ())), path)
    except InputError:
        own = {}
    wettings = [w for w in document.get("wetting", []) if isinstance(w, dict)]
    wetted = {str(w.get("layer", "")).casefold(): w for w in wettings}
    out = []
    for number, table in enumerate(document.get("layer", []), 1):
        if not isinstance(table, dict):
            continue
        at = f"layer.{number}"
        said = str(table.get("film", table.get("material", "")))
        entry = entry_of(said, own)
        is_film = "film" in table or isinstance(entry, Film)
        name = said if is_film else called(table)
        part: dict[str, Any] = {
            "at": at,
            "kind": "film" if is_film else "layer",
            "name": name,
            "entry": entry.name if entry is not None else said,
            "hatch": "film" if is_film else kind_of(entry.tags, entry.name) if entry is not None else "other",
            "mm": 0.0 if is_film else None,
            "thickness": None if is_film else str(table.get("thickness", "")),
            "thickness_shown": "",
            "wetted": not is_film and name.casefold() in wetted,
            "wet_at": 0.5,
            "start_water": table.get("start_water"),
            "about": about(entry, system) if entry is not None else "",
            "trouble": next((t.text for t in wrong if t.part == at), ""),
        }
        if not is_film:
            try:
                metres = parse(table.get("thickness", ""), "thickness")
                part["mm"], part["thickness_shown"] = 1e3 * metres, show(metres, "thickness", system)
                part["wet_at"] = _wet_at(wetted.get(name.casefold(), {}), metres)
            except InputError:
                pass
        elif isinstance(entry, Film):
            part["class"], part["curve"] = class_of(entry), curve_of(entry, system)
        out.append(part)
    return out


def _wet_at(wetting: dict[str, Any], thickness: float) -> float:
    """Return the middle of the part of a layer that a wetting fills, as a share of its thickness from outside."""
    place = wetting.get("place", "whole")
    if place not in ("outer", "inner"):
        return 0.5
    half = 0.5 * min(parse(wetting.get("depth", "5 mm"), "thickness") / thickness, 1.0)
    return half if place == "outer" else 1.0 - half


def about(entry: Material | Film, system: Any) -> str:
    """Return what a material or film is, in a line."""
    return _about(entry.name, system) if materials().get(entry.name) == entry else good_for(entry, system)


@lru_cache(maxsize=2000)
def _about(name: str, system: Any) -> str:
    return good_for(materials()[name], system)


def class_of(film: Film) -> str:
    """Return the vapour retarder class of a film by its dry cup, or "none"."""
    dry, _ = cups(by_humidity(film.permeance))
    return retarder_class(dry)


def curve_of(film: Film, system: Any) -> dict[str, Any]:
    """Return the permeance of a film against humidity, for a drawing: inward, and outward where it differs."""

    def of(curve: Any) -> list[float]:
        read = by_humidity(curve)
        return [float(f"{convert(float(read(h)), 'permeance', system):.4g}") for h in LEVELS]

    return {
        "humidity": [round(100.0 * float(h), 1) for h in LEVELS],
        "permeance": of(film.permeance),
        "outward": None if film.permeance_outward is None else of(film.permeance_outward),
        "unit": unit_label("permeance", system),
    }
