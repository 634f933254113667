"""The posterior of a fit beyond a normal distribution, by the sampler of emcee on a surrogate of the wall.

What sensors read is taken as a straight line in one measure of each input: its coordinate, or the number itself,
whichever tells its derivatives at a second point better (water that leaks in is straight in the share of the rain, not
in its logarithm). On that the sum of squares is known without a march, and the sampler (affine invariant ensemble;
Goodman and Weare 2010, Comm. App. Math. Comp. Sci. 5, 65) takes as many steps as it likes. A few full runs at draws
tell by how much the surrogate is off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array
from ..errors import InputError
from .fitting import Fit, _white, read_at

#: Walkers for each input, steps of each, and those that are left out while they spread.
WALKERS, STEPS, WARM = 6, 1500, 500
#: Draws that are kept, and full runs that check the surrogate.
KEPT, CHECKED = 2000, 6


@dataclass(frozen=True)
class Sampled:
    """Draws from the posterior of a fit.

    Parameters
    ----------
    z : array of shape (draw, free)
        Coordinates.
    straight_in : tuple of str
        For each input, 'coordinate' or 'number': what the readings are straight in.
    off : float
        Standard deviation of the logarithm of the weights that full runs give the draws; below one half the draws
        stand as they are.
    """

    z: Array
    straight_in: tuple[str, ...]
    off: float

    def interval(self, fit: Fit, j: int, share: float = 0.9) -> tuple[float, float]:
        """Return the values between which an input lies in so many of the draws, SI.

        Parameters
        ----------
        fit : Fit
        j : int
            Position of the input.
        share : float
        """
        low, high = np.quantile(self.z[:, j], [0.5 - 0.5 * share, 0.5 + 0.5 * share])
        return fit.free[j].value(float(low)), fit.free[j].value(float(high))


class _Surrogate:
    """Half the sum of squares of a fit, by coordinates."""

    def __init__(self, fit: Fit) -> None:
        self.fit = fit
        self.slopes = np.array([x.slope(float(c)) for x, c in zip(fit.free, fit.z, strict=True)])
        away = fit.z + fit.sd * np.where(np.arange(len(fit.z)) % 2 == 0, 1.0, -1.0)
        _, there = _white(read_at(fit.case, fit.free, fit.logs, away, fit.grid), fit.noise)
        ratio = np.array([x.slope(float(c)) for x, c in zip(fit.free, away, strict=True)]) / self.slopes
        by_z = np.sum((there - fit.jacobian) ** 2, axis=0)
        by_x = np.sum((there - fit.jacobian * ratio) ** 2, axis=0)
        self.by_number = by_x < by_z
        self.matrix = fit.jacobian.T @ fit.jacobian
        self.right = fit.jacobian.T @ fit.residual

    def measure(self, z: Array) -> Array:
        """Return by how much what the readings are straight in differs from the fit, (draw, free)."""
        out = z - self.fit.z
        for j in np.flatnonzero(self.by_number):
            x = self.fit.free[j]
            at = x.values(np.clip(z[:, j], -8.0, 8.0))
            out[:, j] = (at - x.value(float(self.fit.z[j]))) / self.slopes[j]
        return out

    def density(self, z: Array) -> Array:
        """Return the logarithm of the posterior density, less that of the best fit without the prior, (draw,)."""
        q = self.measure(z)
        squares = 0.5 * np.einsum("ij,jk,ik->i", q, self.matrix, q) - q @ self.right
        found: Array = -squares - 0.5 * np.sum(z**2, axis=1)
        return found


def installed() -> bool:
    """Return whether the sampler is there."""
    try:
        import emcee  # noqa: F401 - asked for, not used
    except ImportError:
        return False
    return True


def sample(fit: Fit, seed: int = 0, *, check: int = CHECKED, steps: int = STEPS) -> Sampled:
    """Return draws from the posterior of a fit.

    Parameters
    ----------
    fit : Fit
    seed : int
    check : int
        Full runs that the surrogate is held against.
    steps : int
        Of every walker.

    Raises
    ------
    InputError
        If emcee is not installed.
    """
    try:
        import emcee
    except ImportError:
        raise InputError("the sampler is not installed; pip install 'drydown[fit]' brings it", "posterior") from None

    surrogate = _Surrogate(fit)
    n = len(fit.free)
    walkers = max(WALKERS * n, 16)
    rng = np.random.default_rng(seed)
    begin = rng.multivariate_normal(fit.z, fit.covariance, size=walkers)
    sampler = emcee.EnsembleSampler(walkers, n, surrogate.density, vectorize=True)
    sampler.random_state = np.random.RandomState(seed).get_state()
    sampler.run_mcmc(begin, steps)
    draws: Array = sampler.get_chain(discard=min(WARM, steps // 3), flat=True)
    draws = draws[rng.choice(len(draws), KEPT)]
    off = 0.0
    if check > 1:
        off = float(np.std([_true(fit, z) for z in draws[:check]] - surrogate.density(draws[:check])))
    return Sampled(draws, tuple("number" if b else "coordinate" for b in surrogate.by_number), off)


def _true(fit: Fit, z: Array) -> float:
    """Return the logarithm of the posterior density of a full run."""
    residual, _ = _white(read_at(fit.case, fit.free, fit.logs, z, fit.grid, derive=False), fit.noise)
    return -0.5 * float(residual @ residual) - 0.5 * float(z @ z)
