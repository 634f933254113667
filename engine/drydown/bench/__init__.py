"""The membrane bench: for those who look for the permeance that a membrane should have.

`CupTest` and `virtual_cup` run a cup test of a film or a board through the engine, `virtual_uptake` stands a
board in water; `read_cup_tests` and `fit`
turn cup tests into a curve of permeance against humidity, with a band; `membrane_map` runs the dry-out trial
over two parameters of a membrane; `sensitivity` says at which humidities its permeance matters; `design`
looks for the curve that protects a set of walls best.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..lazy import public

if TYPE_CHECKING:
    from .carrying import trial_of_fit as trial_of_fit
    from .cup import DRY_CUP as DRY_CUP
    from .cup import WET_CUP as WET_CUP
    from .cup import CupResult as CupResult
    from .cup import CupTest as CupTest
    from .cup import virtual_cup as virtual_cup
    from .cup_file import read_cup_tests as read_cup_tests
    from .design_drawing import design_figure as design_figure
    from .designing import design as design
    from .directions import DirectionalFit as DirectionalFit
    from .directions import fit_directions as fit_directions
    from .families import FAMILIES as FAMILIES
    from .families import Family as Family
    from .figures import directions_figure as directions_figure
    from .figures import fit_figure as fit_figure
    from .figures import map_figure as map_figure
    from .figures import sensitivity_figure as sensitivity_figure
    from .fitting import Fit as Fit
    from .fitting import fit as fit
    from .makeable import Makeable as Makeable
    from .mapping import membrane_map as membrane_map
    from .sensitivities import sensitivity as sensitivity
    from .uptake import UptakeResult as UptakeResult
    from .uptake import virtual_uptake as virtual_uptake

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
    "Family": "families",
    "trial_of_fit": "carrying",
    "Fit": "fitting",
    "fit": "fitting",
    "Makeable": "makeable",
    "design": "designing",
    "design_figure": "design_drawing",
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

if not TYPE_CHECKING:  # a checker knows the names above and refuses others
    __getattr__, __dir__ = public(__name__, _HOME)
