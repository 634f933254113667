"""The cases of the validation, one module each.

A module has `ABOUT` (what the case is, its source and its reference) and `run() -> Result`.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

#: Name to module, in the order of the report.
CASES: dict[str, str] = {
    "en15026": "en15026_annex_a",
    "hamstad-2": "hamstad_2",
    "hamstad-5": "hamstad_5",
    "hamstad-3": "hamstad_3",
    "roof-of-hamstad-1": "hamstad_1_construction",
    "iso13788": "iso_13788",
    "iso13786": "iso_13786",
    "slab": "slab",
    "periodic-heat": "periodic_heat",
    "periodic-moisture": "periodic_moisture",
    "freezing-front": "neumann",
    "film": "kirchhoff",
    "multilayer": "multilayer",
    "moisture-buffer": "nordtest",
    "manufactured-heat": "made_heat",
    "manufactured-moisture": "made_moisture",
    "manufactured-coupled": "made_coupled",
    "manufactured-contrast": "made_contrast",
}

#: Published cases that are not run, and why; none is left out in silence.
NOT_RUN: dict[str, str] = {
    "HAMSTAD 1, as published": "its five years of hourly climate and its result curves are not at hand; its "
    "construction is run under a stated climate instead (roof-of-hamstad-1)",
    "HAMSTAD 4": "its rain and sun, its conductivity table and its result curves are not at hand",
}


def case(name: str) -> Any:
    """Return the module of a case."""
    return import_module(f"{__name__}.{CASES[name]}")
