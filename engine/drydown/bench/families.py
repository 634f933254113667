"""The families of curves that cup tests are fitted with, each in parameters without bounds.

A family knows ln P of humidity for many sets of parameters at once, a wide prior that holds what the tests say
nothing about, and how to make the `drydown.materials.curves` object of one set. Priors are normal and independent but
for the spline, whose log-slopes are tied to their neighbours.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np

from ..arrays import Array
from ..materials import curves
from ..materials.model import CurveLike

#: Knots of the spline [-]: closer where membranes open.
KNOTS = (0.0, 0.2, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.93, 1.0)
#: Prior spread of ln(permeance) about the least and the greatest one measured: a factor of 20.
LEVEL = 3.0


@dataclass(frozen=True)
class Family:
    """A family of curves.

    Parameters
    ----------
    name : str
    parameters : tuple of str
        What `values` returns, in this order.
    log : callable
        (parameters [set, parameter], humidity [point]) to ln P [set, point].
    values : callable
        Working parameters to those that a person reads, in SI.
    curve : callable
        Working parameters to a curve of `drydown.materials.curves`.
    prior : callable
        (ln of the least, ln of the greatest permeance measured) to rows of mean and spread [parameter, 2].
    starts : callable
        Same argument to working parameters to begin from [set, parameter].
    tie : Array
        Rows of further prior residuals, linear in the parameters [row, parameter].
    """

    name: str
    parameters: tuple[str, ...]
    log: Callable[[Array, Array], Array]
    values: Callable[[Array], Array]
    curve: Callable[[Array], CurveLike]
    prior: Callable[[float, float], Array]
    starts: Callable[[float, float], Array]
    tie: Array


def _grid(*columns: tuple[float, ...]) -> Array:
    return np.array(list(product(*columns)))


def _sigmoid(x: Array) -> Array:
    return 0.5 * (1.0 + np.tanh(0.5 * x))


# logistic: ln closed, ln open, middle, ln width
def _logistic_log(p: Array, phi: Array) -> Array:
    low, high, middle = p[:, 0:1], p[:, 1:2], p[:, 2:3]
    return low + (high - low) * _sigmoid((phi - middle) * np.exp(-p[:, 3:4]))


def _logistic_values(p: Array) -> Array:
    return np.array([np.exp(p[0]), np.exp(p[1]), p[2], np.exp(p[3])])


# two-level: ln closed, ln open, start and end as logits, the end within what is left above the start
def _edges(p: Array) -> tuple[Array, Array]:
    start = _sigmoid(p[..., 2])
    return start, start + (1.0 - start) * _sigmoid(p[..., 3])


def _two_level_log(p: Array, phi: Array) -> Array:
    start, end = _edges(p)
    s = np.clip((phi - start[:, None]) / (end - start)[:, None], 0.0, 1.0)
    return p[:, 0:1] + (p[:, 1:2] - p[:, 0:1]) * s * s * (3.0 - 2.0 * s)


def _two_level_values(p: Array) -> Array:
    return np.array([np.exp(p[0]), np.exp(p[1]), *_edges(p)])


# constant: ln P
def _constant_log(p: Array, phi: Array) -> Array:
    return np.broadcast_to(p, (len(p), len(phi)))


# exponential: ln dry, ln rise, ln growth
def _exponential_log(p: Array, phi: Array) -> Array:
    growth = np.exp(p[:, 2:3])
    with np.errstate(divide="ignore"):
        return np.logaddexp(p[:, 0:1], p[:, 1:2] + np.log(np.expm1(growth * phi)))


def _exponential_values(p: Array) -> Array:
    return np.exp(p)


# spline: ln P at the first knot, then ln of the slope of ln P between the knots
_WIDTH = np.diff(KNOTS)


def _levels(p: Array) -> Array:
    """Return ln P at the knots [..., knot]."""
    rise = np.exp(np.minimum(p[..., 1:], 6.0)) * _WIDTH
    return np.concatenate([p[..., :1], p[..., :1] + np.cumsum(rise, axis=-1)], axis=-1)


def _spline_log(p: Array, phi: Array) -> Array:
    from scipy.interpolate import PchipInterpolator

    found: Array = PchipInterpolator(np.array(KNOTS), _levels(p), axis=1)(phi)
    return found


def _spline_tie() -> Array:
    """Neighbouring log-slopes differ by 1.5 for knots 0.1 apart, and by its square root law for others."""
    centre = np.array(KNOTS[:-1]) + 0.5 * _WIDTH
    rows = np.zeros((len(centre) - 1, len(centre) + 1))
    for i, gap in enumerate(np.diff(centre)):
        rows[i, i + 1 : i + 3] = np.array([-1.0, 1.0]) / (1.5 * np.sqrt(gap / 0.1))
    return rows


_NONE = np.zeros((0, 0))
_SLOPES = len(KNOTS) - 1

FAMILIES: dict[str, Family] = {
    f.name: f
    for f in (
        Family(
            "logistic",
            ("closed", "open", "middle", "width"),
            _logistic_log,
            _logistic_values,
            lambda p: curves.Logistic(*_logistic_values(p).tolist()),
            lambda low, high: np.array([(low, LEVEL), (high, LEVEL), (0.65, 0.3), (np.log(0.08), 1.0)]),
            lambda low, high: _grid((low,), (high, high + 1.0), (0.4, 0.55, 0.7, 0.85), (-3.2, -2.5, -1.6)),
            _NONE,
        ),
        Family(
            "two-level",
            ("closed", "open", "start", "end"),
            _two_level_log,
            _two_level_values,
            lambda p: curves.TwoLevel(*_two_level_values(p).tolist()),
            lambda low, high: np.array([(low, LEVEL), (high, LEVEL), (0.0, 1.7), (0.0, 1.7)]),
            lambda low, high: _grid((low,), (high, high + 1.0), (-1.0, 0.0, 1.0), (-1.0, 0.0, 1.0)),
            _NONE,
        ),
        Family(
            "exponential",
            ("dry", "rise", "growth"),
            _exponential_log,
            _exponential_values,
            lambda p: curves.Exponential(*_exponential_values(p).tolist()),
            lambda low, high: np.array([(low, LEVEL), (low - 2.0, 2.0 * LEVEL), (np.log(5.0), 1.0)]),
            lambda low, high: _grid((low,), (low - 4.0, low - 1.0), (0.5, 1.5, 2.5)),
            _NONE,
        ),
        Family(
            "constant",
            ("value",),
            _constant_log,
            _exponential_values,
            lambda p: curves.Constant(float(np.exp(p[0]))),
            lambda low, high: np.array([(0.5 * (low + high), LEVEL)]),
            lambda low, high: np.array([[0.5 * (low + high)]]),
            _NONE,
        ),
        Family(
            "spline",
            tuple(f"at {100 * k:.0f} %" for k in KNOTS),
            _spline_log,
            lambda p: np.exp(_levels(p)),
            lambda p: curves.permeance_points(KNOTS, np.exp(_levels(p)).tolist()),
            lambda low, high: np.array([(low, LEVEL), *[(np.log(4.0), 2.0)] * _SLOPES]),
            lambda low, high: np.array([[low] + [np.log(max(high - low, 0.1))] * _SLOPES]),
            _spline_tie(),
        ),
    )
}
