"""Look-ups of eight cells abreast: several columns of a table, value and slope.

The rows that the cells stand in lie apart, so a compiler makes one look-up after the other of a loop over them. Here
the four coefficients of a cell are loaded at once, those of eight cells are turned into four columns of eight, and the
polynomial is worked out for all. On a processor that takes fewer numbers at once the same comes out in several
instructions. Arithmetic as in `lookup.cubic`.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba import config, types
from numba.extending import intrinsic

from .columns import AT_ONCE
from .lookup import cubic

_DOUBLE, _INT = ir.DoubleType(), ir.IntType(64)
_ROW, _WIDE = ir.VectorType(_DOUBLE, 4), ir.VectorType(_DOUBLE, AT_ONCE)
#: A fused multiply-add rounds once (see `jit`).
_FLAGS = ("contract",)
#: Nothing is compiled: Python runs the functions themselves, as where a processor plays a GPU.
_UNCOMPILED = bool(config.DISABLE_JIT)  # type: ignore[attr-defined]
#: What one look-up writes: the column of the table (None: the one asked for in the call), where values go and slopes
#: (None: nowhere), as columns of the rows.
Wanted = tuple[int | None, int, int | None]


def _number(i: int) -> Any:
    return ir.Constant(_INT, i)


def _picked(b: Any, x: Any, y: Any, *places: int) -> Any:
    """Return elements of two vectors laid end to end."""
    return b.shuffle_vector(x, y, ir.Constant(ir.VectorType(ir.IntType(32), len(places)), list(places)))


def _all(b: Any, x: Any) -> Any:
    """Return a number eight times."""
    nothing = ir.Constant(_WIDE, ir.Undefined)
    return _picked(b, b.insert_element(nothing, x, ir.Constant(ir.IntType(32), 0)), nothing, *[0] * AT_ONCE)


def _turned(b: Any, rows: list[Any]) -> list[Any]:
    """Return the four columns of eight rows of four."""
    half = AT_ONCE // 2
    beside = [_picked(b, rows[k], rows[k + half], *range(AT_ONCE)) for k in range(half)]
    even = [_picked(b, beside[k], beside[k + 1], 0, 8, 2, 10, 4, 12, 6, 14) for k in (0, 2)]
    odd = [_picked(b, beside[k], beside[k + 1], 1, 9, 3, 11, 5, 13, 7, 15) for k in (0, 2)]
    first, last = (0, 1, 8, 9, 4, 5, 12, 13), (2, 3, 10, 11, 6, 7, 14, 15)
    return [_picked(b, *pair, *places) for places in (first, last) for pair in (even, odd)]


def cubics(row: int, place: int, *wanted: Wanted) -> Any:
    """Return a compiled function that looks up columns of a table for eight cells.

    Parameters
    ----------
    row, place : int
        Columns of the rows (see `columns`) that say where in the table a cell stands: `bits` of the place of its row
        among all numbers of the table, position in the interval.
    *wanted : Wanted

    Returns
    -------
    callable
        ``f(table, rows, j, scale, column)`` for the cells j to j + 7; scale : intervals per unit.
    """

    def typed(_, table, rows, j, scale, column):
        def written(context: Any, b: Any, signature: Any, args: Any) -> Any:
            numbers = context.make_array(signature.args[0])(context, b, args[0]).data
            here = b.gep(context.make_array(signature.args[1])(context, b, args[1]).data, [args[2]])

            def eight(column: int) -> Any:
                return b.bitcast(b.gep(here, [_number(column)]), _WIDE.as_pointer())

            def times(x: Any, y: Any) -> Any:
                return b.fmul(x, y, flags=_FLAGS)

            def plus(x: Any, y: Any) -> Any:
                return b.fadd(x, y, flags=_FLAGS)

            starts = b.bitcast(b.gep(here, [_number(row)]), _INT.as_pointer())
            at = [b.gep(numbers, [b.load(b.gep(starts, [_number(k)]), align=8)]) for k in range(AT_ONCE)]
            t = b.load(eight(place), align=8)
            zero, one = (_all(b, ir.Constant(_DOUBLE, x)) for x in (0.0, 1.0))
            p = b.select(b.fcmp_ordered("<", t, zero), zero, t)
            p = b.select(b.fcmp_ordered(">", p, one), one, p)
            beyond = b.fsub(t, p, flags=_FLAGS)
            per = _all(b, args[3])
            asked = b.mul(args[4], _number(4))
            for of_table, value, slope in wanted:
                o = asked if of_table is None else _number(4 * of_table)
                some = [b.load(b.bitcast(b.gep(x, [o]), _ROW.as_pointer()), align=8) for x in at]
                c0, c1, c2, c3 = _turned(b, some)
                b2 = plus(c2, times(p, c3))
                b1 = plus(c1, times(p, b2))
                d = plus(b1, times(p, plus(b2, times(p, c3))))
                b.store(plus(plus(c0, times(p, b1)), times(d, beyond)), eight(value), align=8)
                if slope is not None:
                    b.store(times(d, per), eight(slope), align=8)
            return context.get_dummy_value()

        return types.void(table, rows, types.int64, types.float64, types.int64), written

    return _one_by_one(row, place, wanted) if _UNCOMPILED else intrinsic(typed)


def _one_by_one(row: int, place: int, wanted: tuple[Wanted, ...]) -> Any:
    """Return the same as Python runs it, cell after cell."""

    def look_up(table, rows, j, scale, column):
        for k in range(j, j + AT_ONCE):
            i = int(rows[k + row]) // (4 * table.shape[1])
            for of_table, value, slope in wanted:
                found = cubic(table, i, column if of_table is None else of_table, rows[k + place], scale)
                rows[k + value] = found[0]
                if slope is not None:
                    rows[k + slope] = found[1]

    return look_up


def _bits(_, i):
    """Return the number that has the bits of a whole number, to stand among others."""
    return types.float64(types.int64), lambda context, b, signature, args: b.bitcast(args[0], _DOUBLE)


def _whole_number(_, x):
    """Return the whole number of which `bits` were kept."""
    return types.int64(types.float64), lambda context, b, signature, args: b.bitcast(args[0], _INT)


bits: Any = float if _UNCOMPILED else intrinsic(_bits)
whole_number: Any = int if _UNCOMPILED else intrinsic(_whole_number)
