"""A profile of temperature and humidity that a run starts from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..arrays import Array
from ..errors import InputError, shown
from .sides import check_humidity, check_temperature


@dataclass(frozen=True)
class Profile:
    """Temperature and humidity by depth, measured or left by another run.

    Parameters
    ----------
    depth : sequence of float
        [m] from the outer surface, rising.
    temperature : sequence of float
        [K].
    humidity : sequence of float
        Relative humidity [-].

    Raises
    ------
    InputError
        Where lengths differ, depths do not rise or a value cannot be.
    """

    depth: tuple[float, ...]
    temperature: tuple[float, ...]
    humidity: tuple[float, ...]

    def __post_init__(self) -> None:
        for key in ("depth", "temperature", "humidity"):
            given = getattr(self, key)
            if isinstance(given, str) or not isinstance(given, Sequence | np.ndarray):
                raise InputError(f"{key} is {shown(given)}; a sequence of numbers is needed", "profile")
            object.__setattr__(self, key, tuple(float(v) for v in given))
        n = len(self.depth)
        if not n or not n == len(self.temperature) == len(self.humidity):
            raise InputError(
                f"{n} depths, {len(self.temperature)} temperatures and {len(self.humidity)} humidities; "
                "as many of each are needed",
                "profile",
            )
        if not np.all(np.isfinite(self.depth)) or np.any(np.diff(self.depth) <= 0.0) or self.depth[0] < 0.0:
            raise InputError("its depths must rise from 0 on", "profile")
        for x, temperature, humidity in zip(self.depth, self.temperature, self.humidity, strict=True):
            check_temperature(temperature, f"profile at {x:g} m")
            check_humidity(humidity, f"profile at {x:g} m")

    @classmethod
    def of(cls, results: Any, time: Any = None) -> Profile:
        """Return the state that a run had at a time, by default at its end.

        Parameters
        ----------
        results : Dataset
            Of `drydown.simulate`.
        time : datetime64 or str, optional
            The nearest that was kept is taken.

        Raises
        ------
        InputError
            If it is no result of a run, or the time lies outside it.
        """
        if not {"temperature", "relative_humidity", "x"} <= set(getattr(results, "variables", ())):
            raise InputError("use what drydown.simulate gives, with temperature and relative_humidity", "profile")
        stamps = results["time"].values
        row = len(stamps) - 1
        if time is not None:
            asked = np.datetime64(time, "ns")
            if not stamps[0] <= asked <= stamps[-1]:
                raise InputError(f"{time} lies outside the run, {stamps[0]} to {stamps[-1]}", "profile")
            row = int(np.argmin(np.abs(stamps - asked)))
        one = results[["temperature", "relative_humidity"]].isel(time=row)
        humidity = np.clip(one["relative_humidity"].values.astype(float), 1e-9, 1.0)
        return cls(tuple(results["x"].values), tuple(one["temperature"].values), tuple(humidity))

    def on(self, x: Array, layer: np.ndarray, edges: Array) -> tuple[Array, Array]:
        """Return temperature [K] and humidity [-] at the centres of cells.

        Parameters
        ----------
        x : array, shape (cell,)
            Centres [m].
        layer : array of int, shape (cell,)
            Layer of each cell; below 0: air between films.
        edges : array, shape (layer + 1,)
            Where the layers begin and end [m].

        Notes
        -----
        Linear between the points that lie in the same layer, held beyond them; where none lies in it, between the
        nearest of all.
        """
        depth, values = np.array(self.depth), (np.array(self.temperature), np.array(self.humidity))
        home = np.clip(np.searchsorted(edges, depth, side="right") - 1, 0, len(edges) - 2)
        out = tuple(np.interp(x, depth, v) for v in values)
        for j in range(len(edges) - 1):
            cells, points = layer == j, home == j
            if points.any() and cells.any():
                for read, v in zip(out, values, strict=True):
                    read[cells] = np.interp(x[cells], depth[points], v[points])
        return out[0], out[1]
