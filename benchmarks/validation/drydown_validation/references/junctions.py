"""What happens at one face: the flux through a film between two resistances, and liquid across an interface.

Both are one-dimensional monotone equations, solved by Brent's method to rounding.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from scipy.optimize import brentq

from .wall_parts import T_REF, Z_DRY, Z_WET, Film, Material


def film_flux(
    film: Film,
    p_a: float,
    p_b: float,
    r_a: float,
    r_b: float,
    p_sat: float,
    temperature: float,
    reading: Literal["integral", "mean"] = "integral",
    outside_first: bool = True,
) -> float:
    """Vapour flux [kg/(m2 s)] from a to b through r_a, the film, r_b in series.

    Parameters
    ----------
    film : Film
    p_a, p_b : float
        Vapour pressure on both ends [Pa].
    r_a, r_b : float
        Resistances before and behind the film [m2 s Pa/kg].
    p_sat : float
        Saturation pressure at the film [Pa].
    temperature : float
        Of the film [K].
    reading : {'integral', 'mean'}
        Mean of the permeance over the humidities of both faces, or permeance at their mean.
    outside_first : bool
        True when a lies nearer to the outside: then a flux a to b runs inward.

    Notes
    -----
    The humidities of the film's faces follow from the flux itself, phi_a = (p_a - g r_a)/p_sat and
    phi_b = (p_b + g r_b)/p_sat, so g is the root of g = P(phi_a, phi_b) p_sat (phi_a - phi_b), which lies
    between zero and the flux without the film.
    """
    if p_a == p_b:
        return 0.0
    inward = (p_a > p_b) == outside_first
    table = film.forward_table if inward else film.reverse_table
    factor = 1.0 if film.factor is None else float(film.factor(temperature))

    def excess(g: float) -> float:
        a, b = (p_a - g * r_a) / p_sat, (p_b + g * r_b) / p_sat
        if reading == "integral":
            return g - factor * p_sat * (table.integral(a) - table.integral(b))
        return g - factor * p_sat * table((a + b) / 2.0) * (a - b)

    total = r_a + r_b
    if total <= 0.0:
        return -excess(0.0)
    most = (p_a - p_b) / total
    return float(brentq(excess, 0.0, most, xtol=1e-14 * abs(most), rtol=1e-14))


def interface_liquid(
    a: Material,
    b: Material,
    state_a: tuple[float, float],
    state_b: tuple[float, float],
    half_a: float,
    half_b: float,
) -> float:
    """Liquid flux [kg/(m2 s)] from a to b across the face of two materials that share one suction there.

    Parameters
    ----------
    a, b : Material
    state_a, state_b : (float, float)
        Temperature [K] and humidity [-] of the cells on both sides.
    half_a, half_b : float
        Distance from cell centre to face [m].

    Notes
    -----
    Each half cell is taken at the temperature of its cell: the integral of K over suction from the cell
    to the interface, divided by the distance. The suction p* of the interface makes both fluxes equal.
    """
    ends, offset, scale = [], [], []
    for m, (T, phi) in ((a, state_a), (b, state_b)):
        log_p0 = np.log(m.rho_water * m.r_vapour * T)
        ends.append(log_p0 + np.log(-np.log(phi)))
        # ln p -> z, and the temperature at which Theta was tabulated -> that of the cell
        offset.append(-np.log(m.rho_water * m.r_vapour * (T_REF if m.kappa else T)))
        scale.append((T / T_REF) ** m.rest)

    def integral(m: Material, k: int, log_p: float) -> float:
        return scale[k] * float(m.table(min(max(log_p + offset[k], Z_WET), Z_DRY))[2])

    start, stop = integral(a, 0, ends[0]), integral(b, 1, ends[1])

    def left(log_p: float) -> float:
        return (integral(a, 0, log_p) - start) / half_a

    def right(log_p: float) -> float:
        return (stop - integral(b, 1, log_p)) / half_b

    if ends[0] == ends[1]:
        return 0.0
    root = brentq(lambda s: left(s) - right(s), ends[0], ends[1], xtol=1e-15, rtol=1e-14)
    # the side with the longer way in suction holds more digits
    return left(root) if abs(root - ends[0]) > abs(root - ends[1]) else right(root)
