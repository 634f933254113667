"""What a curve is: a property as a function of humidity, suction or water content; and the simplest one, a constant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, Protocol, runtime_checkable

import numpy as np

from ..arrays import Array
from ..errors import is_number

Argument = Literal["humidity", "suction", "water content"]


@runtime_checkable
class Curve(Protocol):
    """A property of one variable: a callable on arrays that says in `of` what it is a function of.

    A plain function without `of` is taken as a function of relative humidity [-], a plain number as a constant.
    """

    @property
    def of(self) -> Argument:
        """What it is a function of."""
        ...

    def __call__(self, x: Array, /) -> Array:
        """Return the property in the shape of `x`."""
        ...


CurveLike = Curve | Callable[[Any], Any]


def argument_of(curve: CurveLike) -> Argument:
    """Return what a curve is a function of: humidity [-], suction [Pa] or water content [kg/m3]."""
    return getattr(curve, "of", "humidity")


@dataclass(frozen=True)
class Constant:
    """y = value, whatever the argument.

    Parameters
    ----------
    value : float
        In the unit of the property.
    of : {'humidity', 'suction', 'water content'}
    """

    value: float
    of: Argument = "humidity"

    def __call__(self, x: Array, /) -> Array:
        """Return `value` in the shape of x."""
        return np.full(np.shape(x), float(self.value))


def as_curve(given: Any) -> Any:
    """Return a number as a constant, anything else as it is."""
    return Constant(float(given)) if is_number(given) else given
