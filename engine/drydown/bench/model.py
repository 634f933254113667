"""What cup tests would measure of a curve: the mean of the permeance over the humidities of both sides.

With still air on the sides the humidities at the faces of the film follow from the flow. With
F(phi) = int_0^phi P and resistances R the flow over saturation pressure q obeys

    q = F(a - q R_cup) - F(b + q R_room)

for humidities a in the cup and b in the room; the apparent permeance is q/(a - b). Nothing is marched here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from .cup import CupTest

#: Panels in which F is integrated, by two Gauss points each.
_PANELS = 128
_NODES = np.linspace(0.0, 1.0, _PANELS + 1)
_AT = (0.5 * (_NODES[1:] + _NODES[:-1]))[:, None] + np.array([-1.0, 1.0]) * 0.5 / (_PANELS * np.sqrt(3.0))
#: Where ln P is needed: the Gauss points and the nodes.
POINTS = np.concatenate([_AT.ravel(), _NODES])


class Cups(NamedTuple):
    """Cup tests as arrays [test]: humidities [-], resistances [m2 s Pa/kg], those already taken off."""

    a: Array
    b: Array
    r_cup: Array
    r_room: Array
    off: Array

    @classmethod
    def of(cls, tests: Sequence[CupTest]) -> Cups:
        """Return the tests as arrays."""
        a, b = np.array([t.humidities for t in tests]).T
        r_cup = np.array([t.air_resistance() for t in tests])
        r_room = np.array([t.surface_resistance for t in tests])
        off = np.array([t.corrected for t in tests]) * (r_cup + r_room)
        return cls(a, b, r_cup, r_room, off)


def measured(log_permeance: Array, cups: Cups) -> Array:
    """Return what the cups measure [kg/(m2 s Pa)].

    Parameters
    ----------
    log_permeance : ndarray, shape (curves, points)
        ln P at `POINTS`.
    cups : Cups

    Returns
    -------
    ndarray, shape (curves, tests)
    """
    p = np.exp(log_permeance)
    gauss, nodes = p[:, : 2 * _PANELS], p[:, 2 * _PANELS :]
    pieces = gauss.reshape(len(p), _PANELS, 2).sum(axis=2) * 0.5 / _PANELS
    table = np.concatenate([np.zeros((len(p), 1)), np.cumsum(pieces, axis=1)], axis=1)
    f_a, _ = _look_up(table, nodes, np.broadcast_to(cups.a, (len(p), len(cups.a))))
    f_b, _ = _look_up(table, nodes, np.broadcast_to(cups.b, (len(p), len(cups.b))))
    q = f_a - f_b
    if np.any(cups.r_cup + cups.r_room > 0.0):
        q = _in_series(table, nodes, cups, q)
    return 1.0 / ((cups.a - cups.b) / q - cups.off)


def _look_up(table: Array, slopes: Array, x: Array) -> tuple[Array, Array]:
    """Return F and P at humidities [curve, test] from values and slopes at the nodes (cubic Hermite)."""
    i = np.clip((x * _PANELS).astype(np.int64), 0, _PANELS - 1)
    t = x * _PANELS - i
    y0, y1 = np.take_along_axis(table, i, 1), np.take_along_axis(table, i + 1, 1)
    d0, d1 = (np.take_along_axis(slopes, i + k, 1) / _PANELS for k in (0, 1))
    c2, c3 = 3.0 * (y1 - y0) - 2.0 * d0 - d1, 2.0 * (y0 - y1) + d0 + d1
    return y0 + t * (d0 + t * (c2 + t * c3)), _PANELS * (d0 + t * (2.0 * c2 + 3.0 * t * c3))


def _in_series(table: Array, slopes: Array, cups: Cups, q: Array) -> Array:
    """Return the flow with the air on both sides: Newton, kept between nothing and the bare film."""
    most = (cups.a - cups.b) / np.maximum(cups.r_cup + cups.r_room, 1e-300)
    limit = np.where(np.abs(most) < np.abs(q), most, q)  # no flow beyond the bare film or the bare air
    low, high = np.zeros_like(q), np.ones_like(q)
    x = 1.0 / (1.0 + np.abs(q / most))
    x = np.where(limit == q, x, x * np.abs(q / most))
    for _ in range(40):
        q = x * limit
        f_a, p_a = _look_up(table, slopes, np.clip(cups.a - q * cups.r_cup, 0.0, 1.0))
        f_b, p_b = _look_up(table, slopes, np.clip(cups.b + q * cups.r_room, 0.0, 1.0))
        f = (q - f_a + f_b) / limit
        high, low = np.where(f > 0.0, x, high), np.where(f > 0.0, low, x)
        new = x - f / (1.0 + p_a * cups.r_cup + p_b * cups.r_room)
        new = np.where((new > low) & (new < high), new, np.clip(new, 0.5 * (x + low), 0.5 * (x + high)))
        done = np.max(np.abs(new - x)) < 1e-12
        x = new
        if done:
            break
    return x * limit
