"""Where water goes that a place has no room for: it stands at the ends of the place, and what draws water drinks it.

Such a source is taken as far as the pores of its place have room at the start of a step. Five millimetres of
closed-cell foam are full at once. Were the rest refused, the one cell beside the neighbour would be emptied through its
own half width and filled again, step by step: what the wall takes would hang on the width of a cell and on the length
of a step.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.assembly import Layer
from ..case.load import Site, Source
from ..kernel.layout import EACH, FREE, LAW, LIMITED, OVERFLOW
from ..materials.kinds import kind_of
from .grid import Grid

#: How deep the neighbour takes it up [m]: as a wetting lies by default.
DEPTH = 0.005


class Overflow(NamedTuple):
    """Cells of the neighbours that take what a source has no room for, and what share of each lies within `DEPTH`."""

    source: int  # position among the sources
    moves: bool  # whether water moves in the place of the source
    cells: np.ndarray
    fill: Array


def overflows(sources: Sequence[Source], site: Site, grid: Grid) -> list[Overflow]:
    """Return where sources overflow to; none of a source that is not limited, or has no neighbour that draws water.

    Parameters
    ----------
    sources : sequence of Source
    site : Site
    grid : Grid
        The mesh of the site, with the films.
    """
    found = [(s, _neighbours(source, site, grid)) for s, source in enumerate(sources) if source.limited]
    return [
        Overflow(
            s, _moves(sources[s], site), np.concatenate([c for c, _ in parts]), np.concatenate([f for _, f in parts])
        )
        for s, parts in found
        if parts
    ]


def limits_of(sources: Sequence[Source], over: Sequence[Overflow], events: int) -> np.ndarray:
    """Return how sources, and those that they overflow to after them, are taken: `Forcing.limited`.

    events : how many of the sources, the first, are events, each an amount that is to find room. What goes on, and no
    neighbour drinks the rest of, is taken as the law of what nearly full cells take says.

    In a place in which no water moves every spot takes what it has room for. Were the one that the neighbour dries
    filled with what the others cannot hold, it would be dried the faster the narrower its cell is.
    """
    limited = [(LIMITED if i < events else LAW) if s.limited else FREE for i, s in enumerate(sources)]
    for o in over:
        limited[o.source] = LIMITED if o.moves else EACH
    return np.array([*limited, *(OVERFLOW + o.source for o in over)], dtype=np.int64)


def _neighbours(source: Source, site: Site, grid: Grid) -> list[tuple[np.ndarray, Array]]:
    """Return the cells that lie against the ends of a source's place, layer by layer."""
    layers = site.assembly.layers
    out = []
    for cell, beyond, reaches in zip(_ends(source), (-1, 1), _reaches(source, grid), strict=True):
        other = cell + beyond
        if not reaches or not 0 <= other < len(grid.dx):
            continue
        here, there = int(grid.layer[cell]), int(grid.layer[other])
        # within a layer the flow that the march knows does it; a film keeps them apart
        if here == there or min(here, there) < 0 or grid.film[max(cell, other)] >= 0:
            continue
        if _is_air(layers[here]) or not _draws(layers[there]):
            continue
        out.append(site.spot(layers[there].name, "inner" if beyond < 0 else "outer", DEPTH))
    return out


def _ends(source: Source) -> tuple[int, int]:
    """Return the outermost and the innermost cell of a source."""
    return int(np.min(source.cells)), int(np.max(source.cells))


def _reaches(source: Source, grid: Grid) -> tuple[bool, bool]:
    """Return whether the place reaches the outer face of its outermost cell, and the inner one of its innermost.

    A cell of which a part lies in the place has it where the others are; alone, at the face of the layer.
    """
    if source.fill is None:
        return True, True
    first, last = _ends(source)
    order = np.argsort(source.cells)
    whole = source.fill[order] >= 1.0
    if first != last:
        return bool(whole[0]), bool(whole[-1])
    outermost = first == 0 or grid.layer[first - 1] != grid.layer[first]
    return bool(whole[0] or outermost), bool(whole[0] or not outermost)


def _moves(source: Source, site: Site) -> bool:
    """Whether liquid moves in all of the place of a source."""
    return all(_draws(site.assembly.layers[j]) for j in np.unique(site.layer_of_cell[source.cells]))


def _draws(layer: Layer) -> bool:
    """Whether liquid moves in a layer."""
    return layer.material.liquid is not None or layer.material.diffusivity is not None


def _is_air(layer: Layer) -> bool:
    """Whether a layer is a gap: there water runs down."""
    return kind_of(layer.material.tags, layer.material.name) == "air"
