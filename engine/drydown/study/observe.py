"""A run of a case of which only what the outputs read is worked out.

`simulate` labels and converts every cell and hour. A study of many walls mostly wants a few numbers of each, so
the records of the march are kept as they come and the cells asked for are picked out of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from ..case.case import Case
from ..errors import InputError, nearest

if TYPE_CHECKING:
    import xarray as xr

    from ..kernel.layout import Record
    from ..lowering.lowered import Problem

Array = np.ndarray


class Run(Protocol):
    """What outputs read of a run."""

    layers: list[str]
    layer_of_cell: list[str]

    @property
    def time(self) -> Array:
        """Marks, datetime64[s], shape (n,)."""
        ...

    def humidity(self, cells: Array) -> Array:
        """Return the relative humidity [-], shape (n, cells)."""
        ...

    def temperature(self, cells: Array) -> Array:
        """Return the temperature [K], shape (n, cells)."""
        ...

    def water(self, cells: Array) -> Array:
        """Return the water in all of these cells together [kg m-2], shape (n,)."""
        ...


def cells_at(run: Run, layer: str, place: str = "whole") -> Array:
    """Return the cells of a layer, or the one at its outer or inner face.

    Raises
    ------
    InputError
        If no layer has that name.
    """
    cells = np.array([i for i, name in enumerate(run.layer_of_cell) if name == layer], dtype=np.int64)
    if not len(cells):
        raise InputError(f"no layer is called '{layer}'; {nearest(layer, run.layers)}", "output")
    return {"outer": cells[:1], "inner": cells[-1:]}.get(place, cells)


class Records:
    """A run as a march leaves it: what its records hold of some cells.

    Parameters
    ----------
    problem : Problem
        One that is marched elsewhere; its records are given to `append`.
    """

    def __init__(self, problem: Problem) -> None:
        names = [layer.name for layer in problem.case.assembly.layers]
        self.layers = names
        self.layer_of_cell = [names[j] if j >= 0 else "contact air" for j in problem.grid.layer]
        self._problem = problem
        self._records: list[Record] = []
        self._keep: list[Array] = []
        self._states = self._waters = np.arange(len(problem.grid.layer))

    def keep_only(self, states: Array, waters: Array) -> None:
        """Keep humidity and temperature of some cells and water of some, each ascending; no others can be read."""
        self._states, self._waters = states, waters

    def append(self, marks: slice, record: Record) -> None:
        """Take what was recorded over a range of marks; the rest of the record is let go."""
        states = self._states
        kept: dict[str, Any] = {name: getattr(record, name)[:0] for name in ("flow", "faces", "load")}
        kept |= {"u": record.u[:, states], "temperature": record.temperature[:, states]}
        self._records.append(record._replace(**kept, water=record.water[:, self._waters]))
        self._keep.append(np.flatnonzero(self._problem.forcing.keep[marks]) + marks.start)

    @property
    def time(self) -> Array:
        """Marks, datetime64[s], shape (n,)."""
        found: Array = self._problem.stamps[np.concatenate(self._keep)].astype("datetime64[s]")
        return found

    def humidity(self, cells: Array) -> Array:
        """Return the relative humidity [-], shape (n, cells)."""
        at = np.searchsorted(self._states, cells)
        found: Array = np.exp(-np.exp(np.concatenate([r.u[:, at] for r in self._records])))
        return found

    def temperature(self, cells: Array) -> Array:
        """Return the temperature [K], shape (n, cells)."""
        at = np.searchsorted(self._states, cells)
        return np.concatenate([r.temperature[:, at] for r in self._records])

    def water(self, cells: Array) -> Array:
        """Return the water in all of these cells together [kg m-2], shape (n,)."""
        at = np.searchsorted(self._waters, cells)
        return np.concatenate([r.water[:, at].sum(axis=1) for r in self._records])


class Labelled:
    """A run as `simulate` returns it.

    Parameters
    ----------
    dataset : Dataset
    """

    def __init__(self, dataset: xr.Dataset) -> None:
        self.dataset = dataset
        self.layers = [str(name) for name in dataset["layer"].values]
        self.layer_of_cell = [str(name) for name in dataset["layer_of_cell"].values]
        self.time = dataset["time"].values.astype("datetime64[s]")

    def humidity(self, cells: Array) -> Array:
        """Return the relative humidity [-], shape (n, cells)."""
        return self.dataset["relative_humidity"].values[:, cells]

    def temperature(self, cells: Array) -> Array:
        """Return the temperature [K], shape (n, cells)."""
        return self.dataset["temperature"].values[:, cells]

    def water(self, cells: Array) -> Array:
        """Return the water in all of these cells together [kg m-2], shape (n,)."""
        water = self.dataset["water_content"].values[:, cells] * self.dataset["width"].values[cells]
        found: Array = water.sum(axis=1)
        return found


def remembering(case: Case) -> Case:
    """Return the case with an outside that remembers what a surface of one orientation receives.

    Cases of a study often share climate and surface, and the sun on it takes longer to work out than all else
    that comes before the march.
    """
    from dataclasses import fields, replace

    from ..sides.exposure import Outdoor

    if type(case.outside) is not Outdoor:
        return case
    given: dict[str, Any] = {f.name: getattr(case.outside, f.name) for f in fields(Outdoor)}
    return replace(case, outside=_remembered_class()(**given))


def _remembered_class() -> Any:
    """Make the class when it is first needed, so that the exposure is imported no earlier."""
    global _CLASS
    if _CLASS is None:
        from dataclasses import dataclass
        from functools import lru_cache

        from ..sides.exposure import Outdoor

        @lru_cache(maxsize=64)
        def known(outdoor: Any, start: Any, end: Any, physics: Any) -> Any:
            marks = np.arange(start, end + np.timedelta64(1, "s"), np.timedelta64(3600, "s"))
            return Outdoor.forcing(outdoor, marks, physics)

        @dataclass(frozen=True)
        class Remembered(Outdoor):
            def forcing(self, marks: Any, physics: Any, other: Any = None) -> Any:
                try:
                    hash((self, physics))
                except TypeError:  # a plugin brings a rain model that cannot be compared
                    return super().forcing(marks, physics, other)
                got = known(self, np.datetime64(marks[0], "s"), np.datetime64(marks[-1], "s"), physics)
                return got._replace(notes=dict(got.notes))

        _CLASS = Remembered
    return _CLASS


_CLASS: Any = None
