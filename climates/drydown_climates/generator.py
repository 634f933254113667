"""A seeded generator of synthetic hourly weather: several different years in a row from monthly normals.

All values are synthetic and the places invented; use measured weather where a decision hangs on it.

What it holds to (tested):

- Over the years generated, the mean of each calendar month meets the normals of the place: temperature within
  0.2 K, relative humidity within 0.01, rain within 2 %, wind within 2 %; cloud within 0.05.
- Single years differ: temperature by a yearly (0.6 K) and a slow (20 days, 1.2 K) anomaly beside the weather
  of each day (60 h), rain by the weather and by a yearly factor (12 %).
- Cloud, rain and wind come from latent first-order autoregressive series that share a part: rain falls from
  cloudy hours, wind is stronger in rain and blows from `rain_from` then.
- Humidity comes from a dew point that follows the air of the last day, so that it falls in the afternoon and
  rises in rain; near saturation it is bent below 1.
- Sun: clear sky by Ineichen and Perez (2002) with a Linke turbidity, reduced by cloud after Kasten and
  Czeplak (1980), split into direct and diffuse by Erbs et al. (1982), all but the reduction through pvlib.
- Sky long-wave: Clark and Allen (1978) with cloud.

The shares, correlations and time constants are assumed.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from typing import Any

import numpy as np
from drydown.climate.model import HOUR, Climate, dew_point
from drydown.climate.sky import sky_longwave
from drydown.climate.solar import sun_position
from drydown.moist_air import STANDARD_PRESSURE, saturation_pressure_iso13788
from numpy.typing import NDArray

from .places import Months, Place

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
FIRST_YEAR = 2021
YEARS = 10


def _seasonal(normals: Months | Array, month: Whole, position: Array) -> Array:
    """Hourly values, linear between the middles of the months, whose monthly means are the normals.

    On a line from middle to middle the mean of a month is (previous + 6 own + next)/8.
    """
    own = np.eye(12) * 6.0 + np.roll(np.eye(12), 1, axis=1) + np.roll(np.eye(12), -1, axis=1)
    knots = np.linalg.solve(own / 8.0, np.asarray(normals, dtype=float))
    x = np.concatenate([[-0.5], np.arange(12) + 0.5, [12.5]])
    found: Array = np.interp(month - 1.0 + position, x, np.concatenate([knots[-1:], knots, knots[:1]]))
    return found


def _monthly(values: Array, month: Whole) -> Array:
    """Mean of each calendar month."""
    return np.array([values[month == m].mean() for m in range(1, 13)])


def generate(place: Place, years: int = YEARS, first_year: int = FIRST_YEAR, seed: int = 0) -> Climate:
    """Generate hourly weather for an invented place.

    Parameters
    ----------
    place : Place
    years : int
        Number of calendar years, leap years with their 29 February.
    first_year : int
    seed : int
        Another seed gives other years of the same climate.

    Returns
    -------
    Climate
        Marked synthetic and cyclic.
    """
    from scipy.signal import lfilter
    from scipy.special import ndtr, ndtri

    rng = np.random.default_rng([zlib.crc32(place.name.encode()), seed])
    first = np.datetime64(f"{first_year:04d}-01-01", "s")
    last = np.datetime64(f"{first_year + years:04d}-01-01", "s")
    time = np.arange(first + HOUR, last + HOUR, HOUR)
    begin = time - HOUR
    n = len(time)
    months = begin.astype("datetime64[M]")
    month = months.astype(np.int64) % 12 + 1
    length = (months + 1).astype("datetime64[s]") - months.astype("datetime64[s]")
    position = (begin - months.astype("datetime64[s]")) / length
    hour = (time - time.astype("datetime64[D]").astype("datetime64[s]")) / HOUR
    year = begin.astype("datetime64[Y]").astype(np.int64) - (first_year - 1970)

    def season(normals: Months | Array) -> Array:
        return _seasonal(normals, month, position)

    def series(hours: float) -> Array:
        """Standard normal series with a correlation time [h]."""
        a = np.exp(-1.0 / hours)
        noise = rng.standard_normal(n) * np.sqrt(1.0 - a * a)
        noise[0] = rng.standard_normal()
        found: Array = lfilter([1.0], [1.0, -a], noise)
        return found

    # Cloud and rain share a latent series. E[ndtr(a + b z)] = ndtr(a/sqrt(1 + b^2)) gives the mean cloud.
    front = np.sqrt(0.8) * series(20.0) + np.sqrt(0.2) * series(3.0)
    spread = 1.8
    cloud = ndtr(np.sqrt(1.0 + spread**2) * ndtri(season(place.cloud)) + spread * front)
    shower = 0.8 * front + 0.6 * series(4.0)
    over = shower - ndtri(1.0 - season(place.wet_share))
    rain = np.where(over > 0.0, over * rng.gamma(0.9, 1.0, n), 0.0)
    rain *= np.exp(0.12 * rng.standard_normal(years))[year]
    hours_a_month = np.array([(month == m).sum() for m in range(1, 13)]) / years
    rain *= (np.array(place.rain) / hours_a_month / _monthly(rain, month))[month - 1]
    rain = np.where(rain < 0.02, 0.0, np.minimum(rain, 60.0))

    temperature = _temperature(place, season, series, rng, hour, cloud, over, year, years)
    temperature += season(np.array(place.temperature) + 273.15 - _monthly(temperature, month))
    humidity = _humidity(place, season, series, month, temperature, cloud, over)

    gust = 0.3 * shower + np.sqrt(1.0 - 0.3**2) * (0.85 * series(15.0) + np.sqrt(1 - 0.85**2) * series(2.0))
    speed = np.sqrt(-np.log(np.clip(ndtr(-gust), 1e-12, 1.0))) * (1.0 + 0.2 * np.cos((hour - 14.0) * np.pi / 12.0))
    speed *= season(np.array(place.wind) / _monthly(speed, month))
    turn = (place.rain_from - place.wind_from + 180.0) % 360.0 - 180.0
    veer = np.where(over > 0.0, 0.7, 1.0) * 75.0 * series(24.0)
    direction = (place.wind_from + turn * ndtr(2.0 * over) + veer) % 360.0

    level = STANDARD_PRESSURE * (1.0 - 2.25577e-5 * place.altitude) ** 5.25588
    pressure = level + 900.0 * (0.9 * series(60.0) - 0.45 * front)
    vapour = humidity * saturation_pressure_iso13788(temperature)
    columns: dict[str, Any] = {
        "time": time,
        "temperature": temperature,
        "humidity": humidity,
        "wind_speed": speed,
        "wind_direction": direction,
        "pressure": pressure,
        "longwave_down": sky_longwave(temperature, dew_point(vapour), 10.0 * cloud),
        "rain": rain,
    }
    about: dict[str, Any] = dict(
        name=place.name,
        latitude=place.latitude,
        longitude=place.longitude,
        altitude=place.altitude,
        utc_offset=place.utc_offset,
        source=f"drydown_climates generator, {place.kind}, seed {seed}",
        synthetic=True,
        cyclic=True,
    )
    sun = _sun(place, Climate(**about, time=time, temperature=temperature, humidity=humidity), cloud, level)
    return Climate(**about, **columns, **sun)


def _temperature(
    place: Place,
    season: Callable[[Months | Array], Array],
    series: Callable[[float], Array],
    rng: np.random.Generator,
    hour: Array,
    cloud: Array,
    over: Array,
    year: Whole,
    years: int,
) -> Array:
    """Anomaly and daily course about the seasonal mean [K], before its monthly mean is met."""
    swing = 1.5 - 0.5 * cloud / season(place.cloud)
    shape = np.cos((hour - 15.0) * np.pi / 12.0) + 0.12 * np.cos((hour - 13.5) * np.pi / 6.0)
    daily = 0.5 * season(place.daily_range) * swing * shape
    weather = season(place.synoptic) * (0.95 * series(60.0) + 0.2 * series(8.0))
    slow = 1.2 * series(480.0) + 0.6 * rng.standard_normal(years)[year]
    return daily + weather + slow - 0.6 * (over > 0.0)


def _humidity(
    place: Place,
    season: Callable[[Months | Array], Array],
    series: Callable[[float], Array],
    month: Whole,
    temperature: Array,
    cloud: Array,
    over: Array,
) -> Array:
    """Relative humidity [-] from a dew point below the air of the last day; its monthly means are met."""
    from scipy.signal import lfilter

    # The mean of the last day by a first-order filter with 18 h, started at the first value.
    a = np.exp(-1.0 / 18.0)
    last_day, _ = lfilter([1.0 - a], [1.0, -a], temperature, zi=[a * temperature[0]])
    wet = 1.0 / (1.0 + np.exp(-3.0 * over))
    saturation = saturation_pressure_iso13788(temperature)
    factor = np.exp(0.35 * series(30.0)) * (1.25 - 0.5 * cloud) * (1.0 - 0.7 * wet)
    depression = 20.0 * (1.0 - np.array(place.humidity))
    rh, knee = np.empty_like(temperature), 0.8
    for _ in range(15):
        dew = last_day - np.maximum(season(depression), 0.05) * factor
        rh = saturation_pressure_iso13788(dew) / saturation
        rh = np.where(rh > knee, 1.0 - (1.0 - knee) * np.exp(-(rh - knee) / (1.0 - knee)), np.maximum(rh, 0.06))
        depression = np.maximum(depression + 18.0 * (_monthly(rh, month) - np.array(place.humidity)), 0.05)
    return rh


def _sun(place: Place, climate: Climate, cloud: Array, level: float) -> dict[str, Any]:
    """Direct, diffuse and global irradiance [W/m2]."""
    import pandas as pd
    from pvlib import atmosphere, clearsky, irradiance

    zenith, _ = sun_position(climate.time, climate)
    day = pd.DatetimeIndex(climate.time - HOUR).day_of_year.to_numpy()
    extra = irradiance.get_extra_radiation(day)
    relative = atmosphere.get_relative_airmass(zenith)
    absolute = atmosphere.get_absolute_airmass(relative, level)
    with np.errstate(divide="ignore"):  # sun on or below the horizon
        clear = clearsky.ineichen(zenith, absolute, place.turbidity, altitude=place.altitude, dni_extra=extra)
    ghi = np.nan_to_num(np.asarray(clear["ghi"])) * (1.0 - 0.75 * cloud**3.4)
    ghi = np.where(zenith < 90.0, np.maximum(ghi, 0.0), 0.0)
    split = irradiance.erbs(ghi, zenith, day)
    dni = np.clip(np.nan_to_num(np.asarray(split["dni"])), 0.0, 1100.0)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    return {
        "direct_normal": dni,
        "diffuse_horizontal": np.maximum(ghi - dni * cosine, 0.0),
        "global_horizontal": ghi,
    }
