"""The least of the greatest of several numbers: a minimax problem with bounds, by sequential quadratic programming.

    min t  so that  v_i(p) <= t for what is made small,  v_j(p) <= c_j for what is only kept,  room(p) >= 0

which is smooth where the greatest of the numbers is not (Charalambous and Conn 1978, SIAM J. Numer. Anal. 15, 162-187,
from memory: the same problem with slack).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..arrays import Array

#: What a constraint may be broken by, and the change of t at which the search ends.
CLOSE = 1e-3


@dataclass(frozen=True)
class Numbers:
    """Numbers to be made small, with their derivatives.

    Parameters
    ----------
    values : callable
        Of parameters (parameter,) to values (number,).
    slopes : callable
        Of parameters to derivatives (number, parameter).
    small : ndarray of bool
        Which are made small; the others are kept at most at `most`.
    most : Array
        Bound of each number; not read where `small`.
    room : callable
        Of parameters to what must not be negative; it costs nothing to compute.
    box : Array
        Range of each parameter, shape (parameter, 2).
    """

    values: Callable[[Array], Array]
    slopes: Callable[[Array], Array]
    small: np.ndarray
    most: Array
    room: Callable[[Array], Array]
    box: Array


@dataclass(frozen=True)
class Least:
    """Where a search ended: parameters, the greatest number there, how often values and derivatives were asked for."""

    parameters: Array
    greatest: float
    kept: bool
    values_asked: int
    slopes_asked: int


def greatest(problem: Numbers, values: Array) -> float:
    """Return the greatest of the numbers that are made small.

    Parameters
    ----------
    problem : Numbers
    values : Array
        All of its numbers.
    """
    return float(np.max(values[problem.small]))


def keeps(problem: Numbers, values: Array, by: float = CLOSE) -> bool:
    """Return whether the numbers that are only kept stay within their bounds.

    Parameters
    ----------
    problem : Numbers
    values : Array
        All of its numbers.
    by : float
        What they may be over.
    """
    return bool(np.all(values[~problem.small] <= problem.most[~problem.small] + by))


def least_worst(problem: Numbers, start: Array, steps: int = 15) -> Least:
    """Search from one start.

    Parameters
    ----------
    problem : Numbers
    start : Array
        Parameters (parameter,).
    steps : int
        Most steps; each asks for the derivatives once.

    Returns
    -------
    Least
        The best point seen that keeps every bound, else the last one.
    """
    from scipy.optimize import minimize

    low, span = problem.box[:, 0], problem.box[:, 1] - problem.box[:, 0]
    seen: dict[bytes, Array] = {}
    sloped: dict[bytes, Array] = {}
    best: list[tuple[float, Array]] = []
    n = len(low)

    def at(x: Array) -> Array:
        point: Array = low + span * np.clip(x[:n], 0.0, 1.0)
        return point

    def values(x: Array) -> Array:
        p = at(x)
        key = p.tobytes()
        if key not in seen:
            seen[key] = problem.values(p)
            inside = keeps(problem, seen[key]) and bool(np.all(problem.room(p) >= -CLOSE))
            if inside:
                best.append((greatest(problem, seen[key]), p))
        return seen[key]

    def slopes(x: Array) -> Array:
        p = at(x)
        key = p.tobytes()
        if key not in sloped:
            sloped[key] = problem.slopes(p) * span
        return sloped[key]

    def room_slopes(x: Array) -> Array:
        by = 1e-6
        here = problem.room(at(x))
        columns = [(problem.room(at(x + by * np.eye(n + 1)[i])) - here) / by for i in range(n)]
        return np.column_stack([*columns, np.zeros(len(here))])

    def left(x: Array) -> Array:
        return np.where(problem.small, x[n], problem.most) - values(x)

    def left_slopes(x: Array) -> Array:
        return np.column_stack([-slopes(x), problem.small.astype(float)])

    begin = (np.asarray(start, dtype=float) - low) / span
    first = greatest(problem, values(np.append(begin, 0.0)))
    found = minimize(
        lambda x: x[n],
        np.append(begin, first),
        jac=lambda x: np.append(np.zeros(n), 1.0),
        bounds=[(0.0, 1.0)] * n + [(None, None)],
        constraints=[
            {"type": "ineq", "fun": left, "jac": left_slopes},
            {"type": "ineq", "fun": lambda x: problem.room(at(x)), "jac": room_slopes},
        ],
        method="SLSQP",
        options={"maxiter": steps, "ftol": 0.1 * CLOSE},
    )
    if best:
        value, p = min(best, key=lambda pair: pair[0])
        return Least(p, value, True, len(seen), len(sloped))
    p = at(found.x)
    return Least(p, greatest(problem, values(found.x)), False, len(seen), len(sloped))
