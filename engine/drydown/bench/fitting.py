"""From cup tests to a curve of local permeance against humidity, by the integral, with a band.

A cup between two humidities measures the mean of the permeance over them (and over less where still air stands
on the film), not the permeance at their mean. The curve sought is the one whose means are those measured.
"""

from __future__ import annotations

import warnings as _warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from ..arrays import Array
from ..errors import InputError, nearest
from ..frozen import FrozenMap
from ..materials.model import CurveLike, Film, Source
from .cup import CupTest
from .doubts import doubts
from .families import FAMILIES, Family
from .model import Cups
from .solving import Held, Solver, covariance_of, working_value

#: Steps of humidity at which a simultaneous band is made to hold [-].
STEP = 0.01


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
    law : Family or None
        The family where it is one of the user's own.
    fixed : tuple of str
        Parameters that were known and not fitted.
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
    law: Family | None = field(default=None, repr=False)
    fixed: tuple[str, ...] = ()

    @property
    def standard_errors(self) -> Mapping[str, float]:
        """Standard error of every parameter by name, in its unit; 0 for a fixed one.

        Notes
        -----
        The covariance of the working parameters carried to those that a person reads, to first order.
        """
        law, e = self._law, 1e-6 * np.eye(len(self.working))
        slope = np.array([(law.values(self.working + d) - law.values(self.working - d)) / 2e-6 for d in e])
        size = np.sqrt(np.maximum(np.einsum("ia,ij,ja->a", slope, self.covariance, slope), 0.0))
        held = [0.0 if name in self.fixed else s for name, s in zip(law.parameters, size.tolist(), strict=True)]
        return FrozenMap(zip(law.parameters, held, strict=True))

    @property
    def information(self) -> Mapping[str, float]:
        """What tells families apart: ``log_likelihood``, ``aic``, ``aicc``, ``bic`` of the tests; less is better.

        Notes
        -----
        Of the logarithms of the permeances, normal with the stated uncertainties; the prior is left out. AICc is
        infinite where there are no more tests than parameters and one. Akaike (1974), Hurvich and Tsai (1989), Schwarz
        (1978), from memory.
        """
        n, k = len(self.tests), len(self.working) - len(self.fixed)
        sigma = np.array([t.uncertainty for t in self.tests], dtype=float)
        log = float(-0.5 * np.sum(self.residuals**2 + np.log(2.0 * np.pi * sigma**2)))
        aic = 2.0 * k - 2.0 * log
        small = 2.0 * k * (k + 1.0) / (n - k - 1.0) if n > k + 1 else np.inf
        return FrozenMap({"log_likelihood": log, "aic": aic, "aicc": aic + small, "bic": k * np.log(n) - 2.0 * log})

    def films(self, name: str, number: int = 20, **fields: Any) -> tuple[Film, ...]:
        """Return draws as films: walls with each of them show what the tests leave open.

        Parameters
        ----------
        name : str
            The films are called so, with a number behind.
        number : int
            Of the draws, the first ones.
        **fields : object
            As for `film`.

        Raises
        ------
        InputError
            If there are fewer draws.
        """
        if not 1 <= number <= len(self.draws):
            raise InputError(f"number is {number}; there are {len(self.draws)} draws", "films")
        made = replace(self, warnings=())
        return tuple(
            replace(made, curve=self._law.curve(draw)).film(f"{name} {i}", **fields)
            for i, draw in enumerate(self.draws[:number], 1)
        )

    @property
    def _law(self) -> Family:
        return FAMILIES[self.family] if self.law is None else self.law

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
        log = self._law.log
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
        **fields : object
            Further fields of `Film`, e.g. ``thickness`` or ``permeance_temperature``.
        """
        note = f"{self.family} curve through {len(self.tests)} cup tests by the integral"
        source = Source("own cup tests", None, "drydown.bench.fit", "fitted", note, "permeance")
        return Film(name, self.curve, **({"sources": (source,), "humidity_range": self.covered} | fields))


def fit(
    tests: Sequence[CupTest],
    family: str | Family = "logistic",
    *,
    fixed: Mapping[str, float] | None = None,
    prior: Fit | None = None,
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
    family : {'logistic', 'two-level', 'exponential', 'spline', 'constant'} or Family
        A name, or a family of your own (`drydown.bench.Family`).
    fixed : mapping of str to float, optional
        Parameters that are known, by name in SI; the others are fitted.
    prior : Fit, optional
        An earlier fit of the same family, to other tests: its parameters and their covariance hold the new ones instead
        of the wide prior.
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
        If a test has no permeance or no uncertainty, there are fewer than two, the family is unknown or that of the
        prior is another, or a parameter cannot be fixed.

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
    solver = Solver(known, Cups.of(tests), y, sigma, _held(known, fixed or {}, prior))
    starts = known.starts(float(y.min()), float(y.max()))
    if prior is not None:
        starts = np.concatenate([prior.working[None, :], starts])
    for i, row in enumerate(solver.prior):
        if known.parameters[i] in (fixed or {}):
            starts[:, i] = row[0]
    cost = np.sum(solver.residuals(starts) ** 2, axis=1)
    tried = [
        least_squares(solver.one, starts[k], solver.jacobian, method="lm", x_scale=1.0, xtol=1e-12, ftol=1e-12)
        for k in np.argsort(cost)[:4]
    ]
    best = min(tried, key=lambda r: r.cost)
    theta = np.asarray(best.x, dtype=float)
    model = solver.log_cups(theta[None, :])[0]
    residuals = (y - model) / sigma
    covariance, widened = covariance_of(solver.jacobian(theta), residuals, len(theta))
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
        None if FAMILIES.get(known.name) is known else known,
        tuple(fixed or ()),
    )


def _held(family: Family, fixed: Mapping[str, float], prior: Fit | None) -> Held:
    """Return what holds the working parameters beside the tests."""
    values = dict(working_value(family, name, value) for name, value in fixed.items())
    if prior is None:
        return Held(fixed=values)
    if prior.family != family.name:
        raise InputError(f"it is of a '{prior.family}' curve, not of a '{family.name}' one", "fit, prior")
    spread = np.sqrt(np.diag(prior.covariance))
    return Held(np.column_stack([prior.working, spread]), prior.covariance, values)


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


def _family(name: str | Family) -> Family:
    if isinstance(name, Family):
        return name
    if name not in FAMILIES:
        raise InputError(f"no family is called '{name}'; {nearest(name, FAMILIES)}", "fit")
    return FAMILIES[name]
