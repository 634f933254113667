"""Decay of pine sapwood by brown rot: Viitanen et al. (2010), from constant climates to changing ones.

Temperature in degC, relative humidity in %, time in hours. All coefficients are from memory.

.. math:: t_crit = 720 (2.3 T + 0.035 RH - 0.024 T RH) / (-42.9 + 0.14 T + 0.45 RH)
.. math:: dML/dt = -5.96e-2 + 1.96e-4 T + 6.25e-4 RH  [% of mass per hour]

An activation grows by dt/t_crit where T > 0 and RH > 95, and falls by dt/17520 h otherwise; mass is lost while it is 1.
The experiments ran at 0 to 30 degC and 95 to 100 %. Guards: where the denominator is not positive (near 0 degC and
95 %) nothing is activated; above 30 degC the value of 30 degC is taken; a negative rate of loss is 0.

References
----------
H. Viitanen et al.: Towards modelling of decay risk of wooden materials. Eur. J. Wood Prod. 68 (2010) 303-313.
"""

from __future__ import annotations

from ..arrays import Array
from ..kernel.jit import compiled
from .counting import part_above

WARMEST = 30.0
RECOVERY = 17520.0  # h


@compiled()
def critical_hours(t: float, rh: float) -> float:
    """Return the hours until decay begins at constant conditions; infinity where it does not."""
    t = min(t, WARMEST)
    below = -42.9 + 0.14 * t + 0.45 * rh
    if t <= 0.0 or rh <= 95.0 or below <= 0.0:
        return float("inf")
    return 720.0 * max(2.3 * t + 0.035 * rh - 0.024 * t * rh, 0.0) / below


@compiled()
def loss_rate(t: float, rh: float) -> float:
    """Return the mass loss [% per hour] of wood in which decay has begun."""
    if t <= 0.0 or rh <= 95.0:
        return 0.0
    return max(-5.96e-2 + 1.96e-4 * min(t, WARMEST) + 6.25e-4 * rh, 0.0)


@compiled()
def march(hours: Array, whole: Array, t: Array, rh: Array, activation: Array, loss: Array, out: Array) -> None:
    """Take activation and mass loss through some intervals; exact for constant conditions, else of second order.

    Parameters
    ----------
    hours, whole : ndarray, shape (intervals,)
    t, rh : ndarray, shape (intervals + 1, cells)
    activation, loss : ndarray, shape (cells,)
        [-], [% of mass]; changed in place.
    out : ndarray, shape (intervals, cells)
        Activation.
    """
    for i in range(len(hours)):
        for j in range(t.shape[1]):
            if whole[i]:
                t0, t1, h0, h1 = t[i, j], t[i + 1, j], rh[i, j], rh[i + 1, j]
                # the part of the interval that is warm and wet lies between these two
                warm, wet = part_above(t0, t1, 0.0), part_above(h0, h1, 95.0)
                begin = max(0.0 if t0 > 0.0 else 1.0 - warm, 0.0 if h0 > 95.0 else 1.0 - wet)
                end = min(1.0 if t1 > 0.0 else warm, 1.0 if h1 > 95.0 else wet)
                grow = max(end - begin, 0.0) * hours[i]
                a = activation[j]
                if grow > 0.0:
                    middle = 0.5 * (begin + end)
                    tm, hm = t0 + middle * (t1 - t0), h0 + middle * (h1 - h0)
                    a = max(a - begin * hours[i] / RECOVERY, 0.0)
                    needed = (1.0 - a) * critical_hours(tm, hm)
                    if needed < grow:
                        loss[j] += loss_rate(tm, hm) * (grow - needed)
                        a = 1.0
                    else:
                        a += grow / critical_hours(tm, hm)
                    a = max(a - (1.0 - end) * hours[i] / RECOVERY, 0.0)
                else:
                    a = max(a - hours[i] / RECOVERY, 0.0)
                activation[j] = a
            out[i, j] = activation[j]
