"""A wall fitted to what was logged in it.

    fit(case, free, logs) -> Fit

Sought are the coordinates z of the free inputs at which

    1/2 sum over logs |w(y - f(z))|^2 + 1/2 |z|^2

is least: y what was logged, f what the sensors of the wall read, w the whitening by the noise of each logger
(`drydown.inverse.noise`), whose standard deviation and correlation are found along with z; the last term is the prior.
The Gauss-Newton method with Levenberg's damping goes there on derivatives of one march each. The posterior is that of
Laplace's approximation, normal with the inverse of the matrix of second derivatives, J'J + 1.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..lowering.grid import Grid
from ..lowering.problem import mesh_of
from .derivatives import Observed, observed
from .free import TO_EDGE, Free, put_all
from .logs import Log
from .noise import Noise, found, whitened
from .sensors import with_inputs
from .setting import each_once
from .stacking import scaled_grid

#: Longest step of a coordinate in one iteration, most iterations, step at which they end.
LONGEST, MOST, ENOUGH = 1.5, 25, 0.02
#: An input whose posterior is wider than this share of its prior was not learned.
NOT_LEARNED = 0.9
#: Path of the clock of a sensor [s]: what it goes ahead by.
CLOCK = ".clock"
#: Readings from which what is left over tells where nine in ten of it lie; with fewer a normal distribution is taken.
MANY = 200


class Reading(NamedTuple):
    """Readings of one logger beside what is predicted of them: times [h from the start], values, derivatives."""

    hours: Array
    logged: Array
    predicted: Array
    by: Array  # [reading, free]


@dataclass(frozen=True)
class Fit:
    """A fitted wall.

    Parameters
    ----------
    case : Case
        As it was given.
    free : tuple of Free
    z : array of shape (free,)
        Coordinates of greatest posterior density.
    covariance : array of shape (free, free)
        Of the posterior, in coordinates.
    noise : tuple of Noise
        Of every log.
    logs : tuple of Log
        What it was fitted to.
    grid : Grid
        Cells of the case.
    iterations : int
    settled : bool
        Whether the iterations came to their end.
    residual : array of shape (reading,)
        Of all logs, whitened.
    jacobian : array of shape (reading, free)
        Derivatives of what is predicted of them, whitened.
    reach : tuple of float
        Of every log: root mean squares within which nine in ten of what is left over lie (1.645 where it is normal).
    """

    case: Case
    free: tuple[Free, ...]
    z: Array
    covariance: Array
    noise: tuple[Noise, ...]
    logs: tuple[Log, ...]
    grid: Grid
    iterations: int
    settled: bool
    residual: Array
    jacobian: Array
    reach: tuple[float, ...]

    @property
    def fitted(self) -> Case:
        """The case with its inputs at the fit."""
        return put_all(self.case, self.free, self.z)

    @property
    def sd(self) -> Array:
        """Posterior standard deviation of each coordinate; the prior has 1."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def not_learned(self) -> tuple[str, ...]:
        """Names of inputs that the logs say next to nothing about."""
        return tuple(x.name for x, sd in zip(self.free, self.sd, strict=True) if sd > NOT_LEARNED)

    def interval(self, j: int, edge: float = TO_EDGE) -> tuple[float, float]:
        """Return the values between which an input lies, nine times out of ten by default, SI.

        Parameters
        ----------
        j : int
            Position of the input.
        edge : float
            Standard deviations from the middle to the edge.
        """
        x, z, sd = self.free[j], float(self.z[j]), float(self.sd[j])
        return x.value(z - edge * sd), x.value(z + edge * sd)

    def draws(self, number: int, seed: int = 0) -> Array:
        """Return coordinates drawn from the posterior, shape (number, free).

        Parameters
        ----------
        number : int
        seed : int
        """
        return np.random.default_rng(seed).multivariate_normal(self.z, self.covariance, size=number)


class Predicted(NamedTuple):
    """What a fitted wall reads at the place of a log: times, middle, standard deviation of all that is not known."""

    time: np.ndarray
    value: Array
    sd: Array  # of inputs and noise together
    edge: Array  # half the band of nine in ten


def readings(case: Case, free: Sequence[Free], logs: Sequence[Log], seen: Observed, z: Array) -> list[Reading]:
    """Return what is predicted of every log at its own times; a clock that is free moves them."""
    out = []
    start = case.start.astype("datetime64[s]")
    marks = (seen.time - start) / np.timedelta64(3600, "s")
    clocks = {x.path: j for j, x in enumerate(free) if x.path.endswith(CLOCK)}
    for k, log in enumerate(logs):
        hours = (log.time - start) / np.timedelta64(3600, "s")
        names = [f"sensor.{name}{CLOCK}" for name in (log.sensor.name, log.sensor.logger)]
        j = next((clocks[name] for name in names if name in clocks), None)
        ahead = 0.0 if j is None else free[j].value(float(z[j])) / 3600.0
        true = np.clip(hours - ahead, marks[0], marks[-1])
        at = np.clip(np.searchsorted(marks, true, side="right") - 1, 0, len(marks) - 2)
        share = (true - marks[at]) / (marks[at + 1] - marks[at])
        value = (1.0 - share) * seen.value[at, k] + share * seen.value[at + 1, k]
        by = (1.0 - share)[:, None] * seen.by[at, k] + share[:, None] * seen.by[at + 1, k]
        if j is not None:
            speed = (seen.value[at + 1, k] - seen.value[at, k]) / (marks[at + 1] - marks[at])
            by[:, j] = -speed * free[j].slope(float(z[j])) / 3600.0
        out.append(Reading(hours, log.value, value, by))
    return out


def fit(
    case: Case,
    free: Sequence[Free],
    logs: Sequence[Log],
    *,
    grid: Grid | None = None,
    noise: Sequence[Noise] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Fit:
    """Fit the free inputs of a case to logs.

    Parameters
    ----------
    case : Case
    free : sequence of Free
    logs : sequence of Log
        Within the period of the case.
    grid : Grid, optional
        Cells of the case; found by pilots of the case at the medians of the priors otherwise.
    noise : sequence of Noise, optional
        Of every log, where it is known; estimated along the way otherwise.
    progress : callable, optional
        Called with a line after each iteration.

    Returns
    -------
    Fit

    Raises
    ------
    InputError
        If nothing is free, a number twice, nothing was logged in the period, or a place or path leads nowhere.
    SimulationError
        If a step cannot be solved.
    """
    if not free:
        raise InputError("nothing is free; name what is not known, such as rain_share.1.share", "fit")
    each_once(case, [x.path for x in free])
    if not logs:
        raise InputError("nothing was logged in the period of the case", "fit")
    for log in logs:
        if log.time[0] < case.start or log.time[-1] > case.end:
            raise InputError(f"it was logged outside the period {case.start} to {case.end}", log.sensor.name)
    grid = mesh_of(case) if grid is None else grid

    def seen_at(z: Array) -> list[Reading]:
        return read_at(case, free, logs, z, grid)

    z = np.zeros(len(free))
    here = seen_at(z)
    known = [_noise(r, 0.0) for r in here] if noise is None else list(noise)
    damping, settled, used = 1e-3, False, 0
    for used in range(1, MOST + 1):
        residual, jacobian = _white(here, known)
        hessian = jacobian.T @ jacobian + np.eye(len(free))
        gradient = jacobian.T @ residual - z
        step = np.linalg.solve(hessian + damping * np.diag(np.diag(hessian)), gradient)
        step *= min(1.0, LONGEST / max(float(np.abs(step).max()), 1e-12))
        there = seen_at(z + step)
        before = _cost(here, known, z)
        after = _cost(there, known, z + step)
        if progress is not None:
            progress(f"iteration {used}: {before:.6g} to {after:.6g}, step {np.abs(step).max():.3g}")
        if after > before + 1e-9 * abs(before):
            damping = max(10.0 * damping, 1e-2)
            if damping > 1e6 or np.abs(step).max() < 0.1 * ENOUGH:
                settled = True
                break
            continue
        damping *= 0.2
        z, here = z + step, there
        if noise is None:
            new = _noises(here, known)
            moved = max(abs(np.log(a.sd / b.sd)) + abs(a.rho - b.rho) for a, b in zip(new, known, strict=True))
            known = new
        else:
            moved = 0.0
        if np.abs(step).max() < ENOUGH and moved < 0.02:
            settled = True
            break
    residual, jacobian = _white(here, known)
    covariance: Array = np.asarray(np.linalg.inv(jacobian.T @ jacobian + np.eye(len(free))), dtype=float)
    return Fit(
        case, tuple(free), z, covariance, tuple(known), tuple(logs), grid, used, settled, residual, jacobian,
        tuple(_reach(r.logged - r.predicted) for r in here),
    )  # fmt: skip


def _reach(left: Array) -> float:
    """Return within how many root mean squares nine in ten of what is left over lie.

    What a model lacks is not normal: a few great hours, or a plain swing. Bands follow what was seen of it.
    """
    size = float(np.sqrt(np.mean(left**2)))
    if len(left) < MANY or not size > 0.0:
        return TO_EDGE
    return float(np.quantile(np.abs(left), 0.9)) / size


def read_at(
    case: Case, free: Sequence[Free], logs: Sequence[Log], z: Array, grid: Grid, *, derive: bool = True
) -> list[Reading]:
    """Return what is predicted of logs at coordinates; without derivatives these are nothing."""
    chosen = [j for j, x in enumerate(free) if not x.path.endswith(CLOCK)]
    wall = [free[j] for j in chosen]
    sensors = [log.sensor for log in logs]
    if derive:
        seen = observed(case, wall, sensors, z[chosen], grid=grid)
    else:
        at = put_all(case, wall, z[chosen])
        placed = with_inputs(sensors, wall, z[chosen])
        seen = observed(at, (), placed, grid=scaled_grid(grid, case, at))
    by = np.zeros((*seen.value.shape, len(free)))
    if derive:
        by[..., chosen] = seen.by
    return readings(case, free, logs, Observed(seen.time, seen.value, by, seen.courses), z)


def predicted(result: Fit, case: Case | None = None, logs: Sequence[Log] | None = None) -> list[Predicted]:
    """Return what a fitted wall reads, with how well that is known.

    Parameters
    ----------
    result : Fit
    case : Case, optional
        Another period or climate for the same wall, its inputs free in the same way.
    logs : sequence of Log, optional
        Other readings of the same sensors, whose times are wanted; by default the kept hours of the case.
    """
    case = result.case if case is None else case
    grid = result.grid
    wall = [j for j, x in enumerate(result.free) if not x.path.endswith(CLOCK)]
    sensors = [log.sensor for log in result.logs]
    seen = observed(case, [result.free[j] for j in wall], sensors, result.z[wall], grid=grid)
    out = []
    for k, noise in enumerate(result.noise):
        by = np.zeros((len(seen.time), len(result.free)))
        by[:, wall] = seen.by[:, k]
        spread = np.einsum("ij,jk,ik->i", by, result.covariance, by)
        sd = np.sqrt(spread + noise.sd**2)
        one = Predicted(seen.time, seen.value[:, k], sd, result.reach[k] * sd)
        if logs is not None:
            marks = seen.time.astype("int64").astype(float)
            at = logs[k].time.astype("int64").astype(float)
            one = Predicted(logs[k].time, *(np.interp(at, marks, x) for x in one[1:]))
        out.append(one)
    return out


def _white(rows: Sequence[Reading], noise: Sequence[Noise]) -> tuple[Array, Array]:
    """Return whitened residuals and derivatives of all logs, one after the other."""
    residual = [whitened(r.hours, r.logged - r.predicted, n) for r, n in zip(rows, noise, strict=True)]
    jacobian = [whitened(r.hours, r.by, n) for r, n in zip(rows, noise, strict=True)]
    return np.concatenate(residual), np.concatenate(jacobian)


def _cost(rows: Sequence[Reading], noise: Sequence[Noise], z: Array) -> float:
    residual = [whitened(r.hours, r.logged - r.predicted, n) for r, n in zip(rows, noise, strict=True)]
    return 0.5 * float(sum(r @ r for r in residual) + z @ z)


def _noise(r: Reading, taken: float, rest: Array | None = None) -> Noise:
    return found(r.hours, r.logged - r.predicted, taken, float(np.ptp(r.logged)) or 1.0, r.by, rest)


def _noises(rows: Sequence[Reading], noise: Sequence[Noise]) -> list[Noise]:
    """Return the noise of every log anew; what the fit took from it is its share of the effective freedoms."""
    _, jacobian = _white(rows, noise)
    whole = jacobian.T @ jacobian + np.eye(jacobian.shape[1])
    inverse = np.linalg.inv(whole)
    out, at = [], 0
    for r in rows:
        mine = jacobian[at : at + len(r.hours)]
        at += len(r.hours)
        out.append(_noise(r, float(np.einsum("ij,jk,ik->", mine, inverse, mine)), whole - mine.T @ mine))
    return out
