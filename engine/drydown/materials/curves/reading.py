"""Any curve of a material read against relative humidity."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from ..model import CurveLike, argument_of
from .storage import suction


def by_humidity(curve: CurveLike, storage: CurveLike | None = None) -> Callable[[Any], Any]:
    """Return a curve of any argument as a function of relative humidity at 296.15 K.

    Parameters
    ----------
    curve : Curve
        Of humidity, suction or water content.
    storage : Curve, optional
        Water content of humidity or suction; needed for a curve of the water content.

    Returns
    -------
    callable
        Of humidity [-], scalar or array; gives a float for a scalar.
    """
    kind = argument_of(curve)
    if kind == "water content" and storage is None:
        raise ValueError("a curve of the water content is read against humidity only with a storage curve")

    def read(humidity: Any) -> Any:
        x = np.maximum(np.atleast_1d(np.asarray(humidity, dtype=float)), 1e-6)
        if kind == "suction":
            x = suction(x)
        elif kind == "water content" and storage is not None:
            x = np.where(x > 1e-6, by_humidity(storage)(x), 0.0)
        y = np.asarray(curve(x), dtype=float)
        return y if np.ndim(humidity) else float(y[0])

    return read
