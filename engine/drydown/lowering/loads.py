"""Lowering of loads: what each load returns becomes rates at the marks and shares of cells."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple, TypeVar

import numpy as np

from ..arrays import Array
from ..case.air_leakage import R_AIR
from ..case.load import Deposit, Exchange, Load, LoadWords, Site, Source, Stream
from ..case.sides import AIR
from ..errors import InputError
from ..kernel.layout import Loads
from ..moist_air import CP_AIR, STANDARD_PRESSURE

#: Molar mass of water over that of dry air [-]; kg of vapour per kg of dry air is this times p/P (p small against P).
#: Source: ASHRAE Handbook Fundamentals, chapter 1 (from memory).
MOLAR_RATIO = 0.622


class Lowered(NamedTuple):
    """Loads in arrays.

    Labels and words are those of exchanges, streams and deposits, in the kernel's order, then those of sources.
    """

    loads: Loads
    moving: tuple[str, ...]  # labels of exchanges, streams and deposits
    raining: tuple[str, ...]  # labels of sources
    inward: tuple[bool, ...]  # whether what each label takes out of the wall has left towards the room
    words: tuple[LoadWords, ...]
    sources: tuple[Source, ...]
    notes: dict[str, str]


Kind = TypeVar("Kind")


def lower_loads(loads: Sequence[Load], site: Site) -> Lowered:
    """Lower the loads of a case.

    Parameters
    ----------
    loads : sequence of Load
    site : Site
        What they meet.

    Raises
    ------
    InputError
        If a load cannot act in this case, or returns what is no record of the site.
    """
    found: list[tuple[Any, Load]] = [(record, load) for load in loads for record in _records(load, site)]

    def of(kind: type[Kind]) -> list[Kind]:
        return [record for record, _ in found if isinstance(record, kind)]

    exchanges, streams, deposits, sources = of(Exchange), of(Stream), of(Deposit), of(Source)
    _no_two([x.layer for x in exchanges], "ventilated gap")
    # two deposits at one place would each take the whole of what condenses there
    screening = [load.layers[0] for record, load in found if isinstance(record, Deposit) and load.layers]
    _no_two(screening, "screening leak")
    notes: dict[str, str] = {}
    for record, load in found:
        notes |= record.notes
        if isinstance(record, Stream):
            _check_ends(record, load, site)
    ordered = [pair for kind in (Exchange, Stream, Deposit, Source) for pair in found if isinstance(pair[0], kind)]
    names = _distinct([record.label or load.label for record, load in ordered])
    moving = len(exchanges) + len(streams) + len(deposits)
    return Lowered(
        loads_of(exchanges, streams, deposits, site),
        tuple(names[:moving]),
        tuple(names[moving:]),
        tuple(load.inward for _, load in ordered),
        tuple(load.words for _, load in ordered),
        tuple(sources),
        notes,
    )


def loads_of(
    exchanges: Sequence[Exchange], streams: Sequence[Stream], deposits: Sequence[Deposit], site: Site
) -> Loads:
    """Return the kernel's arrays of moving air."""
    n, marks = len(site.widths), len(site.marks)

    def table(columns: list[Any]) -> Array:
        full = [np.broadcast_to(np.asarray(c, dtype=float), (marks,)) for c in columns]
        return np.stack(full, axis=1) if full else np.zeros((marks, 0))

    gap_cells = np.zeros((len(exchanges), n), dtype=np.int64)
    for j, gap in enumerate(exchanges):
        gap_cells[j, site.cells(gap.layer)] = 1
    share = np.zeros((len(deposits), n))
    for j, deposit in enumerate(deposits):
        held = site.widths[deposit.cells] * (1.0 if deposit.fill is None else deposit.fill)
        share[j, deposit.cells] = held / np.sum(held)
    return Loads(
        active=1 if exchanges or streams or deposits else 0,
        gap=table([x.air_changes for x in exchanges]),
        gap_wind=table([x.wind_squared for x in exchanges]),
        gap_lift=np.array([x.buoyancy_squared for x in exchanges], dtype=float),
        gap_cells=gap_cells,
        gap_side=np.array([1 if x.side == "inside" else 0 for x in exchanges], dtype=np.int64),
        stream=table([x.flow for x in streams]),
        path=np.array([stream_path(site, x.layer) for x in streams]).reshape(len(streams), n + 1),
        deposit=table([x.air for x in deposits]),
        brought=table([x.vapour for x in deposits]),
        deposit_cells=share,
        ratio=MOLAR_RATIO / STANDARD_PRESSURE,
        c_air=CP_AIR,
        density=STANDARD_PRESSURE / R_AIR,
    )


def stream_path(site: Site, layer: str) -> Array:
    """Return the share of a stream that passes each face; in a gap the air leaves evenly over its cells."""
    n = len(site.widths)
    if not layer:
        return np.ones(n + 1)
    cells = site.cells(layer)
    path = np.zeros(n + 1)
    path[cells[-1] + 1 :] = 1.0
    path[cells] = (np.cumsum(site.widths[cells]) - site.widths[cells]) / np.sum(site.widths[cells])
    return path


def _records(load: Load, site: Site) -> Sequence[Any]:
    """Return what a load lowers itself to, checked: a plugin's slip is named here and not deep in the march."""
    where = f"load '{load.label}'"
    records = load.lower(site)
    for record in records:
        courses = {
            Source: ("rate",),
            Stream: ("flow",),
            Exchange: ("air_changes", "wind_squared"),
            Deposit: ("air", "vapour"),
        }.get(type(record))
        if courses is None:
            what = f"it returns {type(record).__name__}; a Source, Stream, Exchange or Deposit is needed"
            raise InputError(what, where)
        for name in courses:
            course = np.asarray(getattr(record, name), dtype=float)
            if course.shape not in ((), (len(site.marks),)):
                raise InputError(f"{name} has the shape {course.shape}; one value a mark, {len(site.marks)}", where)
            if not np.all(np.isfinite(course)):
                raise InputError(f"{name} is not finite at mark {int(np.argmin(np.isfinite(course)))}", where)
            if name != "flow" and np.any(course < 0.0):
                raise InputError(f"{name} is below 0 at mark {int(np.argmax(course < 0.0))}", where)
        if isinstance(record, Source | Deposit) and not len(record.cells):
            raise InputError("it names no cells", where)
    return records


def _check_ends(stream: Stream, load: Load, site: Site) -> None:
    for side, name in ((site.outside, "outer"), (site.inside, "inner")):
        if side.kind != AIR and not (name == "outer" and stream.layer):
            raise InputError(f"the {name} side is a sealed or imposed surface; no air can pass it", load.label)


def _no_two(names: list[str], what: str) -> None:
    for name in names:
        if names.count(name) > 1:
            raise InputError("there are two of them in this layer; give one that is their sum", f"{what} '{name}'")


def _distinct(names: list[str]) -> list[str]:
    return [x if names.index(x) == i else f"{x} ({names[:i].count(x) + 1})" for i, x in enumerate(names)]
