"""From cup tests to a curve of local permeance against humidity, by the integral, with a band.

A cup between two humidities measures the mean of the permeance over them (and over less where still air stands
on the film), not the permeance at their mean. The curve sought is the one whose means are those measured.
"""

from __future__ import annotations

import warnings as _warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..frozen import FrozenMap
from ..materials.model import CurveLike, Film, Source
from .cup import CupTest
from .doubts import doubts
from .families import FAMILIES, Family
from .model import POINTS, Cups, measured

#: Steps of humidity at which a simultaneous band is made to hold [-].
STEP = 0.01
#: A refit ends when a step lessens its sum of squares by less than this.
NO_GAIN = 1e-4


@dataclass(frozen=True)
class Fit:
    """A curve fitted to cup tests.

    Parameters
    ----------
    family : str
    curve : Curve
        Local permeance [kg/(m2 s Pa)] of humidity; it can be the permeance of a `Film`.
    parameters : mapping
        By name, in SI: permeances [kg/(m2 s Pa)], humidities and widths [-].
    tests : tuple of CupTest
    measured, modelled : ndarray, shape (tests,)
        What was measured, and what the curve gives in the cups, at 296.15 K [kg/(m2 s Pa)].
    residuals : ndarray, shape (tests,)
        ln(measured/modelled) over the relative uncertainty [-].
    working : ndarray, shape (parameters,)
        Parameters as they are fitted (logarithms, see `drydown.bench.families`).
    covariance : ndarray, shape (parameters, parameters)
        Of `working`, by Laplace's approximation, prior included.
    draws : ndarray, shape (draws, parameters)
        Of `working`: refits to simulated tests (bootstrap), or draws from the normal law (Laplace).
    method : {'bootstrap', 'laplace'}
    covered : (float, float)
        Least and greatest humidity [-] that a test reached.
    warnings : tuple of str
    """

    family: str
    curve: CurveLike
    parameters: Mapping[str, float]
    tests: tuple[CupTest, ...]
    measured: Array
    modelled: Array
    residuals: Array
    working: Array = field(repr=False)
    covariance: Array = field(repr=False)
    draws: Array = field(repr=False)
    method: Literal["bootstrap", "laplace"]
    covered: tuple[float, float]
    warnings: tuple[str, ...] = ()

    def band(
        self, humidity: Any, level: float = 0.95, kind: Literal["simultaneous", "pointwise"] = "simultaneous"
    ) -> tuple[Array, Array]:
        """Return the lower and upper edge of the confidence band [kg/(m2 s Pa)].

        Parameters
        ----------
        humidity : array_like, shape (n,)
            [-].
        level : float
        kind : {'simultaneous', 'pointwise'}
            Simultaneous: the whole curve lies inside with the probability `level`, at every full per cent of
            humidity within `covered`. Pointwise: at each humidity by itself, which is narrower.

        Returns
        -------
        low, high : ndarray, shape (n,)

        Notes
        -----
        exp(ln P - c s_below) to exp(ln P + c s_above), the root mean squares of ln P_draw - ln P over the draws
        below and above the curve at that humidity (with Laplace: of its first-order change with the parameters).
        Simultaneous: c is the quantile `level` of the greatest |ln P_draw - ln P|/s over the humidities covered
        (sup-t band).
        Beyond `covered` the same c is used, and only the family and its prior hold the curve.
        """
        if not 0.0 < level < 1.0:
            raise InputError(f"level is {level:g}; it must lie between 0 and 1, such as 0.95", "band")
        if kind not in ("simultaneous", "pointwise"):
            raise InputError(f"kind is '{kind}'; use 'simultaneous' or 'pointwise'", "band")
        at = np.atleast_1d(np.asarray(humidity, dtype=float))
        centre, away = self._away(at)
        below, above = _spread(away)
        if kind == "pointwise":
            c = np.quantile(_size(away, below, above), level, axis=0)
        else:
            low, high = self.covered
            _, along = self._away(np.linspace(low, high, max(2, round((high - low) / STEP) + 1)))
            c = np.quantile(_size(along, *_spread(along)).max(axis=1), level)
        return np.exp(centre - c * below), np.exp(centre + c * above)

    def _away(self, humidity: Array) -> tuple[Array, Array]:
        """Return ln P [n] and how far each draw is from it [draw, n]; with Laplace to first order."""
        log = FAMILIES[self.family].log
        centre = log(self.working[None, :], humidity)[0]
        if self.method == "bootstrap":
            return centre, log(self.draws, humidity) - centre
        e = 1e-5 * np.eye(len(self.working))
        slope = (log(self.working + e, humidity) - log(self.working - e, humidity)) / 2e-5
        return centre, (self.draws - self.working) @ slope

    def film(self, name: str, **fields: Any) -> Film:
        """Return the curve as a film, with a source that says how it was found.

        Parameters
        ----------
        name : str
        **fields
            Further fields of `Film`, e.g. ``thickness`` or ``permeance_temperature``.
        """
        note = f"{self.family} curve through {len(self.tests)} cup tests by the integral"
        source = Source("own cup tests", None, "drydown.bench.fit", "fitted", note, "permeance")
        return Film(name, self.curve, **({"sources": (source,), "humidity_range": self.covered} | fields))


def fit(
    tests: Sequence[CupTest],
    family: str = "logistic",
    *,
    method: Literal["bootstrap", "laplace"] = "bootstrap",
    draws: int | None = None,
    seed: int = 1,
    temperature_factor: Callable[[Any], Any] | None = None,
) -> Fit:
    """Fit a curve of local permeance against humidity to cup tests.

    Parameters
    ----------
    tests : sequence of CupTest
        Each with a measured permeance and its uncertainty.
    family : {'logistic', 'two-level', 'exponential', 'spline', 'constant'}
    method : {'bootstrap', 'laplace'}
        How the band is found. Bootstrap: tests are simulated from the fitted curve with the stated uncertainty
        and fitted again (400 times). Laplace: the parameters are taken as normal about the best ones and the
        curve as straight in them (4000 draws); quicker, and only sound where the tests fix every parameter.
    draws : int, optional
        How many instead.
    seed : int
        Of the random numbers; one seed, one result.
    temperature_factor : callable, optional
        Factor [-] of temperature [K] on the permeance, 1 at 296.15 K: tests at other temperatures are brought
        to 296.15 K with it.

    Returns
    -------
    Fit

    Raises
    ------
    InputError
        If a test has no permeance or no uncertainty, there are fewer than two, or the family is unknown.

    Notes
    -----
    Least squares in the logarithm: sum ((ln measured - ln modelled)/uncertainty)^2, plus a wide normal prior that
    holds what the tests say nothing about (ln P within a factor of 20 of the values measured, the middle at
    65 +- 30 %, ln width and ln growth within +- 1; see `drydown.bench.families`). Where the scatter about the
    curve is larger than the uncertainties allow (chi-squared test at 1 %), the band is widened to the scatter.
    """
    from scipy.optimize import least_squares

    tests, known = _checked(tests), _family(family)
    factor = np.ones(len(tests))
    if temperature_factor is not None:
        factor = np.asarray(temperature_factor(np.array([t.temperature for t in tests])), dtype=float)
    y = np.log(np.array([t.permeance for t in tests], dtype=float)) - np.log(factor)
    sigma = np.array([t.uncertainty for t in tests], dtype=float)
    solver = _Solver(known, Cups.of(tests), y, sigma)
    starts = known.starts(float(y.min()), float(y.max()))
    cost = np.sum(solver.residuals(starts) ** 2, axis=1)
    tried = [
        least_squares(solver.one, starts[k], solver.jacobian, method="lm", x_scale=1.0, xtol=1e-12, ftol=1e-12)
        for k in np.argsort(cost)[:4]
    ]
    best = min(tried, key=lambda r: r.cost)
    theta = np.asarray(best.x, dtype=float)
    model = solver.log_cups(theta[None, :])[0]
    residuals = (y - model) / sigma
    covariance, widened = _covariance(solver.jacobian(theta), residuals, len(theta))
    rng = np.random.default_rng(seed)
    if method == "laplace":
        sample = rng.multivariate_normal(theta, covariance, draws or 4000, method="eigh")
    elif method == "bootstrap":
        sample = solver.refits(theta, rng.standard_normal((draws or 400, best.fun.size)), np.sqrt(widened))
    else:
        raise InputError(f"method is '{method}'; use 'laplace' or 'bootstrap'", "fit")
    values = FrozenMap(zip(known.parameters, known.values(theta).tolist(), strict=True))
    ends = np.array([(t.cup, t.room) for t in tests])
    said = doubts(tests, known, theta, covariance, solver.prior, residuals, temperature_factor is not None)
    for text in said:
        _warnings.warn(text, FitWarning, stacklevel=2)
    return Fit(
        known.name,
        known.curve(theta),
        values,
        tests,
        np.exp(y),
        np.exp(model),
        residuals,
        theta,
        covariance,
        sample,
        method,
        (float(ends.min()), float(ends.max())),
        said,
    )


def _spread(away: Array) -> tuple[Array, Array]:
    """Return the root mean square of the draws below and above the curve [point]."""
    below, above = np.minimum(away, 0.0), np.maximum(away, 0.0)
    n = [np.maximum(np.sum(x != 0.0, axis=0), 1) for x in (below, above)]
    s = [np.sqrt(np.sum(x**2, axis=0) / k) + 1e-12 for x, k in zip((below, above), n, strict=True)]
    return s[0], s[1]


def _size(away: Array, below: Array, above: Array) -> Array:
    """Return how far each draw is from the curve in spreads of its side [draw, point]."""
    return np.where(away < 0.0, -away / below, away / above)


class FitWarning(UserWarning):
    """The tests do not say all that the curve shows."""


def _checked(tests: Sequence[CupTest]) -> tuple[CupTest, ...]:
    tests = tuple(tests)
    if len(tests) < 2:
        raise InputError(f"there {'is 1 test' if tests else 'are no tests'}; at least 2 are needed", "fit")
    for i, test in enumerate(tests, 1):
        where = f"fit, test {i}" + (f" '{test.name}'" if test.name else "")
        if test.permeance is None:
            raise InputError("it has no measured permeance, such as permeance = 5.7e-11", where)
        if test.uncertainty is None:
            raise InputError("it has no uncertainty; give a relative one, such as 0.05", where)
        if test.corrected or test.air_layer + test.surface_resistance == 0.0:
            continue
        air = test.air_resistance() + test.surface_resistance
        if test.permeance * air >= 0.98:
            raise InputError(
                f"the air alone would let through {1.0 / air:.3g} kg/(m2 s Pa), less than the {test.permeance:.3g} "
                "measured with the film; make air_layer or surface_resistance smaller, or set corrected",
                where,
            )
    return tests


def _family(name: str) -> Family:
    if name not in FAMILIES:
        raise InputError(f"no family is called '{name}'; {nearest(name, FAMILIES)}", "fit")
    return FAMILIES[name]


class _Solver:
    """Residuals of a family to tests, for many sets of parameters at once."""

    def __init__(self, family: Family, cups: Cups, y: Array, sigma: Array) -> None:
        self.family, self.cups, self.y, self.sigma = family, cups, y, sigma
        self.prior = family.prior(float(y.min()), float(y.max()))

    def log_cups(self, theta: Array) -> Array:
        """Return ln of what the cups measure [set, test]."""
        return np.log(measured(self.family.log(theta, POINTS), self.cups))

    def residuals(self, theta: Array) -> Array:
        """Return residuals [set, test and prior row]."""
        rows = [(self.log_cups(theta) - self.y) / self.sigma, (theta - self.prior[:, 0]) / self.prior[:, 1]]
        if self.family.tie.size:
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


def _covariance(jacobian: Array, residuals: Array, k: int) -> tuple[Array, float]:
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
