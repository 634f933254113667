"""What a logger reads beside the truth: noise that holds on from reading to reading.

A residual r at times t is taken as stationary of first order (AR(1), the discrete Ornstein-Uhlenbeck process):

    r_k = rho^(dt_k/hour) r_(k-1) + e_k,   var e_k = sd^2 (1 - rho^(2 dt_k/hour)),

so that gaps of any length are no trouble. It stands for the noise of the probe and for what the model lacks alike.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array

#: Correlations from hour to hour that are tried; a residual that holds on for longer is no noise any more.
_TRIED = np.concatenate([np.linspace(0.0, 0.9, 31), 1.0 - np.geomspace(0.1, 0.0025, 30)])
#: Least standard deviation over the span of what was read: what is read is rounded.
_LEAST = 1e-6


class Noise(NamedTuple):
    """Standard deviation, in the unit of the reading, and correlation from hour to hour."""

    sd: float
    rho: float


def whitened(hours: Array, rows: Array, noise: Noise) -> Array:
    """Return rows of residuals, or of their derivatives, divided by the noise: independent, of variance one.

    Parameters
    ----------
    hours : array of shape (reading,)
        Times [h], rising.
    rows : array of shape (reading,) or (reading, free)
    noise : Noise
    """
    keep = noise.rho ** np.diff(hours)
    out = np.empty_like(rows)
    out[0] = rows[0]
    shape = (-1,) + (1,) * (rows.ndim - 1)
    out[1:] = (rows[1:] - keep.reshape(shape) * rows[:-1]) / np.sqrt(1.0 - keep**2).reshape(shape)
    return out / noise.sd


def found(
    hours: Array,
    residual: Array,
    taken: float = 0.0,
    span: float = 1.0,
    by: Array | None = None,
    rest: Array | None = None,
) -> Noise:
    """Return the noise of greatest likelihood; of the restricted one, where it is told what a fit has learned from it.

    Parameters
    ----------
    hours : array of shape (reading,)
    residual : array of shape (reading,)
    taken : float
        Degrees of freedom that the fit has taken from these readings.
    span : float
        Range of what was read.
    by : array of shape (reading, free), optional
        Derivatives of what is predicted of the readings.
    rest : array of shape (free, free), optional
        What everything else says of the inputs: J'J of the other logs and the prior.

    Notes
    -----
    A fit leans towards what it is fitted to, so what is left over holds on for a shorter time than the noise does. The
    restricted likelihood (Patterson and Thompson 1971, Biometrika 58, 545) makes up for that: the logarithm of the
    determinant of J'J stands beside the sum of squares.
    """
    n = len(residual)
    gaps = np.diff(hours)
    best, least = Noise(max(float(residual.std()), _LEAST * span), 0.0), np.inf
    for rho in _TRIED:
        keep = rho**gaps
        share = 1.0 - keep**2
        squares = residual[0] ** 2 + float(np.sum((residual[1:] - keep * residual[:-1]) ** 2 / share))
        variance = max(squares / max(n - taken, 1.0), (_LEAST * span) ** 2)
        cost = n * np.log(variance) + float(np.sum(np.log(share)))
        if by is not None and rest is not None:
            told = whitened(hours, by, Noise(float(np.sqrt(variance)), float(rho)))
            cost += float(np.linalg.slogdet(rest + told.T @ told)[1])
        if cost < least:
            best, least = Noise(float(np.sqrt(variance)), float(rho)), cost
    return best
