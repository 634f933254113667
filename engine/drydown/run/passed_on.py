"""Water that a place had no room for and that a neighbour took: part of what its wetting or load brought."""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..kernel.layout import OVERFLOW
from ..lowering.lowered import Problem


def by_source(problem: Problem, amounts: Array) -> tuple[Array, Array]:
    """Return what each wetting and load has brought, and what of it its neighbours took, from the record (row, source).

    Parameters
    ----------
    problem : Problem
    amounts : array of shape (row, source)
        Of the record [kg/m2].
    """
    limited = problem.forcing.limited
    own = int(np.sum(limited < OVERFLOW))
    brought, passed = amounts[:, :own].copy(), np.zeros((len(amounts), own))
    for over in range(own, len(limited)):
        passed[:, limited[over] - OVERFLOW] += amounts[:, over]
    return brought + passed, passed


def neighbours(problem: Problem) -> list[str]:
    """Return the names of the layers that each wetting and load passes water on to; empty where it passes none on."""
    limited = problem.forcing.limited
    names = [layer.name for layer in problem.case.assembly.layers]
    out = [""] * int(np.sum(limited < OVERFLOW))
    for over in range(len(out), len(limited)):
        layers = np.unique(problem.grid.layer[problem.forcing.share[over] > 0.0])
        out[limited[over] - OVERFLOW] = " and ".join(names[j] for j in layers)
    return out
