"""Built-in water: damp lumber, green concrete, a wet slab; the wall as it starts against itself at its usual moisture.

With e(t) the difference in stored water and E what left by then, e(0) = e(t) + E holds to rounding, as in
`drydown.trial.dryout`: both runs close their own budgets.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.case import Case
from ..errors import InputError
from ..lowering.problem import mesh_of
from ..run.simulation import simulate
from .dryout import days_until

if TYPE_CHECKING:
    import xarray as xr


def wet_at_start(case: Case) -> tuple[str, ...]:
    """Return the layers that start more humid than the rest of the wall, from outside to inside."""
    usual = case.initial.humidity
    return tuple(x.name for x in case.assembly.layers if case.initial.layers.get(x.name, usual) > usual)


def built_in(case: Case, progress: Callable[[float], None] | None = None) -> xr.Dataset:
    """Run a wall as it is built and at its usual moisture, and count what leaves.

    Parameters
    ----------
    case : Case
        Its wettings are left out. The usual moisture of a layer is the start humidity of the case.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    xarray.Dataset
        `excess` (time) and `excess_of_layer` (time, layer), water above the usual [kg m-2]; `left_outward`,
        `left_inward` (time), what has left to either side [kg m-2]; `days_to_90_percent_dry` (layer) [d], NaN where
        not reached or not wet. Attributes: `amount` [kg m-2], `days_to_50_percent_dry`, `days_to_90_percent_dry`
        [d], `share_inward` [-] of what had left by the end, `remaining` [-], `wet_layers`, `closure_max` [kg m-2].

    Raises
    ------
    InputError
        No layer starts more humid than the rest.
    SimulationError
        If a run fails.
    """
    return account(case, *built_in_runs(case, progress))


def built_in_runs(case: Case, progress: Callable[[float], None] | None = None) -> tuple[xr.Dataset, xr.Dataset]:
    """Return the runs that `built_in` compares: a wall at its usual moisture, and as it is built.

    Parameters
    ----------
    case, progress
        As for `built_in`.

    Raises
    ------
    InputError
        No layer starts more humid than the rest.
    SimulationError
        If a run fails.
    """
    wet = wet_at_start(case)
    if not wet:
        raise InputError(
            "no layer starts wetter than the wall; give one a start_water, such as '25 %MC'", "built-in water"
        )

    def half(offset: float) -> Callable[[float], None] | None:
        return None if progress is None else (lambda x: progress(offset + 0.5 * x))

    dry = replace(case, wettings=())
    usual = {name: h for name, h in case.initial.layers.items() if name not in wet}
    grid = mesh_of(dry)  # one mesh, so that both agree cell by cell
    base = simulate(replace(dry, initial=replace(case.initial, layers=usual)), half(0.0), grid=grid)
    return base, simulate(dry, half(0.5), grid=grid)


def account(case: Case, base: xr.Dataset, run: xr.Dataset) -> xr.Dataset:
    """Return what `built_in` counts of two runs that are there.

    Parameters
    ----------
    case : Case
    base, run : Dataset
        Of `built_in_runs`.
    """
    import xarray as xr

    wet = wet_at_start(case)

    def more(name: str) -> np.ndarray:
        difference: np.ndarray = run[name].values - base[name].values
        return difference

    cells = (run["water_content"].values - base["water_content"].values) * run["width"].values
    excess = cells.sum(axis=1)
    passed = more("vapour_passed") + more("liquid_passed") + more("convected_vapour_passed")
    outward, inward = -passed[:, 0], passed[:, -1]
    roomward = {load.label for load in case.loads if load.inward}
    for k, name in enumerate(run["load_term"].values if case.loads else ()):
        gone = -more("load_water")[:, k]
        if str(name) in roomward:
            inward = inward + gone
        else:
            outward = outward + gone
    amount = float(excess[0])
    left = float(outward[-1] + inward[-1])
    time, of_layer = run["time"].values, more("layer_water")
    names = [str(n) for n in run["layer"].values]
    days = [
        days_until(time, of_layer[:, i] / of_layer[0, i], 0.1, time[0]) if name in wet else np.nan
        for i, name in enumerate(names)
    ]
    units: dict[str, Any] = {"units": "kg m-2"}
    return xr.Dataset(
        {
            "excess": ("time", excess, units | {"long_name": "water above the usual"}),
            "excess_of_layer": (
                ("time", "layer"),
                of_layer,
                units | {"long_name": "water above the usual in the layer"},
            ),
            "left_outward": ("time", outward, units | {"long_name": "of it left outward"}),
            "left_inward": ("time", inward, units | {"long_name": "of it left inward"}),
            "days_to_90_percent_dry": ("layer", days, {"units": "d", "long_name": "days until nine tenths have left"}),
        },
        {"time": ("time", time), "layer": ("layer", names)},
        {
            "title": f"drydown built-in water: {case.name}",
            "case": case.name,
            "wet_layers": ", ".join(wet),
            "amount": amount,
            "began": str(case.start),
            "days_to_50_percent_dry": days_until(time, excess / amount, 0.5, time[0]),
            "days_to_90_percent_dry": days_until(time, excess / amount, 0.1, time[0]),
            "share_inward": float(inward[-1]) / left if left else float("nan"),
            "remaining": float(excess[-1]) / amount,
            "closure_max": float(np.max(np.abs(amount - excess - outward - inward))),
        },
    )
