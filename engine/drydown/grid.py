"""Finite volumes of an assembly, graded towards the faces of every layer."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .assembly import Assembly
from .materials import Array, Film, Material

#: Width of the air between two sheets that lie on each other [m].
CONTACT_WIDTH = 2.0e-4
FIRST_CELL = 1.0e-3
GROWTH = 1.5
LARGEST_SHARE = 0.1


class Grid(NamedTuple):
    """Cells from outside to inside.

    dx : widths [m]; layer : index of the layer, -1 for the contact air between two films; film : on each of
    the n + 1 faces the index among the assembly's films, -1 for none; x : centres from the outer surface of
    the first layer [m].
    """

    dx: Array
    layer: np.ndarray
    film: np.ndarray
    x: Array

    def cells(self, layer: int) -> np.ndarray:
        """Return the indices of the cells of a layer."""
        return np.flatnonzero(self.layer == layer)


def layer_cells(thickness: float, cells: int | None = None, refine: float = 1.0) -> Array:
    """Return cell widths [m] of one layer, symmetric, smallest at both faces.

    Parameters
    ----------
    thickness : float
        [m]
    cells : int, optional
        How many; by default widths grow by half from 1 mm (or a twelfth of the layer) up to a tenth of it.
    refine : float
        Divides every width of the default.
    """
    first = min(FIRST_CELL, thickness / 12.0)
    largest = max(first, LARGEST_SHARE * thickness)
    if cells is None:
        half, w, total = [], first, 0.0
        while total < 0.5 * thickness:
            half.append(w)
            total += w
            w = min(w * GROWTH, largest)
        widths = np.array(half + half[::-1])
        widths *= thickness / widths.sum()
        if refine == 1.0:
            return widths
        cells = max(1, round(len(widths) * refine))
    return _resample(thickness, cells, first, largest)


def _resample(thickness: float, cells: int, first: float, largest: float) -> Array:
    """Return `cells` widths whose density follows the default grading."""
    # the default grading as a density of cells over depth: cells per metre ~ 1 / width(x)
    x = np.linspace(0.0, thickness, 4001)
    depth = np.minimum(x, thickness - x)
    width = np.minimum(first + depth * (GROWTH - 1.0), largest)
    count = np.concatenate([[0.0], np.cumsum(0.5 * (1 / width[1:] + 1 / width[:-1]) * np.diff(x))])
    faces = np.interp(np.linspace(0.0, count[-1], cells + 1), count, x)
    return np.diff(faces)


def make_grid(assembly: Assembly, refine: float = 1.0) -> Grid:
    """Cut an assembly into cells; two films on each other get a thin layer of air between them."""
    dx: list[Array] = []
    layer: list[int] = []
    film: list[int] = []
    pending = -1
    n_films = 0
    n_layers = 0
    for part in assembly.parts:
        if isinstance(part, Film):
            if pending >= 0:
                dx.append(np.array([CONTACT_WIDTH]))
                layer.append(-1)
                film.append(pending)
            pending = n_films
            n_films += 1
            continue
        widths = layer_cells(part.thickness, part.cells, refine)
        if part.cells is not None and refine != 1.0:
            widths = layer_cells(part.thickness, max(1, round(part.cells * refine)))
        dx.append(widths)
        layer += [n_layers] * len(widths)
        film += [pending] + [-1] * (len(widths) - 1)
        pending = -1
        n_layers += 1
    film.append(pending)
    widths = np.concatenate(dx)
    centre = np.cumsum(widths) - 0.5 * widths
    return Grid(widths, np.array(layer), np.array(film, dtype=np.int64), centre)


def contact_air() -> Material:
    """The air between two sheets that lie on each other; it can hold a film of condensate."""

    def storage(phi: Array) -> Array:
        return 0.02 * phi + 100.0 / (1.0 - 1.0e4 * np.log(phi))

    return Material(
        name="contact air",
        density=1.2,
        heat_capacity=1006.0,
        conductivity=lambda phi: 0.025 + 0.0 * phi,
        storage=storage,
        permeability=lambda phi: 2.0e-10 + 0.0 * phi,
        saturation=100.0,
    )


