"""The places that are judged: a face of a layer, the outer 10 mm of a board, a whole layer; none of them a cell.

Each is a row of weights over the cells, so that what is judged does not hang on the mesh. At a face the state of the
two cells beside it is carried on in a straight line, up to the face itself (second order in the cell width): within
0.02 % of humidity, root mean square, of the state that the kernel finds there
(`tests/verification/test_faces_judged.py`), so that results need not hold it. Over a depth it is the mean, with the
part of the cell that the depth ends in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..arrays import Array

if TYPE_CHECKING:
    from .finding import Place
    from .reading import Wall

#: Depth over which wood is judged [m]: what a pin or a hand meter reads (EN 13183-2; a German leaflet on wood judges
#: the outer 10 mm of solid timber by daily means; both from memory).
WOOD_DEPTH = 0.010
#: Depth over which the filling of pores is judged for frost [m]: pieces that come off are of that size (assumed).
FROST_DEPTH = 0.010

#: Cells up to which a spot is read from them one by one.
FEW = 4


class Spots(NamedTuple):
    """Places that are judged, and how they are read from cells."""

    names: tuple[str, ...]  # of the layers of the wall
    layer: np.ndarray  # [spot] index of its layer
    x: Array  # [spot] m from the outer surface; NaN: a whole layer
    what: tuple[str, ...]  # [spot] "outer face", "inner 10 mm" ...; empty: the spot at x, or the whole layer
    weight: Array  # [spot, cell]
    sheltered: np.ndarray  # [spot] False: it lies in the skin that the weather wets

    def read(self, state: Array) -> Array:
        """Return a state of cells, shape (marks, cells), at the spots, shape (marks, spots)."""
        cells = np.asarray(state, dtype=float)
        most = int((self.weight != 0.0).sum(axis=1).max(initial=0))
        if most > FEW:
            read: Array = cells @ self.weight.T
            return read
        # a face is read from two cells: the cells one by one cost a tenth of the product with all
        order = np.argsort(self.weight == 0.0, axis=1, kind="stable")[:, :most]
        weight = np.take_along_axis(self.weight, order, axis=1)
        total: Array = np.zeros((len(cells), len(order)))
        for k in range(most):
            total += cells[:, order[:, k]] * weight[:, k]
        return total

    def humidity(self, state: Array) -> Array:
        """Return relative humidity at the spots, 0 to 1: carried on to a face it may not pass either."""
        return np.clip(self.read(state), 0.0, 1.0)

    def of(self, values: np.ndarray) -> np.ndarray:
        """Return a property of layers, shape (layers,), at the spots."""
        found: np.ndarray = np.asarray(values)[self.layer]
        return found

    def chosen(self, which: np.ndarray) -> Spots:
        """Return some of the spots."""
        keep = np.flatnonzero(which)
        return Spots(
            self.names,
            self.layer[keep],
            self.x[keep],
            tuple(self.what[i] for i in keep),
            self.weight[keep],
            self.sheltered[keep],
        )

    def place(self, i: int) -> Place:
        """Return where a spot is."""
        from .finding import Place

        return Place(self.names[self.layer[i]], float(self.x[i]), self.what[i])


def _spans(wall: Wall, every: bool = False) -> list[tuple[int, np.ndarray, float, float]]:
    """Return index, cells, outer and inner edge [m] of every layer that has cells and is judged, or of `every` one."""
    edge = np.concatenate([[0.0], np.cumsum(wall.width)])
    out = []
    for j in range(len(wall.names)):
        cells = np.flatnonzero(wall.layer == j)
        if len(cells) and (every or wall.asked[j]):
            out.append((j, cells, float(edge[cells[0]]), float(edge[cells[-1] + 1])))
    return out


def _made(wall: Wall, rows: list[tuple[int, float, str, Array]]) -> Spots:
    weight = np.array([r[3] for r in rows]) if rows else np.zeros((0, len(wall.width)))
    # a spot is in the weather if more than a tenth of what it reads is
    wet = (np.abs(weight) * wall.skin).sum(axis=1) > 0.1 * np.abs(weight).sum(axis=1)
    return Spots(
        wall.names,
        np.array([r[0] for r in rows], dtype=int),
        np.array([r[1] for r in rows], dtype=float),
        tuple(r[2] for r in rows),
        weight,
        ~wet,
    )


def faces(wall: Wall) -> Spots:
    """Return both faces of every layer."""
    rows = []
    for j, cells, outer, inner in _spans(wall):
        for side, order in (("outer face", cells), ("inner face", cells[::-1])):
            weight = np.zeros(len(wall.width))
            first = order[0]
            weight[first] = 1.0
            if len(order) > 1:
                near, far = wall.width[order[0]], wall.width[order[1]]
                beyond = near / (near + far)  # half the first cell over the distance of the two centres
                weight[first], weight[order[1]] = 1.0 + beyond, -beyond
            rows.append((j, outer if side == "outer face" else inner, side, weight))
    return _made(wall, rows)


def inside(wall: Wall) -> Spots:
    """Return the middle of every layer of insulation, whose fibres are surface all through: its four quarters."""
    rows = []
    for j, cells, outer, inner in _spans(wall):
        if wall.kinds[j] == "insulation":
            for k in range(4):
                a, b = outer + 0.25 * k * (inner - outer), outer + 0.25 * (k + 1) * (inner - outer)
                rows.append((j, 0.5 * (a + b), "", _mean(wall, cells, a, b)))
    return _made(wall, rows)


def depths(wall: Wall, depth: float) -> Spots:
    """Return the outer and inner part of every layer down to a depth [m], or the whole of a thinner layer."""
    rows = []
    words = f"{1e3 * depth:.0f} mm"
    for j, cells, outer, inner in _spans(wall):
        if inner - outer <= 1.05 * depth:
            rows.append((j, 0.5 * (outer + inner), "whole thickness", _mean(wall, cells, outer, inner)))
            continue
        for side, a, b in (("outer", outer, outer + depth), ("inner", inner - depth, inner)):
            rows.append((j, outer if side == "outer" else inner, f"{side} {words}", _mean(wall, cells, a, b)))
    return _made(wall, rows)


def slices(wall: Wall, depth: float) -> Spots:
    """Return every layer cut into slices of about a depth [m]."""
    rows = []
    for j, cells, outer, inner in _spans(wall):
        n = max(1, round((inner - outer) / depth))
        for k in range(n):
            a, b = outer + k * (inner - outer) / n, outer + (k + 1) * (inner - outer) / n
            rows.append((j, 0.5 * (a + b), "", _mean(wall, cells, a, b)))
    return _made(wall, rows)


def wholes(wall: Wall) -> Spots:
    """Return every layer as a whole."""
    return _made(
        wall, [(j, float("nan"), "", _mean(wall, cells, outer, inner)) for j, cells, outer, inner in _spans(wall, True)]
    )


def both(one: Spots, other: Spots) -> Spots:
    """Return the spots of two together, from outside to inside."""
    layer, x = np.concatenate([one.layer, other.layer]), np.concatenate([one.x, other.x])
    order = np.lexsort((x, layer))
    what = (*one.what, *other.what)
    weight, sheltered = np.concatenate([one.weight, other.weight]), np.concatenate([one.sheltered, other.sheltered])
    return Spots(one.names, layer[order], x[order], tuple(what[i] for i in order), weight[order], sheltered[order])


def cells(wall: Wall) -> Spots:
    """Return the cells of the wall, for a tracker that judges cells."""
    return Spots(
        (*wall.names, "contact air"),
        np.where(wall.layer >= 0, wall.layer, len(wall.names)),
        wall.x,
        ("",) * len(wall.x),
        np.eye(len(wall.x)),
        ~wall.skin,
    )


def _mean(wall: Wall, cells: np.ndarray, a: float, b: float) -> Array:
    """Return the weights of the mean from a to b [m]."""
    edge = np.concatenate([[0.0], np.cumsum(wall.width)])
    weight = np.zeros(len(wall.width))
    weight[cells] = np.maximum(np.minimum(edge[cells + 1], b) - np.maximum(edge[cells], a), 0.0)
    mean: Array = weight / weight.sum()
    return mean
