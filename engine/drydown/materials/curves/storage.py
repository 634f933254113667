"""Storage curves: sorption isotherms, retention curves, and the joint of the two.

A sorption isotherm as measured ends near 95 % humidity, far below the water that the open pores can hold. A
storage curve for the engine must go on, without a plateau, to that water: `WithTail` adds the capillary part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ... import moist_air
from ...arrays import Array
from ...errors import InputError
from ..model import REFERENCE_TEMPERATURE, Argument, CurveLike, argument_of
from .basic import Points, negative_log, rising

#: Suction over -ln(phi) at the reference temperature: rho_w R_v T [Pa] (Kelvin).
KELVIN = moist_air.WATER_DENSITY * moist_air.R_VAPOUR * REFERENCE_TEMPERATURE


def suction(humidity: Any) -> Array:
    """Return the suction [Pa] in equilibrium with a humidity [-] at 296.15 K, -rho_w R_v T ln(phi).

    Parameters
    ----------
    humidity : array_like
        Relative humidity [-].
    """
    return KELVIN * negative_log(humidity)


@dataclass(frozen=True)
class GAB:
    """Guggenheim, Anderson and de Boer: w = m C k phi / ((1 - k phi)(1 - k phi + C k phi)).

    Parameters
    ----------
    monolayer : float
        m [kg/m3].
    c, k : float
        [-]; k below 1.

    Notes
    -----
    From memory; the wood equation 4-5 is of the same kind.
    """

    monolayer: float
    c: float
    k: float
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        if not (self.monolayer > 0.0 and self.c > 0.0 and 0.0 < self.k < 1.0):
            raise InputError("GAB needs monolayer > 0, c > 0 and 0 < k < 1")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the water content [kg/m3] in the shape of the humidity [-]."""
        x = self.k * np.asarray(humidity, dtype=float)
        return self.monolayer * self.c * x / ((1.0 - x) * (1.0 - x + self.c * x))


@dataclass(frozen=True)
class Hansen:
    """w = saturation (1 - ln(phi)/a)^(-1/n).

    Parameters
    ----------
    saturation : float
        Water content at 100 % [kg/m3].
    a, n : float
        [-].

    Notes
    -----
    Source: K. K. Hansen, Sorption isotherms, a catalogue, Technical University of Denmark, 1986 (form from
    memory).
    """

    saturation: float
    a: float
    n: float
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        if not (self.saturation > 0.0 and self.a > 0.0 and self.n > 0.0):
            raise InputError("Hansen needs saturation, a and n greater than 0")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the water content [kg/m3] in the shape of the humidity [-]."""
        return self.saturation * (1.0 + negative_log(humidity) / self.a) ** (-1.0 / self.n)


@dataclass(frozen=True)
class Oswin:
    """w = a (phi/(1 - phi))^b, without bound at 100 %: use it below, inside `WithTail` through points.

    Parameters
    ----------
    a : float
        Water content at 50 % [kg/m3].
    b : float
        [-].
    most : float
        Humidity [-] beyond which the curve goes on with its slope there.

    Notes
    -----
    Source: C. R. Oswin, J. Soc. Chem. Ind. 65 (1946), from memory.
    """

    a: float
    b: float
    most: float = 0.95
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        if not (self.a > 0.0 and self.b > 0.0 and 0.0 < self.most < 1.0):
            raise InputError("Oswin needs a > 0, b > 0 and 0 < most < 1")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the water content [kg/m3] in the shape of the humidity [-]."""
        phi = np.asarray(humidity, dtype=float)
        x = np.minimum(phi, self.most)
        w = self.a * (x / (1.0 - x)) ** self.b
        slope = self.a * (self.most / (1.0 - self.most)) ** self.b * self.b / (self.most * (1.0 - self.most))
        found: Array = w + slope * np.maximum(phi - self.most, 0.0)
        return found


@dataclass(frozen=True)
class Retention:
    """Van Genuchten's retention curve: w = w_sat sum l_i (1 + (a_i p)^n_i)^(-m_i), one term per pore system.

    Parameters
    ----------
    saturation : float
        w_sat [kg/m3].
    a : tuple of float
        1/(suction of the pore system) [1/Pa].
    n : tuple of float
        [-], above 1.
    share : tuple of float
        l_i [-], together 1.
    m : tuple of float, optional
        [-]; 1 - 1/n_i where not given.

    Notes
    -----
    Sources: M. Th. van Genuchten, Soil Sci. Soc. Am. J. 44 (1980); several pore systems W. Durner, Water
    Resour. Res. 30 (1994); from memory.
    """

    saturation: float
    a: tuple[float, ...]
    n: tuple[float, ...]
    share: tuple[float, ...] = (1.0,)
    m: tuple[float, ...] = ()
    of: Argument = "suction"

    def __post_init__(self) -> None:
        for key in ("a", "n", "share", "m"):
            value = getattr(self, key)
            given = (value,) if isinstance(value, int | float) else value
            object.__setattr__(self, key, tuple(float(v) for v in given))
        if not self.m:
            object.__setattr__(self, "m", tuple(1.0 - 1.0 / n for n in self.n))
        if not len(self.a) == len(self.n) == len(self.share) == len(self.m):
            raise InputError("a, n, share (and m) of a retention curve must be of one length")
        if not (self.saturation > 0 and min(self.a) > 0 and min(self.n) > 0 and min(self.m) > 0):
            raise InputError("a retention curve needs saturation > 0, a > 0, m > 0 and n > 1")
        if min(self.share) < 0 or abs(sum(self.share) - 1.0) > 1e-6:
            raise InputError(f"shares of a retention curve must add up to 1, not {sum(self.share):g}")

    def __call__(self, suction: Array, /) -> Array:
        """Return the water content [kg/m3] in the shape of the suction [Pa]."""
        p = np.maximum(np.asarray(suction, dtype=float), 0.0)
        parts = zip(self.share, self.a, self.n, self.m, strict=True)
        found: Array = self.saturation * sum((s * (1.0 + (a * p) ** n) ** -m for s, a, n, m in parts), np.zeros_like(p))
        return found


@dataclass(frozen=True)
class WithTail:
    """A hygroscopic curve of humidity carried on to saturation by capillary pores.

    Parameters
    ----------
    hygroscopic : Curve
        Water content [kg/m3] of humidity, finite at 100 %.
    saturation : float
        Water content with all open pores filled [kg/m3], above that of the hygroscopic curve at 100 %.
    pores : float
        Suction at which the pores empty [Pa]; 1e5 Pa is a pore of 1.4 um.
    n : float
        How sharply; 2 spreads over a decade or two.
    last : float
        Share of the pores that fills only below 100 Pa; it keeps the curve rising all the way to 100 %.

    Notes
    -----
    w = w_h(phi) + (w_sat - w_h(1)) [(1 - last) (1 + (p/pores)^n)^(1/n - 1) + last (1 + p/100 Pa)^-1.5],
    p = -rho_w R_v T ln(phi) at 296.15 K (van Genuchten's form).
    """

    hygroscopic: CurveLike
    saturation: float
    pores: float = 1e5
    n: float = 2.0
    last: float = 0.01
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        if argument_of(self.hygroscopic) != "humidity":
            raise InputError("the hygroscopic part of a storage curve must be a function of humidity")
        if not (self.pores > 0.0 and self.n > 1.0 and 0.0 <= self.last < 1.0):
            raise InputError("a capillary tail needs pores > 0 Pa, n > 1 and 0 <= last < 1")
        if not self.saturation > self._limit:
            raise InputError(
                f"saturation is {self.saturation:g}, below the {self._limit:g} kg/m3 of the hygroscopic part"
            )

    @cached_property
    def _limit(self) -> float:
        return float(np.asarray(self.hygroscopic(np.array([1.0])))[0])

    def tail(self, humidity: Any) -> Array:
        """Return the capillary part [kg/m3] in the shape of the humidity [-].

        Parameters
        ----------
        humidity : array_like
            Relative humidity [-].
        """
        return (self.saturation - self._limit) * filled(humidity, self.pores, self.n, self.last)

    def __call__(self, humidity: Array, /) -> Array:
        """Return the water content [kg/m3] in the shape of the humidity [-]."""
        return self.hygroscopic(np.asarray(humidity, dtype=float)) + self.tail(humidity)


def filled(humidity: Any, pores: float, n: float, last: float = 0.01) -> Array:
    """Return the share [-] of capillary pores that are filled at a humidity [-]; see `WithTail`.

    Parameters
    ----------
    humidity : array_like
        Relative humidity [-].
    pores : float
        Suction at which the pores begin to fill [Pa].
    n : float
        Exponent of the law of the pores [-].
    last : float
    """
    p = suction(humidity)
    main = (1.0 + (p / pores) ** n) ** (1.0 / n - 1.0)
    end = (1.0 + p / 100.0) ** -1.5
    return (1.0 - last) * main + last * end


def sorption_points(
    humidity: Sequence[float],
    water: Sequence[float],
    saturation: float,
    pores: float = 1e5,
    n: float = 2.0,
    limit: float | None = None,
) -> WithTail:
    """Return a storage curve through measured points, carried on to saturation.

    Parameters
    ----------
    humidity : sequence of float
        [-], rising, above 0 and below 1.
    water : sequence of float
        Water content [kg/m3], rising.
    saturation : float
        [kg/m3].
    pores, n : float
        Of the capillary tail, see `WithTail`.
    limit : float, optional
        Water content of the hygroscopic part at 100 % [kg/m3]; where not given, the last two points drawn on
        in a straight line.

    Returns
    -------
    WithTail
        A PCHIP in humidity through (0, 0), the points less their capillary part, and (1, limit): the sum goes
        through every point.

    Raises
    ------
    InputError
        If the points do not rise, or the tail reaches so far down that what is left of them does not rise.
    """
    phi, w = (
        rising(humidity, "humidities of the sorption points"),
        rising(water, "water of the sorption points"),
    )
    if len(phi) != len(w):
        raise InputError(f"{len(phi)} humidities but {len(w)} water contents of sorption points")
    if not (phi[0] > 0.0 and phi[-1] < 1.0 and w[0] > 0.0):
        raise InputError("sorption points need humidities between 0 and 1 and water above 0; leave 0 and 100 % out")
    straight = w[-1] + (w[-1] - w[-2]) / (phi[-1] - phi[-2]) * (1.0 - phi[-1])
    top = straight if limit is None else limit
    if not (1.0 < n < 100.0 and 0.0 < pores < np.inf):
        raise InputError(f"the pores are {pores:g} Pa with n = {n:g}; n must lie above 1, the pores above 0")
    share = filled(np.array(phi), pores, n)
    # what the tail adds at the points depends on the limit, which is given: no iteration
    left = np.array(w) - (saturation - top) * share
    if not (np.all(np.diff([0.0, *left, top]) > 0.0)):
        raise InputError(
            f"the capillary tail (pores {pores:g} Pa, n {n:g}) is larger than the rise of the points; "
            "choose a smaller `pores` or a larger `n`"
        )
    return WithTail(Points((0.0, *phi, 1.0), (0.0, *left, top)), saturation, pores, n)
