"""Arrays that begin where a line of the cache does.

A look-up loads four numbers at once: half of them lay across two lines where a table began anywhere.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

#: Bytes in a line of the cache.
LINE = 64


def zeros(*shape: int) -> Any:
    """Return an array of zeros whose first number begins a line."""
    count = math.prod(shape)
    room = np.zeros(count + LINE // 8)
    begin = -room.ctypes.data % LINE // 8
    return room[begin : begin + count].reshape(shape)


def on_lines(x: Any) -> Any:
    """Return a copy of an array whose first number begins a line."""
    made = zeros(*x.shape)
    made[...] = x
    return made
