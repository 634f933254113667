"""The worst of something over time, at every place."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..arrays import Array
from .model import LayerResult, Place, Verdict
from .reading import Wall


class Worst:
    """Keeps the greatest value of every place, and when it was reached first.

    Parameters
    ----------
    wall : Wall
    judged : ndarray of bool, shape (cells,)
        The places that count.
    """

    def __init__(self, wall: Wall, judged: np.ndarray) -> None:
        self.wall, self.judged = wall, judged
        self.value: Array = np.full(len(judged), -np.inf)
        self.when = np.full(len(judged), wall.time[0])

    def see(self, time: np.ndarray, rows: Array) -> None:
        """Take values at some marks, shape (marks, cells); NaN is passed over."""
        if len(rows) == 0:
            return
        # rounded, so that on a plateau the last bits do not choose the date
        seen = np.where(np.isnan(rows), -np.inf, np.round(rows, 10))
        at = np.argmax(seen, axis=0)
        top = seen[at, np.arange(rows.shape[1])]
        better = top > self.value
        self.value[better] = top[better]
        self.when[better] = time[at[better]]

    @property
    def cell(self) -> int:
        """The worst cell of those judged."""
        return int(np.argmax(np.where(self.judged, self.value, -np.inf)))

    @property
    def any(self) -> bool:
        """Whether anything was judged."""
        return bool(np.any(self.judged & np.isfinite(self.value)))

    def place(self, cell: int) -> Place:
        """Return where a cell is."""
        j = self.wall.layer[cell]
        return Place(self.wall.names[j] if j >= 0 else "contact air", float(self.wall.x[cell]))

    def by_layer(self, verdict: Callable[[float], Verdict]) -> tuple[LayerResult, ...]:
        """Return the worst value of every layer that was judged."""
        out = []
        for j, name in enumerate(self.wall.names):
            cells = self.judged & (self.wall.layer == j) & np.isfinite(self.value)
            if np.any(cells):
                value = float(self.value[cells].max())
                out.append(LayerResult(name, value, verdict(value)))
        return tuple(out)


def grade(watch: float, limit: float) -> Callable[[float], Verdict]:
    """Return a function that grades a value: fine up to `watch`, watch up to `limit`, then exceeded."""

    def verdict(value: float) -> Verdict:
        return "exceeded" if value > limit else "watch" if value > watch else "fine"

    return verdict
