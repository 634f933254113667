"""A specimen under sides that do not change, weighed at times of its own instead of by the hour."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..arrays import Array
from ..lowering.problem import Problem


def weighed_at(problem: Problem, at: Array, **control: Any) -> Problem:
    """Return a problem whose marks are weighings.

    Parameters
    ----------
    problem : Problem
        Of a case without wettings, whose sides are constant.
    at : array, shape (n,)
        Weighings [s], from 0 on.
    **control
        Further fields of `Problem.control`; the longest step is the last weighing.
    """
    n = len(at)
    forcing = problem.forcing._replace(
        marks=at.copy(),
        keep=np.ones(n, dtype=np.int64),
        jump=np.zeros(n, dtype=np.int64),
        outside=np.repeat(problem.forcing.outside[:1], n, axis=0),
        inside=np.repeat(problem.forcing.inside[:1], n, axis=0),
        rate=np.zeros((n, 0)),
    )
    stamps = problem.case.start + at.astype("timedelta64[s]")
    return problem._replace(
        forcing=forcing, control=problem.control._replace(max_step=float(at[-1]), **control), stamps=stamps
    )
