"""Periodic penetration of heat and of moisture: the half space, and layered walls by transfer matrices.

The same law serves both: heat with conductivity lambda and capacity rho c, and (isothermal, constant
properties) moisture with vapour pressure as potential, permeability delta and capacity (dw/dphi)/p_sat.

Sources: Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 2.6 [M]; ISO 13786:2007 (2017),
heat transfer matrix of a layer and dynamic characteristics [M].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

Array = np.ndarray
DAY = 86400.0


@dataclass(frozen=True)
class Slab:
    """A layer: thickness [m], conductivity [W/(m K)], volumetric capacity [J/(m3 K)], or the moist pair."""

    thickness: float
    conductivity: float
    capacity: float


def penetration_depth(conductivity: float, capacity: float, period: float) -> float:
    """Depth [m] at which the amplitude has fallen to 1/e: sqrt(lambda T/(pi rho c))."""
    return float(np.sqrt(conductivity * period / (np.pi * capacity)))


def halfspace(x: Any, t: Any, conductivity: float, capacity: float, period: float, resistance: float = 0.0) -> Array:
    """Periodic state at depth x [m] and time t [s] for an ambient swing cos(2 pi t/period) of amplitude 1.

    Parameters
    ----------
    x, t : array_like
    conductivity, capacity : float
    period : float
        [s].
    resistance : float
        Surface resistance [m2 K/W] (0: the swing is imposed on the surface).
    """
    omega = 2.0 * np.pi / period
    k = np.sqrt(1j * omega * capacity / conductivity)
    amplitude = 1.0 / (1.0 + resistance * conductivity * k)
    return np.real(amplitude * np.exp(-k * np.asarray(x) + 1j * omega * np.asarray(t)))


def joined_halfspace(
    x: Any, conductivity: float, capacity: float, period: float, pieces: int, resistance: float = 0.0
) -> Array:
    """Complex amplitude at depth x [m], seen at the corners, of a cosine whose corners are joined by straight lines.

    A wave of amplitude 1 at `pieces` corners a period holds, beside the fundamental, the harmonics n = 1 + m pieces
    with amplitude (sin(pi/pieces)/(pi n/pieces))^2; looked at every corner they all appear as the fundamental.

    Parameters
    ----------
    x : array_like
        [m].
    conductivity, capacity, period, resistance : float
        As for `halfspace`.
    pieces : int
        Corners a period.
    """
    x = np.asarray(x, dtype=float)
    out = np.zeros(x.shape, dtype=complex)
    for m in range(-200, 201):
        n = 1 + m * pieces
        k = np.sqrt(2j * np.pi * n / period * capacity / conductivity)
        amplitude = (np.sin(np.pi / pieces) / (np.pi * n / pieces)) ** 2
        out += amplitude / (1.0 + resistance * conductivity * k) * np.exp(-k * x)
    return out


def surface_admittance(conductivity: float, capacity: float, period: float) -> complex:
    """Complex flux into the surface per unit swing of the surface [W/(m2 K)]: sqrt(i omega lambda rho c)."""
    return complex(np.sqrt(2j * np.pi / period * conductivity * capacity))


def matrix(slab: Slab, period: float) -> Array:
    """Transfer matrix (2, 2) of a layer: (theta, q) on its far side from those on its near side."""
    depth = penetration_depth(slab.conductivity, slab.capacity, period)
    a = (1.0 + 1j) * slab.thickness / depth
    k = (1.0 + 1j) * slab.conductivity / depth
    return np.array([[np.cosh(a), -np.sinh(a) / k], [-k * np.sinh(a), np.cosh(a)]])


def film_matrix(resistance: float) -> Array:
    """Transfer matrix of a plain resistance [m2 K/W]."""
    return np.array([[1.0, -resistance], [0.0, 1.0]], dtype=complex)


@dataclass(frozen=True)
class Dynamic:
    """Dynamic characteristics of ISO 13786.

    transmittance U [W/(m2 K)]; periodic transmittance Y12 [W/(m2 K)] (complex); admittances Y11 (inside),
    Y22 (outside) [W/(m2 K)]; decrement factor f = |Y12|/U; time shift of Y12 [s] (negative: a lag);
    areal capacities kappa [J/(m2 K)].
    """

    transmittance: float
    periodic: complex
    admittance_inside: complex
    admittance_outside: complex
    decrement: float
    time_shift: float
    capacity_inside: float
    capacity_outside: float


def dynamic(layers: Sequence[Slab], r_inside: float, r_outside: float, period: float = DAY) -> Dynamic:
    """Characteristics of a wall whose layers are listed from inside to outside."""
    z = film_matrix(r_inside)
    for slab in layers:
        z = matrix(slab, period) @ z
    z = film_matrix(r_outside) @ z
    u = 1.0 / (r_inside + r_outside + sum(s.thickness / s.conductivity for s in layers))
    y12 = -1.0 / z[0, 1]
    y11, y22 = -z[0, 0] / z[0, 1], -z[1, 1] / z[0, 1]
    lag = np.angle(y12)
    lag = lag - 2.0 * np.pi if lag > 0.0 else lag
    half = period / (2.0 * np.pi)
    return Dynamic(
        u,
        complex(y12),
        complex(y11),
        complex(y22),
        float(abs(y12) / u),
        float(lag * half),
        float(half * abs((z[0, 0] - 1.0) / z[0, 1])),
        float(half * abs((z[1, 1] - 1.0) / z[0, 1])),
    )
