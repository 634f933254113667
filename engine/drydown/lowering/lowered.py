"""What a lowered case is."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..case.sides import SideForcing
from ..kernel.layout import Control, Forcing, State, Wall
from .grid import Grid
from .loads import Lowered
from .sampling import Sampled


class Problem(NamedTuple):
    """A case in flat arrays, with what is needed to label the results."""

    case: Case
    grid: Grid
    sampled: Sampled
    wall: Wall
    forcing: Forcing
    control: Control
    state: State
    stamps: np.ndarray  # [mark] datetime64[s]
    interfaces: tuple[str, ...]  # names of the watched faces
    saturation: Array  # [cell] water content with full pores, kg/m3
    water_content_at_98: Array  # [cell] water content at 98 % relative humidity, kg/m3
    lowered: Lowered  # its loads
    notes: dict[str, str]


class Prescribed(NamedTuple):
    """What stands in place of a case's own sides, start and sources, such as an exact solution.

    outside, inside : SideForcing at the times of the run; profile : temperature [K] and relative humidity [-] at the
    start, of the centres of the cells [m]; sources : water [kg/(m3 s)] and heat [W/m3], of centres (1, cell) and
    times (mark, 1), linear between the times.
    """

    outside: SideForcing
    inside: SideForcing
    profile: Callable[[Array], tuple[Array, Array]]
    sources: Callable[[Array, Array], tuple[Array, Array]]
