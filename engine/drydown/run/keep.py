"""What of a run is kept: which variables, how often, through which faces, how it is packed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ..case.case import Case
from ..errors import InputError, nearest, need, need_number
from ..kernel.layout import FLOWS
from ..lowering.grid import Grid
from ..lowering.lowered import Problem
from ..lowering.problem import lower, mesh_of, without_faces
from .variables import ALL, FACE_STATES, FILMS

HOUR = 3600.0


@dataclass(frozen=True)
class Keep:
    """What of a run is kept.

    Parameters
    ----------
    variables : tuple of str, optional
        Names of `drydown.run.variables`; all by default. Criteria read temperature, humidity and water
        content, figures and trials more.
    every : float, optional
        Interval [s]: whole hours, or a whole part of an hour from a minute up. By default `Numerics.output_every`.
        Between its hours the weather runs on linearly, and rain falls evenly.
    faces : bool
        Fluxes through every face between cells too (`vapour_through` and its like), not only those between layers.
    precision : {'double', 'single'}
        Of the variables; budgets close to rounding in double alone.
    compression : int
        Of a file, 0 (none) to 9.

    Raises
    ------
    InputError
        Naming what cannot be, with what would be right.
    """

    variables: tuple[str, ...] | None = None
    every: float | None = None
    faces: bool = False
    precision: Literal["double", "single"] = "double"
    compression: int = 1

    def __post_init__(self) -> None:
        if self.variables is not None:
            if isinstance(self.variables, str):
                raise InputError(f"variables is '{self.variables}'; a tuple is needed, ('{self.variables}',)", "keep")
            object.__setattr__(self, "variables", tuple(self.variables))
            for name in self.variables:
                if name not in ALL:
                    raise InputError(f"no variable is called '{name}'; {nearest(str(name), ALL)}", "keep")
            if not self.variables:
                raise InputError("variables is empty; name at least one", "keep")
        if self.every is not None:
            need_number(self.every, "every", "keep", "s")
            hours, parts = self.every / HOUR, HOUR / max(self.every, 1e-9)
            whole = hours >= 1.0 and hours == round(hours)
            if not whole and not (self.every >= 60.0 and abs(parts - round(parts)) < 1e-9):
                raise InputError(
                    f"every is {self.every:g} s; whole hours are needed, or a whole part of an hour from a minute up, "
                    "such as 600",
                    "keep",
                )
        need(self.faces, bool, "faces", "True or False", "keep")
        if self.precision not in ("double", "single"):
            raise InputError(f"precision is {self.precision!r}; use 'double' or 'single'", "keep")
        need(self.compression, int, "compression", "a whole number from 0 to 9", "keep")
        if not 0 <= self.compression <= 9:
            raise InputError(f"compression is {self.compression}; a whole number from 0 to 9 is needed", "keep")

    @property
    def dtype(self) -> str:
        """Type of the variables."""
        return "f8" if self.precision == "double" else "f4"

    def wants(self, name: str) -> bool:
        """Return whether a variable is kept.

        Parameters
        ----------
        name : str
            Of a variable.
        """
        return self.variables is None or name in self.variables


ALL_OF_IT = Keep()


def lowered(case: Case, keep: Keep, grid: Grid | None = None) -> Problem:
    """Return a case lowered so that what is to be kept is there; `grid`: its mesh, if not its own."""
    grid = mesh_of(case) if grid is None else grid
    if keep.every is None:
        problem = lower(case, grid=grid)
    elif keep.every >= HOUR:
        problem = lower(replace(case, numerics=replace(case.numerics, output_every=keep.every)), grid=grid)._replace(
            case=case
        )
    else:
        last = float((case.end - case.start) / np.timedelta64(1, "s"))
        problem = lower(case, times=np.arange(0.0, last + 0.5 * keep.every, keep.every), grid=grid)
    if not any(keep.wants(name) for name in (*FACE_STATES, *FILMS)):
        problem = without_faces(problem)
    if not keep.faces:
        return problem
    cells = len(problem.grid.dx)
    every = np.arange(cells + 1, dtype=np.int64)
    flow = np.zeros((cells + 1, FLOWS))
    return problem._replace(wall=problem.wall._replace(watch=every), state=problem.state._replace(flow=flow))
