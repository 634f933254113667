"""Derivatives at many draws of the inputs, on the processor one after the other or on a GPU side by side.

    sensitivities_many(case, free, observe, z, device="cuda") -> Dataset

All draws keep to one mesh, so that what is read of them can be compared.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..lowering.grid import Grid
from ..lowering.problem import lower
from ..run.many import need_device
from ..run.simulation import SimulationError
from .derivatives import EXACT, labelled, observed
from .free import Free
from .on_card import observed_on_card
from .sensors import Sensor

if TYPE_CHECKING:
    import xarray as xr


def sensitivities_many(
    case: Case,
    free: Sequence[Free],
    observe: Sequence[Sensor],
    z: Array,
    *,
    grid: Grid | None = None,
    device: str = "cpu",
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Return courses at places of a wall and their derivatives by free inputs, at many draws of the inputs.

    Parameters
    ----------
    case : Case
    free : sequence of Free
        At most 200 on the processor.
    observe : sequence of Sensor
        What is read where.
    z : array of shape (draw, free)
        Coordinates of the inputs: standard normal, where they are drawn from the priors.
    grid : Grid, optional
        Cells of the case, if not its own; all draws have them, as thick as their layers are.
    device : {'cpu', 'cuda'}
        On a GPU walls on both sides of each input march in step with the wall of each draw; see `docs/gpu.md` for when
        that pays.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    Dataset
        As `drydown.inverse.derivatives.sensitivities` returns it, with a first dimension `draw`; `value` is (draw,
        free), and `trouble` (draw) says in one sentence why a march ended early, where one did: what hangs on it is no
        number. On a GPU that may be the derivatives by one input alone: ask the processor for those draws.

    Raises
    ------
    InputError
        If a path or a place leads nowhere, `z` has another shape, or there is no GPU where one is asked for.
    """
    at = np.asarray(z, dtype=float)
    if at.ndim != 2 or at.shape[1] != len(free) or len(at) == 0:
        raise InputError(f"its shape is {at.shape}; (draws, {len(free)}) is needed, one draw at least", "z")
    need_device(device)
    marched: tuple[str, ...] = ()
    if device == "cuda":
        seen = observed_on_card(case, free, observe, at, EXACT, grid=grid, progress=progress)
        time, value, by, trouble = seen.time, seen.value, seen.by, list(seen.trouble)
        marched = tuple(x.name for x in free if not x.of_sensor)
    else:
        time, value, by, trouble, marched = _one_after_the_other(case, free, observe, at, grid, progress)
    out = labelled(case, free, observe, at, time, value, by, marched)
    return out.assign_coords(trouble=("draw", np.array(trouble, dtype=str)))


def _one_after_the_other(
    case: Case,
    free: Sequence[Free],
    sensors: Sequence[Sensor],
    z: Array,
    grid: Grid | None,
    progress: Callable[[float], None] | None,
) -> tuple[np.ndarray, Array, Array, list[str], tuple[str, ...]]:
    """Return time, readings, derivatives, why marches ended early, and inputs that were marched in step."""
    problem = lower(case, grid=grid)
    time = problem.stamps[np.flatnonzero(problem.forcing.keep)]
    value = np.full((len(z), len(time), len(sensors)), np.nan)
    by = np.full((*value.shape, len(free)), np.nan)
    trouble = [""] * len(z)
    marched: dict[str, None] = {}
    for d, at in enumerate(z):
        try:
            found = observed(case, free, sensors, at, grid=problem.grid, newton=EXACT)
        except SimulationError as error:
            trouble[d] = str(error)
        else:
            value[d], by[d] = found.value, found.by
            marched |= dict.fromkeys(found.marched)
        if progress is not None:
            progress((d + 1) / len(z))
    return time, value, by, trouble, tuple(marched)
