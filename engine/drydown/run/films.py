"""The permeance that a film has at a mark, read between the humidities of its two sides."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from ..arrays import Array
from ..kernel.layout import FACE_INNER, FACE_OUTER, FACE_T
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
        rows = [int(np.flatnonzero(problem.grid.film == i)[0]) for i in range(len(self.films))]
        self.faces = np.searchsorted(problem.wall.faces, rows)

    def permeance(self, faces: Array) -> Array:
        """Return the permeance of each film [kg/(m2 s Pa)], shape (marks, films).

        Parameters
        ----------
        faces : array, shape (marks, face, FACE_STATES)
            States of the faces of the wall, as a march records them.
        """
        out = np.empty((len(faces), len(self.films)))
        for i, face in enumerate(self.faces):
            outer, inner, t = (faces[:, face, column] for column in (FACE_OUTER, FACE_INNER, FACE_T))
            inward, outward = (self._between(way, outer, inner) for way in self.ways[i])
            law = self.films[i].permeance_temperature
            factor = 1.0 if law is None else np.asarray(law(t), dtype=float)
            out[:, i] = factor * np.where(outer >= inner, inward, outward)
        return out

    def _between(self, way: _Read, a: Array, b: Array) -> Array:
        """Return the permeance between two humidities, as the case reads it."""
        middle: Array = np.interp(0.5 * (a + b), self.phi, way.value)
        if self.problem.wall.film_mean:
            return middle
        apart = np.abs(b - a) > 1e-3
        over = np.interp(b, self.phi, way.integral) - np.interp(a, self.phi, way.integral)
        return np.where(apart, over / np.where(apart, b - a, 1.0), middle)
