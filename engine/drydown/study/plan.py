"""A study: axes, the design that makes cases of them, and the model that is evaluated."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from ..errors import InputError
from . import fingerprint
from .axes import Axis
from .designs import Design, Grid, Points, Sampled
from .models import Model, Point

GRID = Grid()
#: Blocks that a study is cut into unless it says otherwise, and the most cases in one.
BLOCKS, MOST = 400, 50


def _spread(items: Sequence[Any], most: int = 100) -> list[Any]:
    """Return all items, or as many as `most` of them from first to last."""
    if len(items) <= most:
        return list(items)
    return [items[i] for i in np.linspace(0, len(items) - 1, most).astype(int)]


@dataclass(frozen=True)
class Study:
    """Many cases.

    Parameters
    ----------
    axes : tuple of Axis
    model : Model
        What is evaluated at every point (see `drydown.study.models`).
    design : Design
        Which points: `Grid`, `Listed` or `Sampled`.
    name : str
    block : int, optional
        Cases that are stored in one file; what a killed worker loses. By default a study makes about 400 files.
    device : {'cpu', 'cuda'}
        Where its cases are marched unless `run` says otherwise. The results do not depend on it but for rounding.

    Raises
    ------
    InputError
        If axes share a name, or the design does not fit them.
    """

    axes: tuple[Axis, ...]
    model: Model
    design: Design = GRID
    name: str = "study"
    block: int | None = None
    device: str = "cpu"

    def __post_init__(self) -> None:
        object.__setattr__(self, "axes", tuple(self.axes))
        names = [axis.name for axis in self.axes]
        if not names:
            raise InputError("it has no axes", f"study '{self.name}'")
        for name in names:
            if names.count(name) > 1:
                raise InputError(f"two axes are called '{name}'", f"study '{self.name}'")
            if name in self.model.fields():
                raise InputError(f"an axis and an output are both called '{name}'", f"study '{self.name}'")
        if not self.model.fields():
            raise InputError('it has no outputs, such as Output("share_inward")', f"study '{self.name}'")
        if self.block is not None and not 1 <= self.block <= 100_000:
            raise InputError(f"block is {self.block}; at least 1 case is needed", f"study '{self.name}'")

    @cached_property
    def points(self) -> Points:
        """Values of every axis, one for each case."""
        return self.design.points(self.axes)

    def __len__(self) -> int:
        """Return the number of cases."""
        return len(self.points[self.axes[0].name])

    def point(self, case: int) -> Point:
        """Return the values of the axes of one case, counted from 0.

        Parameters
        ----------
        case : int
            Number of the case, from 0.
        """
        return {name: values[case] for name, values in self.points.items()}

    def words(self, case: int) -> str:
        """Return one case in words: its number and the values of the axes.

        Parameters
        ----------
        case : int
            Number of the case, from 0.
        """
        return f"case {case} ({', '.join(f'{name} = {value}' for name, value in self.point(case).items())})"

    @property
    def block_size(self) -> int:
        """Cases in one block."""
        return self.block or min(MOST, max(1, math.ceil(len(self) / BLOCKS)))

    @property
    def blocks(self) -> int:
        """Number of blocks."""
        return math.ceil(len(self) / self.block_size)

    def cases_of(self, block: int) -> range:
        """Return the cases of a block.

        Parameters
        ----------
        block : int
            Number of the block.
        """
        size = self.block_size
        return range(block * size, min((block + 1) * size, len(self)))

    def share(self, part: int, parts: int) -> list[int]:
        """Return the blocks of part number `part` (from 1) of `parts`; together the parts are all blocks.

        Parameters
        ----------
        part : int
            From 1.
        parts : int
        """
        if not 1 <= part <= parts:
            raise InputError(f"part {part}/{parts} does not exist; there are 1/{parts} to {parts}/{parts}", "--part")
        return list(range(part - 1, self.blocks, parts))

    def inputs(self) -> dict[str, str]:
        """Return hashes of all that the results depend on, by name."""
        axes = [[a.name, a.paths, a.values, a.distribution and [a.distribution.kind, a.distribution.parameters],
                 a.unit, a.dates] for a in self.axes]  # fmt: skip
        design = [self.design.name]
        if isinstance(self.design, Sampled):
            design += [str(self.design.number), str(self.design.seed)]
            design += [repr(c) for c in self.design.correlations]
        return {
            "axes": fingerprint.of_data(axes),
            "design": fingerprint.of_data(design),
            "cases in a block": str(self.block_size),
            **self.model.inputs(),
        }

    def check(self) -> None:
        """Read the case of every value of every axis once (of 100 values where there are more); nothing is run.

        Raises
        ------
        InputError
            Of the first value that cannot be read.
        """
        from .designs import Listed

        if isinstance(self.design, Listed):
            self.model.check([(self.words(i), self.point(i)) for i in _spread(range(len(self)))])
            return
        first = self.point(0)
        tried = [(self.words(0), first)]
        for axis in self.axes:
            values = axis.values or tuple(axis.levels(np.array([1e-6, 1.0 - 1e-6])))
            for value in _spread(values):
                if repr(value) != repr(first[axis.name]):
                    tried.append((f"axis '{axis.name}', {value}", {**first, axis.name: value}))
        self.model.check(tried)

    def only(self, cases: int) -> Study:
        """Return a study of the first cases alone, for a quick look.

        Parameters
        ----------
        cases : int
        """
        listed = tuple(replace(a, values=tuple(self.points[a.name][:cases]), distribution=None) for a in self.axes)
        from .designs import Listed

        return replace(self, axes=listed, design=Listed(), block=self.block)

    def columns(self) -> dict[str, tuple[Any, dict[str, str]]]:
        """Return the axes as coordinates of the result: values and attributes by name."""
        return {axis.name: axis.column(self.points[axis.name]) for axis in self.axes}
