"""The places that are judged: a face of a layer, the outer 10 mm of a board, a whole layer; none of them a cell.

None hangs on the mesh. At a face it is the face's own state, which the kernel finds and results hold. Everything else
is a row of weights over the cells: over a depth the mean, with the part of the cell that the depth ends in. In results
that hold no faces (of earlier versions, or where they were not kept) the state of the two cells beside a face is
carried on to it in a straight line; behind a front that is off by up to 2 % of humidity on single days.
"""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..arrays import Array

if TYPE_CHECKING:
    from .finding import Place
    from .reading import Block, Wall

#: Depth over which wood is judged [m]: what a pin or a hand meter reads (EN 13183-2; a German leaflet on wood judges
#: the outer 10 mm of solid timber by daily means; both from memory).
WOOD_DEPTH = 0.010
#: Depth over which the filling of pores is judged for frost [m]: pieces that come off are of that size (assumed).
FROST_DEPTH = 0.010

#: Cells up to which a spot is read from them one by one.
FEW = 4


#: The two faces of a layer.
SIDES = ("outer face", "inner face")


class Spots(NamedTuple):
    """Places that are judged, and how they are read."""

    names: tuple[str, ...]  # of the layers of the wall
    layer: np.ndarray  # [spot] index of its layer
    x: Array  # [spot] m from the outer surface; NaN: a whole layer
    what: tuple[str, ...]  # [spot] "outer face", "inner 10 mm" ...; empty: the spot at x, or the whole layer
    weight: Array  # [spot, cell]
    sheltered: np.ndarray  # [spot] False: it lies in the skin that the weather wets
    interface: np.ndarray  # [spot] the interface that holds its own state, -1: it is read from cells
    side: np.ndarray  # [spot] 0: on the outer side of that, 1: on the inner

    def temperature(self, block: Block) -> Array:
        """Return the temperature at the spots [degC], shape (marks, spots).

        Parameters
        ----------
        block : Block
        """
        own, faces = self.interface, block.face_temperature
        return self._read(block.temperature, None if faces is None else faces[:, own])

    def humidity(self, block: Block | Array) -> Array:
        """Return the relative humidity at the spots, 0 to 1, shape (marks, spots).

        Parameters
        ----------
        block : Block
            The humidity of cells alone, which earlier versions took, is read as that of a result without faces.
        """
        if isinstance(block, np.ndarray):
            warnings.warn("give the block itself, not block.humidity; this way goes in 0.3", DeprecationWarning, 2)
            return np.clip(self.read(block), 0.0, 1.0)
        own, faces = self.interface, block.face_humidity
        read = self._read(block.humidity, None if faces is None else faces[:, own, self.side])
        return np.clip(read, 0.0, 1.0)  # what is carried on to a face may not pass either

    def _read(self, cells: Array, faces: Array | None) -> Array:
        """Return a state of cells at the spots, and that of `faces` at those that are faces."""
        own = self.interface >= 0
        if faces is None or not own.any():
            return self.read(cells)
        if not own.all():
            faces[:, ~own] = self.chosen(~own).read(cells)
        return faces

    def read(self, state: Array) -> Array:
        """Return a state of cells, shape (marks, cells), at the spots, shape (marks, spots).

        Parameters
        ----------
        state : ndarray, shape (marks, cells)
            Such as the water content; temperature and humidity are read by `temperature` and `humidity`.
        """
        cells = np.asarray(state, dtype=float)
        most = int((self.weight != 0.0).sum(axis=1).max(initial=0))
        if most > FEW:
            # not by a library of matrices: for a few spots its threads take longer than the work, and two judge at once
            used = np.flatnonzero(self.weight.any(axis=0))
            part = slice(used[0], used[-1] + 1)
            read: Array = np.einsum("mc,sc->ms", cells[:, part], self.weight[:, part])
            return read
        # a face is read from two cells: the cells one by one cost a tenth of the product with all
        order = np.argsort(self.weight == 0.0, axis=1, kind="stable")[:, :most]
        weight = np.take_along_axis(self.weight, order, axis=1)
        total: Array = np.zeros((len(cells), len(order)))
        for k in range(most):
            total += cells[:, order[:, k]] * weight[:, k]
        return total

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
            self.interface[keep],
            self.side[keep],
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
        *_own(wall, rows),
    )


def _own(wall: Wall, rows: list[tuple[int, float, str, Array]]) -> tuple[np.ndarray, np.ndarray]:
    """Return the interface of every spot that is a face, else -1, and on which side of it the layer lies."""
    interface, side = np.full(len(rows), -1), np.zeros(len(rows), dtype=int)
    for k, (j, _, what, _) in enumerate(rows):
        if what in SIDES:
            interface[k] = wall.interface[j, SIDES.index(what)]
            side[k] = 1 - SIDES.index(what)  # the outer face of a layer is on the inner side of the interface
    return interface, side


def faces(wall: Wall) -> Spots:
    """Return both faces of every layer."""
    rows = []
    for j, cells, outer, inner in _spans(wall):
        for side, order in zip(SIDES, (cells, cells[::-1]), strict=True):
            weight = np.zeros(len(wall.width))
            first = order[0]
            weight[first] = 1.0
            if len(order) > 1:
                near, far = wall.width[order[0]], wall.width[order[1]]
                beyond = near / (near + far)  # half the first cell over the distance of the two centres
                weight[first], weight[order[1]] = 1.0 + beyond, -beyond
            rows.append((j, outer if side == SIDES[0] else inner, side, weight))
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
    rest = (np.concatenate(pair)[order] for pair in zip(one[4:], other[4:], strict=True))
    return Spots(one.names, layer[order], x[order], tuple(what[i] for i in order), *rest)


def cells(wall: Wall) -> Spots:
    """Return the cells of the wall, for a tracker that judges cells."""
    return Spots(
        (*wall.names, "contact air"),
        np.where(wall.layer >= 0, wall.layer, len(wall.names)),
        wall.x,
        ("",) * len(wall.x),
        np.eye(len(wall.x)),
        ~wall.skin,
        np.full(len(wall.x), -1),
        np.zeros(len(wall.x), dtype=int),
    )


def _mean(wall: Wall, cells: np.ndarray, a: float, b: float) -> Array:
    """Return the weights of the mean from a to b [m]."""
    edge = np.concatenate([[0.0], np.cumsum(wall.width)])
    weight = np.zeros(len(wall.width))
    weight[cells] = np.maximum(np.minimum(edge[cells + 1], b) - np.maximum(edge[cells], a), 0.0)
    mean: Array = weight / weight.sum()
    return mean
