"""Layered wall in steady state: heat and vapour resistances in series, films that vary with humidity.

Vapour with constant permeabilities, no liquid, no condensation (`saturated` says whether that holds):
one flux g through all. Heat with the enthalpy that vapour carries, J = -lambda dT/dx + (L0 + c_v theta) g,
one J through all: within a layer theta is an exponential of x with exponent c_v g x / lambda.
Without vapour this is the plain sum of resistances (ISO 6946) and the vapour part that of ISO 13788.
Elementary; derived here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.optimize import brentq

from .kirchhoff_film import integral
from .water import ZERO_CELSIUS, saturation_iso13788

Array = np.ndarray


@dataclass(frozen=True)
class Sheet:
    """A layer: thickness [m], conductivity [W/(m K)], permeability [kg/(m s Pa)]."""

    thickness: float
    conductivity: float
    permeability: float


@dataclass(frozen=True)
class SteadyWall:
    """Layers from outside to inside between two airs; `films[i]` before layer i (permeance of humidity).

    Parameters
    ----------
    sheets : tuple of Sheet
    t_out, t_in : float
        [K].
    p_out, p_in : float
        [Pa].
    h_out, h_in : float
        [W/(m2 K)].
    beta_out, beta_in : float
        [kg/(m2 s Pa)].
    films : mapping of int to callable
        [kg/(m2 s Pa)] of humidity; index len(sheets) is the inner surface.
    latent_heat, c_vapour : float
        Zero switches the carried enthalpy off.
    """

    sheets: tuple[Sheet, ...]
    t_out: float
    t_in: float
    p_out: float
    p_in: float
    h_out: float = 25.0
    h_in: float = 7.7
    beta_out: float = 1e-7
    beta_in: float = 2.5e-8
    films: dict[int, Callable[[Any], Any]] = field(default_factory=dict)
    latent_heat: float = 2.5008e6
    c_vapour: float = 1860.0
    saturation_pressure: Callable[[Any], Any] = saturation_iso13788


@dataclass(frozen=True)
class Steady:
    """Fluxes and the state of the faces.

    Positive inward: g [kg/(m2 s)], heat conducted plus carried J [W/m2]; temperature [K] at the faces (layers + 1);
    vapour pressure [Pa] at the faces, on their outer and inner side (they differ at a film); saturated: does the vapour
    pressure exceed saturation at any face?
    """

    g: float
    heat: float
    temperature: Array
    pressure_outer: Array
    pressure_inner: Array
    saturated: bool


def _temperatures(wall: SteadyWall, g: float) -> tuple[Array, float]:
    """Face temperatures [K] and J for a vapour flux g (inward)."""
    # each piece: theta_next = a theta + b + c J, from J = conducted + carried
    cv, lat = wall.c_vapour * g, wall.latent_heat * g
    theta_a, theta_b = wall.t_out - ZERO_CELSIUS, wall.t_in - ZERO_CELSIUS

    def march(J: float) -> list[float]:
        # at the surfaces, vapour carries the mean of air and surface temperature
        th = [(J - lat - theta_a * (wall.h_out + cv / 2)) / (cv / 2 - wall.h_out)]
        for s in wall.sheets:
            e = cv * s.thickness / s.conductivity
            drive = J - lat
            # theta' = (c_v g theta - (J - L0 g)) / lambda
            growth = np.expm1(e)
            ratio = growth / e if e != 0.0 else 1.0
            th.append(th[-1] * (1.0 + growth) - drive * s.thickness / s.conductivity * ratio)
        th.append((J - lat - th[-1] * (wall.h_in + cv / 2)) / (cv / 2 - wall.h_in))
        return th

    at0, at1 = march(0.0)[-1], march(1.0)[-1]
    J = (theta_b - at0) / (at1 - at0)
    return np.array(march(J)[:-1]) + ZERO_CELSIUS, float(J)


def solve(wall: SteadyWall) -> Steady:
    """Solve: g by Brent's method (the films' permeances follow from it), T exactly for each g."""
    n = len(wall.sheets)

    def pressures(g: float, T: Array) -> tuple[Array, Array]:
        outer, inner = np.empty(n + 1), np.empty(n + 1)
        p = wall.p_out - g / wall.beta_out
        for i in range(n + 1):
            outer[i] = p
            if i in wall.films:
                p = _behind_film(wall, wall.films[i], p, g, float(T[i]))
            inner[i] = p
            if i < n:
                p = p - g * wall.sheets[i].thickness / wall.sheets[i].permeability
        return outer, inner

    def excess(g: float) -> float:
        T, _ = _temperatures(wall, g)
        return float(pressures(g, T)[1][-1] - g / wall.beta_in - wall.p_in)

    plain = 1 / wall.beta_out + 1 / wall.beta_in + sum(s.thickness / s.permeability for s in wall.sheets)
    most = (wall.p_out - wall.p_in) / plain
    if most == 0.0:
        g = 0.0
    elif not wall.films:
        g = most
    else:
        g = float(brentq(excess, 0.0, most, xtol=1e-15 * abs(most), rtol=1e-14))
    T, J = _temperatures(wall, g)
    outer, inner = pressures(g, T)
    psat = wall.saturation_pressure(T)
    return Steady(g, J, T, outer, inner, bool(np.any(np.maximum(outer, inner) > psat)))


def _behind_film(wall: SteadyWall, permeance: Callable[[Any], Any], p: float, g: float, T: float) -> float:
    """Pressure behind a film that carries g when p stands before it: invert the Kirchhoff integral."""
    if g == 0.0:
        return p
    psat = float(wall.saturation_pressure(T))
    a = p / psat

    def gap(b: float) -> float:
        return psat * integral(permeance, b, a) - g

    # beyond what dry air (or saturated air) behind the film would draw: go on in a straight line
    low, high = (0.0, a) if g > 0 else (a, max(1.0, a))
    end = low if g > 0 else high
    if (gap(end) < 0) == (g > 0):
        return psat * end - (g - psat * integral(permeance, end, a)) / float(permeance(end))
    return psat * float(brentq(gap, low, high, xtol=1e-15, rtol=1e-14))
