"""Mending raw hourly weather: what is put right and recorded, and what is refused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...arrays import Array
from ...errors import InputError
from ..columns import COLUMNS, HOUR, Times, stamp, unit_hint

#: Columns with a stated model behind them: where they have long gaps they are set aside, not refused.
REPLACEABLE = ("pressure", "longwave_down")
#: Mean yearly rain of the wettest station known [mm] (from memory).
WETTEST_YEAR = 12000.0
#: Most hours of a climate: 300 years.
MOST = 300 * 8766
RADIATION = ("direct_normal", "diffuse_horizontal", "global_horizontal", "longwave_down")


@dataclass(frozen=True)
class RepairPolicy:
    """What may be mended.

    Parameters
    ----------
    max_gap : int
        Longest gap that is interpolated [h]; longer ones are refused.
    humidity_over : float
        Relative humidity [-] up to which a value above 1 is taken as 1.
    night_offset : float
        Negative irradiance [W/m2] down to which it is taken as 0 (zero offset of an instrument).
    impossible_share : float
        Share of impossible values up to which each is treated as missing; more are refused.
    mostly_missing : float
        Share of missing values beyond which a column counts as unavailable.
    variable_wind : float
        Wind speed [m/s] up to which a missing direction is held from before: 6 knots, below which
        stations report a variable direction (from memory).
    hottest : float
        Hottest air that can be [K]; measured indoor air may be that of a sauna (`columns.HOTTEST_ROOM`).
    """

    max_gap: int = 6
    humidity_over: float = 1.05
    night_offset: float = 15.0
    impossible_share: float = 0.01
    mostly_missing: float = 0.5
    variable_wind: float = 3.1
    hottest: float = COLUMNS["temperature"].high


def mend(
    time: Any, columns: dict[str, Any], policy: RepairPolicy, where: str
) -> tuple[Times, dict[str, Array], tuple[str, ...]]:
    """Bring raw columns to gap-free hours.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
        Ends of the hours, in any order.
    columns : dict of str to array, shape (n,)
        By the names and in the units of `climate.COLUMNS`; NaN where missing.
    policy : RepairPolicy
    where : str
        File or other origin, for messages.

    Returns
    -------
    time, columns, repairs
        Sorted, without gaps; columns that are unavailable are left out; one sentence for each repair.

    Raises
    ------
    InputError
        Where the data are empty, doubled, impossible or have gaps longer than the policy allows, with the
        column and the place.
    """
    t = np.asarray(time, dtype="datetime64[s]")
    raw = {k: np.array(v, dtype=float) for k, v in columns.items() if v is not None}
    for key in COLUMNS:
        if key not in raw and not COLUMNS[key].optional:
            raise InputError(f"column {key} is missing", where)
    if len(t) == 0:
        raise InputError("the weather is empty; hourly rows are needed", where)
    if len(t) > MOST:
        raise InputError(f"it has {len(t)} hours; more than {MOST // 8766} years cannot be used", where)
    repairs: list[str] = []
    t, raw = _ordered(t, raw, repairs, where)
    for key, values in raw.items():
        possible(key, values, t, policy, repairs, where)
    t, raw = _every_hour(t, raw, policy, repairs, where)
    out = {}
    for key in COLUMNS:
        if key in raw and _filled(key, raw, t, policy, repairs, where):
            out[key] = raw[key]
    return t, out, tuple(repairs)


def over_ice(humidity: Array, temperature: Array) -> tuple[Array, tuple[str, ...]]:
    """Refer relative humidity over water, as stations report it, to ice below 0 degC.

    Parameters
    ----------
    humidity, temperature : array
        [-] over water at all temperatures, [K]; NaN where missing.

    Returns
    -------
    humidity, repairs
        [-] over ice below 0 degC, at most 1 where it was at most 1.

    Notes
    -----
    The vapour pressure is kept: humidity times the water branch over the ice branch of ISO 13788:2012,
    annex E. That stations report over water is the rule of WMO-No. 8 (from memory).
    """
    frost = (temperature < 273.15) & np.isfinite(humidity) & (temperature > 180.0)
    if not frost.any():
        return humidity, ()
    t = temperature[frost] - 273.15
    factor = np.exp(17.269 * t / (237.3 + t) - 21.875 * t / (265.5 + t))
    old = humidity[frost]
    out = humidity.copy()
    out[frost] = np.where(old <= 1.0, np.minimum(old * factor, 1.0), old)
    full = int(((old * factor > 1.0) & (old <= 1.0)).sum())
    return out, (
        f"humidity over water was referred to ice in {frost.sum()} hours below 0 degC, {full} of them reach 1",
    )


def dew_point_humidity(dew_point: Array, temperature: Array) -> Array:
    """Relative humidity over water [-] of dew point and temperature [K] (ISO 13788 annex E)."""
    d, t = dew_point - 273.15, temperature - 273.15
    return np.exp(17.269 * (d / (237.3 + d) - t / (237.3 + t)))


def _ordered(t: Times, raw: dict[str, Array], repairs: list[str], where: str) -> tuple[Times, dict[str, Array]]:
    if np.isnat(t).any():
        raise InputError(f"row {int(np.isnat(t).argmax()) + 1} has no time", where)
    odd = t != t.astype("datetime64[h]").astype("datetime64[s]")
    if odd.any():
        past = np.unique((t - t.astype("datetime64[h]")) // np.timedelta64(60, "s"))
        way = f"; all are {past[0]} minutes past one: shift them to the hour" if len(past) == 1 else ""
        raise InputError(f"{stamp(t[odd][0])} is not a whole hour; hourly rows are needed{way}", where)
    if (np.diff(t) < np.timedelta64(0, "s")).any():
        order = np.argsort(t, kind="stable")
        moved = int((order != np.arange(len(t))).sum())
        t, raw = t[order], {k: v[order] for k, v in raw.items()}
        repairs.append(f"rows were out of order: {moved} were sorted by time")
    twice = np.flatnonzero(np.diff(t) == np.timedelta64(0, "s"))
    if len(twice):
        for key, v in raw.items():
            differs = ~((v[twice] == v[twice + 1]) | (np.isnan(v[twice]) & np.isnan(v[twice + 1])))
            if differs.any():
                k = twice[int(differs.argmax())]
                raise InputError(
                    f"hour {stamp(t[k])} is there more than once with {key} {v[k]:g} and {v[k + 1]:g}", where
                )
        keep = np.ones(len(t), dtype=bool)
        keep[twice + 1] = False
        t, raw = t[keep], {k: v[keep] for k, v in raw.items()}
        repairs.append(f"{len(twice)} doubled rows of equal content were dropped")
    return t, raw


def possible(key: str, v: Array, t: Times, policy: RepairPolicy, repairs: list[str], where: str) -> None:
    """Clip what lies just outside, take single impossible values as missing, refuse many (in place)."""
    c = COLUMNS[key]
    endless = np.isinf(v)
    if endless.any():
        k = int(endless.argmax())
        raise InputError(f"{key} is {v[k]:g} at {stamp(t[k])}; leave a missing value empty", where)
    known = np.isfinite(v)
    if key == "humidity":
        over = (v > 1.0) & (v <= policy.humidity_over)
        if over.any() and not unit_hint(key, v):
            repairs.append(f"humidity above 1 (up to {np.max(v[over]):g}) was set to 1 in {over.sum()} hours")
            v[over] = 1.0
    if key in RADIATION:
        under = (v < 0.0) & (v >= -policy.night_offset)
        if under.any():
            repairs.append(f"{key} below 0 (down to {np.min(v[under]):g} W/m2) was set to 0 in {under.sum()} hours")
            v[under] = 0.0
    if key == "rain" and known.sum() > 8000 and np.nanmean(v) * 8766.0 > WETTEST_YEAR:
        raise InputError(
            f"rain is {np.nanmean(v) * 8766.0:.0f} mm a year, more than at any station; check its unit",
            where,
        )
    high = policy.hottest if key == "temperature" else c.high
    bad = known & ((v < c.low) | (v > high))
    if not bad.any():
        return
    k = int(bad.argmax())
    unit = "" if c.unit == "1" else f" {c.unit}"
    says = f"{key} is {v[k]:g}{unit} at {stamp(t[k])}"
    if bad.sum() > max(policy.impossible_share * known.sum(), 1.0) or unit_hint(key, v):
        hint = unit_hint(key, v) or "; check the unit, and leave missing values empty"
        raise InputError(
            f"{says}, and {bad.sum()} of {known.sum()} values lie outside {c.low:g} to {high:g}{hint}",
            where,
        )
    repairs.append(f"{says}, which is impossible; {bad.sum()} such values were taken as missing")
    v[bad] = np.nan


def _every_hour(
    t: Times, raw: dict[str, Array], policy: RepairPolicy, repairs: list[str], where: str
) -> tuple[Times, dict[str, Array]]:
    step = np.diff(t)
    if len(t) < 2 or (step == HOUR).all():
        return t, raw
    if np.median(step / HOUR) > 1.0:
        raise InputError(f"rows are {np.median(step / HOUR):g} h apart; hourly rows are needed", where)
    if len(t) > 0 and (t[-1] - t[0]) // HOUR > MOST:
        raise InputError(
            f"it goes from {stamp(t[0])} to {stamp(t[-1])}; more than {MOST // 8766} years cannot be used", where
        )
    full = np.arange(t[0], t[-1] + HOUR, HOUR)
    place = ((t - t[0]) // HOUR).astype(np.int64)
    wide = {k: np.full(len(full), np.nan) for k in raw}
    for key, v in raw.items():
        wide[key][place] = v
    gaps = np.flatnonzero(step > HOUR)
    absent = []
    for k in gaps:
        hours = int(step[k] / HOUR) - 1
        begin = t[k]
        if hours == 24 and str(begin.astype("datetime64[h]"))[5:] == "02-29T00":
            a = place[k] + 1
            for v in wide.values():
                v[a : a + 24] = v[a - 24 : a]
            repairs.append(f"{str(begin)[:10]} was absent and repeats the day before")
            continue
        if hours > policy.max_gap:
            raise InputError(
                f"{hours} hours are missing after {stamp(t[k])}; gaps up to {policy.max_gap} h are interpolated",
                where,
            )
        absent.append(hours)
    if absent:
        repairs.append(f"{sum(absent)} absent hours in {len(absent)} gaps (longest {max(absent)} h) were interpolated")
    return full, wide


def _runs(missing: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Start and end (exclusive) of each run of True."""
    edge = np.diff(np.concatenate([[False], missing, [False]]).astype(np.int8))
    return np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)


def _filled(key: str, raw: dict[str, Array], t: Times, policy: RepairPolicy, repairs: list[str], where: str) -> bool:
    """Fill the gaps of a column in place; False where it is unavailable."""
    v = raw[key]
    missing = np.isnan(v)
    count = int(missing.sum())
    if count == 0:
        return True
    optional = COLUMNS[key].optional
    if optional and count > policy.mostly_missing * len(v):
        repairs.append(f"{key} unavailable: missing in {count} of {len(v)} hours")
        return False
    if key == "wind_direction" and "wind_speed" in raw:
        _hold_in_calm(v, raw["wind_speed"], policy, repairs)
        missing = np.isnan(v)
        count = int(missing.sum())
        if count == 0:
            return True
    first, last = _runs(missing)
    longest = int((last - first).argmax())
    hours = int(last[longest] - first[longest])
    if hours > policy.max_gap or hours == len(v):
        if key in REPLACEABLE:
            repairs.append(f"{key} unavailable: missing for {hours} hours from {stamp(t[first[longest]])}")
            return False
        if hours <= policy.max_gap:
            raise InputError(f"{key} has no value that can be used in any hour; look at its column and its unit", where)
        raise InputError(
            f"{key} is missing for {hours} hours from {stamp(t[first[longest]])}; gaps up to "
            f"{policy.max_gap} h are interpolated{', or leave the whole column out' if optional else ''}",
            where,
        )
    x = np.arange(len(v))
    good = ~missing
    if key == "wind_direction":
        a = np.radians(v[good])
        turn = np.arctan2(np.interp(x, x[good], np.sin(a)), np.interp(x, x[good], np.cos(a)))
        v[missing] = np.degrees(turn[missing]) % 360.0
    else:
        v[missing] = np.interp(x[missing], x[good], v[good])
    repairs.append(f"{key} was interpolated in {count} hours (longest gap {hours} h)")
    return True


def _hold_in_calm(v: Array, speed: Array, policy: RepairPolicy, repairs: list[str]) -> None:
    held = 0
    for a, b in zip(*_runs(np.isnan(v)), strict=True):
        if a > 0 and np.nanmax(np.append(speed[a:b], 0.0)) <= policy.variable_wind and not np.isnan(speed[a:b]).all():
            v[a:b] = v[a - 1]
            held += int(b - a)
    if held:
        repairs.append(
            f"wind_direction was held in {held} hours of calm or variable wind (up to {policy.variable_wind:g} m/s)"
        )
