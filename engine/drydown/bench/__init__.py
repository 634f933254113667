"""The membrane bench: for those who look for the permeance that a membrane should have.

`CupTest` and `virtual_cup` run a cup test of a film or a board through the engine, `virtual_uptake` stands a
board in water; `read_cup_tests` and `fit`
turn cup tests into a curve of permeance against humidity, with a band; `membrane_map` runs the dry-out trial
over two parameters of a membrane; `sensitivity` says at which humidities its permeance matters.
"""

from __future__ import annotations

from ..lazy import public

_HOME = {
    "CupTest": "cup",
    "CupResult": "cup",
    "DRY_CUP": "cup",
    "WET_CUP": "cup",
    "virtual_cup": "cup",
    "UptakeResult": "uptake",
    "virtual_uptake": "uptake",
    "read_cup_tests": "cup_file",
    "FAMILIES": "families",
    "Fit": "fitting",
    "fit": "fitting",
    "DirectionalFit": "directions",
    "fit_directions": "directions",
    "directions_figure": "figures",
    "membrane_map": "mapping",
    "sensitivity": "sensitivities",
    "fit_figure": "figures",
    "map_figure": "figures",
    "sensitivity_figure": "figures",
}

__all__ = sorted(_HOME)

__getattr__, __dir__ = public(__name__, _HOME)
