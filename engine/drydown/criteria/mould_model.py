"""The mould growth model of Hukka and Viitanen (1999) with the sensitivity classes of Ojanen et al. (2010).

Temperature in degC, relative humidity in %, time in hours, index M from 0 (nothing) to 6 (dense growth).

.. math:: dM/dt = k_1 k_2 / (168 t_m),  t_m = exp(-0.68 ln T - 13.9 ln RH + 0.14 W - 0.33 SQ + 66.02)

with t_m in weeks, k_2 = max(1 - exp(2.3 (M - M_max)), 0), M_max = A + B x - C x^2 and
x = (RH_crit - RH) / (RH_crit - 100). Growth where 0 < T < 50 and RH >= RH_crit; else decline.

References
----------
A. Hukka, H. Viitanen: A mathematical model of mould growth on wooden material. Wood Sci. Technol. 33 (1999).
T. Ojanen et al.: Mold growth modeling of building structures using sensitivity classes. Buildings XI (2010).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..kernel.jit import compiled


class MouldClass(NamedTuple):
    """Numbers of one sensitivity class; `late` below 0: the original model of 1999, k_1 = 2/(t_v/t_m - 1)."""

    early: float  # k_1 while M < 1
    late: float  # k_1 from M = 1 on
    a: float
    b: float
    c: float
    lowest: float  # RH_min [%]
    wood: float = 0.0  # W: 0 pine, 1 spruce
    surface: float = 0.0  # SQ: 0 sawn, 1 kiln-dried


#: Ojanen et al. (2010), tables 4 and 6, and the original model of 1999 for pine and spruce.
CLASSES: dict[str, MouldClass] = {
    "very sensitive": MouldClass(1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    "sensitive": MouldClass(0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    "medium resistant": MouldClass(0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    "resistant": MouldClass(0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
    "original pine": MouldClass(1.0, -1.0, 1.0, 7.0, 2.0, 80.0, 0.0, 0.0),
    "original spruce": MouldClass(1.0, -1.0, 1.0, 7.0, 2.0, 80.0, 1.0, 0.0),
}
#: Decline of the index [1/h] in the first 6 hours without growth, and after the first day (Hukka & Viitanen 1999).
FAST_DECLINE, SLOW_DECLINE = 0.032 / 24.0, 0.016 / 24.0


@compiled()
def critical_humidity(t: float, lowest: float) -> float:
    """Return the humidity [%] from which mould can grow at a temperature [degC]; 100 at and below 0 degC."""
    if t > 20.0:
        return lowest
    if t <= 0.0:
        return 100.0
    return max(((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0, lowest)


@compiled()
def weeks_to_first(t: float, rh: float, wood: float, surface: float) -> float:
    """Return t_m, the weeks until M = 1 on pine sapwood (1999)."""
    return math.exp(-0.68 * math.log(t) - 13.9 * math.log(rh) + 0.14 * wood - 0.33 * surface + 66.02)


@compiled()
def weeks_to_visible(t: float, rh: float, wood: float) -> float:
    """Return t_v, the weeks until M = 3 on pine sapwood (1999)."""
    return math.exp(-0.74 * math.log(t) - 12.72 * math.log(rh) + 0.06 * wood + 61.50)


@compiled()
def largest_index(t: float, rh: float, a: float, b: float, c: float, lowest: float) -> float:
    """Return M_max, the index that growth at these conditions tends to."""
    critical = critical_humidity(t, lowest)
    if critical >= 100.0:
        return 0.0
    x = (critical - rh) / (critical - 100.0)
    return float(a + b * x - c * x * x)


@compiled()
def grown(m: float, t: float, rh: float, hours: float, k: tuple[float, ...]) -> float:
    """Return the index after hours of growth at constant conditions: the exact solution.

    With z = exp(-2.3 M) the equation is linear, dz/dt = -2.3 r (z - z_max); where M passes 1 the rate changes.
    """
    early, late, a, b, c, lowest, wood, surface = k
    top = largest_index(t, rh, a, b, c, lowest)
    if m >= top or hours <= 0.0:
        return m
    weeks = weeks_to_first(t, rh, wood, surface)
    if late < 0.0:
        late = 2.0 / (weeks_to_visible(t, rh, wood) / weeks - 1.0)
    rest = math.exp(-2.3 * top)
    z = math.exp(-2.3 * m) - rest
    left = hours
    if m < 1.0:
        rate = 2.3 * early / (168.0 * weeks)
        if top > 1.0:
            at_one = math.exp(-2.3) - rest
            needed = math.log(z / at_one) / rate
            if needed < left:
                left -= needed
                return -math.log(rest + at_one * math.exp(-2.3 * late / (168.0 * weeks) * left)) / 2.3
        return -math.log(rest + z * math.exp(-rate * left)) / 2.3
    return -math.log(rest + z * math.exp(-2.3 * late / (168.0 * weeks) * left)) / 2.3


@compiled()
def lost(since: float, until: float) -> float:
    """Return by how much the index falls between two times [h] after growth ended, for the strongest decline."""
    first = min(until, 6.0) - min(since, 6.0)
    later = max(until, 24.0) - max(since, 24.0)
    return FAST_DECLINE * first + SLOW_DECLINE * later


@compiled()
def window(g0: float, g1: float) -> tuple[float, float]:
    """Return the part of an interval, from 0 to 1, where a line from g0 to g1 is not below 0."""
    if g0 >= 0.0:
        return (0.0, 1.0) if g1 >= 0.0 else (0.0, g0 / (g0 - g1))
    return (g0 / (g0 - g1), 1.0) if g1 >= 0.0 else (1.0, 1.0)


@compiled()
def march(
    hours: Array, whole: Array, t: Array, rh: Array, k: Array, decline: Array, index: Array, since: Array, out: Array
) -> None:
    """Take the index through some intervals; temperature and humidity run linearly in each.

    Growth is integrated over the part of the interval where its conditions hold, exactly for its mean
    temperature and humidity: exact for constant conditions, of second order otherwise. Over a gap the index is kept.

    Parameters
    ----------
    hours, whole : ndarray, shape (intervals,)
    t, rh : ndarray, shape (intervals + 1, cells)
        [degC], [%].
    k : ndarray, shape (cells, 8)
        Rows of `MouldClass`; a row whose first number is 0: nothing grows.
    decline : ndarray, shape (cells,)
        Share of the strongest decline.
    index, since : ndarray, shape (cells,)
        Index, and hours since growth ended; changed in place.
    out : ndarray, shape (intervals, cells)
    """
    for i in range(len(hours)):
        dt = hours[i]
        for j in range(t.shape[1]):
            if k[j, 0] == 0.0 or not whole[i]:
                out[i, j] = index[j]
                continue
            p = (k[j, 0], k[j, 1], k[j, 2], k[j, 3], k[j, 4], k[j, 5], k[j, 6], k[j, 7])
            t0, t1, h0, h1 = t[i, j], t[i + 1, j], rh[i, j], rh[i + 1, j]
            m = index[j]
            begin, end = window(h0 - critical_humidity(t0, p[5]), h1 - critical_humidity(t1, p[5]))
            low, high = window(t0 - 1e-9, t1 - 1e-9)
            begin, end = max(begin, low), min(end, high)
            low, high = window(50.0 - t0 - 1e-9, 50.0 - t1 - 1e-9)
            begin, end = max(begin, low), min(end, high)
            if end <= begin:
                m = max(m - decline[j] * lost(since[j], since[j] + dt), 0.0)
                since[j] += dt
            else:
                if begin > 0.0:
                    m = max(m - decline[j] * lost(since[j], since[j] + begin * dt), 0.0)
                middle = 0.5 * (begin + end)
                m = grown(m, t0 + middle * (t1 - t0), h0 + middle * (h1 - h0), (end - begin) * dt, p)
                since[j] = (1.0 - end) * dt
                if end < 1.0:
                    m = max(m - decline[j] * lost(0.0, since[j]), 0.0)
            index[j] = m
            out[i, j] = m


def mould_index(
    temperature: Array,
    humidity: Array,
    hours: Array | float = 1.0,
    sensitivity: str = "sensitive",
    decline: float = 1.0,
    first: float = 0.0,
) -> Array:
    """Return the mould index at every mark of a record of one place.

    Parameters
    ----------
    temperature : ndarray, shape (marks,)
        [degC].
    humidity : ndarray, shape (marks,)
        Relative humidity [%].
    hours : float or ndarray, shape (marks - 1,)
        Length of the intervals.
    sensitivity : str
        A name in `CLASSES`.
    decline : float
        Share of the strongest decline [-]; 1: pine, 0.1: almost none.
    first : float
        Index at the first mark.
    """
    t = np.atleast_2d(np.asarray(temperature, dtype=float)).T.copy()
    rh = np.atleast_2d(np.asarray(humidity, dtype=float)).T.copy()
    n = len(t) - 1
    out = np.empty((n, 1))
    march(
        np.broadcast_to(np.asarray(hours, dtype=float), (n,)).copy(),
        np.ones(n, dtype=bool),
        t,
        rh,
        np.array([CLASSES[sensitivity]], dtype=float),
        np.array([float(decline)]),
        np.array([float(first)]),
        np.zeros(1),
        out,
    )
    return np.concatenate([[float(first)], out[:, 0]])
