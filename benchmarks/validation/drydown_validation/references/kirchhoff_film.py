"""Steady diffusion through a film whose permeance varies with humidity: cups, and films in series.

Where the local permeance depends on humidity alone, the steady isothermal flux is the saturation pressure
times the integral of the permeance over humidity (Kirchhoff transform):

    g = p_sat int_{phi_b}^{phi_a} P(phi) dphi

Cup tests (ASTM E96, ISO 12572): 'dry' about 0 against 50 %, 'wet' 50 against 100 %, at 23 degC [V].
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from .water import saturation_iso13788


@dataclass(frozen=True)
class Cup:
    """A cup test.

    phi_inside, phi_outside [-]; temperature [K]; resistance_inside (still air layer in the cup) and
    resistance_outside (surface) [m2 s Pa/kg].
    """

    phi_inside: float
    phi_outside: float
    temperature: float = 296.15
    resistance_inside: float = 0.0
    resistance_outside: float = 0.0


DRY_CUP = Cup(0.0, 0.5)
WET_CUP = Cup(1.0, 0.5)


def integral(permeance: Callable[[Any], Any], low: float, high: float, breaks: tuple[float, ...] = ()) -> float:
    """Integral of P over humidity from low to high; `breaks` are kinks of the curve (knots of a table)."""
    if low == high:
        return 0.0
    sign, (a, b) = (1.0, (low, high)) if low < high else (-1.0, (high, low))
    edges = [a, *sorted(x for x in breaks if a < x < b), b]
    parts = [
        quad(lambda x: float(permeance(x)), u, v, epsabs=0.0, epsrel=1e-12, limit=400)[0] for u, v in pairwise(edges)
    ]
    return sign * float(np.sum(parts))


def film_flux(
    permeance: Callable[[Any], Any],
    p_a: float,
    p_b: float,
    r_a: float,
    r_b: float,
    p_sat: float,
    reading: Literal["integral", "mean"] = "integral",
    breaks: tuple[float, ...] = (),
) -> float:
    """Flux [kg/(m2 s)] from a to b through r_a, the film and r_b in series; see `cup_flux`."""

    def through(phi_a: float, phi_b: float) -> float:
        if reading == "mean":
            return p_sat * float(permeance((phi_a + phi_b) / 2)) * (phi_a - phi_b)
        return p_sat * integral(permeance, phi_b, phi_a, breaks)

    if r_a + r_b == 0.0 or p_a == p_b:
        return through(p_a / p_sat, p_b / p_sat)
    most = (p_a - p_b) / (r_a + r_b)
    root = brentq(
        lambda f: f * most - through((p_a - f * most * r_a) / p_sat, (p_b + f * most * r_b) / p_sat),
        0.0,
        1.0,
        xtol=1e-15,
        rtol=1e-14,
    )
    return float(root * most)


def cup_flux(
    permeance: Callable[[Any], Any],
    cup: Cup,
    reading: Literal["integral", "mean"] = "integral",
    saturation_pressure: Callable[[Any], Any] = saturation_iso13788,
    breaks: tuple[float, ...] = (),
) -> float:
    """Flux out of the cup [kg/(m2 s)] (negative for a dry cup, which gains)."""
    p_sat = float(saturation_pressure(cup.temperature))
    return film_flux(
        permeance,
        cup.phi_inside * p_sat,
        cup.phi_outside * p_sat,
        cup.resistance_inside,
        cup.resistance_outside,
        p_sat,
        reading,
        breaks,
    )


def apparent_permeance(
    permeance: Callable[[Any], Any],
    cup: Cup,
    reading: Literal["integral", "mean"] = "integral",
    breaks: tuple[float, ...] = (),
) -> float:
    """Flux over pressure difference [kg/(m2 s Pa)]: what the laboratory reports, air layers included."""
    p_sat = float(saturation_iso13788(cup.temperature))
    flux = cup_flux(permeance, cup, reading, breaks=breaks)
    return flux / (p_sat * (cup.phi_inside - cup.phi_outside))
