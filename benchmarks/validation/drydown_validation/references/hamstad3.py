"""HAMSTAD case 3: a light wall with air passing through it, by the method of lines on a fine mesh.

One layer of 200 mm, the insulation of case 5; 20 degC and 95 % at the start; inside 20 degC, 70 %; outside 2 degC,
80 %; 10 W/(m2 K) and 7.38e-8 s/m on both sides. Air passes outward for 20 days, turns about within a day, and
passes inward to day 100.

    dw/dt = -d(g_v + g_l + r y p)/dx,        y = 0.622/P
    dH/dt = -d(q + (L + c_v theta)(g_v + r y p) + c_w theta g_l + c_a r theta)/dx

r is the mass flow of dry air. In a surface film, which stores nothing, the flow of vapour and of heat beside
the flow of air is exact: F = a (p_1 e^(aR) - p_2)/(e^(aR) - 1), a the coefficient of what is carried, R the resistance.

Source: HAMSTAD work package 2, case 3 (Hagentoft et al. 2004): conditions [M, fairly surely], air permeability of
order 3e-5 [M, hardly; its unit is uncertain]. Read here as kg/(m s Pa), so that 30 Pa drive 4.5e-3 kg/(m2 s):
a verification of the equations, not the published result.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from .hamstad5 import INSULATION
from .water import R_VAPOUR, RHO_WATER, ZERO_CELSIUS, saturation_hamstad

Array = np.ndarray
DAY = 86400.0
C_AIR, C_WATER, LATENT = 1006.0, 4187.0, 2.5e6
#: kg of vapour per kg of dry air and Pa.
RATIO = 0.622 / 101325.0


@dataclass(frozen=True)
class Conditions:
    """Thickness [m]; temperatures [K] and humidities [-] of both sides and of the start; films; flow of air."""

    thickness: float = 0.2
    t_out: float = 275.15
    phi_out: float = 0.8
    t_in: float = 293.15
    phi_in: float = 0.7
    t_start: float = 293.15
    phi_start: float = 0.95
    convection: float = 10.0
    beta: float = 7.38e-8
    #: Greatest flow of air [kg/(m2 s)]: 3e-5 times 30 Pa over 0.2 m.
    air: float = 3e-5 * 30.0 / 0.2
    turn: float = 20.0 * DAY
    turned: float = 21.0 * DAY

    def flow(self, t: float) -> float:
        """Flow of air [kg/(m2 s)], positive inward."""
        return float(np.interp(t, [0.0, self.turn, self.turned], [-self.air, -self.air, self.air]))


def passing(a: float, resistance: Any, first: Any, second: Any) -> Any:
    """Steady flow from first to second through a resistance while a stream carries a times the potential along."""
    x = a * resistance
    if abs(x) < 1e-9:
        return (first - second) / resistance + a * (first + second) / 2.0
    return a * (first - second / np.exp(x)) / -np.expm1(-x)


def mesh(thickness: float, cells: int) -> Array:
    """Widths [m] that shrink towards both faces."""
    s = np.linspace(-1.0, 1.0, cells + 1)
    edges = thickness * (0.5 + 0.5 * np.tanh(1.5 * s) / np.tanh(1.5))
    return np.diff(edges)


def solve(
    days: tuple[float, ...], cells: int = 600, case: Conditions = Conditions()
) -> tuple[Array, Array, Array, Array]:
    """Centres [m], temperature [K], humidity [-], water content [kg/m3] at the days asked for, as (days, cells).

    Raises
    ------
    RuntimeError
        If the ODE solver gives up.
    """
    width = mesh(case.thickness, cells)
    x = np.cumsum(width) - width / 2.0
    gap = np.diff(x)
    # ln p of suction at 293 K spans what is met; storage as a spline with its own slope
    z = np.linspace(np.log(1e3), np.log(3e9), 4000)
    stored = CubicSpline(z, INSULATION.water_content(np.exp(z)))
    slope = stored.derivative()
    dry = INSULATION.density * INSULATION.heat_capacity
    psat = saturation_hamstad
    p_out, p_in = case.phi_out * float(psat(case.t_out)), case.phi_in * float(psat(case.t_in))

    def rhs(t: float, y: Array) -> Array:
        T, lnp = y[0::2], y[1::2]
        suction = np.exp(lnp)
        w, theta = stored(lnp), T - ZERO_CELSIUS
        p = np.exp(-suction / (RHO_WATER * R_VAPOUR * T)) * psat(T)
        delta = INSULATION.permeability(None, w) * 296.15 / T
        k, lam = INSULATION.liquid(None, w), INSULATION.conductivity(w)
        r = case.flow(t)
        g_d, g_l, q = np.empty(cells + 1), np.zeros(cells + 1), np.empty(cells + 1)

        def mean(a: Array) -> Array:
            between: Array = (a[:-1] * width[1:] + a[1:] * width[:-1]) / (width[1:] + width[:-1])
            return between

        g_d[1:-1] = -mean(delta) * np.diff(p) / gap + r * RATIO * mean(p)
        g_l[1:-1] = mean(k) * np.diff(suction) / gap
        th = mean(theta)
        q[1:-1] = -mean(lam) * np.diff(T) / gap + LATENT * g_d[1:-1] + C_WATER * th * g_l[1:-1] + C_AIR * r * th
        for face, cell, sign, t_air, p_air in ((0, 0, 1.0, case.t_out, p_out), (-1, -1, -1.0, case.t_in, p_in)):
            half = width[cell] / 2.0
            g = passing(sign * r * RATIO, 1.0 / case.beta + half / delta[cell], p_air, p[cell])
            h = passing(sign * r * C_AIR, 1.0 / case.convection + half / lam[cell], t_air - ZERO_CELSIUS, theta[cell])
            g_d[face], q[face] = sign * g, sign * (h + LATENT * g)
        dw = -np.diff(g_d + g_l) / width
        dh = -np.diff(q) / width
        dT = (dh - C_WATER * theta * dw) / (dry + C_WATER * w)
        out = np.empty_like(y)
        out[0::2], out[1::2] = dT, dw / slope(lnp)
        return out

    y = np.empty(2 * cells)
    y[0::2] = case.t_start
    y[1::2] = np.log(-RHO_WATER * R_VAPOUR * case.t_start * np.log(case.phi_start))
    rows, t = [], 0.0
    stops = sorted({case.turn, case.turned, *(d * DAY for d in days)})
    for stop in stops:
        done = solve_ivp(rhs, (t, stop), y, "LSODA", rtol=1e-7, atol=1e-8, lband=3, uband=3)
        if not done.success:
            raise RuntimeError(f"the ODE solver stopped on day {done.t[-1] / DAY:.2f}: {done.message}")
        y, t = done.y[:, -1], stop
        if any(abs(stop - d * DAY) < 1.0 for d in days):
            rows.append(y)
        if stop >= max(days) * DAY:
            break
    states = np.array(rows)
    T, lnp = states[:, 0::2], states[:, 1::2]
    return x, T, np.exp(-np.exp(lnp) / (RHO_WATER * R_VAPOUR * T)), stored(lnp)
