"""Curves that carry no physics of their own: constant, straight, through points, any function."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..curve import Argument, Constant

__all__ = ["Constant", "Linear", "OfFunction", "Points", "of_humidity", "of_suction", "of_water"]

#: Humidities nearer to 0 and 1 than this are taken as this near, so that logarithms stay finite.
DRIEST, WETTEST = 1e-9, 1e-15


def negative_log(humidity: Any) -> Array:
    """Return -ln(phi) [-] of a relative humidity, finite at both ends, same shape."""
    phi = np.clip(np.asarray(humidity, dtype=float), DRIEST, 1.0 - WETTEST)
    found: Array = -np.log(phi)
    return found


def rising(values: Sequence[float], what: str) -> tuple[float, ...]:
    """Return the values as a tuple; raise InputError unless they rise strictly and number at least two."""
    out = tuple(float(v) for v in values)
    if len(out) < 2 or not np.all(np.isfinite(out)) or not np.all(np.diff(out) > 0):
        raise InputError(f"{what} must be two or more finite numbers that rise, not {list(out)}")
    return out


@dataclass(frozen=True)
class Linear:
    """y = dry + slope x, as thermal conductivity is commonly given against water content.

    Parameters
    ----------
    dry : float
        Value at x = 0 [W/(m K)].
    slope : float
        Rise with x [W m2/(kg K)].
    of : {'humidity', 'suction', 'water content'}
    """

    dry: float
    slope: float
    of: Argument = "water content"

    def __call__(self, x: Array, /) -> Array:
        """Return dry + slope x in the shape of x."""
        return self.dry + self.slope * np.asarray(x, dtype=float)


@dataclass(frozen=True)
class Points:
    """A monotone C1 interpolation through points (Fritsch and Carlson's PCHIP), no overshoot.

    Parameters
    ----------
    x, y : sequence of float
        x rises; at least two points.
    of : {'humidity', 'suction', 'water content'}
    log_x, log_y : bool
        Interpolate against ln x, and ln y.
    beyond : {'hold', 'slope'}
        Outside the points: the end value, or on with the end slope.

    Notes
    -----
    Source: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980), as in scipy.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    of: Argument = "humidity"
    log_x: bool = False
    log_y: bool = False
    beyond: Literal["hold", "slope"] = "hold"

    def __post_init__(self) -> None:
        object.__setattr__(self, "x", rising(self.x, f"{self.of} of the points"))
        object.__setattr__(self, "y", tuple(float(v) for v in self.y))
        if len(self.x) != len(self.y):
            raise InputError(f"{len(self.x)} points of {self.of} but {len(self.y)} values")
        if not np.all(np.isfinite(self.y)) or (self.log_y and min(self.y) <= 0.0):
            raise InputError("values of the points must be finite" + (" and positive" if self.log_y else ""))
        if self.log_x and self.x[0] <= 0.0:
            raise InputError(f"{self.of} of the points must be positive to be read on a logarithmic scale")

    @cached_property
    def _spline(self) -> tuple[Callable[[Any], Any], float, float]:
        from scipy.interpolate import PchipInterpolator

        x, y = np.array(self.x), np.array(self.y)
        spline = PchipInterpolator(np.log(x) if self.log_x else x, np.log(y) if self.log_y else y)
        ends = spline.derivative()(spline.x[[0, -1]])
        return spline, float(ends[0]), float(ends[1])

    def __call__(self, x: Array, /) -> Array:
        """Return the interpolated value in the shape of x."""
        spline, low, high = self._spline
        at = np.asarray(x, dtype=float)
        at = np.log(np.maximum(at, 1e-300)) if self.log_x else at
        first, last = (np.log(v) if self.log_x else v for v in (self.x[0], self.x[-1]))
        y = np.asarray(spline(np.clip(at, first, last)))
        if self.beyond == "slope":
            y = y + low * np.minimum(at - first, 0.0) + high * np.maximum(at - last, 0.0)
        return np.exp(y) if self.log_y else y


@dataclass(frozen=True)
class OfFunction:
    """A function of yours together with what it is a function of; made by `of_humidity` and its like.

    Parameters
    ----------
    function : callable
        Vectorised: an array to an array of its shape.
    of : {'humidity', 'suction', 'water content'}
    """

    function: Callable[[Any], Any]
    of: Argument

    def __call__(self, x: Array, /) -> Array:
        """Return function(x)."""
        found: Array = self.function(x)
        return found


def of_humidity(function: Callable[[Any], Any]) -> OfFunction:
    """Mark a vectorised function as one of relative humidity [-].

    Parameters
    ----------
    function : callable
        Vectorised: an array to an array of its shape.
    """
    return OfFunction(function, "humidity")


def of_suction(function: Callable[[Any], Any]) -> OfFunction:
    """Mark a vectorised function as one of suction [Pa].

    Parameters
    ----------
    function : callable
        Vectorised: an array to an array of its shape.
    """
    return OfFunction(function, "suction")


def of_water(function: Callable[[Any], Any]) -> OfFunction:
    """Mark a vectorised function as one of water content [kg/m3].

    Parameters
    ----------
    function : callable
        Vectorised: an array to an array of its shape.
    """
    return OfFunction(function, "water content")
