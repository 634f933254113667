"""Where cells held more water than their pores: how much, where, when."""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..lowering.lowered import Problem


class Fullest:
    """Follows what is kept of a run for the cell that holds the most beyond its pores.

    Parameters
    ----------
    problem : Problem

    Attributes
    ----------
    beyond : float
        The most that a cell held beyond its full pores [kg/m3], at the marks kept.
    cell : int
    when : numpy.datetime64
    surplus : float
        The most that all cells together held beyond full pores [kg/m2].
    """

    def __init__(self, problem: Problem) -> None:
        from ..kernel.advance import OVERFULL_BY

        self.problem, self.by = problem, OVERFULL_BY
        self.beyond, self.cell, self.when, self.surplus = 0.0, -1, problem.stamps[0], 0.0

    def see(self, at: np.ndarray, water: Array) -> None:
        """Take the marks of some rows and what they hold [kg/m2], (row, cell)."""
        if not len(at):
            return
        dx, full = self.problem.grid.dx, self.problem.saturation
        over = water - dx * (full + self.by)
        most = (over / dx).max(axis=0)
        if float(most.max()) <= 0.0:
            return
        self.surplus = max(self.surplus, float(np.maximum(water - dx * full, 0.0).sum(axis=1).max()))
        if float(most.max()) + self.by > self.beyond:
            self.cell = int(most.argmax())
            self.beyond = float(most[self.cell]) + self.by
            self.when = self.problem.stamps[at[int(over[:, self.cell].argmax())]]

    def attributes(self) -> dict[str, float | str]:
        """Return what a result says of it; nothing where all stayed within the pores."""
        if self.cell < 0:
            return {}
        return {
            "overfull_most": self.beyond,
            "overfull_surplus": self.surplus,
            "overfull_where": self.where(),
        }

    def where(self) -> str:
        """Return where the fullest cell is, and when it was: layer, depth, day."""
        depth = 1e3 * self.problem.grid.x[self.cell]
        return f"in {self._layer()}, {depth:.1f} mm from outside, on {str(self.when)[:10]}"

    def _layer(self) -> str:
        j = int(self.problem.grid.layer[self.cell])
        return f"'{self.problem.case.assembly.layers[j].name}'" if j >= 0 else "the air between two films"

    def sentence(self) -> str:
        """Return it in a sentence; what was seen between the marks alone has no place."""
        if self.cell < 0:
            return "some cells held a little more water than their pores between the hours kept"
        full = float(self.problem.saturation[self.cell])
        j = int(self.problem.grid.layer[self.cell])
        if j < 0 or "air" in self.problem.case.assembly.layers[j].material.tags:
            return (
                f"dew stood in {self._layer()}, up to {self.surplus:.2g} kg/m2 more at once than air and pores hold; "
                "some of it would drip off, here it is kept in the balance"
            )
        return (
            f"more water gathered {self.where()}, than the pores hold: up to {full + self.beyond:.0f} kg/m3 where they "
            f"hold {full:.0f} kg/m3, and {self.surplus:.2g} kg/m2 too many in the whole part; it is kept in the balance"
        )
