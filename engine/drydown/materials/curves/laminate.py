"""Two plies on each other: a film that answers differently to vapour from its two sides."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..model import Argument, CurveLike, argument_of

_PANELS = 1024


@dataclass(frozen=True)
class Laminate:
    """Permeance of two plies for vapour that meets one of them first.

    Parameters
    ----------
    near, far : Curve
        Local permeance P_1 and P_2 [kg/(m2 s Pa)] of the ply on the wetter and on the drier side, of humidity.
    dry : float
        Humidity d [-] on the drier side for which the curve is exact.

    Notes
    -----
    In steady flow from phi to d the humidity m between the plies obeys int_m^phi P_1 = int_d^m P_2. The flow over
    saturation pressure is that integral; its derivative is the local permeance that stands for both plies:

        P(phi) = P_1(phi) P_2(m)/(P_1(m) + P_2(m)).

    A film with ``permeance=Laminate(outer, inner)`` and ``permeance_outward=Laminate(inner, outer)`` so passes what
    its two plies pass, in both directions, where the drier side is at d. Elsewhere it is an approximation; two films
    that
    lie on each other in a wall are exact, and cost a cell.
    """

    near: CurveLike
    far: CurveLike
    dry: float = 0.5
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        for ply in (self.near, self.far):
            if not callable(ply) or argument_of(ply) != "humidity":
                raise InputError("the plies of a laminate must be functions of humidity")
        if not 0.0 <= self.dry <= 1.0:
            raise InputError(f"dry is {self.dry:g}; a humidity between 0 and 1 is needed")

    @cached_property
    def _flows(self) -> tuple[Any, Any, Array, Array]:
        """Return int P_1 and int P_1 + P_2 from 0, the nodes, and the latter at the nodes."""
        from scipy.interpolate import CubicHermiteSpline

        x = np.linspace(0.0, 1.0, _PANELS + 1)
        at, weights = np.polynomial.legendre.leggauss(4)
        points = 0.5 * (x[1:] + x[:-1])[:, None] + 0.5 / _PANELS * at
        sums, slopes = [], []
        for ply in (self.near, self.far):
            piece = np.asarray(ply(points), dtype=float) @ weights * 0.5 / _PANELS
            sums.append(np.concatenate([[0.0], np.cumsum(piece)]))
            slopes.append(np.asarray(ply(x), dtype=float))
        both = sums[0] + sums[1]
        return (
            CubicHermiteSpline(x, sums[0], slopes[0]),
            CubicHermiteSpline(x, both, slopes[0] + slopes[1]),
            x,
            both,
        )

    def between(self, humidity: Array) -> Array:
        """Return the humidity between the plies [-] in the shape of that on the wetter side.

        Parameters
        ----------
        humidity : array_like
            Relative humidity [-].
        """
        first, both, x, at_nodes = self._flows
        phi = np.clip(np.asarray(humidity, dtype=float), 0.0, 1.0)
        wanted = first(phi) + both(self.dry) - first(self.dry)
        m: Array = np.interp(wanted, at_nodes, x)
        for _ in range(4):
            m = np.clip(m - (both(m) - wanted) / both(m, 1), 0.0, 1.0)
        return m

    def __call__(self, humidity: Array, /) -> Array:
        """Return the permeance in the shape of the humidity [-]."""
        phi = np.asarray(humidity, dtype=float)
        m = self.between(phi)
        first, second = np.asarray(self.near(m)), np.asarray(self.far(m))
        found: Array = np.asarray(self.near(phi)) * second / (first + second)
        return found
