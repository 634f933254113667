"""Spells above a level, hours in a state and frost cycles, counted interval by interval."""

from __future__ import annotations

from ..arrays import Array
from ..kernel.jit import compiled

#: A spell goes on over a break up to this long [h]; the break itself does not count in it.
PAUSE = 168.0


@compiled()
def part_above(a: float, b: float, level: float) -> float:
    """Return the share of an interval in which a line from a to b is above a level."""
    if a > level and b > level:
        return 1.0
    if a <= level and b <= level:
        return 0.0
    return (a - level) / (a - b) if a > level else (b - level) / (b - a)


@compiled()
def counted_above(a: float, b: float, level: float, edge: float) -> float:
    """Return the share of an interval that counts as above a level, in which a value runs in a line from a to b.

    Within `edge` of the level it counts in proportion: nothing from level - edge down, all from level + edge up.
    """
    if edge <= 0.0:
        share: float = part_above(a, b, level)
        return share
    low, high = min(a, b) - level, max(a, b) - level
    if low >= edge:
        return 1.0
    if high <= -edge:
        return 0.0
    if low >= -edge and high <= edge:
        return 0.5 + 0.25 * (low + high) / edge
    # the integral of the ramp, from its foot: a parabola to its top, a line beyond
    till_low = 0.25 * max(low + edge, 0.0) ** 2 / edge
    till_high = 0.25 * (high + edge) ** 2 / edge if high <= edge else high
    return (till_high - till_low) / (high - low)


@compiled()
def spells(
    hours: Array,
    whole: Array,
    value: Array,
    level: Array,
    edge: float,
    pause: float,
    length: Array,
    low: Array,
    broken: Array,
    longest: Array,
    breaks: Array,
    total: Array,
    out: Array,
) -> None:
    """Count the hours of spells above a level.

    Parameters
    ----------
    hours, whole : ndarray, shape (intervals,)
    value : ndarray, shape (intervals + 1, spots)
    level : ndarray, shape (spots,)
    edge : float
        Within this of the level an hour counts in proportion (`counted_above`), so that the count of a value that runs
        along its level does not hang on a hair.
    pause : float
        Below level - edge a value may be for at most `pause` [h] at a time without a new spell.
    length, low, broken, longest, breaks, total : ndarray, shape (spots,)
        Hours above the level in the running spell, time below it since, breaks inside the running spell, hours of the
        longest spell, breaks inside that, all time above [h]; changed in place.
    out : ndarray, shape (intervals, spots)
        Hours above in the running spell.
    """
    for i in range(len(hours)):
        for j in range(value.shape[1]):
            foot, dt = level[j] - edge, hours[i]
            wet = part_above(value[i, j], value[i + 1, j], foot) if whole[i] else 0.0
            if wet > 0.0:
                gap = low[j] + (1.0 - wet) * dt if value[i, j] <= foot else low[j]
                if gap > pause:
                    length[j], broken[j] = 0.0, 0.0
                elif length[j] > 0.0:
                    broken[j] += gap
                above = counted_above(value[i, j], value[i + 1, j], level[j], edge)
                total[j] += above * dt
                length[j] += above * dt
                low[j] = 0.0 if value[i + 1, j] > foot else (1.0 - wet) * dt
            else:
                low[j] += dt
                if low[j] > pause:
                    length[j], broken[j] = 0.0, 0.0
            if length[j] > longest[j]:
                longest[j], breaks[j] = length[j], broken[j]
            out[i, j] = length[j]


@compiled()
def wet_hours(hours: Array, whole: Array, t: Array, rh: Array, level: float, total: Array, out: Array) -> None:
    """Add up the hours above 0 degC and above a humidity (time of wetness)."""
    for i in range(len(hours)):
        for j in range(t.shape[1]):
            if whole[i]:
                t0, t1, h0, h1 = t[i, j], t[i + 1, j], rh[i, j], rh[i + 1, j]
                warm, wet = part_above(t0, t1, 0.0), part_above(h0, h1, level)
                if warm < 1.0 and wet < 1.0 and warm > 0.0 and wet > 0.0:
                    # both change in one interval: they overlap at the same end, or at opposite ones
                    same = (t0 > 0.0) == (h0 > level)
                    share = min(warm, wet) if same else max(0.0, warm + wet - 1.0)
                else:
                    share = warm * wet
                total[j] += share * hours[i]
            out[i, j] = total[j]


@compiled()
def frost_cycles(
    t: Array,
    saturation: Array,
    critical: Array,
    freezing: float,
    thawing: float,
    frozen: Array,
    count: Array,
    out: Array,
) -> None:
    """Count how often a spot freezes while it is wetter than critical; it can freeze again only after it thawed.

    Parameters
    ----------
    t, saturation : ndarray, shape (marks, spots)
        [degC], degree of saturation [-].
    critical : ndarray, shape (spots,)
        [-].
    freezing, thawing : float
        [degC].
    frozen : ndarray of bool, shape (spots,)
    count : ndarray, shape (spots,)
    out : ndarray, shape (marks - 1, spots)
    """
    for i in range(1, len(t)):
        for j in range(t.shape[1]):
            if frozen[j]:
                frozen[j] = t[i, j] < thawing
            elif t[i, j] < freezing:
                frozen[j] = True
                if saturation[i, j] > critical[j]:
                    count[j] += 1.0
            out[i - 1, j] = count[j]
