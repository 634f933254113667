"""The worst of something over time, at every spot."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from ..arrays import Array
from .model import LayerResult, Verdict
from .reading import Wall
from .spots import Spots

#: What a spot says beside its value: the verdict, the case and the facts of the sentence.
Told = tuple[Verdict, str, Mapping[str, Any]]


class Worst:
    """Keeps the greatest value of every spot, and when it was reached first.

    Parameters
    ----------
    wall : Wall
    spots : Spots
    judged : ndarray of bool, shape (spots,)
        Those that count.
    """

    def __init__(self, wall: Wall, spots: Spots, judged: np.ndarray) -> None:
        self.wall, self.spots, self.judged = wall, spots, judged
        self.value: Array = np.full(len(judged), -np.inf)
        self.when = np.full(len(judged), wall.time[0])

    def see(self, time: np.ndarray, rows: Array) -> None:
        """Take values at some marks, shape (marks, spots); NaN is passed over."""
        if len(rows) == 0 or rows.shape[1] == 0:
            return
        # rounded, so that on a plateau the last bits do not choose the date
        seen = np.where(np.isnan(rows), -np.inf, np.round(rows, 10))
        at = np.argmax(seen, axis=0)
        top = seen[at, np.arange(rows.shape[1])]
        better = top > self.value
        self.value[better] = top[better]
        self.when[better] = time[at[better]]

    @property
    def known(self) -> np.ndarray:
        """Which spots were judged and have a value."""
        return self.judged & np.isfinite(self.value)

    @property
    def any(self) -> bool:
        """Whether anything was judged."""
        return bool(np.any(self.known))

    def by_layer(
        self,
        limit: float | Array,
        told: Callable[[int, float], Told],
    ) -> tuple[LayerResult, ...]:
        """Return the worst of every layer that was judged.

        Parameters
        ----------
        limit : float or ndarray, shape (spots,)
        told : callable
            Of a spot and its value: verdict, case, facts.
        """
        limits = np.broadcast_to(np.asarray(limit, dtype=float), self.value.shape)
        out = []
        for j, name in enumerate(self.wall.names):
            rows = []
            for i in np.flatnonzero(self.known & (self.spots.layer == j)):
                value = float(self.value[i])
                verdict, case, facts = told(int(i), value)
                rows.append(
                    LayerResult(
                        name,
                        value,
                        verdict,
                        float(limits[i]),
                        self.spots.place(int(i)),
                        self.when[i],
                        case,
                        facts,
                        int(i),
                    )
                )
            if rows:
                out.append(max(rows, key=LayerResult.order))
        return tuple(out)


def grade(watch: float, limit: float) -> Callable[[float], Verdict]:
    """Return a function that grades a value: fine up to `watch`, watch up to `limit`, then exceeded."""

    def verdict(value: float) -> Verdict:
        return "exceeded" if value > limit else "watch" if value > watch else "fine"

    return verdict
