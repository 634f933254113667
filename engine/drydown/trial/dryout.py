"""The dry-out trial: one case run twice, alike but for a wetting.

With e(t) the difference in stored water and E the differences of what left by each way,

    m0(t) = e(t) + sum of E over all ways

holds to rounding, because both runs close their own budgets: the split between outward and inward drying is
counted, not estimated. In memory the two runs are marched side by side; neither knows of the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from contextvars import copy_context
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from ..case.case import Case
from ..errors import InputError
from ..files import work_folder
from ..lowering.problem import mesh_of
from ..lowering.site import met_once
from ..run.effort import expected_cells
from ..run.simulation import simulate
from ..systems import processors
from .little import drowned

if TYPE_CHECKING:
    import xarray as xr

    from ..lowering.grid import Grid

T = TypeVar("T")
#: Results of the two runs up to this stay in memory [bytes].
IN_MEMORY = 400e6
#: Marks of a file read at a time.
ROWS = 4380
#: Ways by which the water of a wetting can leave any wall, and whether each counts as outward.
WAYS = {
    "outer surface, vapour": True,
    "outer surface, liquid": True,
    "inner surface": False,
}
#: Further ways, present where the case has loads: air that crosses a surface; then every load by its name.
AIR_WAYS = {"outer surface, air flow": True, "inner surface, air flow": False}


def dryout(
    case: Case,
    trial: Sequence[int] | None = None,
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Run a dry-out trial.

    Parameters
    ----------
    case : Case
        With at least one wetting.
    trial : sequence of int, optional
        Which of ``case.wettings`` are on trial (by position); the others happen in both runs. Default: all.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    xarray.Dataset
        Over `time`: `added` (water the trial has put in), `excess` (what of it is still stored),
        `excess_of_layer` (time, layer), `left` (time, way) (what has left by each way, positive),
        `water_wetted`, `water_reference` (water in the wetted layers with and without the trial), all [kg m-2].
        Attributes: `amount` and `last_dose` (of wettings that come back every year one dose, which the days are counted
        by) [kg m-2], `days_to_50_percent_dry`, `days_to_90_percent_dry` (from the start of the
        first wetting, of yearly ones the last, until one half and one tenth is still stored; NaN if not reached),
        `share_outward`,
        `share_inward` (of what has left by the end), `remaining` (share still stored at the end),
        `closure_max` (greatest |m0 - e - E|) [kg m-2], `began` (the first wetting), `counted_from` (where the
        days begin).

    Raises
    ------
    InputError
        If there is no wetting to try, or an index does not exist.
    SimulationError
        If a run fails.
    """
    with held_twins(case, trial, progress) as (reference, wetted):
        return account(case, reference, wetted, trial)


def _chosen(case: Case, trial: Sequence[int] | None) -> list[int]:
    chosen = list(range(len(case.wettings)) if trial is None else trial)
    if not case.wettings or not chosen:
        raise InputError("a dry-out trial needs a wetting; add one to the case", "dryout")
    for i in chosen:
        if not 0 <= i < len(case.wettings):
            raise InputError(f"there is no wetting {i}; the case has {len(case.wettings)}", "dryout")
    return chosen


def twins(
    case: Case,
    trial: Sequence[int] | None = None,
    progress: Callable[[float], None] | None = None,
    folder: Path | None = None,
) -> tuple[xr.Dataset, xr.Dataset]:
    """Run a case without and with the wettings on trial; errors as for `dryout`.

    Parameters
    ----------
    case, trial, progress
        As for `dryout`.
    folder : Path, optional
        Where the results are streamed to and opened from; default: they stay in memory.

    Returns
    -------
    reference, wetted : xarray.Dataset
        As from `simulate`.
    """
    chosen = _chosen(case, trial)
    reference = replace(case, wettings=tuple(w for i, w in enumerate(case.wettings) if i not in chosen))

    def half(offset: float) -> Callable[[float], None] | None:
        return None if progress is None else (lambda x: progress(offset + 0.5 * x))

    with met_once():
        grid = mesh_of(case)  # of the wall with its water, so that both runs agree cell by cell
        if folder is None and processors() > 1:
            return _side_by_side(case, reference, grid, chosen, progress)
        files = (None, None) if folder is None else (folder / "reference.nc", folder / "wetted.nc")
        dry = simulate(reference, half(0.0), files[0], grid=grid)
        try:
            check_room(case, dry, chosen)
            return dry, simulate(case, half(0.5), files[1], grid=grid)
        except BaseException:
            dry.close()
            raise


class _Dropped(Exception):
    """The other run has failed: this one says nothing any more."""


def _side_by_side(
    case: Case, reference: Case, grid: Grid, chosen: Sequence[int], progress: Callable[[float], None] | None
) -> tuple[xr.Dataset, xr.Dataset]:
    """March both runs at once, in two threads: the march runs without Python's lock; errors as one after the other."""
    done, failed = [0.0, 0.0], [False]

    def part(which: int) -> Callable[[float], None]:
        def told(x: float) -> None:
            if failed[0]:
                raise _Dropped
            done[which] = x
            if progress is not None:
                progress(0.5 * sum(done))

        return told

    with ThreadPoolExecutor(1) as other:
        wet = other.submit(copy_context().run, simulate, case, part(1), grid=grid)
        try:
            dry = simulate(reference, part(0), grid=grid)
            check_room(case, dry, chosen)
        except BaseException:
            failed[0] = True
            wet.cancel()
            raise
        return dry, wet.result()


def of_both(act: Callable[[xr.Dataset], T], runs: tuple[xr.Dataset, xr.Dataset]) -> tuple[T, T]:
    """Return what is found of each of two runs; of two in memory at once.

    Parameters
    ----------
    act : callable
        Such as `drydown.criteria.assess`.
    runs : (Dataset, Dataset)
        Those of `twins`.
    """
    first, second = runs
    if processors() < 2 or any("source" in run.encoding for run in runs):  # files are read by one thread at a time
        return act(first), act(second)
    with ThreadPoolExecutor(1) as other:
        later = other.submit(copy_context().run, act, second)
        return act(first), later.result()


@contextmanager
def held_twins(
    case: Case, trial: Sequence[int] | None = None, progress: Callable[[float], None] | None = None
) -> Iterator[tuple[xr.Dataset, xr.Dataset]]:
    """Hold the two runs of `twins`; large ones in files of a temporary folder that is gone at the end.

    Parameters and errors as for `dryout`.

    Yields
    ------
    reference, wetted : xarray.Dataset
        As from `simulate`; not to be used afterwards.
    """
    kept = (case.end - case.start) / np.timedelta64(1, "s") / case.numerics.output_every
    # temperature, humidity, water and ice of every cell, of two runs
    size = kept * expected_cells(case) * 8 * 4 * 2
    with ExitStack() as last:
        folder = None
        if size > IN_MEMORY:
            folder = last.enter_context(work_folder())
        for run in (runs := twins(case, trial, progress, folder)):
            last.callback(run.close)
        yield runs


def check_room(case: Case, reference: xr.Dataset, chosen: Sequence[int]) -> None:
    """Raise InputError where a wetting on trial finds less room in its layer on its own date than it brings.

    Parameters
    ----------
    case : Case
    reference : Dataset
        Of the run without the wettings on trial.
    chosen : sequence of int
        Positions of those on trial.
    """
    time = reference["time"].values
    for w in (case.wettings[i] for i in chosen):
        cells = np.flatnonzero(reference["layer_of_cell"].values == w.layer)
        for start in w.starts(case.end):
            row = max(int(np.searchsorted(time, start, side="right")) - 1, 0)
            then = reference.isel(time=row, cell=cells)
            room = float(((then["saturation"] - then["water_content"]) * then["width"]).sum())
            if w.amount > room:
                raise InputError(
                    f"{w.amount:g} kg/m2 do not fit on {str(start)[:10]}; the free pores of the layer hold "
                    f"{max(room, 0.0):.3g} kg/m2 then",
                    f"wetting of '{w.layer}'",
                )


def account(case: Case, reference: xr.Dataset, wetted: xr.Dataset, trial: Sequence[int] | None = None) -> xr.Dataset:
    """Make the trial of two finished runs, those of `twins`.

    Parameters
    ----------
    case : Case
        Of the wetted run.
    reference, wetted : xarray.Dataset
        Results at the same times, kept at every hour or less often.
    trial : sequence of int, optional
        As for `dryout`.

    Returns
    -------
    xarray.Dataset
        As from `dryout`.
    """
    import xarray as xr

    chosen = _chosen(case, trial)
    events = [case.wettings[i] for i in chosen]
    base, wet = reference, wetted

    def through(face: int, *kinds: str) -> np.ndarray:
        found: np.ndarray = sum(wet[k].values[:, face] - base[k].values[:, face] for k in kinds)
        return found

    ways = dict(WAYS)
    gone_by = [
        -through(0, "vapour_passed"),
        -through(0, "liquid_passed"),
        through(-1, "vapour_passed", "liquid_passed"),
    ]
    if case.loads:
        ways |= AIR_WAYS
        gone_by += [-through(0, "convected_vapour_passed"), through(-1, "convected_vapour_passed")]
        # a load that brings less to the wetted wall has let water out; only a gap open to the room lets it inward
        inward = {x.label for x in case.loads if x.inward}
        for k, name in enumerate(wet["load_term"].values):
            ways[str(name)] = str(name) not in inward
            gone_by.append(base["load_water"].values[:, k] - wet["load_water"].values[:, k])
    left = np.stack(gone_by, axis=1)
    outward_way = np.array(list(ways.values()))
    added = wet["water_added"].values[:, list(chosen)].sum(axis=1)
    excess = _excess(wet, base)
    layers = sorted({w.layer for w in events}, key=[la.name for la in case.assembly.layers].index)
    time = wet["time"].values
    starts = [w.starts(case.end) for w in events]
    amount = float(sum(w.amount * len(s) for w, s in zip(events, starts, strict=True)))
    began = min(w.start for w in events)
    # of wettings that come back every year the last counts for the days
    since = min(s[-1] for s in starts)
    once = float(sum(w.amount for w in events))
    closure = added - excess - left.sum(axis=1)
    gone = left[-1].sum()
    outward = float(left[-1, outward_way].sum())
    data: dict[str, Any] = {
        "added": ("time", added, "water put in by the trial"),
        "excess": ("time", excess, "water of the trial still stored"),
        "excess_of_layer": (
            ("time", "layer"),
            wet["layer_water"].values - base["layer_water"].values,
            "water of the trial stored in the layer",
        ),
        "left": (("time", "way"), left, "water of the trial that has left"),
        "water_wetted": ("time", wet["layer_water"].sel(layer=layers).sum("layer").values, "with the wetting"),
        "water_reference": ("time", base["layer_water"].sel(layer=layers).sum("layer").values, "without it"),
    }
    attrs = {
        "Conventions": "CF-1.11",
        "title": f"drydown dry-out trial: {case.name}",
        "case": case.name,
        "assembly": case.assembly.name,
        "wetted_layers": ", ".join(layers),
        "amount": amount,
        "last_dose": once,
        "began": str(began),
        "counted_from": str(since),
        "days_to_50_percent_dry": days_until(time, excess / once, 0.5, since),
        "days_to_90_percent_dry": days_until(time, excess / once, 0.1, since),
        "share_outward": outward / gone if gone else float("nan"),
        "share_inward": float(left[-1, ~outward_way].sum()) / gone if gone else float("nan"),
        "remaining": float(excess[-1] / amount),
        "closure_max": float(np.max(np.abs(closure))),
    }
    attrs |= drowned(once) | {
        f"with_{k}": _plain(v) for k, v in wet.attrs.items() if k not in ("Conventions", "title", "case", "assembly")
    }
    attrs |= {
        f"without_{k}": _plain(v) for k, v in base.attrs.items() if k.startswith(("water_closure", "steps", "warning"))
    }
    return xr.Dataset(
        {k: (d, v, {"units": "kg m-2", "long_name": n}) for k, (d, v, n) in data.items()},
        {
            "time": ("time", time, {"long_name": "local standard time"}),
            **{k: v for k, v in wet.variables.items() if v.dims == ("layer",)},
            "way": ("way", list(ways)),
            "outward": ("way", outward_way),
        },
        attrs,
    ).load()


def _plain(value: Any) -> Any:
    """Return an attribute that was read from a file as it was written."""
    return value.item() if isinstance(value, np.generic) else value


def _excess(wet: xr.Dataset, base: xr.Dataset) -> np.ndarray:
    """Return what more the wetted wall holds at every mark [kg m-2]; of a file only a part is in memory."""
    width = wet["width"].values
    total = np.empty(wet.sizes["time"])
    for first in range(0, len(total), ROWS):
        rows = slice(first, first + ROWS)
        more = wet["water_content"].isel(time=rows).values - base["water_content"].isel(time=rows).values
        total[rows] = (more * width).sum(axis=1)
    return total


def days_until(time: np.ndarray, share: np.ndarray, level: float, began: np.datetime64) -> float:
    """Return the days from `began` until `share` falls to `level` for good; NaN if it does not.

    Parameters
    ----------
    time : ndarray of datetime64, shape (n,)
    share : ndarray, shape (n,)
    level : float
    began : datetime64
    """
    above = np.flatnonzero(share > level)
    if len(above) == 0 or above[-1] == len(share) - 1:
        return float("nan")
    i = above[-1]
    x = (share[i] - level) / (share[i] - share[i + 1])
    hours = (time[i] - began) / np.timedelta64(1, "s") + x * ((time[i + 1] - time[i]) / np.timedelta64(1, "s"))
    return float(hours / 86400.0)


def monthly(trial: xr.Dataset) -> xr.DataArray:
    """Return what left in each month by each way [kg m-2], dimensions (month, way)."""
    import pandas as pd
    import xarray as xr

    stamps = pd.DatetimeIndex(trial["time"].values)
    months = stamps.to_period("M")
    left = trial["left"].values
    keys = months.unique()
    ends = [int(np.flatnonzero(months == k)[-1]) for k in keys]
    total = np.diff(np.vstack([np.zeros((1, left.shape[1])), left[ends]]), axis=0)
    return xr.DataArray(
        total,
        {"month": keys.to_timestamp().values.astype("datetime64[ns]"), "way": trial["way"].values},
        ("month", "way"),
        "left_in_month",
        {"units": "kg m-2"},
    )
