"""Finite volumes of an assembly, graded towards the faces of every layer."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.assembly import Assembly
from ..materials.model import Film, Material

#: Width of the air between two sheets that lie on each other [m].
CONTACT_WIDTH = 2.0e-4


class Grading(NamedTuple):
    """How a layer is cut.

    first : width of the cell at both faces [m], or that share `thin` of the layer's thickness where it is less;
    ratio : of the widths of neighbours; widest : widest cell as a share of the thickness.
    """

    first: float
    thin: float
    ratio: float
    widest: float


#: Vapour alone moves: condensate stays where it forms, at a face, and the profile between is smooth.
OPEN = Grading(2.5e-4, 1 / 4, 2.5, 0.15)
#: Liquid moves too: fronts travel through the layer.
CAPILLARY = Grading(2.5e-4, 1 / 4, 2.0, 0.10)
#: The outermost layer, where no film covers it: sun, rain and dew change by the hour and reach a tenth of a millimetre
#: into what draws water, and much less into a sheet of metal.
EXPOSED = Grading(3.0e-5, 1 / 240, 1.4, 0.10)
#: A material that holds less than this with full pores [kg/m3] is metal or glass.
WATERLESS = 10.0


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


def layer_cells(thickness: float, cells: int | None = None, refine: float = 1.0, grading: Grading = CAPILLARY) -> Array:
    """Return cell widths [m] of one layer, outside to inside, smallest at both faces.

    Parameters
    ----------
    thickness : float
        [m]
    cells : int, optional
        How many; by default as many as the grading asks for.
    refine : float
        Factor on the number of cells; a whole number cuts every cell into that many.
    grading : Grading
    """
    first = min(grading.first, thickness * grading.thin)
    slope = np.log(grading.ratio)
    shrink = slope / (grading.ratio - 1.0)  # the width wanted at the face itself, for a first cell of that size
    near = np.concatenate([[0.0], np.geomspace(0.01 * first, thickness, 1000)])
    x = np.unique(np.concatenate([near, thickness - near]))
    width = np.minimum(shrink * first + slope * np.minimum(x, thickness - x), grading.widest * thickness)
    count = np.concatenate([[0.0], np.cumsum(0.5 * (1 / width[1:] + 1 / width[:-1]) * np.diff(x))])
    if cells is None:
        cells = int(np.ceil(count[-1] - 0.05))
    cells = max(1, round(cells * refine))
    return np.diff(np.interp(np.linspace(0.0, count[-1], cells + 1), count, x))


def grading_of(material: Material, bare: bool = False) -> Grading:
    """Return how a layer of a material is cut; `bare`: outermost, and no film covers it."""
    vapour_alone = material.liquid is None and material.diffusivity is None
    if bare and (not vapour_alone or material.saturation < WATERLESS):
        return EXPOSED
    return OPEN if vapour_alone else CAPILLARY


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
        grading = grading_of(part.material, bare=not film and pending < 0)
        widths = layer_cells(part.thickness, part.cells, refine, grading)
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
