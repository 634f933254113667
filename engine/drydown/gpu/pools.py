"""What walls share is kept once: rows of forcing, materials, films, laws of temperature."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import blake2b
from typing import Any

import numpy as np

from ..kernel.layout import LAWS, Tables, Wall
from ..lowering.lowered import Problem

Array = np.ndarray


class Rows:
    """Blocks of rows one after the other; equal blocks stand once.

    Parameters
    ----------
    width : int, optional
        Columns; narrower blocks are filled with zeros. None: rows of one number.
    dtype : type
    """

    def __init__(self, width: int | None, dtype: Any = float) -> None:
        self.width, self.dtype = width, dtype
        self.blocks: list[Array] = []
        self.length = 0
        self._known: dict[bytes, int] = {}
        self._seen: dict[int, tuple[Array, int]] = {}

    def add(self, block: Array, lasting: bool = False) -> int:
        """Return the row at which a block begins.

        Parameters
        ----------
        block : array, shape (rows,) or (rows, columns)
        lasting : bool
            Whether it is a problem's own, so that it is known again by being the same object.
        """
        if (seen := self._seen.get(id(block))) is not None:
            return seen[1]
        given = block
        block = np.ascontiguousarray(block, dtype=self.dtype)
        key = blake2b(block.data, digest_size=16).digest() + str(block.shape).encode()
        if key not in self._known:
            self._known[key] = self.length
            if self.width and block.shape[1] < self.width:
                wide = np.zeros((len(block), self.width), dtype=self.dtype)
                wide[:, : block.shape[1]] = block
                block = wide
            self.blocks.append(block)
            self.length += len(block)
        if lasting:
            self._seen[id(given)] = (given, self._known[key])
        return self._known[key]

    def array(self) -> Array:
        """Return all rows."""
        if not self.blocks:
            shape = (1,) if self.width is None else (1, self.width)
            return np.zeros(shape, dtype=self.dtype)
        return np.concatenate(self.blocks)


class Media:
    """Materials, films and laws of temperature of all walls, with the constants that they have in common."""

    def __init__(self, first: Problem) -> None:
        self.wall, self.tables = first.wall, first.sampled.tables
        self._laws: list[Array] = [self.tables.air[:, i] for i in range(LAWS)]
        self._law_of: dict[bytes, int] = {}
        self._materials: list[tuple[Any, ...]] = []
        self._tables: list[Array] = []
        self._films: list[Array] = []
        self._film_laws: list[int] = []
        self._known: dict[bytes, int] = {}
        self._of: dict[tuple[Any, ...], tuple[Any, Array, Array]] = {}

    def _law(self, tables: Tables, column: int) -> int:
        if column < LAWS:
            return column
        values = np.ascontiguousarray(tables.air[:, column])
        key = values.tobytes()
        if key not in self._law_of:
            self._law_of[key] = len(self._laws)
            self._laws.append(values)
        return self._law_of[key]

    def add(self, problem: Problem) -> tuple[Array, Array]:
        """Return the number here of each material and of each film of a problem.

        Parameters
        ----------
        problem : Problem
        """
        w, t = problem.wall, problem.sampled.tables
        own = tuple(getattr(w, name).tobytes() for name in ("heat", "slope", "frozen", "freeze"))
        key = (id(t), *own)
        if key not in self._of:
            materials = np.array([self._material(w, t, m) for m in range(len(w.heat))], dtype=np.int32)
            films = np.array([self._film(w, t, f) for f in range(len(t.film) // t.film_count)], dtype=np.int32)
            self._of[key] = (t, materials, films)
        return self._of[key][1:]

    def _material(self, w: Wall, t: Tables, m: int) -> int:
        table = t.material[t.offset[m] : t.offset[m] + t.count[m]]
        conductivity = int(w.conductivity_factor[m])
        numbers = (
            w.heat[m], w.kappa[m], w.temperature_power[m], w.kappa_v[m], self._law(t, int(w.temperature_factor[m])),
            w.slope[m], self._law(t, conductivity) if conductivity >= 0 else -1, w.liquid[m], w.freeze[m],
            w.resolve[m], w.frozen[m],
        )  # fmt: skip
        key = blake2b(np.ascontiguousarray(table).data, digest_size=16).digest() + repr(numbers).encode()
        if key not in self._known:
            self._known[key] = len(self._materials)
            self._materials.append(numbers)
            self._tables.append(table)
        return self._known[key]

    def _film(self, w: Wall, t: Tables, f: int) -> int:
        table = np.ascontiguousarray(t.film[f * t.film_count : (f + 1) * t.film_count])
        law = self._law(t, int(w.film_temperature_factor[f]))
        key = b"film" + blake2b(table.data, digest_size=16).digest() + str(law).encode()
        if key not in self._known:
            self._known[key] = len(self._films)
            self._films.append(table)
            self._film_laws.append(law)
        return self._known[key]

    def packed(self) -> tuple[Wall, Tables]:
        """Return constants and tables of all; what belongs to one wall alone is empty."""
        columns: Sequence[Any] = list(zip(*self._materials, strict=True))
        heat, kappa, power, kappa_v, factor, slope, conductivity, liquid, freeze, resolve, frozen = columns
        nothing = np.zeros(0, dtype=np.int64)
        count = np.array([len(x) for x in self._tables], dtype=np.int64)
        wall = self.wall._replace(
            dx=np.zeros(0), material=nothing, film=nothing, watch=nothing, faces=nothing, kind_out=0, kind_in=0,
            heat=np.array(heat), kappa=np.array(kappa), temperature_power=np.array(power), kappa_v=np.array(kappa_v),
            temperature_factor=np.array(factor, dtype=np.int64), slope=np.array(slope),
            conductivity_factor=np.array(conductivity, dtype=np.int64), liquid=np.array(liquid, dtype=np.int64),
            freeze=np.array(freeze, dtype=np.int64), resolve=np.array(resolve, dtype=np.int64),
            frozen=np.array(frozen), film_temperature_factor=np.array(self._film_laws or [0], dtype=np.int64),
        )  # fmt: skip
        film = np.concatenate(self._films) if self._films else np.zeros((1, *self.tables.film.shape[1:]))
        tables = self.tables._replace(
            material=np.ascontiguousarray(np.concatenate(self._tables)),
            offset=np.concatenate([[0], np.cumsum(count)[:-1]]).astype(np.int64),
            count=count,
            film=np.ascontiguousarray(film),
            air=np.ascontiguousarray(np.stack(self._laws, axis=1)),
        )
        return wall, tables


def alike(problem: Problem) -> bytes:
    """Return what problems must have in common to be marched in one launch."""
    h = blake2b(digest_size=16)
    numbers, arrays = _in_common(problem)
    h.update(repr(numbers).encode())
    for array in arrays:
        h.update(np.ascontiguousarray(array).data)
    return h.digest()


def are_alike(a: Problem, b: Problem) -> bool:
    """Return whether two problems can be marched in one launch, sooner than `alike` of both."""
    (here, mine), (there, theirs) = _in_common(a), _in_common(b)
    return here == there and all(x is y or np.array_equal(x, y) for x, y in zip(mine, theirs, strict=True))


def _in_common(problem: Problem) -> tuple[tuple[Any, ...], tuple[Array, Array]]:
    """Return numbers and arrays that problems of one launch share."""
    w, t, f = problem.wall, problem.sampled.tables, problem.forcing
    constants = (w.film_mean, w.latent, w.c_vapour, w.c_water, w.r_vapour, w.t_ref, w.melting, w.fusion, w.c_ice)
    ranges = (t.z0, t.z1, t.film_count, t.t0, t.t1, t.overfull, t.air.shape[0], t.phi.shape)
    air = (f.loads.ratio, f.loads.c_air, f.loads.density)
    return (constants, ranges, air), (t.phi, t.air[:, :LAWS])
