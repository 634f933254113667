"""Of what a launch kept, the cells that were asked for: the rest stays on the card."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numba import cuda

from .layout import THREADS

Array = np.ndarray


@cuda.jit
def _pick(kept, size, at, out):
    """Write the places `at` of every row of a record that is `size` long."""
    i = cuda.blockIdx.x * cuda.blockDim.x + cuda.threadIdx.x
    row = cuda.blockIdx.y
    if i < at.shape[0]:
        out[row * at.shape[0] + i] = kept[np.int64(row) * size + at[i]]


def picked(kept: Sequence[Any], size: int, rows: int, at: Array) -> list[Array]:
    """Return places of the rows of records.

    Parameters
    ----------
    kept : sequence of array on the card, shape (row * size,)
    size : int
        Length of a row.
    rows : int
    at : array of int, shape (place,)

    Returns
    -------
    list of array of shape (row, place)
    """
    places = cuda.to_device(np.ascontiguousarray(at))
    found = []
    for x in kept:
        out: Any = cuda.device_array(rows * len(at))
        _pick[(-(-len(at) // THREADS), rows), THREADS](x, size, places, out)
        found.append(out.copy_to_host().reshape(rows, len(at)))
    return found
