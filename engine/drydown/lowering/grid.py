"""Finite volumes of an assembly, graded towards the faces of every layer."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
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
#: The same for the march that finds the mesh (see `pilot`): coarse inside, fine where weather meets a bare surface.
PILOT = Grading(2.5e-4, 1 / 4, 2.5, 0.15)
PILOT_BARE = Grading(3.0e-5, 1 / 240, 1.6, 0.15)
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

    @property
    def faces(self) -> np.ndarray:
        """The two surfaces and the faces between layers, beside the contact air of films too."""
        between = (self.layer[1:] != self.layer[:-1]) | (self.film[1:-1] >= 0)
        found: np.ndarray = np.array([0, *(np.flatnonzero(between) + 1), len(self.dx)], dtype=np.int64)
        return found


@lru_cache(maxsize=512)
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
    dx: Array = np.diff(np.interp(np.linspace(0.0, count[-1], cells + 1), count, x))
    dx.flags.writeable = False  # it is handed out again
    return dx


def grading_of(material: Material, bare: bool = False) -> Grading:
    """Return how a layer of a material is cut; `bare`: outermost, and no film covers it."""
    vapour_alone = material.liquid is None and material.diffusivity is None
    if bare and (not vapour_alone or material.saturation < WATERLESS):
        return EXPOSED
    return OPEN if vapour_alone else CAPILLARY


def make_grid(assembly: Assembly, refine: float = 1.0) -> Grid:
    """Cut an assembly into cells by the gradings alone, where nothing is known of what will happen to it."""
    bare = not isinstance(assembly.parts[0], Film)
    return stacked(
        assembly,
        [
            layer_cells(part.thickness, part.cells, refine, grading_of(part.material, bare=bare and j == 0))
            for j, part in enumerate(assembly.layers)
        ],
    )


def pilot_grid(assembly: Assembly) -> Grid:
    """Cut an assembly into the cells of a pilot; a layer whose cells are given keeps them."""
    bare = not isinstance(assembly.parts[0], Film)
    return stacked(
        assembly,
        [
            layer_cells(part.thickness, part.cells, 1.0, PILOT_BARE if bare and j == 0 else PILOT)
            for j, part in enumerate(assembly.layers)
        ],
    )


def stacked(assembly: Assembly, widths: Sequence[Array]) -> Grid:
    """Return layers of cells of these widths [m] as they stand; two films on each other get a thin layer of air."""
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
        cells = widths[n_layers]
        dx.append(cells)
        layer += [n_layers] * len(cells)
        film += [pending] + [-1] * (len(cells) - 1)
        pending = -1
        n_layers += 1
    film.append(pending)
    joined = np.concatenate(dx)
    return Grid(joined, np.array(layer), np.array(film, dtype=np.int64), np.cumsum(joined) - 0.5 * joined)


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
