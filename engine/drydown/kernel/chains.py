"""Elimination from both surfaces toward the middle, a cell of either side at once.

The two chains do the same to other numbers, and no compiler sees it; here they are the two halves of a pair. A chain
waits for its divisions, and what is worked out beside them costs nothing: so the diagonal blocks are made here too.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from llvmlite import ir
from numba import config, types
from numba.core import cgutils
from numba.extending import intrinsic

from . import columns as at

_DOUBLE, _INT = ir.DoubleType(), ir.IntType(64)
_PAIR = ir.VectorType(_DOUBLE, 2)
#: A fused multiply-add rounds once (see `jit`).
_FLAGS = ("contract",)
#: Nothing is compiled: Python runs the functions themselves, as where a processor plays a GPU.
_UNCOMPILED = bool(config.DISABLE_JIT)  # type: ignore[attr-defined]
#: What a face lets pass by the state on its left and on its right, what a cell holds by its own, what it misses, what
#: loads bring by its state; inverses of diagonal blocks, what is kept of an eliminated cell.
_LEFT, _RIGHT = (at.G_UL, at.G_TL, at.Q_UL, at.Q_TL), (at.G_UR, at.G_TR, at.Q_UR, at.Q_TR)
_HELD, _MISSING = (at.WATER_U, at.WATER_T, at.HEAT_U, at.HEAT_T), (at.R_W, at.R_H)
_GAINED = (at.GAIN_W_U, at.GAIN_W_T, at.GAIN_H_U, at.GAIN_H_T)
_INVERSE = (at.D_UU, at.D_UT, at.D_TU, at.D_TT)
_KEPT = (at.E_UU, at.E_UT, at.E_TU, at.E_TT, at.F_U, at.F_T)


class _Pairs:
    """Arithmetic on pairs of numbers, which stand in the rows of two cells."""

    def __init__(self, b: Any, numbers: Any) -> None:
        self.b, self.numbers = b, numbers

    def pair(self, x: Any, y: Any) -> Any:
        b, none = self.b, ir.Constant(_PAIR, ir.Undefined)
        first, second = (ir.Constant(ir.IntType(32), k) for k in (0, 1))
        return b.insert_element(b.insert_element(none, x, first), y, second)

    def _place(self, o: Any, column: int) -> Any:
        return self.b.gep(self.b.gep(self.numbers, [o]), [ir.Constant(_INT, column)])

    def load(self, o: Any, column: int, p: Any, other: int) -> Any:
        return self.pair(self.b.load(self._place(o, column), align=8), self.b.load(self._place(p, other), align=8))

    def store(self, x: Any, o: Any, p: Any, column: int) -> None:
        for k, place in enumerate((o, p)):
            one = self.b.extract_element(x, ir.Constant(ir.IntType(32), k))
            self.b.store(one, self._place(place, column), align=8)

    def times(self, x: Any, y: Any) -> Any:
        return self.b.fmul(x, y, flags=_FLAGS)

    def less(self, x: Any, *products: tuple[Any, Any]) -> Any:
        for y, z in products:
            x = self.b.fsub(x, self.times(y, z), flags=_FLAGS)
        return x

    def offset(self, i: Any) -> Any:
        b = self.b
        return b.add(b.mul(b.udiv(i, ir.Constant(_INT, at.BLOCK)), ir.Constant(_INT, at.SIZE - at.BLOCK)), i)


def _pairs(moving: bool) -> Any:
    """Return what eliminates `count` cells from either surface (see `elimination.factor`).

    moving : whether loads or sources bring a cell more or less by its state.
    """

    def typed(_, rows, _n, _count, _a, _keep):
        def written(context: Any, b: Any, signature: Any, args: Any) -> Any:
            n, count, a, keep = args[1:]
            v = _Pairs(b, context.make_array(signature.args[0])(context, b, args[0]).data)
            first, one = ir.Constant(_INT, 0), ir.Constant(_INT, 1)
            minus = b.fneg(a)
            into, out, whole = v.pair(minus, a), v.pair(a, minus), v.pair(a, a)
            sides = list(zip(_LEFT, _RIGHT, strict=True))
            # by the state beyond the face that a chain comes through, and by that of the cell
            beyond = [v.load(first, x, v.offset(n), y) for x, y in sides]
            behind = [v.load(first, y, v.offset(n), x) for x, y in sides]
            nothing = [ir.Constant(_PAIR, [0.0, 0.0])] * len(_KEPT)
            carried = [cgutils.alloca_once_value(b, x) for x in (*beyond, *behind, *nothing)]
            with cgutils.for_range(b, count) as loop:
                k = loop.index
                other = b.sub(b.sub(n, one), k)
                o, p, after = v.offset(k), v.offset(other), v.offset(b.add(k, one))
                now = [b.load(x) for x in carried]
                beyond, behind, e = now[:4], now[4:8], now[8:]
                c = [v.times(into, x) for x in beyond]
                ahead = [v.load(after, x, p, y) for x, y in sides]
                next_beyond, next_behind = ahead, [v.load(after, y, p, x) for x, y in sides]
                f = [v.times(out, x) for x in next_behind]
                d = [
                    v.less(v.less(v.load(o, held, p, held), (out, x)), (into, y))
                    for held, x, y in zip(_HELD, behind, ahead, strict=True)
                ]
                if moving:
                    d = [v.less(x, (whole, v.load(o, g, p, g))) for x, g in zip(d, _GAINED, strict=True)]
                w, h = (v.load(o, x, p, x) for x in _MISSING)
                uu, ut, tu, tt = d
                uu, ut, w = (v.less(x, (c[0], e[i]), (c[1], e[j])) for x, i, j in ((uu, 0, 2), (ut, 1, 3), (w, 4, 5)))
                tu, tt, h = (v.less(x, (c[2], e[i]), (c[3], e[j])) for x, i, j in ((tu, 0, 2), (tt, 1, 3), (h, 4, 5)))
                inv = b.fdiv(ir.Constant(_PAIR, [1.0, 1.0]), v.less(v.times(uu, tt), (ut, tu)), flags=_FLAGS)
                done = [
                    v.times(inv, v.less(v.times(x, y), (z, s)))
                    for x, y, z, s in (
                        (tt, f[0], ut, f[2]), (tt, f[1], ut, f[3]), (uu, f[2], tu, f[0]), (uu, f[3], tu, f[1]),
                        (tt, w, ut, h), (uu, h, tu, w),
                    )
                ]  # fmt: skip
                for x, y in zip((*next_beyond, *next_behind, *done), carried, strict=True):
                    b.store(x, y)
                for x, column in zip(done, _KEPT, strict=True):
                    v.store(x, o, p, column)
                with b.if_then(keep):
                    for x, column in zip((tt, b.fneg(ut), b.fneg(tu), uu), _INVERSE, strict=True):
                        v.store(v.times(inv, x), o, p, column)
            return context.get_dummy_value()

        return types.void(rows, types.int64, types.int64, types.float64, types.boolean), written

    return typed


def _back(_, rows, _n, _count, du, dt):
    """Write the solution of the `count` cells next to either surface; that of the cells before them is known."""

    def written(context: Any, b: Any, signature: Any, args: Any) -> Any:
        numbers, *into = (context.make_array(signature.args[k])(context, b, args[k]).data for k in (0, 3, 4))
        n, count = args[1:3]
        v = _Pairs(b, numbers)
        one = ir.Constant(_INT, 1)
        inner = b.sub(n, count)
        before = [v.pair(b.load(b.gep(x, [count])), b.load(b.gep(x, [b.sub(inner, one)]))) for x in into]
        carried = [cgutils.alloca_once_value(b, x) for x in before]
        with cgutils.for_range(b, count) as loop:
            places = b.sub(b.sub(count, one), loop.index), b.add(inner, loop.index)
            o, p = (v.offset(i) for i in places)
            uu, ut, tu, tt, w, h = (v.load(o, x, p, x) for x in _KEPT)
            u, t = (b.load(x) for x in carried)
            for found, to, all_of_it in zip(
                (v.less(w, (uu, u), (ut, t)), v.less(h, (tu, u), (tt, t))), carried, into, strict=True
            ):
                b.store(found, to)
                for lane, place in enumerate(places):
                    b.store(b.extract_element(found, ir.Constant(ir.IntType(32), lane)), b.gep(all_of_it, [place]))
        return context.get_dummy_value()

    return types.void(rows, types.int64, types.int64, du, dt), written


#: As Python runs it.
_offset = getattr(at.offset, "py_func", at.offset)


def _block(rows, o, columns):
    return np.array([[rows[o + columns[0]], rows[o + columns[1]]], [rows[o + columns[2]], rows[o + columns[3]]]])


def one_by_one(moving: bool) -> Any:
    """Return the same as Python runs it, one chain after the other."""

    def both(rows, n, count, a, keep):
        for cells in (range(count), range(n - 1, n - 1 - count, -1)):
            e = np.zeros((2, 3))
            for i in cells:
                o, right = _offset(i), _offset(i + 1)
                beside = -a * _block(rows, o, _LEFT), a * _block(rows, right, _RIGHT)
                toward, away = beside if cells.step > 0 else beside[::-1]
                own = _block(rows, o, _HELD) - a * (_block(rows, o, _RIGHT) - _block(rows, right, _LEFT))
                if moving:
                    own -= a * _block(rows, o, _GAINED)
                own -= toward @ e[:, :2]
                missing = np.array([rows[o + k] for k in _MISSING]) - toward @ e[:, 2]
                (uu, ut), (tu, tt) = own
                inverse = np.array([[tt, -ut], [-tu, uu]]) / (uu * tt - ut * tu)
                e = np.column_stack((inverse @ away, inverse @ missing))
                for column, x in zip(_KEPT, (*e[0, :2], *e[1, :2], *e[:, 2]), strict=True):
                    rows[o + column] = x
                if keep:
                    for column, x in zip(_INVERSE, inverse.ravel(), strict=True):
                        rows[o + column] = x

    return both


def back_one_by_one(rows, n, count, du, dt):
    """Write the solution of the `count` cells next to either surface, as Python runs it."""
    for cells, step in ((range(count - 1, -1, -1), 1), (range(n - count, n), -1)):
        for i in cells:
            o = _offset(i)
            u, t = du[i + step], dt[i + step]
            du[i], dt[i] = np.array([rows[o + at.F_U], rows[o + at.F_T]]) - _block(rows, o, _KEPT) @ (u, t)


with_loads: Any = one_by_one(True) if _UNCOMPILED else intrinsic(_pairs(True))
without_loads: Any = one_by_one(False) if _UNCOMPILED else intrinsic(_pairs(False))
apart: Any = back_one_by_one if _UNCOMPILED else intrinsic(_back)
