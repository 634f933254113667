"""Slab with both faces open: one-dimensional diffusion with a surface resistance, any Biot number.

X in [-1, 1] across the slab, tau = D t / l^2 with l the half thickness, Bi = (surface coefficient) l / D:

    (u - u_e)/(u_0 - u_e) = sum 2 Bi cos(b X) exp(-b^2 tau) / ((b^2 + Bi^2 + Bi) cos b),   b tan b = Bi

Source: Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3.6 (and 4.3.2 for Bi infinite) [M].
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from scipy.optimize import brentq

Array = np.ndarray


@lru_cache(maxsize=32)
def _roots(biot: float, count: int) -> Array:
    """The first roots of b tan b = Bi, one in each (k pi, k pi + pi/2)."""
    if np.isinf(biot):
        return (np.arange(count) + 0.5) * np.pi
    found = []
    for k in range(count):
        # cos and sin instead of tan: no pole at the upper end
        low, high = k * np.pi, k * np.pi + np.pi / 2
        found.append(brentq(lambda b: b * np.sin(b) - biot * np.cos(b), low, high, xtol=1e-14, rtol=1e-15))
    return np.array(found)


def _terms(tau: float) -> int:
    return int(np.ceil(np.sqrt(41.5 / tau) / np.pi)) + 2


def remaining(position: Any, tau: float, biot: float) -> Array:
    """Unaccomplished change (u - u_e)/(u_0 - u_e) at X in [-1, 1] after the Fourier number tau > 0.

    Parameters
    ----------
    position : array_like
        X = x/l from the middle [-].
    tau : float
        D t / l^2 [-].
    biot : float
        [-]; `numpy.inf` for imposed faces.
    """
    b = _roots(float(biot), _terms(tau))
    if np.isinf(biot):
        amplitude = 2.0 * (-1.0) ** np.arange(b.size) / b
    else:
        # cos b = b sin b / Bi carries the sign without the cancellation near odd multiples of pi/2
        cos_b = np.where(np.abs(np.cos(b)) > 0.1, np.cos(b), b * np.sin(b) / biot)
        amplitude = 2.0 * biot / ((b * b + biot * biot + biot) * cos_b)
    found: Array = np.cos(np.asarray(position, dtype=float)[..., None] * b) @ (amplitude * np.exp(-b * b * tau))
    return found


def mean_remaining(tau: float, biot: float) -> float:
    """Mean of `remaining` over the slab: 1 - M_t/M_inf."""
    b = _roots(float(biot), _terms(tau))
    weight = 2.0 / (b * b)
    if not np.isinf(biot):
        weight = weight * biot * biot / (b * b + biot * biot + biot)
    return float(np.sum(weight * np.exp(-b * b * tau)))
