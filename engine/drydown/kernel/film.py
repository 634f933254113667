"""Vapour through a film that stands between two resistances."""

from __future__ import annotations

from typing import NamedTuple

from .jit import compiled
from .layout import P_SAT, PERM_IN, PERM_OUT, POT_IN, POT_OUT
from .lookup import cubic, place

#: Newton's method for the flow through a film ends at this relative correction, which is still applied (what is left
#: is of the order of its square), or after so many.
FILM_CLOSE, FILM_MOST = 1e-5, 30


class Ends(NamedTuple):
    """Vapour pressures [Pa] at both ends of a chain of resistances, resistances [m2 s Pa/kg] beside the film."""

    pl: float
    rl: float
    pr: float
    rr: float


class Through(NamedTuple):
    """Vapour through a chain [kg/(m2 s)] and its derivatives by both pressures, both resistances, temperature."""

    g: float
    by_pl: float
    by_pr: float
    by_rl: float
    by_rr: float
    by_t: float


@compiled(_nrt=False, forceinline=True)
def _permeance(tables, wall, film, inward, a, b):
    """Return permeance read between humidities a and b, and its derivatives by both."""
    n = tables.film_count
    row = film * n
    perm = PERM_IN if inward else PERM_OUT
    pot = POT_IN if inward else POT_OUT
    if wall.film_mean == 1 or abs(a - b) < 1e-5:
        i, p, s = place(0.5 * (a + b), 0.0, 1.0, n)
        value, slope = cubic(tables.film, row + i, perm, p, s)
        return value, 0.5 * slope, 0.5 * slope
    ia, pa, sa = place(a, 0.0, 1.0, n)
    ib, pb, sb = place(b, 0.0, 1.0, n)
    pot_a, perm_a = cubic(tables.film, row + ia, pot, pa, sa)
    pot_b, perm_b = cubic(tables.film, row + ib, pot, pb, sb)
    per = 1.0 / (a - b)
    mean = (pot_a - pot_b) * per
    return mean, (perm_a - mean) * per, (mean - perm_b) * per


@compiled(_nrt=False)
def _through_film(tables, wall, film, inward_positive, ends, ts):
    """Return the flow through a film; its own humidities follow from the flow and are found by iteration."""
    pl, rl, pr, rr = ends
    dp = pl - pr
    ia, pa, sa = place(ts, tables.t0, tables.t1, tables.air.shape[0])
    ps, ps_t = cubic(tables.air, ia, P_SAT, pa, sa)
    fac, fac_t = cubic(tables.air, ia, wall.film_temperature_factor[film], pa, sa)
    inward = (dp >= 0.0) == (inward_positive == 1)
    per_ps = 1.0 / ps
    a = pl * per_ps
    b = pr * per_ps
    value, va, vb = _permeance(tables, wall, film, inward, a, b)
    beside = rl + rr
    r = 1.0 / (fac * value)  # resistance of the film
    g = dp / (beside + r)
    if beside > 0.0:
        # what its permeance becomes when the flow draws its humidities after it
        drawn = value + (vb * rr - va * rl) * per_ps * g
        if drawn > 0.0:
            g = dp / (beside + 1.0 / (fac * drawn))
        for _ in range(FILM_MOST):
            # Newton on F(g) = g (rl + rr + 1/P(a(g), b(g))) - dp
            a = (pl - g * rl) * per_ps
            b = (pr + g * rr) * per_ps
            value, va, vb = _permeance(tables, wall, film, inward, a, b)
            r = 1.0 / (fac * value)
            slope = beside + r - g * r * r * fac * (vb * rr - va * rl) * per_ps
            if not slope > 0.0:
                slope = beside + r
            step = (dp - g * (beside + r)) / slope
            g += step
            if (dp > 0.0 and g < 0.0) or (dp < 0.0 and g > 0.0):
                g = 0.0
            if abs(step) <= FILM_CLOSE * abs(g):
                break
    k = g * r * r * fac * per_ps
    inv = 1.0 / (beside + r - k * (vb * rr - va * rl))
    by_t = g * r * r * (fac_t * value - fac * (va * a + vb * b) * ps_t * per_ps) * inv
    return Through(
        g, (1.0 + k * va) * inv, (-1.0 + k * vb) * inv, (-g - k * va * g) * inv, (-g + k * vb * g) * inv, by_t
    )


@compiled(_nrt=False, forceinline=True)
def series(tables, wall, film, inward_positive, ends, ts):
    """Vapour through two resistances with a film between them, or none (film = -1); ts : temperature [K] there."""
    if film < 0:
        g = (ends.pl - ends.pr) / (ends.rl + ends.rr)
        inv = 1.0 / (ends.rl + ends.rr)
        return Through(g, inv, -inv, -g * inv, -g * inv, 0.0)
    return _through_film(tables, wall, film, inward_positive, ends, ts)
