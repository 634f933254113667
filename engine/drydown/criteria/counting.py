"""Spells above a level, hours in a state and frost cycles, counted interval by interval."""

from __future__ import annotations

from ..arrays import Array
from ..kernel.jit import compiled

#: A spell goes on over a pause up to this long [h].
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
def spells(
    hours: Array,
    whole: Array,
    value: Array,
    level: float,
    pause: float,
    length: Array,
    low: Array,
    longest: Array,
    total: Array,
    out: Array,
) -> None:
    """Count the hours of spells above a level.

    Parameters
    ----------
    hours, whole : ndarray, shape (intervals,)
    value : ndarray, shape (intervals + 1, cells)
    level, pause : float
        Between two rises above the level at most `pause` [h] may pass without a new spell.
    length, low, longest, total : ndarray, shape (cells,)
        Length of the running spell, time below the level since, longest spell, all time above [h]; changed in place.
    out : ndarray, shape (intervals, cells)
        Length of the running spell.
    """
    for i in range(len(hours)):
        for j in range(value.shape[1]):
            above = part_above(value[i, j], value[i + 1, j], level) if whole[i] else 0.0
            dt = hours[i]
            total[j] += above * dt
            if above > 0.0:
                rises = value[i, j] <= level
                if length[j] > 0.0 and (rises or above >= 1.0):
                    # the pause before it belongs to the spell, unless it was too long
                    gap = low[j] + (1.0 - above) * dt if rises else low[j]
                    length[j] = above * dt if gap > pause else length[j] + gap + above * dt
                else:
                    length[j] += above * dt
                low[j] = 0.0 if value[i + 1, j] > level else (1.0 - above) * dt
            else:
                low[j] += dt
                if low[j] > pause:
                    length[j] = 0.0
            longest[j] = max(longest[j], length[j])
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
    critical: float,
    freezing: float,
    thawing: float,
    frozen: Array,
    count: Array,
    out: Array,
) -> None:
    """Count how often a cell freezes while it is wetter than critical; it can freeze again only after it thawed.

    Parameters
    ----------
    t, saturation : ndarray, shape (marks, cells)
        [degC], degree of saturation [-].
    critical, freezing, thawing : float
        [-], [degC], [degC].
    frozen : ndarray of bool, shape (cells,)
    count : ndarray, shape (cells,)
    out : ndarray, shape (marks - 1, cells)
    """
    for i in range(1, len(t)):
        for j in range(t.shape[1]):
            if frozen[j]:
                frozen[j] = t[i, j] < thawing
            elif t[i, j] < freezing:
                frozen[j] = True
                if saturation[i, j] > critical:
                    count[j] += 1.0
            out[i - 1, j] = count[j]
