"""Water put into a layer at a date."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..errors import InputError, need, need_number
from ..times import local_time


@dataclass(frozen=True)
class Wetting:
    """Water put into a layer at a date.

    Parameters
    ----------
    layer : str
        Name of the layer.
    amount : float
        [kg/m2], greater than zero.
    start : datetime64
    duration : float
        [s], at least one second.
    place : {'whole', 'outer', 'inner'}
        The whole layer, or its outermost or innermost `depth`.
    depth : float
        [m], used with 'outer' and 'inner'.
    yearly : bool
        Again on the same date of every later year whose event ends within the run.
    """

    layer: str
    amount: float
    start: np.datetime64
    duration: float = 3600.0
    place: Literal["whole", "outer", "inner"] = "whole"
    depth: float = 0.005
    yearly: bool = False

    def __post_init__(self) -> None:
        need(self.layer, str, "its layer", "the name of a layer", "wetting")
        where = f"wetting of '{self.layer}'"
        for key, unit in (("amount", "kg/m2"), ("duration", "s"), ("depth", "m")):
            need_number(getattr(self, key), key, where, unit)
        if not (np.isfinite(self.amount) and self.amount > 0.0):
            raise InputError(f"amount is {self.amount:g} kg/m2; it must be greater than 0", where)
        if not (np.isfinite(self.duration) and self.duration >= 1.0):
            raise InputError(f"duration is {self.duration:g} s; it must be at least 1 s", where)
        if self.place not in ("whole", "outer", "inner"):
            raise InputError(f"place is '{self.place}'; use 'whole', 'outer' or 'inner'", where)
        if not self.depth > 0.0:
            raise InputError(f"depth is {self.depth:g} m; it must be greater than 0", where)
        object.__setattr__(self, "start", local_time(self.start, None, f"{where}, start"))
        if np.isnat(self.start):
            raise InputError("the start is no date; write it as 2022-01-15", where)

    def starts(self, end: np.datetime64) -> list[np.datetime64]:
        """Return when the event begins, for a run until `end`; 29 February falls on the 28th elsewhere.

        Parameters
        ----------
        end : datetime64
            End of the run.
        """
        first = self.start
        if not self.yearly:
            return [first]
        length = np.timedelta64(round(self.duration), "s")
        month = first.astype("datetime64[M]")
        into = first - month.astype("datetime64[s]")
        found: list[np.datetime64] = []
        while True:
            following = (month + 1).astype("datetime64[s]")
            day = np.timedelta64(86400, "s")
            begin = month.astype("datetime64[s]") + into
            if begin >= following:
                begin = begin - day
            if begin + length > end:
                return found
            found.append(begin)
            month = month + 12
