"""Interstitial condensation by the monthly steady balance of ISO 13788 (also known as Glaser's method).

Each month: temperatures from thermal resistances, saturation pressure at every node, vapour pressure as
the string pulled taut below saturation over the s_d axis (the lower convex hull); a node where the string
touches saturation condenses at delta0 times the change of slope. A node that still holds water from
earlier months is at saturation, and the month ends early for it when it runs dry.

Source: ISO 13788:2012, clause 6 [M]; example: guideline TSG-1-004:2022, table 8.3 [V].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from .water import ZERO_CELSIUS, saturation_iso13788

Array = np.ndarray
DELTA0 = 2e-10
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True)
class Course:
    """A layer: thickness [m], conductivity [W/(m K)], s_d [m]."""

    thickness: float
    conductivity: float
    sd: float


@dataclass(frozen=True)
class Months:
    """Twelve monthly means: temperatures [degC], humidities [-]."""

    t_out: tuple[float, ...]
    phi_out: tuple[float, ...]
    t_in: tuple[float, ...]
    phi_in: tuple[float, ...]


@dataclass(frozen=True)
class Balance:
    """A year by month and node.

    g_c [kg/m2]: condensation (> 0) or drying while wet, as (12, nodes), in order of the calendar; content [kg/m2] at
    the end of each month (12, nodes); potential [kg/m2] of drying over the whole month, not cut off when the node runs
    dry (12, nodes); depth_sd [m] of the nodes from outside; start: first month of the balance (0 = January).
    """

    g_c: Array
    content: Array
    potential: Array
    depth_sd: Array
    start: int


def nodes(courses: Sequence[Course], r_out: float, r_in: float) -> tuple[Array, Array, float]:
    """s_d [m] and thermal resistance [m2 K/W] of the nodes from outside, and the total resistance.

    A layer of more than 0.25 m2 K/W is cut into equal parts of at most that (ISO 13788, 6.3).
    """
    s, r = [0.0], [r_out]
    for c in courses:
        resistance = c.thickness / c.conductivity
        parts = max(1, int(np.ceil(resistance / 0.25 - 1e-12)))
        for _ in range(parts):
            s.append(s[-1] + c.sd / parts)
            r.append(r[-1] + resistance / parts)
    return np.array(s), np.array(r), r[-1] + r_in


def hull(s: Array, level: Array, pinned: Array) -> list[int]:
    """Indices of the taut string: the ends and every pinned node, with the lower convex hull between pins."""
    stops = [0, *[i for i in range(1, s.size - 1) if pinned[i]], s.size - 1]
    out = [0]
    for a, b in pairwise(stops):
        chain: list[int] = []
        for i in range(a, b + 1):
            while len(chain) >= 2:
                u, v = chain[-2], chain[-1]
                if (level[v] - level[u]) * (s[i] - s[u]) < (level[i] - level[u]) * (s[v] - s[u]):
                    break
                chain.pop()
            chain.append(i)
        out += chain[1:]
    return out


def rates(s: Array, level: Array, pinned: Array) -> Array:
    """Condensation rate [kg/(m2 s)] at every node: delta0 times the change of slope of the string."""
    g = np.zeros(s.size)
    path = hull(s, level, pinned)
    for a, b, c in zip(path[:-2], path[1:-1], path[2:], strict=True):
        g[b] = DELTA0 * ((level[c] - level[b]) / (s[c] - s[b]) - (level[b] - level[a]) / (s[b] - s[a]))
    return g


def saturation_levels(m: Months, k: int, r: Array, total: float) -> Array:
    """Vapour pressure at both ends and saturation pressure [Pa] at the nodes between, in month k."""
    T = m.t_out[k] + (m.t_in[k] - m.t_out[k]) * r / total + ZERO_CELSIUS
    level = np.array(saturation_iso13788(T), dtype=float)
    level[0] = m.phi_out[k] * float(saturation_iso13788(m.t_out[k] + ZERO_CELSIUS))
    level[-1] = m.phi_in[k] * float(saturation_iso13788(m.t_in[k] + ZERO_CELSIUS))
    return level


def balance(courses: Sequence[Course], m: Months, r_out: float = 0.04, r_in: float = 0.13) -> Balance:
    """A year's balance, begun in the first month with condensation after one without."""
    s, r, total = nodes(courses, r_out, r_in)
    dry = np.zeros(s.size, dtype=bool)
    levels = [saturation_levels(m, k, r, total) for k in range(12)]
    condenses = [bool(np.any(rates(s, v, dry) > 0.0)) for v in levels]
    firsts = [k for k in range(12) if condenses[k] and not condenses[k - 1]]
    start = firsts[0] if firsts else 0
    g_c, content, potential = (np.zeros((12, s.size)) for _ in range(3))
    water = np.zeros(s.size)
    for j in range(12):
        k = (start + j) % 12
        left, before = DAYS[k] * 86400.0, water.copy()
        potential[k] = rates(s, levels[k], water > 0.0) * left
        while left > 0.0:
            g = rates(s, levels[k], water > 0.0)
            drying = (g < 0.0) & (water > 0.0)
            span = np.where(drying, water / np.where(drying, -g, 1.0), np.inf)
            step = min(left, float(span.min()))
            water = water + g * step
            water[drying & (span <= step)] = 0.0
            left -= step
        g_c[k], content[k] = water - before, water
    return Balance(g_c, content, potential, s, start)


def surface_factor(m: Months, limit: float = 0.8) -> Array:
    """Least temperature factor f_Rsi by month that keeps the surface humidity below `limit` [-]."""
    out = np.empty(12)
    for k in range(12):
        p = m.phi_in[k] * float(saturation_iso13788(m.t_in[k] + ZERO_CELSIUS)) / limit
        log = np.log(p / 610.5)
        t = 237.3 * log / (17.269 - log) if p >= 610.5 else 265.5 * log / (21.875 - log)
        out[k] = (t - m.t_out[k]) / (m.t_in[k] - m.t_out[k])
    return out


#: Example of guideline TSG-1-004:2022, table 8.3 [V], layers from outside to inside.
EXAMPLE_COURSES = (Course(0.15, 2.04, 9.0), Course(0.15, 0.041, 5.25), Course(0.15, 2.04, 9.0))
EXAMPLE_MONTHS = Months(
    (-1, 1, 6, 10, 15, 18, 20, 19, 15, 10, 4, 1),
    (0.82, 0.77, 0.72, 0.71, 0.73, 0.72, 0.75, 0.76, 0.80, 0.82, 0.84, 0.85),
    (20, 20, 20, 20, 22.5, 24, 25, 24.5, 22.5, 20, 20, 20),
    (0.44, 0.46, 0.51, 0.55, 0.60, 0.63, 0.65, 0.64, 0.60, 0.55, 0.49, 0.46),
)
EXAMPLE_G_C = (9, 4, -8, -21, 0, 0, 0, 0, 0, 0, 2, 7)
EXAMPLE_FACTOR = (0.557, 0.545, 0.495, 0.409, 0.380, 0.347, 0.312, 0.331, 0.380, 0.409, 0.520, 0.545)
