"""The coefficients of a look-up, loaded two by two: half as many requests of a card's memory.

Tables are groups of four numbers and begin where the memory of a card is handed out, at 256 bytes or a multiple, so
every pair is a load of 16 bytes. Nothing writes to a table while a march reads it.
"""

from __future__ import annotations

from typing import Any

from ..kernel.lookup import four
from .card import simulated


def _load_pairs() -> None:
    """Let what is compiled for a GPU load pairs where `drydown.kernel.lookup.four` loads four numbers."""
    from llvmlite import ir
    from numba import types

    try:
        from numba.cuda.extending import intrinsic, overload
    except ImportError:  # without numba-cuda nothing is compiled for a GPU
        return

    double, whole = ir.DoubleType(), ir.IntType(64)
    load = ir.FunctionType(ir.LiteralStructType([double, double]), [whole])

    def typed(_, table, row, column):
        def written(context: Any, b: Any, signature: Any, args: Any) -> Any:
            made = context.make_array(signature.args[0])(context, b, args[0])
            i = b.add(b.mul(args[1], b.extract_value(made.shape, 1)), args[2])
            at = b.ptrtoint(b.gep(made.data, [b.mul(i, ir.Constant(whole, 4))]), whole)
            found = []
            for place in ("$2", "$2+16"):
                said = f"ld.global.nc.v2.f64 {{$0, $1}}, [{place}];"
                two = b.call(ir.InlineAsm(load, said, "=d,=d,l", side_effect=False), [at])
                found += [b.extract_value(two, 0), b.extract_value(two, 1)]
            return context.make_tuple(b, signature.return_type, found)

        return types.UniTuple(types.float64, 4)(table, types.int64, types.int64), written

    pairs: Any = intrinsic(typed)
    overload(four)(lambda c, row, col: lambda c, row, col: pairs(c, row, col))


if not simulated():
    _load_pairs()
