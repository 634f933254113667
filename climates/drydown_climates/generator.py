"""A seeded generator of synthetic hourly weather: several different years in a row from monthly normals.

All values are synthetic and the places invented; use measured weather where a decision hangs on it.

What it holds to (tested):

- Over the years generated, the mean of each calendar month meets the normals of the place: temperature within
  0.2 K, relative humidity within 0.01, rain within 2 %, wind within 2 %; cloud within 0.05. So does the mean of
  highest less lowest of a day, where the weather alone does not swing more.
- Single years differ: temperature by a yearly (0.6 K) and a slow (20 days, 1.2 K) anomaly beside the weather
  of each day, rain by the weather and by a yearly factor (12 %).
- Cloud, rain and wind come from latent first-order autoregressive series that share a part: rain falls from
  cloudy hours, wind is stronger in rain and blows from `rain_from` then. Winds below a part of the mean are calms.
- Temperature knows cloud and wind: clear days are warm where the noon sun is high and cold where it is low, clear
  and calm days swing wide (`_temperature`).
- Humidity comes from a dew point that follows the air of the last day, so that it falls in the afternoon; rain
  wets the air; near saturation it is bent below 1.
- Sun: clear sky by Ineichen and Perez (2002) with a Linke turbidity that varies from day to day, reduced by cloud
  after Kasten and Czeplak (1980), split into direct and diffuse by Erbs et al. (1982), in clear hours by the clear
  sky's own split; all but the reduction through pvlib.
- Sky long-wave: Clark and Allen (1978) with cloud.

`benchmarks/climates.py` holds the years made against measured ones. The shares, correlations and time
constants are assumed.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from drydown.climate.model import HOUR, Climate, dew_point
from drydown.climate.sky import sky_longwave
from drydown.climate.solar import sun_position
from drydown.moist_air import STANDARD_PRESSURE, saturation_pressure_iso13788
from numpy.typing import NDArray

from .places import Months, Place

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
#: What the share of cloud in the temperature is for a wanted correlation r of temperature with sun: a - b r. Sun is no
#: straight function of the latent cloud and temperature has slow parts, so b is above 1; rain cools, so a is above 0.
GAIN = (0.12, 1.75)
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
        found = _recursive(noise, a)
        return found

    # Cloud and rain share a latent series. E[ndtr(a + b z)] = ndtr(a/sqrt(1 + b^2)) gives the mean cloud.
    front = np.sqrt(0.8) * series(20.0) + np.sqrt(0.2) * series(3.0)
    spread = 1.8
    cloud = ndtr(np.sqrt(1.0 + spread**2) * ndtri(np.clip(season(place.cloud), 0.01, 0.99)) + spread * front)
    shower = 0.8 * front + 0.6 * series(4.0)
    over = shower - ndtri(1.0 - np.clip(season(place.wet_share), 1e-3, 0.9))
    rain = np.where(over > 0.0, over * rng.gamma(0.9, 1.0, n), 0.0)
    rain *= np.exp(0.12 * rng.standard_normal(years))[year]
    hours_a_month = np.array([(month == m).sum() for m in range(1, 13)]) / years
    for _ in range(2):  # again for what the least and the most of an hour took away
        rain *= (np.array(place.rain) / hours_a_month / np.maximum(_monthly(rain, month), 1e-9))[month - 1]
        rain = np.where(rain < 0.02, 0.0, np.minimum(rain, 60.0))

    gust = 0.3 * shower + np.sqrt(1.0 - 0.3**2) * (0.85 * series(15.0) + np.sqrt(1 - 0.85**2) * series(2.0))
    speed = np.sqrt(-np.log(np.clip(ndtr(-gust), 1e-12, 1.0))) * (1.0 + 0.2 * np.cos((hour - 14.0) * np.pi / 12.0))
    speed = np.where(speed < place.calm, 0.0, speed)
    speed *= season(np.array(place.wind) / _monthly(speed, month))

    sky = _Sky(front, cloud / np.clip(season(place.cloud), 0.01, 0.99), speed / season(place.wind), over > 0.0)
    temperature = _temperature(place, season, series, rng, hour, month, sky, year, years)
    temperature += season(np.array(place.temperature) + 273.15 - _monthly(temperature, month))
    humidity = _humidity(place, season, series, month, temperature, cloud, over)
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
    bare = Climate(**about, time=time, temperature=temperature, humidity=humidity)
    haze = np.exp(0.12 * series(60.0)) * (1.0 + 0.15 * np.cos((month - 7.0) * np.pi / 6.0) * np.sign(place.latitude))
    sun = _sun(place, bare, cloud, level, haze)
    return Climate(**about, **columns, **sun)


class _Sky(NamedTuple):
    """What of the sky the temperature knows: latent cloud, cloud and wind over their normals, whether it rains."""

    front: Array
    cloud: Array
    wind: Array
    wet: NDArray[np.bool_]


def warmth_of_sun(latitude: float, month: Whole, known: tuple[float, float] | None = None) -> Array:
    """Correlation [-] of the temperature of days with their sun that is aimed at, by month (1 to 12), or as `known`.

    Notes
    -----
    In winter and in summer TMY years have (`benchmarks/climates.py`): Sand Point, 55 degrees north, -0.65 and 0.22;
    Greensboro, 36, -0.22 and 0.50; Miami, 26, -0.23 and 0.70. Straight between them in latitude, a cosine over the
    year.
    """
    north = abs(latitude)
    winter = np.interp(north, (36.0, 55.0), (-0.22, -0.65))
    summer = np.interp(north, (26.0, 36.0, 55.0), (0.70, 0.50, 0.22))
    if known is not None:
        winter, summer = np.float64(known[0]), np.float64(known[1])
    season = 0.5 - 0.5 * np.cos(2.0 * np.pi * (month - 1.0) / 12.0)
    wanted: Array = winter + (summer - winter) * (season if latitude >= 0.0 else 1.0 - season)
    return wanted


def _low_pass(values: Array, hours: float) -> Array:
    """Running mean with an exponential memory [h], started at the first value."""
    a = np.exp(-1.0 / hours)
    driven = (1.0 - a) * values
    driven[0] += a * values[0]
    return _recursive(driven, a)


def _recursive(values: Array, a: float) -> Array:
    """Return y with y[n] = a y[n-1] + values[n], a lower bidiagonal system; scipy.signal takes a second to load."""
    from scipy.linalg import solve_banded

    band = np.stack([np.ones(len(values)), np.full(len(values), -a)])
    found: Array = solve_banded((1, 0), band, values)
    return found


def _standard(values: Array) -> Array:
    standard: Array = (values - values.mean()) / values.std()
    return standard


def _temperature(
    place: Place,
    season: Callable[[Months | Array], Array],
    series: Callable[[float], Array],
    rng: np.random.Generator,
    hour: Array,
    month: Whole,
    sky: _Sky,
    year: Whole,
    years: int,
) -> Array:
    """Anomaly and daily course about the seasonal mean [K], before its monthly mean is met.

    The weather is smooth (memories of 50 and 8 h) and shares a part with the cloud of the day, so that daily means go
    with the sun as `warmth_of_sun` says. The swing of a day is that of the last hours' cloud and wind; its size
    is found so that highest less lowest of a day has its normal mean.
    """
    share = np.clip(GAIN[0] - GAIN[1] * warmth_of_sun(place.latitude, month, place.sun_correlation), -0.95, 0.95)
    dull = _standard(_low_pass(np.minimum(sky.cloud, 1.3), 24.0))
    smooth = _standard(_low_pass(series(50.0), 8.0))
    weather = season(place.synoptic) * (share * dull + np.sqrt(1.0 - share**2) * smooth)
    slow = 1.2 * series(480.0) + 0.6 * rng.standard_normal(years)[year]
    rest = weather + slow - 0.6 * _low_pass(sky.wet.astype(float), 2.0) + place.flicker * series(1.0)
    clear = np.clip(1.65 - 0.65 * _low_pass(sky.cloud, 6.0), 0.2, 2.0)
    swing = clear * np.clip(1.15 - 0.15 * _low_pass(sky.wind, 6.0), 0.4, 1.3)
    shape = np.cos((hour - 15.0) * np.pi / 12.0) + 0.12 * np.cos((hour - 13.5) * np.pi / 6.0)
    normal = np.array(place.daily_range)
    size = 0.4 * normal
    for _ in range(6):
        daily = season(size) * swing * shape
        size = np.maximum(size + 0.45 * (normal - _daily_range(daily + rest, month)), 0.05 * normal)
    return season(size) * swing * shape + rest


def _daily_range(values: Array, month: Whole) -> Array:
    """Mean of highest less lowest of a day, by calendar month; the first hour of the series ends at 1 o'clock."""
    days = values.reshape(-1, 24)
    return _monthly(np.ptp(days, axis=1), month.reshape(-1, 24)[:, 0])


def _humidity(
    place: Place,
    season: Callable[[Months | Array], Array],
    series: Callable[[float], Array],
    month: Whole,
    temperature: Array,
    cloud: Array,
    over: Array,
) -> Array:
    """Relative humidity [-] from a dew point below the air of the last day; its monthly means are met.

    In rain the dew point comes near the air, whatever the air was before: rain that evaporates wets it.
    """
    last_day = _low_pass(temperature, 18.0)
    wet = _low_pass(1.0 / (1.0 + np.exp(-3.0 * over)), 1.5)
    raining = _low_pass((over > 0.0).astype(float), 1.2)
    saturation = saturation_pressure_iso13788(temperature)
    factor = np.exp(0.35 * series(30.0) + 0.1 * series(1.0)) * (1.25 - 0.5 * cloud) * (1.0 - 0.7 * wet)
    damp = 2.5 * np.exp(0.6 * series(10.0))
    depression = 20.0 * (1.0 - np.array(place.humidity))
    rh, knee = np.empty_like(temperature), 0.85
    for _ in range(15):
        dew = last_day - np.maximum(season(depression), 0.05) * factor
        dew += raining * np.maximum(temperature - damp - dew, 0.0)
        rh = saturation_pressure_iso13788(dew) / saturation
        rh = np.where(rh > knee, 1.0 - (1.0 - knee) * np.exp(-(rh - knee) / (1.0 - knee)), np.maximum(rh, 0.06))
        depression = np.maximum(depression + 18.0 * (_monthly(rh, month) - np.array(place.humidity)), 0.05)
    return rh


def _sun(place: Place, climate: Climate, cloud: Array, level: float, haze: Array) -> dict[str, Any]:
    """Direct, diffuse and global irradiance [W/m2]."""
    import pandas as pd
    from pvlib import atmosphere, clearsky, irradiance

    zenith, _ = sun_position(climate.time, climate)
    day = pd.DatetimeIndex(climate.time - HOUR).day_of_year.to_numpy()
    extra = irradiance.get_extra_radiation(day)
    relative = atmosphere.get_relative_airmass(zenith)
    absolute = atmosphere.get_absolute_airmass(relative, level)
    with np.errstate(divide="ignore"):  # sun on or below the horizon
        clear = clearsky.ineichen(zenith, absolute, place.turbidity * haze, altitude=place.altitude, dni_extra=extra)
    ghi = np.nan_to_num(np.asarray(clear["ghi"])) * (1.0 - 0.75 * cloud**3.4)
    ghi = np.where(zenith < 90.0, np.maximum(ghi, 0.0), 0.0)
    split = irradiance.erbs(ghi, zenith, day)
    # Erbs speaks of all hours with as much global sun; a cloudless one has the beam of the clear sky.
    open_sky = np.clip((1.0 - 0.75 * cloud**3.4 - 0.9) / 0.08, 0.0, 1.0)
    beam = (1.0 - open_sky) * np.nan_to_num(np.asarray(split["dni"])) + open_sky * np.nan_to_num(
        np.asarray(clear["dni"])
    )
    dni = np.where(zenith < 90.0, np.clip(beam, 0.0, 1100.0), 0.0)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    return {
        "direct_normal": np.minimum(dni, ghi / np.maximum(cosine, 0.02)),
        "diffuse_horizontal": np.maximum(ghi - dni * cosine, 0.0),
        "global_horizontal": ghi,
    }
