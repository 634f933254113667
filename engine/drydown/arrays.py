"""Types of arrays that all rooms share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: Numbers in SI units.
Array = NDArray[np.float64]
#: Times, datetime64[s].
Marks = NDArray[np.datetime64]
