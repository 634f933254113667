"""Liquid transport: conductivity K [s] and diffusivity D_w [m2/s] of water content."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from ..materials import Argument, Array


@dataclass(frozen=True)
class AbsorptionDiffusivity:
    """Liquid diffusivity from the water absorption coefficient, the common approximation.

    Parameters
    ----------
    absorption : float
        A [kg/(m2 s^0.5)].
    capillary : float
        Water content behind the front of an uptake test, w_f [kg/m3].
    factor : float
        1 while a surface takes water up; 0.1 is recommended where water only spreads.

    Notes
    -----
    D_w = factor 3.8 (A/w_f)^2 1000^(w/w_f - 1). Source: H. M. Künzel, thesis, Stuttgart, 1994 (from memory).
    Above w_f, where the formula ends, the exponent is held at 0 with a smooth turn: w/w_f is replaced by its
    soft minimum with 1, of sharpness 20.
    """

    absorption: float
    capillary: float
    factor: float = 1.0
    of: Argument = "water content"

    def __post_init__(self) -> None:
        if not (self.absorption > 0.0 and self.capillary > 0.0 and self.factor > 0.0):
            raise InputError(
                "absorption, capillary and factor of a liquid diffusivity must be greater than 0"
            )

    def __call__(self, water: Array, /) -> Array:
        """Return the diffusivity [m2/s] in the shape of the water content [kg/m3]."""
        ratio = np.asarray(water, dtype=float) / self.capillary
        ratio = 1.0 - np.logaddexp(0.0, 20.0 * (1.0 - ratio)) / 20.0
        return self.factor * 3.8 * (self.absorption / self.capillary) ** 2 * 1000.0 ** (ratio - 1.0)


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
            raise InputError(
                "dry and saturation of a liquid diffusivity must be above 0, growth between 0 and 100"
            )

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
        return np.exp(np.polynomial.polynomial.polyval(y, self.coefficients))
