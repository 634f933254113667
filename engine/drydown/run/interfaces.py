"""The interfaces of a result: the two surfaces and the inner face of every layer; where they lie, and their states."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from ..arrays import Array
from ..kernel.layout import FACE_INNER, FACE_OUTER, FACE_T
from ..lowering.lowered import Problem


def watched(problem: Problem) -> np.ndarray:
    """Return the faces of the interfaces of a result: the two surfaces and the inner face of every layer."""
    n = len(problem.grid.dx)
    inner = [int(problem.grid.cells(j)[-1]) + 1 for j in range(len(problem.case.assembly.layers))]
    return np.array([0, *(face for face in inner if face < n), n])


class Sides(NamedTuple):
    """Faces of the interfaces of a result, on both their sides: they differ where contact air lies between films."""

    outer: np.ndarray  # [interface] face of the layer on the outer side
    inner: np.ndarray  # [interface] face of the layer on the inner side


def sides(problem: Problem) -> Sides:
    """Return the faces of the interfaces of a result, among those between cells."""
    layer, outer = problem.grid.layer, watched(problem)
    inner = outer.copy()
    for k, face in enumerate(outer):
        layers = np.flatnonzero(layer[face:] >= 0)
        if len(layers):
            inner[k] = face + int(layers[0])
    return Sides(outer, inner)


def interface_labels(problem: Problem) -> dict[str, Any]:
    """Return where the interfaces lie, what lies on both their sides, and the films there."""
    grid, (outer, inner) = problem.grid, sides(problem)
    names = [layer.name for layer in problem.case.assembly.layers]
    films = [film.name for film in problem.case.assembly.films]
    edges = np.concatenate([[0.0], np.cumsum(grid.dx)])
    place = [names[j] if j >= 0 else "contact air" for j in grid.layer]
    between = [[films[i] for i in grid.film[a : b + 1] if i >= 0] for a, b in zip(outer, inner, strict=True)]
    return {
        "x_of_interface": (
            "interface",
            edges[outer],
            {"units": "m", "long_name": "distance of the face from the outer surface"},
        ),
        "layer_outside_of_interface": ("interface", [place[a - 1] if a > 0 else "" for a in outer]),
        "layer_inside_of_interface": ("interface", [place[b] if b < len(place) else "" for b in inner]),
        "film_of_interface": ("interface", [", ".join(f) for f in between]),
    }


class States(NamedTuple):
    """States of the interfaces, shape (marks, interface)."""

    temperature: Array  # K
    outer_side: Array  # relative humidity on the outer side
    inner_side: Array


class Reader:
    """Reads the states of the interfaces from what a march records of the faces of a wall.

    Parameters
    ----------
    problem : Problem
    """

    def __init__(self, problem: Problem) -> None:
        self.outer, self.inner = (np.searchsorted(problem.wall.faces, side) for side in sides(problem))

    def of(self, faces: Array) -> States:
        """Return the states; the temperature is the mean of both sides where contact air lies between films.

        Parameters
        ----------
        faces : ndarray, shape (marks, face, FACE_STATES)
            As in `Record`.
        """
        outer, inner = faces[:, self.outer], faces[:, self.inner]
        return States(0.5 * (outer[..., FACE_T] + inner[..., FACE_T]), outer[..., FACE_OUTER], inner[..., FACE_INNER])
