"""Parts of the wall that `method_of_lines` solves: materials, films, layers, sides, and their fine tables.

Every property of a material is a function of one variable z,

    z = u + kappa ln(T/T_ref),   u = ln(-ln phi),

with kappa 0 where the storage is a function of humidity and 1 where it is a function of suction; then
z fixes phi or the suction at T_ref = 296.15 K. The curves are sampled every 0.002 in z and joined by
cubic splines (interpolation error near 1e-12), so that any plain function may be given. Whole layers read
the splines as arrays; single faces read the same coefficients one number at a time (`Lookup`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
from scipy.interpolate import CubicSpline, PPoly

from .water import R_VAPOUR, RHO_WATER

Array = np.ndarray
T_REF = 296.15
Z_WET, Z_DRY, Z_STEP = -20.0, 2.2, 0.002
#: A permeability that varies by more than this share of its maximum is resolved down to the face.
STEADY = 1e-3


@dataclass(frozen=True, eq=False)
class Material:
    """Property functions of a material (vectorised callables).

    Parameters
    ----------
    dry_capacity : float
        Density times specific heat of the dry material [J/(m3 K)].
    conductivity : callable
        [W/(m K)] of water content [kg/m3] and temperature [K].
    storage : callable
        Water content [kg/m3] of humidity [-], or of suction [Pa] if `storage_of` says so.
    permeability : callable
        [kg/(m s Pa)] at 296.15 K, of humidity [-] and water content [kg/m3].
    storage_of : {'humidity', 'suction'}
    permeability_of : {'humidity', 'storage'}
        What the permeability follows when the temperature changes: the humidity, or the variable of the
        storage (as a permeability of water content does).
    liquid : callable or None
        Liquid conductivity K [s] of suction [Pa] and water content [kg/m3], g_l = K dp_c/dx.
    diffusivity : callable or None
        Given instead: D_w [m2/s] of water content [kg/m3], g_l = -D_w dw/dx.
    permeability_factor : callable or None
        Factor on the permeability of temperature [K]; None: that of still air.
    storage_temperature : float
        kappa [-] of a storage of humidity.
    """

    dry_capacity: float
    conductivity: Callable[[Any, Any], Any]
    storage: Callable[[Any], Any]
    permeability: Callable[[Any, Any], Any]
    storage_of: Literal["humidity", "suction"] = "humidity"
    permeability_of: Literal["humidity", "storage"] = "storage"
    liquid: Callable[[Any, Any], Any] | None = None
    diffusivity: Callable[[Any], Any] | None = None
    permeability_factor: Callable[[Any], Any] | None = None
    storage_temperature: float = 0.0
    r_vapour: float = R_VAPOUR
    rho_water: float = RHO_WATER

    @property
    def kappa(self) -> float:
        """Exponent of the temperature in z of the storage curve [-]."""
        return 1.0 if self.storage_of == "suction" else self.storage_temperature

    @property
    def kappa_vapour(self) -> float:
        """The same for the permeability [-]."""
        return self.kappa if self.permeability_of == "storage" else 0.0

    @property
    def rest(self) -> float:
        """Power of temperature in the potential of liquid flow at given z: p_c = (T/T_ref)^rest p(z)."""
        return 0.0 if self.diffusivity is not None else 1.0 - self.kappa

    @property
    def conducts(self) -> bool:
        """Whether liquid moves in it."""
        return self.liquid is not None or self.diffusivity is not None

    @cached_property
    def resolved(self) -> bool:
        """Whether moisture inside half a cell needs a state of its own at the face."""
        perm = self.vapour(self.vapour.x)[:, 0]
        return bool(self.conducts or np.ptp(perm) > STEADY * np.max(perm))

    @cached_property
    def table_at(self) -> Lookup:
        """`table`, one number at a time."""
        return Lookup(self.table)

    @cached_property
    def vapour_at(self) -> Lookup:
        """`vapour`, one number at a time."""
        return Lookup(self.vapour)

    def _sampled(self) -> tuple[Array, Array, Array, Array]:
        z = np.arange(Z_WET, Z_DRY + Z_STEP / 2, Z_STEP)
        phi = np.exp(-np.exp(z))
        p = self.rho_water * self.r_vapour * T_REF * np.exp(z)
        of = p if self.storage_of == "suction" else phi
        return z, phi, p, np.asarray(self.storage(of), dtype=float) + 0.0 * z

    @cached_property
    def table(self) -> CubicSpline:
        """Spline in z of the columns w, K, Theta.

        Theta is the integral of K over suction at T_ref (or of -D_w over water content), from the dry end
        on, where it is small, so that differences keep their digits.
        """
        z, _, p, w = self._sampled()
        k = theta = 0.0 * z
        if self.diffusivity is not None:
            theta = _from_dry_end(z, -self.diffusivity(w) * CubicSpline(z, w)(z, 1))
        elif self.liquid is not None:
            k = np.asarray(self.liquid(p, w), dtype=float) + 0.0 * z
            theta = _from_dry_end(z, k * p)
        return CubicSpline(z, np.stack([w, k, theta], axis=1))

    @cached_property
    def vapour(self) -> CubicSpline:
        """Spline in u + kappa_vapour ln(T/T_ref) of the permeability and its integral over humidity."""
        z, phi, _, w = self._sampled()
        perm = np.asarray(self.permeability(phi, w), dtype=float) + 0.0 * z
        return CubicSpline(z, np.stack([perm, _from_dry_end(z, -perm * np.exp(z) * phi)], axis=1))

    @cached_property
    def capacity(self) -> PPoly:
        """dw/dz [kg/m3], the derivative of the very spline that gives w."""
        return PPoly(self.table.c[:, :, 0], self.table.x).derivative()


def _from_dry_end(z: Array, integrand: Array) -> Array:
    primitive = CubicSpline(z[::-1] * -1.0, integrand[::-1]).antiderivative()
    found: Array = -primitive(-z)
    return found


class Lookup:
    """The columns of a spline over a uniform grid, for one argument: plain floats, quick to ask for."""

    def __init__(self, spline: CubicSpline) -> None:
        self.start, self.step = float(spline.x[0]), float(spline.x[1] - spline.x[0])
        self.last = len(spline.x) - 2
        self.rows = np.moveaxis(spline.c, 0, -1).tolist()

    def __call__(self, z: float) -> list[float]:
        """Values of all columns; the end pieces go on beyond the grid."""
        i = min(max(int((z - self.start) / self.step), 0), self.last)
        t = z - self.start - i * self.step
        return [((a * t + b) * t + c) * t + d for a, b, c, d in self.rows[i]]


@dataclass(frozen=True, eq=False)
class Film:
    """A face with a permeance [kg/(m2 s Pa)] of humidity; `reverse` where the flow runs inside to outside."""

    permeance: Callable[[Any], Any]
    reverse: Callable[[Any], Any] | None = None
    factor: Callable[[Any], Any] | None = None
    intervals: int = 20_000

    @cached_property
    def forward_table(self) -> LinearTable:
        """Permeance from outside to inside."""
        return LinearTable(self.permeance, self.intervals)

    @cached_property
    def reverse_table(self) -> LinearTable:
        """Permeance from inside to outside."""
        return LinearTable(self.reverse or self.permeance, self.intervals)


class LinearTable:
    """A function of humidity on [0, 1], piecewise linear on a fine grid, and its exact integral."""

    def __init__(self, curve: Callable[[Any], Any], intervals: int) -> None:
        phi = np.linspace(0.0, 1.0, intervals + 1)
        value = np.asarray(curve(phi), dtype=float) + 0.0 * phi
        self.n = intervals
        self.value = value.tolist()
        total = np.concatenate([[0.0], np.cumsum((value[1:] + value[:-1]) / 2 / intervals)])
        self.total = total.tolist()

    def __call__(self, phi: float) -> float:
        """The value; constant beyond 0 and 1."""
        s = min(max(phi, 0.0), 1.0) * self.n
        i = min(int(s), self.n - 1)
        return float(self.value[i] + (s - i) * (self.value[i + 1] - self.value[i]))

    def integral(self, phi: float) -> float:
        """Integral from 0 to phi."""
        if phi <= 0.0:
            return float(phi * self.value[0])
        if phi >= 1.0:
            return float(self.total[-1] + (phi - 1.0) * self.value[-1])
        s = phi * self.n
        i = min(int(s), self.n - 1)
        f, a, b = s - i, self.value[i], self.value[i + 1]
        return float(self.total[i] + f * (a + 0.5 * f * (b - a)) / self.n)


@dataclass(frozen=True, eq=False)
class Layer:
    """A material and the widths [m] of its cells, outside to inside."""

    material: Material
    widths: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Side:
    """What a side meets, at the hour marks; everything runs linearly between them.

    temperature [K], vapour_pressure [Pa], convection [W/(m2 K)], vapour_transfer [kg/(m2 s Pa)],
    radiation_in [W/m2]: arrays of one length. kind 'air', 'surface' (values of the surface itself)
    or 'sealed' (no moisture passes). rain [kg/(m2 s)], read on the outer side alone: the constant rate
    over the interval that ends at the mark.
    """

    temperature: Array
    vapour_pressure: Array
    convection: Array
    vapour_transfer: Array
    radiation_in: Array
    emissivity: float = 0.0
    kind: Literal["air", "surface", "sealed"] = "air"
    rain: Array | None = None

    @cached_property
    def columns(self) -> Array:
        """Array (n, 6) of the six series."""
        rows = (
            self.temperature,
            self.vapour_pressure,
            self.convection,
            self.vapour_transfer,
            self.radiation_in,
            0.0 * np.asarray(self.temperature) if self.rain is None else self.rain,
        )
        return np.stack([np.asarray(r, dtype=float) for r in rows], axis=1)


@dataclass(frozen=True, eq=False)
class Wall:
    """Layers, outside to inside; `films[i]` lies before layer i, `films[len(layers)]` on the inside."""

    layers: tuple[Layer, ...]
    films: dict[int, Film] = field(default_factory=dict)
