"""A climate that changes in a variant takes the indoor air along that people keep there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from .outside import read_climate
from .schema import SECTIONS
from .values import read_section

Given = dict[str, Any]

#: Where the warmest month is warmer and its air holds more water than this, houses are cooled: 23 degC and a dew
#: point of 16 degC (common practice).
WARM, MOIST = 296.15, 1818.0
#: Models that state a room without asking what it is like outside.
FIXED = ("constant", "annual")


def without_strangers(inside: Given) -> Given:
    """Return the keys of [inside] that its model reads; a variant that changes the model drops those of the other."""
    model = inside.get("model", "normal occupancy")
    known = {"model", *SECTIONS["inside"], *SECTIONS.get(f"inside {model}", {})}
    return {k: v for k, v in inside.items() if k in known}


def take_along(data: Given, table: Given, path: Path, kept: dict[Any, Any]) -> tuple[Given, tuple[str, ...]]:
    """Return the sections of a variant with the indoor air that goes with its climate, and that in words.

    Parameters
    ----------
    data : dict
        Sections with the changes of the variant.
    table : dict
        The variant.
    path : Path
        The case file.
    kept : dict
        See `drydown.casefile.case_of`.
    """
    places = [*_keys(table.get("set")), *_keys(table.get("add")), *map(str, table.get("remove") or ())]
    inside = data.get("inside")
    if any(p == "inside.model" for p in places) and isinstance(inside, dict):
        return {**data, "inside": without_strangers(inside)}, ()
    moved = any(p in ("climate.name", "climate.file") for p in places)
    if not moved or any(p.startswith("inside") for p in places):
        return data, ()
    inside = inside if isinstance(inside, dict) else {}
    before = inside.get("model", "normal occupancy")
    if before not in (*FIXED, "normal occupancy", "high occupancy"):
        return data, ()
    climate = read_climate(read_section(data.get("climate", {}), "climate", f"{path}, climate"), path, kept)
    cooled = is_cooled(climate)
    if cooled:
        model = "air conditioned"
    elif before in FIXED:
        model = "normal occupancy"
    else:
        return data, ()
    after = without_strangers({**inside, "model": model})
    return {**data, "inside": after}, (f"inside.model = {model}, which goes with that climate",)


def is_cooled(climate: Any) -> bool:
    """Return whether houses of a climate are cooled, by its warmest month."""
    from ..moist_air import saturation_pressure_iso13788

    month = (climate.time - np.timedelta64(1, "h")).astype("datetime64[M]").astype(int) % 12
    warm = np.array([climate.temperature[month == m].mean() if (month == m).any() else 0.0 for m in range(12)])
    hot = month == int(np.argmax(warm))
    vapour = climate.humidity[hot] * np.asarray(saturation_pressure_iso13788(climate.temperature[hot]))
    return bool(warm.max() > WARM and vapour.mean() > MOIST)


def _keys(value: Any) -> list[str]:
    return list(value) if isinstance(value, dict) else []
