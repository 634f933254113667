"""Permeance (or permeability) against humidity: the families that films are described with.

All are local values P(phi) [kg/(m2 s Pa)]; what a cup measures is their mean over the humidities in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..model import REFERENCE_TEMPERATURE, Argument
from .basic import Points


def _positive(curve: object, *names: str) -> None:
    for name in names:
        if not (np.isfinite(getattr(curve, name)) and getattr(curve, name) > 0.0):
            raise InputError(f"'{name}' of {type(curve).__name__} is {getattr(curve, name)}; it must be greater than 0")


@dataclass(frozen=True)
class TwoLevel:
    """Closed below, open above, a straight rise of ln P between two humidities, rounded to C1.

    Parameters
    ----------
    closed, open : float
        P below `start` and above `end` [kg/(m2 s Pa)].
    start, end : float
        Humidities [-] between which it changes.

    Notes
    -----
    ln P = ln closed + (ln open - ln closed) s^2 (3 - 2 s), s = (phi - start)/(end - start)
    kept within 0 to 1.
    """

    closed: float
    open: float
    start: float = 0.6
    end: float = 0.8
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        _positive(self, "closed", "open")
        if not 0.0 <= self.start < self.end <= 1.0:
            raise InputError(f"TwoLevel changes from {self.start:g} to {self.end:g}; 0 <= start < end <= 1 is needed")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the permeance in the shape of the humidity [-]."""
        s = np.clip((np.asarray(humidity, dtype=float) - self.start) / (self.end - self.start), 0.0, 1.0)
        return self.closed * (self.open / self.closed) ** (s * s * (3.0 - 2.0 * s))


@dataclass(frozen=True)
class Logistic:
    """Closed at low, open at high humidity: ln P follows a logistic curve.

    Parameters
    ----------
    closed, open : float
        P far below and far above `middle` [kg/(m2 s Pa)].
    middle : float
        Humidity [-] at which ln P is half way.
    width : float
        Scale of the change [-]; nine tenths of it happen within 6 widths.

    Notes
    -----
    ln P = ln closed + (ln open - ln closed)/(1 + exp(-(phi - middle)/width)).
    """

    closed: float
    open: float
    middle: float = 0.65
    width: float = 0.08
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        _positive(self, "closed", "open", "width")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the permeance in the shape of the humidity [-]."""
        x = (np.asarray(humidity, dtype=float) - self.middle) / self.width
        return self.closed * (self.open / self.closed) ** (0.5 * (1.0 + np.tanh(0.5 * x)))


@dataclass(frozen=True)
class Exponential:
    """P = dry + rise (exp(growth phi) - 1).

    Parameters
    ----------
    dry : float
        P at 0 % [kg/(m2 s Pa)].
    rise : float
        [kg/(m2 s Pa)], 0 or more.
    growth : float
        [-].

    Notes
    -----
    The three-constant form in which vapour permeabilities of porous building materials are commonly listed
    (IEA Annex 24 lists delta = a + b exp(c phi); form from memory).
    """

    dry: float
    rise: float
    growth: float
    of: Argument = "humidity"

    def __post_init__(self) -> None:
        _positive(self, "dry", "growth")
        if self.rise < 0.0:
            raise InputError(f"'rise' of Exponential is {self.rise:g}; it must not be negative")

    def __call__(self, humidity: Array, /) -> Array:
        """Return the permeance in the shape of the humidity [-]."""
        return self.dry + self.rise * np.expm1(self.growth * np.asarray(humidity, dtype=float))


@dataclass(frozen=True)
class TemperatureGrowth:
    """Factor of temperature on a permeance: exp(rate (T - 296.15 K)), for `Film.permeance_temperature`.

    Parameters
    ----------
    rate : float
        Relative change for each kelvin [1/K].

    Notes
    -----
    Over the temperatures of a wall it stands for Arrhenius's law exp(-(E/R)(1/T - 1/296.15 K)), rate = E/(R T^2): 0.034
    for 25 kJ/mol.
    """

    rate: float

    def __post_init__(self) -> None:
        if not abs(self.rate) < 0.2:
            raise InputError(
                f"rate of TemperatureGrowth is {self.rate:g}; between -0.2 and 0.2 per kelvin is the range"
            )

    def __call__(self, temperature: Array, /) -> Array:
        """Return the factor [-] in the shape of the temperature [K]."""
        return np.exp(self.rate * (np.asarray(temperature, dtype=float) - REFERENCE_TEMPERATURE))


@dataclass(frozen=True)
class Held:
    """A curve that stays where it is above a humidity: what cups did not measure is not run on.

    Parameters
    ----------
    curve : Curve
        P of humidity.
    above : float
        Humidity [-] from which on P keeps its value, with a turn of about 0.5 %.
    """

    curve: Any
    above: float
    of: Argument = "humidity"

    def __call__(self, humidity: Array, /) -> Array:
        """Return P in the shape of the humidity [-]."""
        phi = np.asarray(humidity, dtype=float)
        turn = 0.0015
        held: Array = self.curve(phi - turn * np.logaddexp(0.0, (phi - self.above) / turn))
        return held


def permeance_points(humidity: Sequence[float], values: Sequence[float]) -> Points:
    """Return a monotone C1 curve of ln P against humidity through points.

    Parameters
    ----------
    humidity : sequence of float
        [-], rising.
    values : sequence of float
        P [kg/(m2 s Pa)], positive. A permeability [kg/(m s Pa)] is treated alike.

    Returns
    -------
    Points
        PCHIP in (phi, ln P); outside the points ln P goes on with its end slope.

    Notes
    -----
    Continuing with the slope, not the end value, agrees with cups: for the polyamide film of the ASHRAE
    tables the points at 30 to 90 % give means of 63.2 and 1184 ng/(Pa s m2) over 0-50 and 50-100 %, where its
    dry and wet cups gave 62.9 and 1174; holding the end values gives 84 and 1018.
    """
    return Points(tuple(humidity), tuple(values), "humidity", log_y=True, beyond="slope")


def from_cups(dry: float, wet: float) -> Exponential:
    """Return P = c exp(b phi) whose means over 0-50 % and 50-100 % are those of a dry and a wet cup.

    Parameters
    ----------
    dry, wet : float
        Permeance from a dry cup (0 to 50 %) and a wet cup (50 to 100 %) [kg/(m2 s Pa)], wet not below dry.

    Notes
    -----
    b = 2 ln(wet/dry), c = dry (b/2)/(exp(b/2) - 1). Two cups fix a level and a rise but no shape: the
    exponential is assumed.
    """
    if not 0.0 < dry <= wet:
        raise InputError(f"cups gave {dry:g} dry and {wet:g} wet; 0 < dry <= wet is needed")
    half = max(float(np.log(wet / dry)), 1e-9)
    least = dry * half / float(np.expm1(half))
    return Exponential(least, least, 2.0 * half)


def mean_permeance(curve: Any, low: float, high: float) -> float:
    """Return what a cup between two humidities [-] measures: the mean of P over them (Kirchhoff).

    Parameters
    ----------
    curve : Curve
        P of humidity.
    low, high : float
        Humidities on both sides [-].

    Returns
    -------
    float
        [kg/(m2 s Pa)], to about 1e-10 of itself for smooth curves.
    """
    nodes, weights = np.polynomial.legendre.leggauss(16)
    edges = np.linspace(low, high, 65)
    half = 0.5 * np.diff(edges)[:, None]
    at = 0.5 * (edges[1:] + edges[:-1])[:, None] + half * nodes
    return float(np.sum(weights * half * np.asarray(curve(at))) / (high - low))
