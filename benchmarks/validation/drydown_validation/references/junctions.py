"""The flux law inside a material, and what happens at one face: the moisture that crosses it.

A face between two materials, at a film or at a surface has a state of its own, (u_s, T_s). T_s follows from
heat conduction alone; u_s makes the moisture that arrives equal to the moisture that leaves. Every such
equation rises with u_s (a drier face draws more out of the cell and lets less pass on) and is solved by Brent's
method to rounding.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log
from typing import Any, Literal, NamedTuple

import numpy as np
from scipy.optimize import brentq

from .wall_parts import T_REF, Film, Material

Array = np.ndarray
Reading = Literal["integral", "mean"]
#: A face is sought between saturation and the dry end [u = ln(-ln phi)].
U_WET, U_DRY = -19.9, 2.1


class State(NamedTuple):
    """What the flux law reads at a place.

    T [K], u, phi, permeability at 296.15 K and its integral over humidity psi, the liquid potential theta, pull = K
    p_c/T [kg/(m s K)], the temperature's factor on the permeability, p_sat [Pa]. Arrays for the cells of a layer,
    floats for a face.
    """

    T: Any
    u: Any
    phi: Any
    perm: Any
    psi: Any
    theta: Any
    pull: Any
    factor: Any
    psat: Any


def state(m: Material, T: Array, u: Array, columns: Array, factor: Array, psat: Array, r_w: float) -> State:
    """Return the state of cells; `columns` are those of `m.table` there, r_w is rho_w R_v."""
    perm, psi = m.vapour(u + m.kappa_vapour * np.log(T / T_REF)).T
    return State(T, u, np.exp(-np.exp(u)), perm, psi, columns[..., 2], columns[..., 1] * r_w * np.exp(u), factor, psat)


def pick(s: State, i: int) -> State:
    """Return the state of one cell as floats."""
    return State(*(x.item(i) for x in s))


def within(m: Material, a: State, b: State, d: Any) -> tuple[Any, Any]:
    """Vapour and liquid flux [kg/(m2 s)] from a to b, both in material m and a distance d [m] apart.

    Notes
    -----
    Vapour by the product rule, delta dp_v = f (p_sat dPsi + delta phi dp_sat); where the permeability follows
    the suction, Psi is no function of humidity alone and delta dp_v = f delta d(phi p_sat). Liquid from
    p_c = (T/T_ref)^(1 - kappa) p(z), dp_c = (T/T_ref)^(1 - kappa) dp + (1 - kappa) p_c dT/T. Whatever
    is not differenced is the mean of both ends.
    """
    if m.kappa_vapour == 0.0:
        psat_m, m_m = (a.psat + b.psat) / 2, (a.perm * a.phi + b.perm * b.phi) / 2
        drive = psat_m * (b.psi - a.psi) + m_m * (b.psat - a.psat)
    else:
        drive = (a.perm + b.perm) / 2 * (b.phi * b.psat - a.phi * a.psat)
    g_v = -(a.factor + b.factor) / 2 / d * drive
    if not m.conducts:
        return g_v, 0.0 * g_v
    if m.rest == 0.0:
        return g_v, (b.theta - a.theta) / d
    tm = ((a.T + b.T) / 2 / T_REF) ** m.rest
    drift = m.rest * (a.pull + b.pull) / 2 * (b.T - a.T)
    return g_v, (tm * (b.theta - a.theta) + drift) / d


class HalfCell:
    """Half a cell of a resolved material, from its centre to a face of temperature T_s."""

    def __init__(
        self, m: Material, cell: State, half: float, T_s: float, factor: float, psat: float, r_w: float
    ) -> None:
        self.m, self.cell, self.half = m, cell, half
        self.T_s, self.factor, self.psat, self.r_w = T_s, factor, psat, r_w
        self.shift = m.kappa * log(T_s / T_REF)
        self.shift_vapour = m.kappa_vapour * log(T_s / T_REF)

    def out(self, u: float) -> tuple[float, float]:
        """Vapour and liquid flux from the centre to the face in state u."""
        perm, psi = self.m.vapour_at(u + self.shift_vapour)
        k = theta = 0.0
        if self.m.conducts:
            _, k, theta = self.m.table_at(u + self.shift)
        e = exp(u)
        face = State(self.T_s, u, exp(-e), perm, psi, theta, k * self.r_w * e, self.factor, self.psat)
        return within(self.m, self.cell, face, self.half)

    def total(self, u: float) -> float:
        """The same, vapour and liquid together."""
        return sum(self.out(u))


class Passage(NamedTuple):
    """What lies on the other side of a resolved half cell.

    A film or none, then a plain resistance [m2 s Pa/kg] and a vapour pressure [Pa]. `sign` is +1 where flow away from
    the cell runs from outside to inside.
    """

    film: Film | None
    resistance: float
    pressure: float
    sign: int


def root(f: Callable[[float], float], guess: float) -> tuple[float, bool]:
    """Return the root of a rising function of u next to `guess`, and whether there is one.

    Where there is none between `U_WET` and `U_DRY`, the end that comes nearest.
    """
    guess = min(max(guess, U_WET), U_DRY)
    value = f(guess)
    if value == 0.0:
        return guess, True
    way, step, last = (-1.0 if value > 0.0 else 1.0), 1e-4, guess
    while True:
        u = min(max(last + way * step, U_WET), U_DRY)
        if f(u) * value <= 0.0:
            return float(brentq(f, min(last, u), max(last, u), xtol=1e-15, rtol=1e-15)), True
        if u in (U_WET, U_DRY):
            return u, False
        last, step = u, step * 5.0


def through(film: Film, phi_a: float, phi_b: float, psat: float, T: float, sign: int, reading: Reading) -> float:
    """Vapour flux from a to b through a film between given humidities [-]; `sign` as in `Passage`."""
    inward = (phi_a > phi_b) == (sign > 0)
    table = film.forward_table if inward else film.reverse_table
    factor = 1.0 if film.factor is None else float(film.factor(T))
    if reading == "integral":
        return factor * psat * (table.integral(phi_a) - table.integral(phi_b))
    return factor * psat * table((phi_a + phi_b) / 2.0) * (phi_a - phi_b)


def leave(cell: HalfCell, other: Passage, reading: Reading, guess: float) -> tuple[float, float]:
    """Flux [kg/(m2 s)] out of a resolved half cell through what lies beyond, and u of its face.

    Where the face would be more than saturated it stays saturated, and what passes is what the cell lets by.
    """

    def excess(u: float) -> float:
        g, phi = cell.total(u), exp(-exp(u))
        if other.film is None:
            return g - (phi * cell.psat - other.pressure) / other.resistance
        beyond = (other.pressure + g * other.resistance) / cell.psat
        return g - through(other.film, phi, beyond, cell.psat, cell.T_s, other.sign, reading)

    u, _ = root(excess, guess)
    return cell.total(u), u


def meet(a: HalfCell, b: HalfCell, guess: float) -> tuple[float, float, float]:
    """Vapour and liquid flux from a to b, two resolved half cells with one face state, and its u.

    The vapour part is the mean of both halves, the liquid part the rest of the common total.
    """
    u, _ = root(lambda u: a.total(u) + b.total(u), guess)
    (va, la), (vb, lb) = a.out(u), b.out(u)
    total, vapour = (va + la - vb - lb) / 2, (va - vb) / 2
    return vapour, total - vapour, u


def meet_at_film(
    a: HalfCell, b: HalfCell, film: Film, reading: Reading, guess: tuple[float, float]
) -> tuple[float, float, float]:
    """Vapour flux from a (nearer to the outside) to b with a film between, and u of both faces."""

    def other(g: float) -> float:
        return root(lambda u: b.total(u) + g, guess[1])[0]

    def excess(u: float) -> float:
        g = a.total(u)
        phi_b = exp(-exp(other(g)))
        return g - through(film, exp(-exp(u)), phi_b, a.psat, a.T_s, 1, reading)

    u, _ = root(excess, guess[0])
    g = a.total(u)
    return g, u, other(g)


def rained_on(cell: HalfCell, resistance: float, p_air: float, rain: float, guess: float) -> tuple[float, float, float]:
    """Vapour and liquid INTO a resolved half cell from moist air and rain, and u of its face.

    Parameters
    ----------
    cell : HalfCell
    resistance : float
        Of the air film [m2 s Pa/kg].
    p_air : float
        [Pa].
    rain : float
        Rain offered [kg/(m2 s)]; what does not enter runs off.
    guess : float

    Notes
    -----
    The face takes all the rain unless it would be more than saturated. Then it stays saturated: the cell
    draws what it can, first the vapour that the air gives to a saturated face, then rain.
    """

    def from_air(u: float) -> float:
        return (p_air - exp(-exp(u)) * cell.psat) / resistance

    u, found = root(lambda u: cell.total(u) + from_air(u) + rain, guess)
    if found or u > U_WET:
        vapour = from_air(u)
        return vapour, -cell.total(u) - vapour, u
    drawn = -cell.total(u)
    vapour = min(from_air(u), drawn)
    return vapour, drawn - vapour, u


def film_flux(
    film: Film,
    p_a: float,
    p_b: float,
    r_a: float,
    r_b: float,
    p_sat: float,
    temperature: float,
    reading: Reading = "integral",
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
    sign = 1 if outside_first else -1

    def excess(g: float) -> float:
        a, b = (p_a - g * r_a) / p_sat, (p_b + g * r_b) / p_sat
        if a == b:
            return g
        return g - through(film, a, b, p_sat, temperature, sign, reading)

    total = r_a + r_b
    if total <= 0.0:
        return -excess(0.0)
    most = (p_a - p_b) / total
    return float(brentq(excess, 0.0, most, xtol=1e-14 * abs(most), rtol=1e-14))
