"""Choosing a severe year from many, by percentile of an annual index.

A design year is one that is worse than most and has happened: the years of a climate are put in order by an
index, or by several, and the one at a percentile is taken whole, never averaged. Which index is severe depends on the
wall: driving rain for what gets wet from outside, little drying or cold for what gets wet from inside; a wall that
meets both is asked for by both. Running all years in a row needs no choice and is the better answer where time allows.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ...arrays import Array
from ...errors import InputError, nearest
from ...moist_air import saturation_pressure_iso13788
from ..driving_rain import DrivingRain, OpenField
from ..model import HOUR, Climate


@dataclass(frozen=True)
class AnnualIndex:
    """A number for each year of a climate.

    Parameters
    ----------
    name, unit : str
    of : callable
        Returns the number of a `Climate` of one year.
    high_is_severe : bool
    """

    name: str
    unit: str
    of: Callable[[Climate], float] = field(compare=False)
    high_is_severe: bool = True


def driving_rain(azimuth: float, model: DrivingRain | None = None) -> AnnualIndex:
    """Index: driving rain in a year on a wall that faces `azimuth` [kg/m2]; severe is much.

    The open-field formula with factors of 1 (what flies past) unless another model is given.
    """
    rain_model = model or OpenField(1.0, 1.0)

    def of(c: Climate) -> float:
        if c.rain is None or c.wind_speed is None or c.wind_direction is None:
            raise InputError("driving rain needs rain, wind and wind direction", f"weather '{c.name}'")
        liquid = np.where(c.temperature > 273.15, c.rain, 0.0)
        on_wall = rain_model.on_surface(liquid, c.wind_speed, c.wind_direction, azimuth, 90.0)
        return float(on_wall.sum()) * 8766.0 / len(c.time)

    return AnnualIndex(f"driving rain on a wall facing {azimuth:g} degrees", "kg/m2", of)


def drying_potential() -> AnnualIndex:
    """Index: mean of saturation less vapour pressure of the air [Pa]; severe is little."""

    def of(c: Climate) -> float:
        return float(np.mean((1.0 - c.humidity) * saturation_pressure_iso13788(c.temperature)))

    return AnnualIndex("drying potential of the air", "Pa", of, high_is_severe=False)


def cold() -> AnnualIndex:
    """Index: mean air temperature [K]; severe is cold, as for moisture from inside (common practice)."""
    return AnnualIndex("mean temperature", "K", lambda c: float(c.temperature.mean()), high_is_severe=False)


def warmth() -> AnnualIndex:
    """Index: mean air temperature [K]; severe is warm, as for cooled rooms (common practice)."""
    return AnnualIndex("mean temperature", "K", lambda c: float(c.temperature.mean()))


def named_index(word: str, azimuth: float | None = None) -> AnnualIndex:
    """Return an index by its word in a case file.

    'driving rain' (needs where the wall faces [degree]), 'little drying', 'cold' or 'warm'.
    """
    makers = {"little drying": drying_potential, "cold": cold, "warm": warmth}
    if word in makers:
        return makers[word]()
    if word != "driving rain":
        raise InputError(f"'{word}' is no index; {nearest(word, ('driving rain', *makers))}", "severe year")
    if azimuth is None:
        raise InputError("driving rain strikes a wall that faces somewhere; choose another index", "severe year")
    return driving_rain(azimuth)


def named_indices(words: str, azimuth: float | None = None) -> tuple[AnnualIndex, ...]:
    """Return the indices of a text such as 'driving rain and little drying'; see `named_index`."""
    parts = [part.strip() for part in words.replace(",", " and ").split(" and ") if part.strip()]
    for word in parts:
        if parts.count(word) > 1:
            raise InputError(f"'{word}' is there twice", "severe year")
    if {"cold", "warm"} <= set(parts):
        raise InputError("no year is severe by being both cold and warm; choose one", "severe year")
    return tuple(named_index(word, azimuth) for word in parts or [words])


def severity(values: Array, high_is_severe: bool = True) -> Array:
    """Return the share of the other years that are less severe than each year [-], 1 for the worst.

    Parameters
    ----------
    values : array of shape (year,)
    high_is_severe : bool
    """
    worse = np.asarray(values, dtype=float) if high_is_severe else -np.asarray(values, dtype=float)
    below = (worse[None, :] < worse[:, None]).sum(axis=1) + 0.5 * ((worse[None, :] == worse[:, None]).sum(axis=1) - 1)
    return np.asarray(below / max(len(worse) - 1, 1))


def chosen_years(climate: Climate, first: int, last: int) -> Climate:
    """Return the years of a climate that begin in the calendar years `first` to `last`, both included.

    Raises
    ------
    InputError
        Where it does not have them whole.
    """
    years = whole_years(climate)
    begin = int(str(climate.start)[:4])
    if not begin <= first <= last < begin + len(years):
        have = f"{begin} to {begin + len(years) - 1}" if len(years) > 1 else f"{begin} alone"
        want = f"{first} to {last} is not all" if last > first else f"{first} is not"
        raise InputError(f"{want} there; its whole years are {have}", f"weather '{climate.name}'")
    rows = slice(*(int((t - climate.start) // HOUR) for t in (years[first - begin].start, years[last - begin].end)))
    columns: dict[str, Any] = {key: values[rows] for key, values in climate.columns().items()}
    return replace(climate, **columns, time=climate.time[rows])


def whole_years(climate: Climate) -> tuple[Climate, ...]:
    """Return a climate year by year, each from its own start and cyclic.

    Raises
    ------
    InputError
        Where it has no whole year.
    """
    count = climate.whole_years
    if count < 1:
        raise InputError(
            f"it runs from {str(climate.start)[:10]} to {str(climate.end)[:10]}; whole years are needed",
            f"weather '{climate.name}'",
        )
    month = climate.start.astype("datetime64[M]")
    within = climate.start - month.astype("datetime64[s]")
    out = []
    for k in range(count):
        first, last = ((month + np.timedelta64(12 * j, "M")).astype("datetime64[s]") + within for j in (k, k + 1))
        row = slice(int((first - climate.start) // HOUR), int((last - climate.start) // HOUR))
        columns: dict[str, Any] = {key: values[row] for key, values in climate.columns().items()}
        out.append(replace(climate, **columns, time=climate.time[row], cyclic=True))
    return tuple(out)


def annual_values(climate: Climate, index: AnnualIndex) -> tuple[Array, Array]:
    """Return the calendar year each year begins in, and its index; arrays of one length."""
    years = whole_years(climate)
    names = np.array([int(str(y.start)[:4]) for y in years])
    return names, np.array([index.of(y) for y in years])


def severe_year(climate: Climate, index: AnnualIndex | Sequence[AnnualIndex], percentile: float = 90.0) -> Climate:
    """Return the year of a climate that stands at a percentile of severity.

    Parameters
    ----------
    climate : Climate
        Of several whole years; ten or more for a percentile of 90.
    index : AnnualIndex or sequence of them
        Of several, the mean of their `severity` is the index.
    percentile : float
        Share of years [%] that are less severe: 90 is a year that one in ten surpasses, 100 the worst.

    Returns
    -------
    Climate
        That year, cyclic; its `source` says how it was chosen.

    Notes
    -----
    The year whose index is nearest to the quantile, with straight lines between ranks (Hyndman and Fan 1996,
    type 7). A moisture design year that nine in ten years stay below is common practice; ANSI/ASHRAE 160 asks
    for design years or at least ten years in a row.
    """
    if not 0.0 <= percentile <= 100.0:
        raise InputError(f"percentile is {percentile:g}; it must lie between 0 and 100", "severe year")
    several = (index,) if isinstance(index, AnnualIndex) else tuple(index)
    found = [annual_values(climate, one) for one in several]
    names, values = found[0]
    if len(values) < 2:
        raise InputError("one year is no choice; several are needed", f"weather '{climate.name}'")
    what, high = several[0], several[0].high_is_severe
    if len(several) > 1:
        ranks = [severity(v, one.high_is_severe) for one, (_, v) in zip(several, found, strict=True)]
        values, high = np.mean(ranks, axis=0), True
        what = AnnualIndex(f"the mean severity of {' and '.join(one.name for one in several)}", "", lambda _: np.nan)
    q = percentile if high else 100.0 - percentile
    k = int(np.abs(values - np.percentile(values, q)).argmin())
    year = whole_years(climate)[k]
    chosen = (
        f"year {names[k]} of {names[0]} to {names[-1]}, {percentile:g} % of severity by {what.name}: "
        f"{f'{values[k]:.5g} {what.unit}'.strip()} ({values.min():.5g} to {values.max():.5g})"
    )
    source = f"{climate.source}; {chosen}" if climate.source else chosen
    return replace(year, name=f"{climate.name} {names[k]}", source=source)
