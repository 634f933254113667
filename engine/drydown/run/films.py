"""The permeance that a film has at a mark, read between the states beside it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from ..arrays import Array
from ..kernel.layout import P_AIR, T_AIR
from ..lowering.lowered import Problem
from ..materials.model import Film

#: Points of humidity at which a permeance is read once.
POINTS = 1025


class _Read(NamedTuple):
    """A permeance on a grid of humidity, and its integral from 0."""

    value: Array
    integral: Array


def _read(curve: Callable[[Any], Any], phi: Array) -> _Read:
    value = np.asarray(curve(phi), dtype=float)
    steps = 0.5 * (value[1:] + value[:-1]) * np.diff(phi)
    return _Read(value, np.concatenate([[0.0], np.cumsum(steps)]))


class Films:
    """Reads the permeance of every film of a problem.

    Parameters
    ----------
    problem : Problem
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.phi = np.linspace(0.0, 1.0, POINTS)
        at = np.clip(self.phi, 1e-6, 1.0 - 1e-9)
        self.films: tuple[Film, ...] = problem.case.assembly.films
        self.ways = [(_read(f.permeance, at), _read(f.permeance_outward or f.permeance, at)) for f in self.films]
        self.faces = [int(np.flatnonzero(problem.grid.film == i)[0]) for i in range(len(self.films))]

    def permeance(self, humidity: Array, temperature: Array, marks: np.ndarray) -> Array:
        """Return the permeance of each film [kg/(m2 s Pa)], shape (marks, films).

        Parameters
        ----------
        humidity, temperature : array, shape (marks, cell)
        marks : array of int
            Rows of the forcing.
        """
        out = np.empty((len(marks), len(self.films)))
        for i, face in enumerate(self.faces):
            sides = [self._beside(j, humidity, temperature, marks) for j in (face - 1, face)]
            (phi_a, t_a, p_a), (phi_b, t_b, p_b) = sides
            inward, outward = (self._between(way, phi_a, phi_b) for way in self.ways[i])
            law = self.films[i].permeance_temperature
            factor = 1.0 if law is None else np.asarray(law(0.5 * (t_a + t_b)), dtype=float)
            out[:, i] = factor * np.where(p_a >= p_b, inward, outward)
        return out

    def _beside(self, cell: int, humidity: Array, temperature: Array, marks: np.ndarray) -> tuple[Array, Array, Array]:
        """Return humidity, temperature and vapour pressure of a cell, or of the air beyond the first and the last."""
        saturation = self.problem.case.physics.saturation_pressure
        if 0 <= cell < humidity.shape[1]:
            phi, t = humidity[:, cell], temperature[:, cell]
            return phi, t, phi * saturation(t)
        air = (self.problem.forcing.outside if cell < 0 else self.problem.forcing.inside)[marks]
        return air[:, P_AIR] / saturation(air[:, T_AIR]), air[:, T_AIR], air[:, P_AIR]

    def _between(self, way: _Read, a: Array, b: Array) -> Array:
        """Return the permeance between two humidities, as the case reads it."""
        a, b = np.clip(a, 0.0, 1.0), np.clip(b, 0.0, 1.0)
        middle: Array = np.interp(0.5 * (a + b), self.phi, way.value)
        if self.problem.wall.film_mean:
            return middle
        apart = np.abs(b - a) > 1e-3
        over = np.interp(b, self.phi, way.integral) - np.interp(a, self.phi, way.integral)
        return np.where(apart, over / np.where(apart, b - a, 1.0), middle)
