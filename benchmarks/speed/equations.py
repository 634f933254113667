"""The spatial equations of a case as a system of ordinary differential equations, compiled.

Same mesh, same tables, same forcing, same flux functions as the engine's: what differs from the engine is the
integration in time alone. The state is y = (u_0, T_0, u_1, T_1, ...) with u = ln(-ln phi); the balances of water and
enthalpy V d(w, H)/dt = F_in - F_out are solved for it cell by cell,

    d(u, T)/dt = [d(w, H)/d(u, T)]^-1 (F_in - F_out)/V .

A general-purpose integrator wants smooth rates. The engine leaves a face after a correction of 1e-2 of u; here every
face gets so many more Newton corrections that it is found to rounding (measured: `face_trouble`).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from drydown import Case
from drydown.kernel import columns as at
from drydown.kernel.advance import _force
from drydown.kernel.fluxes import interior_pass
from drydown.kernel.property_pass import property_pass
from drydown.kernel.sweep import face_pass, surface_pass
from drydown.kernel.workspace import workspace
from drydown.lowering.problem import lower
from numba import njit, types
from numba.experimental import structref

#: Cells on each side that a rate depends on, in unknowns of the state.
BAND = 3
#: Passes over the faces, each of one Newton correction at least.
PASSES = 3


@structref.register
class HeldType(types.StructRef):
    """Type of `Held`."""

    def preprocess_fields(self, fields):
        """Return the fields, literal or not, as they are kept."""
        return tuple((name, types.unliteral(kind)) for name, kind in fields)


class Held(structref.StructRefProxy):
    """The four tuples of arrays of a wall, taken apart once: at every call that would cost more than the rates."""


structref.define_proxy(Held, HeldType, ["wall", "tables", "forcing", "work"])


@njit
def _held(wall, tables, forcing, work):
    """Return a `Held`."""
    return Held(wall, tables, forcing, work)


@njit
def _fluxes(wall, tables, forcing, work, k, seconds, y, passes):
    """Write properties and fluxes at a state to the rows."""
    n = wall.dx.shape[0]
    for i in range(n):
        work.one.u[i] = y[2 * i]
        work.one.t[i] = y[2 * i + 1]
    x = (seconds - forcing.marks[k]) / (forcing.marks[k + 1] - forcing.marks[k])
    _force(forcing.outside, k, x, work.out)
    _force(forcing.inside, k, x, work.inn)
    property_pass(tables, wall, work.rows, work.one.u, work.one.t)
    interior_pass(wall, work.rows, work.runs)
    for _ in range(passes):
        face_pass(wall, tables, work)
        surface_pass(wall, tables, work)


@njit
def _rates(held, k, seconds, y, out, passes):
    """Write dy/dt."""
    wall, tables, forcing, work = held.wall, held.tables, held.forcing, held.work
    _fluxes(wall, tables, forcing, work, k, seconds, y, passes)
    x = work.rows
    for i in range(wall.dx.shape[0]):
        o, r = at.offset(i), at.offset(i + 1)
        g = x[o + at.G] - x[r + at.G]
        q = x[o + at.Q] - x[r + at.Q]
        det = 1.0 / (x[o + at.WATER_U] * x[o + at.HEAT_T] - x[o + at.WATER_T] * x[o + at.HEAT_U])
        out[2 * i] = det * (x[o + at.HEAT_T] * g - x[o + at.WATER_T] * q)
        out[2 * i + 1] = det * (x[o + at.WATER_U] * q - x[o + at.HEAT_U] * g)


@njit
def _jacobian(held, k, seconds, y, jac, passes):
    """Write d(dy/dt)/dy inside the band of a square array, d(w, H)/d(u, T) held."""
    wall, tables, forcing, work = held.wall, held.tables, held.forcing, held.work
    _fluxes(wall, tables, forcing, work, k, seconds, y, passes)
    x = work.rows
    n = wall.dx.shape[0]
    for i in range(n):
        o, r = at.offset(i), at.offset(i + 1)
        det = 1.0 / (x[o + at.WATER_U] * x[o + at.HEAT_T] - x[o + at.WATER_T] * x[o + at.HEAT_U])
        for j in range(-1, 2):
            if i + j < 0 or i + j >= n:
                continue
            for v in range(2):
                if j == -1:
                    g, q = x[o + (at.G_UL, at.G_TL)[v]], x[o + (at.Q_UL, at.Q_TL)[v]]
                elif j == 1:
                    g, q = -x[r + (at.G_UR, at.G_TR)[v]], -x[r + (at.Q_UR, at.Q_TR)[v]]
                else:
                    g = x[o + (at.G_UR, at.G_TR)[v]] - x[r + (at.G_UL, at.G_TL)[v]]
                    q = x[o + (at.Q_UR, at.Q_TR)[v]] - x[r + (at.Q_UL, at.Q_TL)[v]]
                jac[2 * i, 2 * (i + j) + v] = det * (x[o + at.HEAT_T] * g - x[o + at.WATER_T] * q)
                jac[2 * i + 1, 2 * (i + j) + v] = det * (x[o + at.WATER_U] * q - x[o + at.HEAT_U] * g)


class Equations:
    """The rates of a case without loads, wettings and sources.

    Parameters
    ----------
    case : Case
    passes : int
        Over the faces.
    """

    def __init__(self, case: Case, passes: int = PASSES) -> None:
        if case.loads or case.wettings:
            raise ValueError("only walls without loads and wettings are written as rates")
        problem = lower(case)
        work = workspace(problem.wall, problem.forcing, problem.state)
        self.forcing = problem.forcing
        self.held = _held(problem.wall, problem.sampled.tables, problem.forcing, work)
        self.marks = np.asarray(self.forcing.marks)
        self.start = np.stack([problem.state.u, problem.state.temperature], axis=1).ravel()
        self.passes = passes
        self.calls = 0
        self.jacobians = 0

    def interval(self, seconds: float, ahead: bool = True) -> int:
        """Return the interval between marks that a time lies in; a mark belongs to what comes, or to what was."""
        k = int(np.searchsorted(self.marks, seconds, side="right" if ahead else "left")) - 1
        return min(max(k, 0), len(self.marks) - 2)

    def rates(self, seconds: float, y: np.ndarray, out: np.ndarray, k: int | None = None) -> None:
        """Write dy/dt [1/s, K/s]."""
        self.calls += 1
        k = self.interval(seconds) if k is None else k
        _rates(self.held, k, seconds, y, out, self.passes)

    def jacobian(self, seconds: float, y: np.ndarray, out: np.ndarray, k: int | None = None) -> None:
        """Write the Jacobian within the band."""
        self.jacobians += 1
        k = self.interval(seconds) if k is None else k
        _jacobian(self.held, k, seconds, y, out, self.passes)

    def between(self, k: int | None) -> tuple[Callable[..., None], Callable[..., None]]:
        """Return rates and Jacobian, held to the interval k between two marks or (None) of any time."""

        def rates(seconds: float, y: np.ndarray, out: np.ndarray) -> None:
            self.rates(seconds, y, out, k)

        def jacobian(seconds: float, y: np.ndarray, out: np.ndarray) -> None:
            self.jacobian(seconds, y, out, k)

        return rates, jacobian

    def face_trouble(self, states: np.ndarray) -> float:
        """Return the greatest change of the rates, relative to their greatest, by twice as many passes."""
        worst = 0.0
        for row, y in enumerate(states):
            a, b = np.empty_like(y), np.empty_like(y)
            k = min(row, len(self.marks) - 2)
            seconds = float(self.marks[k])
            _rates(self.held, k, seconds, y, a, self.passes)
            _rates(self.held, k, seconds, y, b, 2 * self.passes)
            worst = max(worst, float(np.max(np.abs(a - b)) / np.max(np.abs(b))))
        return worst
