"""Freezing of a half space: position of the front and temperatures (Neumann), one and two phases.

At rest at `t_start` >= the freezing point, the face held at `t_face` below it from t = 0. Constant
properties in each phase, equal densities, latent heat per volume `latent`. The front stands at
s = 2 k sqrt(a_f t); with nu = sqrt(a_f/a_u), k is the root of

    exp(-k^2)/erf(k) - (lambda_u/lambda_f) nu (T_0 - T_m)/(T_m - T_s) exp(-k^2 nu^2)/erfc(k nu)
        = k latent sqrt(pi) / (C_f (T_m - T_s))

Source: Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 11.2 [M].
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from scipy.optimize import brentq
from scipy.special import erf, erfc, erfcx

Array = np.ndarray


@dataclass(frozen=True)
class Freezing:
    """Definition; the defaults are water at rest (from memory; demo temperatures).

    conductivity_frozen, conductivity_unfrozen [W/(m K)]; capacity_frozen, capacity_unfrozen [J/(m3 K)];
    latent [J/m3]; t_face, t_melt, t_start [K]. t_start = t_melt is the one-phase (Stefan) problem.
    """

    conductivity_frozen: float = 2.2
    conductivity_unfrozen: float = 0.57
    capacity_frozen: float = 1.93e6
    capacity_unfrozen: float = 4.2e6
    latent: float = 3.34e8
    t_face: float = 263.15
    t_melt: float = 273.15
    t_start: float = 277.15

    @cached_property
    def front(self) -> float:
        """k: half the front's position in diffusion lengths of the frozen phase [-]."""
        a_f = self.conductivity_frozen / self.capacity_frozen
        a_u = self.conductivity_unfrozen / self.capacity_unfrozen
        nu = np.sqrt(a_f / a_u)
        warm = self.conductivity_unfrozen / self.conductivity_frozen * nu
        warm *= (self.t_start - self.t_melt) / (self.t_melt - self.t_face)
        stefan = self.capacity_frozen * (self.t_melt - self.t_face) / self.latent

        def excess(k: float) -> float:
            # exp(-k^2 nu^2)/erfc(k nu) = 1/erfcx(k nu): no underflow
            return float(np.exp(-k * k) / erf(k) - warm / erfcx(k * nu) - k * np.sqrt(np.pi) / stefan)

        return float(brentq(excess, 1e-12, 20.0, xtol=1e-15, rtol=1e-14))

    def position(self, t: Any) -> Array:
        """Depth of the front [m] at time t [s]."""
        a_f = self.conductivity_frozen / self.capacity_frozen
        return 2.0 * self.front * np.sqrt(a_f * np.asarray(t, dtype=float))

    def temperature(self, x: Any, t: Any) -> Array:
        """[K] at depth x [m] and time t [s] > 0 (arrays that broadcast)."""
        x, t = np.asarray(x, dtype=float), np.asarray(t, dtype=float)
        a_f = self.conductivity_frozen / self.capacity_frozen
        a_u = self.conductivity_unfrozen / self.capacity_unfrozen
        cold = self.t_face + (self.t_melt - self.t_face) * erf(x / 2 / np.sqrt(a_f * t)) / erf(self.front)
        scale = erfc(self.front * np.sqrt(a_f / a_u))
        warm = self.t_start - (self.t_start - self.t_melt) * erfc(x / 2 / np.sqrt(a_u * t)) / scale
        found: Array = np.where(x < self.position(t), cold, warm)
        return found

    def heat_out(self, t: Any) -> Array:
        """Heat that has left through the face since t = 0 [J/m2]."""
        a_f = self.conductivity_frozen / self.capacity_frozen
        rate = self.conductivity_frozen * (self.t_melt - self.t_face) / erf(self.front) / np.sqrt(np.pi * a_f)
        found: Array = 2.0 * rate * np.sqrt(np.asarray(t, dtype=float))
        return found


def one_phase(case: Freezing) -> Freezing:
    """The same case started at its freezing point."""
    return replace(case, t_start=case.t_melt)
