"""Which cases a study runs: the full grid of its axes, a list, or samples."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from ..errors import InputError, nearest
from .axes import Axis

#: Most cases of a study.
MOST = 10_000_000
#: Values of every axis by name, one for each case, in the order of the cases.
Points = dict[str, list[Any]]


class Design(Protocol):
    """A way to choose cases."""

    @property
    def name(self) -> str:
        """The word for it in a study file."""
        ...

    def points(self, axes: Sequence[Axis]) -> Points:
        """Return the values of every axis, one for each case."""
        ...


def _with_values(axes: Sequence[Axis], design: str) -> None:
    for axis in axes:
        if not axis.values:
            raise InputError(f"a {design} needs values; a distribution is for samples", f"axis '{axis.name}'")


@dataclass(frozen=True)
class Grid:
    """Every combination of the values; the last axis runs fastest."""

    name = "grid"

    def points(self, axes: Sequence[Axis]) -> Points:
        """Return the values of every axis, one for each case."""
        _with_values(axes, self.name)
        for axis in axes:
            for text, count in Counter(repr(v) for v in axis.values).items():
                if count > 1:
                    raise InputError(f"the value {text} is there more than once", f"axis '{axis.name}'")
        if (cases := math.prod(len(axis.values) for axis in axes)) > MOST:
            raise InputError(f"these axes make {cases} cases; at most {MOST} can be run", "axes")
        rows = list(itertools.product(*(axis.values for axis in axes)))
        return {axis.name: [row[j] for row in rows] for j, axis in enumerate(axes)}


@dataclass(frozen=True)
class Listed:
    """The first case takes the first value of every axis, the second the second, and so on."""

    name = "list"

    def points(self, axes: Sequence[Axis]) -> Points:
        """Return the values of every axis, one for each case."""
        _with_values(axes, self.name)
        lengths = {axis.name: len(axis.values) for axis in axes}
        if len(set(lengths.values())) > 1:
            have = ", ".join(f"{n} in '{name}'" for name, n in lengths.items())
            raise InputError(f"a list needs as many values in every axis; there are {have}", "axes")
        return {axis.name: list(axis.values) for axis in axes}


#: Ways to sample.
METHODS = ("latin hypercube", "sobol", "random", "sobol indices")


@dataclass(frozen=True)
class Sampled:
    """Samples of the distributions of the axes.

    Parameters
    ----------
    method : str
        "latin hypercube", "sobol" (a scrambled Sobol' sequence), "random", or "sobol indices": two matrices
        A and B of `number` rows each and, for every axis, A with its column from B (Saltelli et al. 2010),
        together ``number * (axes + 2)`` cases, from which the Sobol' indices are read.
    number : int
    seed : int
    """

    method: str
    number: int
    seed: int = 0

    def __post_init__(self) -> None:
        if self.method not in METHODS:
            raise InputError(f"no way to sample is called '{self.method}'; {nearest(self.method, METHODS)}", "design")
        if not 1 <= self.number <= MOST:
            raise InputError(f"samples is {self.number}; 1 to {MOST} can be run", "samples")
        if "sobol" in self.method and self.number & (self.number - 1):
            near = 2 ** round(np.log2(self.number))
            raise InputError(
                f"samples is {self.number}; a Sobol' sequence needs a power of 2, such as {near}", "samples"
            )

    @property
    def name(self) -> str:
        """The word for it in a study file."""
        return self.method

    def points(self, axes: Sequence[Axis]) -> Points:
        """Return the values of every axis, one for each case."""
        q = self.probabilities(len(axes))
        return {axis.name: axis.levels(q[:, j]) for j, axis in enumerate(axes)}

    def probabilities(self, axes: int) -> np.ndarray:
        """Return the samples in the unit cube, shape (cases, axes)."""
        from scipy.stats import qmc

        if self.number * (axes + 2) > 20 * MOST:
            raise InputError(f"{self.number} samples of {axes} axes are more than can be held; take fewer", "samples")

        if self.method == "random":
            q = np.random.default_rng(self.seed).random((self.number, axes))
        elif self.method == "latin hypercube":
            q = qmc.LatinHypercube(axes, rng=np.random.default_rng(self.seed)).random(self.number)
        else:
            width = 2 * axes if self.method == "sobol indices" else axes
            q = qmc.Sobol(width, rng=np.random.default_rng(self.seed)).random(self.number)
        if self.method == "sobol indices":
            a, b = q[:, :axes], q[:, axes:]
            mixed = [np.where(np.arange(axes) == j, b, a) for j in range(axes)]
            q = np.concatenate([a, b, *mixed])
        return np.clip(q, 1e-12, 1.0 - 1e-12)
