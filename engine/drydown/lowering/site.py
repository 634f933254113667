"""When and where things happen to a wall: the marks of a run, what loads meet there, wettings as sources."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..case.load import Site, Source
from ..case.sides import SideForcing
from ..case.wetting import Wetting
from ..errors import InputError
from .grid import Grid

_Met = tuple[object, object, object, np.ndarray, tuple[SideForcing, SideForcing]]
#: What has been met at sides within `met_once`.
_met: ContextVar[list[_Met] | None] = ContextVar("met", default=None)


@contextmanager
def met_once() -> Iterator[None]:
    """Work out but once what the same two sides meet at the same hours: by pilots and by both runs of a trial.

    Not beyond: a side may hold a function of its user's, and who runs a case anew wants it asked anew.
    """
    if _met.get() is not None:  # within another
        yield
        return
    token = _met.set([])
    try:
        yield
    finally:
        _met.reset(token)


def sides_of(case: Case, hours: np.ndarray) -> tuple[SideForcing, SideForcing]:
    """Return what a case meets outside and inside at its hours."""
    held = _met.get()
    for outer, inner, physics, marks, met in held or ():
        same = case.outside is outer and case.inside is inner and case.physics is physics
        if same and np.array_equal(marks, hours):
            return met
    outside = case.outside.forcing(hours, case.physics, case.inside)
    inside = case.inside.forcing(hours, case.physics, case.outside)
    if held is not None:
        held.append((case.outside, case.inside, case.physics, hours, (outside, inside)))
    return outside, inside


def site_of(
    case: Case,
    grid: Grid,
    times: Array | None,
    idle: Sequence[Wetting],
    sides: tuple[SideForcing, SideForcing] | None = None,
) -> tuple[Site, Array, np.ndarray]:
    """Return what loads meet, the moments at which rates jump [s], and which marks are kept; `sides` if known."""
    hours = case.marks
    outside, inside = sides or sides_of(case, hours)
    hourly = (hours - hours[0]).astype("timedelta64[s]").astype(float)
    seconds = hourly if times is None else np.array(times, dtype=float)
    jumps: list[float] = [
        float((t - case.start) / np.timedelta64(1, "s"))
        for load in case.loads
        for t in load.times()
        if case.start < t < case.end
    ]
    for event in (*idle, *case.wettings):
        for begin, end in _spans(event, case.start, case.end):
            jumps += [begin, end]
    marks = np.unique(np.concatenate([seconds, jumps])) if jumps else seconds
    kept = np.isin(marks, seconds)
    if times is None:
        every = round(case.numerics.output_every / 3600.0)
        kept &= np.round(marks / 3600.0).astype(np.int64) % every == 0
    kept[[0, -1]] = True
    site = Site(
        assembly=case.assembly,
        widths=grid.dx,
        layer_of_cell=grid.layer,
        start=case.start,
        hours=hours,
        marks=marks,
        outside=outside,
        inside=inside,
        outer=case.outside,
        inner=case.inside,
        physics=case.physics,
    )
    return site, np.array(jumps), kept


def _spans(event: Wetting, start: np.datetime64, end: np.datetime64) -> list[tuple[float, float]]:
    """Return begin and end of each time an event happens [s]."""
    begins = [float((begin - start) / np.timedelta64(1, "s")) for begin in event.starts(end)]
    return [(begin, begin + round(event.duration)) for begin in begins]


def wetting_source(event: Wetting, site: Site, end: np.datetime64) -> Source:
    """Return a wetting as a source; what the pores of its place have no room for is kept back."""
    rate = np.zeros(len(site.marks))
    for begin, stop in _spans(event, site.start, end):
        rate[(site.marks > begin) & (site.marks <= stop)] += event.amount / (stop - begin)
    cells, fill = site.spot(event.layer, event.place, event.depth)
    return Source(rate, cells, fill=fill)


def unfilled(event: Wetting, site: Site) -> Source:
    """Return the place of a wetting as a source that brings nothing yet."""
    cells, fill = site.spot(event.layer, event.place, event.depth)
    return Source(np.zeros(len(site.marks)), cells, fill=fill)


def check_room(event: Wetting, source: Source, grid: Grid, saturation: Array, water: Array) -> None:
    """Raise InputError where a wetting is larger than the free pores of its place at the start."""
    cells, fill = source.cells, 1.0 if source.fill is None else source.fill
    room = float(np.sum(fill * (grid.dx[cells] * saturation[cells] - water[cells])))
    if event.amount > room:
        raise InputError(
            f"{event.amount:g} kg/m2 do not fit; the free pores there hold {max(room, 0.0):.3g} kg/m2",
            f"wetting of '{event.layer}'",
        )
