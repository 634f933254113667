"""Which cases a study runs: the full grid of its axes, a list, or samples."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import numpy as np

from ..errors import InputError, is_number, nearest
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
        """Return the values of every axis, one for each case.

        Parameters
        ----------
        axes : sequence of Axis
        """
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
        """Return the values of every axis, one for each case.

        Parameters
        ----------
        axes : sequence of Axis
        """
        _with_values(axes, self.name)
        lengths = {axis.name: len(axis.values) for axis in axes}
        if len(set(lengths.values())) > 1:
            have = ", ".join(f"{n} in '{name}'" for name, n in lengths.items())
            raise InputError(f"a list needs as many values in every axis; there are {have}", "axes")
        return {axis.name: list(axis.values) for axis in axes}


#: Ways to sample.
METHODS = ("latin hypercube", "sobol", "random", "sobol indices", "sobol indices, second order", "morris")
SECOND = METHODS[4]
#: Levels of probability that a path of Morris visits; a step goes over half of them.
LEVELS = 4


class Moves(NamedTuple):
    """Paths through the unit cube: where each begins, and which axis each step moves by how much.

    start : (path, axis), axis, size : (path, step).
    """

    start: np.ndarray
    axis: np.ndarray
    size: np.ndarray


def morris_moves(paths: int, axes: int, seed: int) -> Moves:
    """Return paths that move every axis once, in an order of their own (Morris 1991)."""
    rng = np.random.default_rng(seed)
    level = rng.integers(0, LEVELS, (paths, axes))
    order = np.argsort(rng.random((paths, axes)), axis=1)
    up = np.where(level < LEVELS // 2, 1.0, -1.0) * (LEVELS // 2) / LEVELS
    return Moves((level + 0.5) / LEVELS, order, np.take_along_axis(up, order, axis=1))


@dataclass(frozen=True)
class Sampled:
    """Samples of the distributions of the axes.

    Parameters
    ----------
    method : str
        "latin hypercube", "sobol" (a scrambled Sobol' sequence), "random", or "sobol indices": two matrices
        A and B of `number` rows each and, for every axis, A with its column from B (Saltelli et al. 2010),
        together ``number * (axes + 2)`` cases, from which the Sobol' indices are read; "sobol indices, second order"
        has B with every column from A too, ``number * (2 * axes + 2)`` cases. "morris": `number` paths that move
        every axis once, ``number * (axes + 1)`` cases, for elementary effects.
    number : int
    seed : int
    correlations : tuple of (str, str, float)
        Pairs of axes that go together, and the correlation of their normal scores (a normal copula); the distribution
        of each axis stays as it is. Not for Sobol' indices and paths, which need independent axes.
    """

    method: str
    number: int
    seed: int = 0
    correlations: tuple[tuple[str, str, float], ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "correlations", tuple(tuple(c) for c in self.correlations))
        for pair in self.correlations:
            sound = len(pair) == 3 and isinstance(pair[0], str) and isinstance(pair[1], str) and is_number(pair[2])
            if not sound or not -1.0 < pair[2] < 1.0 or pair[0] == pair[1]:
                raise InputError(f"{pair!r}: two axes and a number between -1 and 1 are needed", "correlations")
        if self.correlations and self.method not in METHODS[:3]:
            raise InputError(f"'{self.method}' needs independent axes; leave out correlations", "design")
        if self.method not in METHODS:
            raise InputError(f"no way to sample is called '{self.method}'; {nearest(self.method, METHODS)}", "design")
        if not 1 <= self.number <= MOST:
            raise InputError(f"samples is {self.number}; 1 to {MOST} can be run", "samples")
        if not isinstance(self.number, int | np.integer):
            raise InputError(f"samples is {self.number!r}; a whole number is needed", "samples")
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
        """Return the values of every axis, one for each case.

        Parameters
        ----------
        axes : sequence of Axis
        """
        q = self.together(self.probabilities(len(axes)), [axis.name for axis in axes])
        return {axis.name: axis.levels(q[:, j]) for j, axis in enumerate(axes)}

    def probabilities(self, axes: int) -> np.ndarray:
        """Return the samples in the unit cube, shape (cases, axes).

        Parameters
        ----------
        axes : int
            How many axes.
        """
        from scipy.stats import qmc

        if self.number * (2 * axes + 2) > 40 * MOST:
            raise InputError(f"{self.number} samples of {axes} axes are more than can be held; take fewer", "samples")

        if self.method == "random":
            q = np.random.default_rng(self.seed).random((self.number, axes))
        elif self.method == "latin hypercube":
            q = qmc.LatinHypercube(axes, rng=np.random.default_rng(self.seed)).random(self.number)
        elif self.method == "morris":
            q = _paths(morris_moves(self.number, axes, self.seed))
        else:
            width = 2 * axes if self.method.startswith("sobol indices") else axes
            q = qmc.Sobol(width, rng=np.random.default_rng(self.seed)).random(self.number)
        if self.method.startswith("sobol indices"):
            a, b = q[:, :axes], q[:, axes:]
            mixed = [np.where(np.arange(axes) == j, b, a) for j in range(axes)]
            if self.method == SECOND:
                mixed += [np.where(np.arange(axes) == j, a, b) for j in range(axes)]
            q = np.concatenate([a, b, *mixed])
        return np.clip(q, 1e-12, 1.0 - 1e-12)

    def together(self, q: np.ndarray, names: Sequence[str]) -> np.ndarray:
        """Return samples with the correlations asked for; the values of each axis stay those that they are.

        Parameters
        ----------
        q : array, shape (cases, axes)
        names : sequence of str

        Raises
        ------
        InputError
            If an axis is not there, or the correlations contradict each other.
        """
        if not self.correlations:
            return q
        from scipy import stats

        wanted = np.eye(len(names))
        for first, second, value in self.correlations:
            for name in (first, second):
                if name not in names:
                    raise InputError(f"no axis is called '{name}'; {nearest(name, names)}", "correlations")
            i, j = names.index(first), names.index(second)
            wanted[i, j] = wanted[j, i] = value
        try:
            root = np.linalg.cholesky(wanted)
        except np.linalg.LinAlgError:
            raise InputError("they contradict each other: no axes can go together so", "correlations") from None
        scores = stats.norm.ppf(q) @ root.T
        order = np.argsort(np.argsort(scores, axis=0, kind="stable"), axis=0, kind="stable")
        return np.take_along_axis(np.sort(q, axis=0), order, axis=0)


def _paths(moves: Moves) -> np.ndarray:
    """Return the points of paths one after the other, shape (path * (axis + 1), axis)."""
    paths, axes = moves.start.shape
    q = np.repeat(moves.start[:, None, :], axes + 1, axis=1)
    rows = np.arange(paths)
    for step in range(axes):
        q[rows, step + 1 :, moves.axis[:, step]] += moves.size[:, step, None]
    return q.reshape(-1, axes)
