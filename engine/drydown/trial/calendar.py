"""The wetting calendar: the dry-out trial begun on the first of each month, in each layer that can get wet.

The wall runs once without any of these wettings. Every trial goes on from the state of that run at its date; its
excess over the dry run is counted as in `drydown.trial.dryout`. What it does is followed until its water has all but
left: to the end of the harm, not to nine tenths. Each criterion that a calendar follows is asked of the trial and of
the wall without water over the same time, and the worse of the two is told: a wetting never reads kinder than none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from ..case.case import Case
from ..case.wetting import Wetting
from ..criteria import deciding
from ..errors import InputError
from ..kernel.layout import CONVECTED, LIQUID, LOAD_WATER, VAPOUR, Record, State
from ..lowering.grid import make_grid
from ..lowering.lowered import Problem
from ..lowering.marcher import Marcher
from ..lowering.problem import lower, put_in
from ..run.simulation import STRETCH, SimulationError
from .dryout import days_until
from .watch import Watch, wall_of

if TYPE_CHECKING:
    import xarray as xr

#: What is still there of the amount when a trial stops: so little that the wall is as without it.
ENOUGH = 0.02
#: Time for the wall to settle before the first trial.
BEFORE = np.timedelta64(90, "D")
HOURS = 6


class _Course(NamedTuple):
    """Water stored and passed at the marks of a run, from mark `first` on."""

    first: int
    water: list[float]  # kg/m2 in all cells
    inward: list[float]  # kg/m2 that left inward since `first`


def wetting_calendar(
    case: Case,
    amount: float | None = None,
    layers: Sequence[str] | None = None,
    follow: int = 730,
    limits: Mapping[str, float] | None = None,
    workers: int = 2,
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Try a wetting on the first of each of twelve months, in each layer.

    Parameters
    ----------
    case : Case
        Its wettings are left out; its start and its climate are kept. The run goes on beyond its end as far as the
        trials need.
    amount : float, optional
        [kg/m2]; default: that of the case's first wetting, or 1.
    layers : sequence of str, optional
        Default: every layer whose free pores hold the amount at the start, but for air.
    follow : int
        Days that a trial is followed at most.
    limits : mapping, optional
        As for `drydown.criteria.assess`.
    workers : int
        Trials run at the same time.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    xarray.Dataset
        Over (month, layer): `days_to_50_percent_dry`, `days_to_90_percent_dry` [d] (NaN where not reached),
        `share_inward` [-] of what had left by the end of the trial, `remaining` [-], `followed` [d]; over (month,
        layer, criterion) `value`, the worst while the trial lasts, with the wetting or without, and `without`, that
        without it; NaN where a criterion does not apply. Coordinates of `criterion`: `title`, `unit`, `limit`.
        Coordinate `start` (month). Attributes: `amount` [kg m-2], `follow` [d], `left_out` (layers whose pores do not
        hold the amount).

    Raises
    ------
    InputError
        If no layer can take up the amount, or the climate is too short.
    SimulationError
        If a run fails.
    """
    import xarray as xr

    m0 = float(amount if amount is not None else case.wettings[0].amount if case.wettings else 1.0)
    starts = _starts(case)
    end = starts[-1] + np.timedelta64(follow, "D")
    end = end.astype("datetime64[D]").astype("datetime64[s]")
    numerics = replace(case.numerics, output_every=3600.0)
    dry = replace(case, wettings=(), end=end, numerics=numerics)
    names_of, left_out = _layers(dry, m0, layers)
    events = tuple(Wetting(name, m0, starts[0], HOURS * 3600.0) for name in names_of)
    problem = lower(dry, idle=events)
    at = {int(np.searchsorted(problem.stamps, s)): k for k, s in enumerate(starts)}
    whole = len(starts) * len(names_of) + 3.0
    done = 0.0

    def tell(step: float) -> None:
        nonlocal done
        done += step
        if progress is not None:
            progress(min(done / whole, 1.0))

    asked = deciding("calendar")
    wall = wall_of(dry, problem)
    untouched: dict[int, Watch] = {}
    begun: dict[int, Record] = {}

    def watched(mark: int, record: Record) -> None:
        begun[mark] = record
        untouched[mark] = Watch(wall, problem, mark, record, asked, limits)

    states, base = _dry_run(problem, sorted(at), lambda x: tell(3.0 * x), untouched, watched)
    inner = _inner_of(problem)

    def one(key: tuple[int, int]) -> tuple[float, ...]:
        mark, source = key
        watch = Watch(wall, problem, mark, begun[mark], asked, limits)
        found = _trial(problem, mark, source, m0, states[mark], base, inner, watch, follow)
        without = untouched[mark].worst_until(watch.mark)
        tell(1.0)
        return (*found, *np.fmax(watch.values(), without), *without)

    keys = [(mark, source) for mark in sorted(at) for source in range(len(names_of))]
    with ThreadPoolExecutor(max(1, workers)) as pool:
        found = list(pool.map(one, keys))
    n = len(asked)
    table = np.array(found).reshape(len(starts), len(names_of), 5 + 2 * n)
    months = np.array([int(str(s)[5:7]) for s in starts])
    order = np.argsort(months)
    text = {
        "days_to_50_percent_dry": ("d", "days until half of the water has left"),
        "days_to_90_percent_dry": ("d", "days until nine tenths have left"),
        "share_inward": ("1", "share inward of what left"),
        "remaining": ("1", "share still there when the trial stopped"),
        "followed": ("d", "days that the trial was followed"),
    }
    data: dict[str, Any] = {
        name: (("month", "layer"), table[order, :, i], {"units": unit, "long_name": words})
        for i, (name, (unit, words)) in enumerate(text.items())
    }
    of = ("month", "layer", "criterion")
    data["value"] = (of, table[order, :, 5 : 5 + n], {"long_name": "worst while it dried, with the wetting or without"})
    data["without"] = (of, table[order, :, 5 + n :], {"long_name": "worst over the same time without the wetting"})
    dry_findings = untouched[min(at)].followers.findings()
    return xr.Dataset(
        data,
        {
            "month": months[order],
            "start": ("month", np.array(starts)[order].astype("datetime64[ns]")),
            "layer": list(names_of),
            "criterion": [c.name for c in asked],
            "title": ("criterion", [c.title for c in asked]),
            "unit": ("criterion", [c.unit for c in asked]),
            "limit": ("criterion", np.array([f.limit for f in dry_findings], dtype=float)),
        },
        {
            "title": f"drydown wetting calendar: {case.name}",
            "case": case.name,
            "amount": m0,
            "follow": follow,
            "left_out": ", ".join(left_out),
        },
    )


def _starts(case: Case) -> list[np.datetime64]:
    """Return the first of each of the twelve months that begin after the wall has settled."""
    first = (case.start + BEFORE).astype("datetime64[M]") + 1
    return [(first + k).astype("datetime64[s]") for k in range(12)]


def _layers(case: Case, amount: float, layers: Sequence[str] | None) -> tuple[list[str], list[str]]:
    """Return the layers to try, and those of the rest that do not hold the amount."""
    problem = lower(replace(case, end=case.start + np.timedelta64(1, "h")), grid=make_grid(case.assembly))
    room = {}
    for j, layer in enumerate(case.assembly.layers):
        cells = problem.grid.cells(j)
        held = float(np.sum(problem.grid.dx[cells] * problem.saturation[cells] - problem.state.water[cells]))
        room[layer.name] = held
    if layers is not None:
        for name in layers:
            case.assembly.layer_index(name)
            if room[name] < amount:
                raise InputError(
                    f"{amount:g} kg/m2 do not fit into '{name}'; its free pores hold {max(room[name], 0.0):.3g} kg/m2",
                    "calendar",
                )
        return list(layers), []
    solid = [layer.name for layer in case.assembly.layers if "air" not in layer.material.tags]
    fits = [name for name in solid if room[name] >= amount]
    if not fits:
        most = max(room.values())
        raise InputError(f"no layer holds {amount:g} kg/m2; the most that fits is {most:.3g} kg/m2", "calendar")
    return fits, [name for name in solid if name not in fits]


def _copy(state: State) -> State:
    return State(*(np.array(a) for a in state))


def _march(
    marcher: Marcher, stop: int, course: _Course, inner: Sequence[int] = (), watches: Sequence[Watch] = ()
) -> None:
    """Take a problem's state on to a mark.

    The water and what went inward are added to `course`, at every mark; the states are shown to `watches`.
    """
    record, trouble = marcher.run_to(stop)
    if trouble:
        raise SimulationError(trouble)
    course.water.extend(record.water.sum(axis=1))
    through = record.flow[:, -1]
    gone = through[:, VAPOUR] + through[:, LIQUID] + through[:, CONVECTED]
    for k in inner:
        gone = gone - record.load[:, k, LOAD_WATER]
    course.inward.extend(gone)
    for watch in watches:
        watch.see(stop, record)


def _dry_run(
    problem: Problem,
    marks: Sequence[int],
    tell: Callable[[float], None],
    watches: Mapping[int, Watch],
    watched: Callable[[int, Record], None],
) -> tuple[dict[int, State], _Course]:
    """Run without any wetting; return the states at `marks` and the course of the whole run.

    At each mark `watched` is called with a record of it, and all `watches` are shown what comes after.
    """
    states: dict[int, State] = {}
    state = problem.state
    course = _Course(0, [float(state.water.sum())], [0.0])
    last = len(problem.forcing.marks) - 1
    stops = sorted({*marks, *range(STRETCH, last, STRETCH), last})
    marcher, here = Marcher(problem), 0
    for stop in stops:
        _march(marcher, stop, course, _inner_of(problem), list(watches.values()))
        tell((stop - here) / last)
        if stop in marks:
            states[stop] = _copy(state)
            watched(stop, marcher.begin())
        here = stop
    return states, course


def _inner_of(problem: Problem) -> list[int]:
    """Return which loads are gaps open to the room: what they take out has left inward."""
    lowered = problem.lowered
    return [i for i, inward in enumerate(lowered.inward[: len(lowered.moving)]) if inward]


def _trial(
    problem: Problem,
    mark: int,
    source: int,
    amount: float,
    state: State,
    base: _Course,
    inner: Sequence[int],
    watch: Watch,
    follow: int,
) -> tuple[float, ...]:
    """Run one trial from a mark on, for so many days at most.

    Returns days to half and to a tenth, share inward, what remains, days followed.
    """
    mine = put_in(problem, source, amount, mark, mark + HOURS)._replace(state=_copy(state))
    course = _Course(mark, [base.water[mark]], [base.inward[mark]])
    last = min(len(problem.forcing.marks) - 1, mark + 24 * follow)
    marcher, here = Marcher(mine, mark), mark
    excess = np.zeros(1)
    while here < last:
        stop = min(here + STRETCH, last)
        _march(marcher, stop, course, inner, [watch])
        here = stop
        excess = np.array(course.water) - np.array(base.water[mark : here + 1])
        if excess[-1] < ENOUGH * amount and here > mark + HOURS:
            break
    time = problem.stamps[mark : here + 1]
    share = excess / amount
    inward = course.inward[-1] - base.inward[here]
    gone = amount - float(excess[-1])
    return (
        days_until(time, share, 0.5, time[0]),
        days_until(time, share, 0.1, time[0]),
        inward / gone if gone > 0.0 else float("nan"),
        float(share[-1]),
        float(here - mark) / 24.0,
    )
