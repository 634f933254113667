"""Least squares of a family to cup tests, with what holds its parameters beside the tests."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest, need_number
from .families import Family
from .model import POINTS, Cups, measured

#: A refit ends when a step lessens its sum of squares by less than this.
NO_GAIN = 1e-4
#: Spread of a working parameter that is fixed: a hundred-thousandth, small beside what any test tells.
FIXED = 1e-5


@dataclass(frozen=True)
class Held:
    """What holds the working parameters beside the tests.

    Parameters
    ----------
    prior : array, shape (parameter, 2), optional
        Mean and spread; that of the family by default.
    covariance : array, shape (parameter, parameter), optional
        Instead of the spreads.
    fixed : mapping of int to float
        Working parameters that do not move.
    """

    prior: Array | None = None
    covariance: Array | None = None
    fixed: Mapping[int, float] = field(default_factory=dict)


def working_value(family: Family, name: str, value: float) -> tuple[int, float]:
    """Return which working parameter a named one is, and where it has a value.

    Raises
    ------
    InputError
        If the family has no such parameter, it hangs on others, or it cannot have that value.
    """
    where = f"fit, fixed '{name}'"
    if name not in family.parameters:
        raise InputError(f"a '{family.name}' curve has no such parameter; {nearest(name, family.parameters)}", where)
    need_number(value, "it", where)
    i = family.parameters.index(name)
    middle = family.starts(-23.0, -22.0)[0]
    read = family.values(middle)
    for j in range(len(middle)):
        if j != i and family.values(middle + np.eye(len(middle))[j])[i] != read[i]:
            raise InputError(f"it hangs on the other parameters of a '{family.name}' curve and cannot be fixed", where)

    def at(x: float) -> float:
        moved = middle.copy()
        moved[i] = x
        return float(family.values(moved)[i])

    low, high = -80.0, 20.0
    if not at(low) <= value <= at(high):
        raise InputError(f"it is {value:g}, which a '{family.name}' curve cannot have", where)
    for _ in range(200):
        between = 0.5 * (low + high)
        low, high = (between, high) if at(between) < value else (low, between)
    return i, 0.5 * (low + high)


class Solver:
    """Residuals of a family to tests, for many sets of parameters at once."""

    def __init__(self, family: Family, cups: Cups, y: Array, sigma: Array, held: Held) -> None:
        self.family, self.cups, self.y, self.sigma = family, cups, y, sigma
        self.prior = held.prior.copy() if held.prior is not None else family.prior(float(y.min()), float(y.max()))
        self.rows = np.diag(1.0 / self.prior[:, 1])
        if held.covariance is not None:
            self.rows = np.linalg.cholesky(np.linalg.inv(held.covariance)).T
        for i, value in held.fixed.items():
            self.rows[:, i] = 0.0
            self.rows[i] = np.eye(len(self.prior))[i] / FIXED
            self.prior[i] = value, FIXED
        self.tied = held.covariance is None and self.family.tie.size > 0

    def log_cups(self, theta: Array) -> Array:
        """Return ln of what the cups measure [set, test]."""
        return np.log(measured(self.family.log(theta, POINTS), self.cups))

    def residuals(self, theta: Array) -> Array:
        """Return residuals [set, test and prior row]."""
        rows = [(self.log_cups(theta) - self.y) / self.sigma, (theta - self.prior[:, 0]) @ self.rows.T]
        if self.tied:
            rows.append(theta @ self.family.tie.T)
        return np.concatenate(rows, axis=1)

    def one(self, theta: Array) -> Array:
        """Return the residuals of one set."""
        found: Array = self.residuals(theta[None, :])[0]
        return found

    def jacobian(self, theta: Array) -> Array:
        """Return d residual/d parameter by central differences [row, parameter]."""
        found: Array = self.jacobians(theta[None, :])[0]
        return found

    def jacobians(self, theta: Array) -> Array:
        """Return the derivatives of many sets [set, row, parameter]."""
        n, k = theta.shape
        e = 1e-5
        moved = theta[:, None, None, :] + e * np.stack([np.eye(k), -np.eye(k)])
        r = self.residuals(moved.reshape(-1, k)).reshape(n, 2, k, -1)
        return np.swapaxes((r[:, 0] - r[:, 1]) / (2.0 * e), 1, 2)

    def refits(self, theta: Array, noise: Array, widened: float) -> Array:
        """Return the parameters fitted to simulated tests, all at once.

        Parameters
        ----------
        theta : ndarray, shape (parameters,)
            The fit from which tests are simulated.
        noise : ndarray, shape (sets, rows)
            Standard normal. It moves the tests by `widened` times their uncertainty, and the prior by its
            spread: without that the band would be narrowest where the tests say nothing.
        widened : float

        Notes
        -----
        Levenberg and Marquardt's method with a damping of its own for each set.
        """
        spread = np.where(np.arange(noise.shape[1]) < len(self.y), widened, 1.0)
        shift = self.one(theta) + spread * noise
        x = np.repeat(theta[None, :], len(shift), axis=0)
        damping = np.full(len(x), 1e-3)
        r = self.residuals(x) - shift
        busy = np.arange(len(x))
        for _ in range(100):
            j, res = self.jacobians(x[busy]), r[busy]
            normal = np.einsum("nri,nrj->nij", j, j)
            slope = np.einsum("nri,nr->ni", j, res)
            scale = damping[busy, None] * np.einsum("nii->ni", normal)
            step = np.linalg.solve(normal + scale[:, :, None] * np.eye(x.shape[1]), slope[:, :, None])[:, :, 0]
            new = x[busy] - step
            res_new = self.residuals(new) - shift[busy]
            gain = np.sum(res**2, axis=1) - np.sum(res_new**2, axis=1)
            good = gain >= 0.0
            x[busy[good]], r[busy[good]] = new[good], res_new[good]
            damping[busy] *= np.where(good, 0.1, 10.0)
            busy = busy[np.where(good, gain > NO_GAIN, damping[busy] < 1e6)]
            if len(busy) == 0:
                break
        return x


def covariance_of(jacobian: Array, residuals: Array, k: int) -> tuple[Array, float]:
    """Return the covariance of the parameters, and the factor by which the scatter widened it."""
    from scipy.stats import chi2

    free = len(residuals) - k
    total = float(np.sum(residuals**2))
    widened = 1.0
    if free > 0 and chi2.sf(total, free) < 0.01:
        widened = total / free
    n = len(residuals)
    data, held = jacobian[:n], jacobian[n:]
    return np.asarray(np.linalg.inv(data.T @ data / widened + held.T @ held), dtype=np.float64), widened
