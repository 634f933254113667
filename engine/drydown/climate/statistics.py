"""How a climate behaves from hour to hour: figures by which an invented year is held against a measured one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..arrays import Array
from ..moist_air import saturation_pressure_iso13788
from .model import HOUR, Climate

#: Months of the two seasons, north of the equator.
WINTER, SUMMER = (11, 0, 1), (5, 6, 7)
#: A wind slower than this [m/s] counts as calm: airports report slower ones as 0 (3 knots, 1.5 m/s, from memory).
CALM = 0.5
#: Rain from which on an hour is wet [kg/(m2 h)]: the least that a tipping bucket records, 0.01 inch, is 0.25.
WET = 0.2


@dataclass(frozen=True)
class Figure:
    """One figure of a climate.

    Parameters
    ----------
    key, words, unit : str
    digits : int
        Behind the point, in a table.
    """

    key: str
    words: str
    unit: str
    digits: int = 2


#: In the order of the table.
FIGURES: tuple[Figure, ...] = (
    Figure("sun_winter", "daily temperature against sun, winter", "correlation"),
    Figure("sun_summer", "daily temperature against sun, summer", "correlation"),
    Figure("clear_range", "daily range on the clearest third of days over that on the dullest", "ratio"),
    Figure("calm_night", "fall of temperature in calm nights over that in windy ones", "ratio"),
    Figure("daily_range", "highest less lowest of a day, mean", "K", 1),
    Figure("noise", "temperature of an hour off the middle of its neighbours, rms", "K"),
    Figure("humidity_noise", "humidity of an hour off the middle of its neighbours, rms", "%", 1),
    Figure("drying", "saturation deficit over that of monthly means", "ratio"),
    Figure("dry_rain", "wet hours below 60 % humidity", "% of wet hours", 1),
    Figure("rain_humidity", "humidity in wet hours, mean", "%", 0),
    Figure("saturated", "hours above 99 % humidity", "% of hours", 1),
    Figure("calm", "calms", "% of hours", 1),
    Figure("wind_spread", "standard deviation of wind over its mean", "ratio"),
    Figure("direct", "greatest direct sun", "W/m2", 0),
    Figure("warm_rain", "temperature in wet hours off that of the month", "K", 1),
)


def months_of(climate: Climate) -> NDArray[np.int64]:
    """Return the month of every hour, 0 to 11, so that 6 is in summer on both halves of the earth."""
    month = (climate.time - HOUR).astype("datetime64[M]").astype(np.int64) % 12
    return month if climate.latitude >= 0.0 else (month + 6) % 12


def anomaly(values: Array, month: NDArray[np.int64]) -> Array:
    """Return values less the straight lines through them, month by month.

    A mean alone would leave the season inside the month, which is no weather.
    """
    out = np.array(values, dtype=float)
    edges = np.flatnonzero(np.diff(month)) + 1
    for part in np.split(np.arange(len(out)), edges):
        if len(part) > 2:
            out[part] -= np.polyval(np.polyfit(part - part[0], out[part], 1), part - part[0])
        else:
            out[part] = 0.0
    return out


def _correlation(a: Array, b: Array) -> float:
    return float(np.corrcoef(a, b)[0, 1]) if len(a) > 9 and a.std() > 0.0 and b.std() > 0.0 else np.nan


def _off_middle(values: Array) -> float:
    return float(np.sqrt(np.mean((values[1:-1] - 0.5 * (values[2:] + values[:-2])) ** 2)))


def behaviour(climate: Climate) -> dict[str, float]:
    """Return the figures of `FIGURES`; not a number where a column is unavailable.

    Parameters
    ----------
    climate : Climate
        Some months and more; whole days are taken.

    Notes
    -----
    The temperature of a day is taken less the straight line of its month, sun likewise. Clear and dull days are told by
    their sun within the month; calm and windy nights, from 20 to 5 h, by their mean wind within the month.
    """
    month_of_hour = months_of(climate)
    hour = ((climate.time - climate.time.astype("datetime64[D]").astype("datetime64[s]")) / HOUR).astype(int)
    first = int(np.argmax(hour == 1))
    days = (len(hour) - first) // 24
    whole = slice(first, first + 24 * days)

    def by_day(values: Array) -> Array:
        return np.asarray(values, dtype=float)[whole].reshape(days, 24)

    month = month_of_hour[whole].reshape(days, 24)[:, 12]
    temperature = by_day(climate.temperature)
    out = dict.fromkeys((f.key for f in FIGURES), np.nan)
    out["daily_range"] = float(np.mean(np.ptp(temperature, axis=1)))
    out["noise"] = _off_middle(climate.temperature)
    out["humidity_noise"] = 100.0 * _off_middle(climate.humidity)
    out["drying"] = _deficit(climate, month_of_hour)
    out["saturated"] = 100.0 * float(np.mean(climate.humidity > 0.99))
    warmth = anomaly(temperature.mean(axis=1), month)
    if climate.global_horizontal is not None:
        sun = anomaly(by_day(climate.global_horizontal).mean(axis=1), month)
        for key, season in (("sun_winter", WINTER), ("sun_summer", SUMMER)):
            here = np.isin(month, season)
            out[key] = _correlation(warmth[here], sun[here])
        clear, dull = _thirds(sun, month)
        out["clear_range"] = float(np.ptp(temperature[clear], axis=1).mean() / np.ptp(temperature[dull], axis=1).mean())
    if climate.direct_normal is not None:
        out["direct"] = float(np.max(climate.direct_normal))
    if climate.wind_speed is not None:
        wind = climate.wind_speed
        out["calm"] = 100.0 * float(np.mean(wind < CALM))
        out["wind_spread"] = float(np.std(wind) / np.mean(wind))
        evening, morning = by_day(climate.temperature)[:-1, 19], by_day(climate.temperature)[1:, 4]
        night = 0.5 * (by_day(wind)[:-1, 19:].mean(axis=1) + by_day(wind)[1:, :5].mean(axis=1))
        windy, still = _thirds(night, month[:-1])
        fall = evening - morning
        out["calm_night"] = float(fall[still].mean() / fall[windy].mean())
    if climate.rain is not None:
        wet = climate.rain > WET
        out["dry_rain"] = 100.0 * float(np.mean(climate.humidity[wet] < 0.6))
        out["rain_humidity"] = 100.0 * float(np.mean(climate.humidity[wet]))
        off = (
            climate.temperature
            - np.array([climate.temperature[month_of_hour == m].mean() for m in range(12)])[month_of_hour]
        )
        out["warm_rain"] = float(off[wet].mean())
    return out


def _deficit(climate: Climate, month: NDArray[np.int64]) -> float:
    """Return the mean of (1 - phi) p_sat over that of its monthly means [-]: how damp and warm hours go together."""
    saturation = np.asarray(saturation_pressure_iso13788(climate.temperature), dtype=float)
    lacking = 1.0 - climate.humidity
    means = [
        (here.sum(), lacking[here].mean() * saturation[here].mean()) for m in range(12) if (here := month == m).any()
    ]
    return float((lacking * saturation).sum() / sum(n * product for n, product in means))


def _thirds(values: Array, month: NDArray[np.int64]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return which days are in the upper and in the lower third of their month."""
    upper, lower = np.zeros(len(values), dtype=bool), np.zeros(len(values), dtype=bool)
    for m in np.unique(month):
        here = month == m
        low, high = np.quantile(values[here], (1.0 / 3.0, 2.0 / 3.0))
        upper |= here & (values >= high)
        lower |= here & (values <= low)
    return upper, lower
