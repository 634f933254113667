"""Liquid transport: conductivity K [s] and diffusivity D_w [m2/s] of water content."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..model import Argument


@cache
def _gauss() -> tuple[Array, Array]:
    """Return nodes and weights of the integral of an uptake; they take longer than all the rest of a curve."""
    return np.polynomial.legendre.leggauss(200)


@dataclass(frozen=True)
class AbsorptionDiffusivity:
    """Liquid diffusivity that takes water up at a known absorption coefficient and leaves cup tests alone.

    Parameters
    ----------
    absorption : float
        A [kg/(m2 s^0.5)].
    capillary : float
        Water content behind the front of an uptake test, w_f [kg/m3].
    factor : float
        1 while a surface takes water up; 0.1 is recommended where water only spreads.
    above : float
        Water content w_c [kg/m3] up to which the vapour permeability of the material was measured by cups. A cup
        weighs all that passes, so up to there the permeability holds the liquid flow already.
    saturation : float, optional
        Water content of a face under water [kg/m3]; `capillary` where not given.
    initial : float
        Water content of the specimen before the uptake test [kg/m3].

    Notes
    -----
    D_w = factor c (h(w) - h(w_c)) and 0 below w_c, h = 1000^(w/w_f - 1): the shape is that of H. M. Künzel,
    thesis, Stuttgart, 1994 (from memory), less what the cups held already. Above w_f, where his formula ends,
    the exponent is held at 0 with a smooth turn: w/w_f is replaced by its soft minimum with 1, of sharpness 20.

    c follows from A by the sorptivity of a diffusivity, A^2 = 2 sqrt(w_s - w_0) int sqrt(w - w_0) D_w dw from
    w_0 (`initial`) to w_s (`saturation`), W. Brutsaert, Water Resour. Res. 12 (1976), from memory. Without w_c, w_0
    and the smooth turn c = 3.75 (A/w_f)^2, where Künzel gives 3.8.
    """

    absorption: float
    capillary: float
    factor: float = 1.0
    above: float = 0.0
    saturation: float | None = None
    initial: float = 0.0
    of: Argument = "water content"

    def __post_init__(self) -> None:
        if not (self.absorption > 0.0 and self.capillary > 0.0 and self.factor > 0.0):
            raise InputError("absorption, capillary and factor of a liquid diffusivity must be greater than 0")
        if not (0.0 <= self.above < self._wet and 0.0 <= self.initial < self._wet):
            raise InputError(
                f"liquid flow above {self.above:g} kg/m3 from {self.initial:g} kg/m3 at the start; both must be "
                f"0 or more and below the {self._wet:g} kg/m3 of a face under water"
            )

    @property
    def _wet(self) -> float:
        return self.capillary if self.saturation is None else self.saturation

    def _shape(self, water: Array) -> Array:
        ratio = np.asarray(water, dtype=float) / self.capillary
        return 1000.0 ** (-np.logaddexp(0.0, 20.0 * (1.0 - ratio)) / 20.0)

    def _rise(self, water: Array) -> Array:
        held = float(self._shape(np.array(self.above))) if self.above > 0.0 else 0.0
        return np.maximum(self._shape(water) - held, 0.0)

    @cached_property
    def _scale(self) -> float:
        low, high = max(self.initial, self.above), self._wet
        nodes, weights = _gauss()
        w = low + 0.5 * (high - low) * (nodes + 1.0)
        part = 0.5 * (high - low) * np.sum(weights * np.sqrt(w - self.initial) * self._rise(w))
        return float(self.absorption**2 / (2.0 * np.sqrt(high - self.initial) * part))

    def __call__(self, water: Array, /) -> Array:
        """Return the diffusivity [m2/s] in the shape of the water content [kg/m3]."""
        return self.factor * self._scale * self._rise(water)


@dataclass(frozen=True)
class ExponentialDiffusivity:
    """D_w = dry exp(growth w/saturation).

    Parameters
    ----------
    dry : float
        Diffusivity at w = 0 [m2/s].
    growth : float
        [-].
    saturation : float
        [kg/m3].

    Notes
    -----
    The form in which diffusivities from uptake profiles are commonly given (common practice).
    """

    dry: float
    growth: float
    saturation: float
    of: Argument = "water content"

    def __post_init__(self) -> None:
        if not (self.dry > 0.0 and self.saturation > 0.0 and 0.0 <= self.growth < 100.0):
            raise InputError("dry and saturation of a liquid diffusivity must be above 0, growth between 0 and 100")

    def __call__(self, water: Array, /) -> Array:
        """Return the diffusivity [m2/s] in the shape of the water content [kg/m3]."""
        return self.dry * np.exp(self.growth * np.asarray(water, dtype=float) / self.saturation)


@dataclass(frozen=True)
class PolynomialConductivity:
    """ln K is a polynomial of the water content, as EN 15026 and HAMSTAD give K.

    Parameters
    ----------
    coefficients : tuple of float
        c_0, c_1, ... with K in [s].
    low, high : float
        Water contents [kg/m3] beyond which K keeps its end value.
    centre, scale : float
        The polynomial is in y = (w - centre)/scale [kg/m3].

    Notes
    -----
    K = exp(sum c_i y^i).
    """

    coefficients: tuple[float, ...]
    low: float
    high: float
    centre: float = 0.0
    scale: float = 1.0
    of: Argument = "water content"

    def __post_init__(self) -> None:
        object.__setattr__(self, "coefficients", tuple(float(c) for c in self.coefficients))
        if not (self.coefficients and self.low < self.high and self.scale > 0.0):
            raise InputError("a polynomial conductivity needs coefficients, low < high and scale > 0")

    def __call__(self, water: Array, /) -> Array:
        """Return the conductivity K [s] in the shape of the water content [kg/m3]."""
        y = (np.clip(np.asarray(water, dtype=float), self.low, self.high) - self.centre) / self.scale
        found: Array = np.exp(np.polynomial.polynomial.polyval(y, self.coefficients))
        return found
