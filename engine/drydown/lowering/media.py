"""The materials and films of a case without repeats, and their tables."""

from __future__ import annotations

import numpy as np

from ..case.case import Case
from ..materials.model import Film, Material
from .grid import Grid, contact_air, pilot_grid
from .sampling import Sampled, sample


def materials_of(case: Case, grid: Grid) -> tuple[list[Material], np.ndarray]:
    """Return the materials without repeats, and that of each cell."""
    materials: list[Material] = []
    for layer in case.assembly.layers:
        if not any(layer.material is m for m in materials):
            materials.append(layer.material)
    if np.any(grid.layer < 0):
        materials.append(contact_air())
    of_layer = [next(i for i, m in enumerate(materials) if m is layer.material) for layer in case.assembly.layers]
    return materials, np.array([of_layer[j] if j >= 0 else len(materials) - 1 for j in grid.layer], dtype=np.int64)


def films_of(case: Case) -> tuple[list[Film], list[int]]:
    """Return the films without repeats, and which of them each of the assembly is."""
    films: list[Film] = []
    index = []
    for film in case.assembly.films:
        if not any(film is f for f in films):
            films.append(film)
        index.append(next(i for i, f in enumerate(films) if f is film))
    return films, index


def sample_of(case: Case) -> Sampled:
    """Return the tables of the materials and films of a case, which do not hang on the mesh."""
    return sample(materials_of(case, pilot_grid(case.assembly))[0], films_of(case)[0], case.physics)
