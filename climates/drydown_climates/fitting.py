"""Fit the generator to measured hours: twenty more years like this one.

::

    python -m drydown_climates weather.epw --years 20 --output more.nc

What is fitted: the monthly normals of `Place` and how temperature goes with the sun, how calm the wind and how restless
the hours are. What is not: what a single year cannot tell, such as how much years differ; that stays as
`drydown_climates.generator` assumes it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import numpy as np
from drydown.climate.model import HOUR, Climate
from drydown.climate.solar import sun_position
from drydown.climate.statistics import anomaly, behaviour
from drydown.errors import InputError
from drydown.moist_air import STANDARD_PRESSURE
from numpy.typing import NDArray

from .generator import generate
from .places import Months, Place

Array = NDArray[np.float64]
#: Columns without which there is nothing to fit.
NEEDED = ("wind_speed", "wind_direction", "rain", "global_horizontal")
#: Rounds in which cloud is put right until the sun of the months is met.
ROUNDS = 5


def _months(values: Array, month: NDArray[np.int64], digits: int = 3) -> Months:
    return cast(Months, tuple(round(float(values[month == m].mean()), digits) for m in range(12)))


def _clear(climate: Climate, turbidity: float) -> tuple[Array, Array]:
    """Return global irradiance without cloud [W/m2], and the sun's zenith [degree]."""
    import pandas as pd
    from pvlib import atmosphere, clearsky, irradiance

    zenith, _ = sun_position(climate.time, climate)
    day = pd.DatetimeIndex(climate.time - HOUR).day_of_year.to_numpy()
    level = STANDARD_PRESSURE * (1.0 - 2.25577e-5 * climate.altitude) ** 5.25588
    absolute = atmosphere.get_absolute_airmass(atmosphere.get_relative_airmass(zenith), level)
    extra = irradiance.get_extra_radiation(day)
    with np.errstate(divide="ignore"):
        clear = clearsky.ineichen(zenith, absolute, turbidity, altitude=climate.altitude, dni_extra=extra)
    return np.nan_to_num(np.asarray(clear["ghi"])), np.asarray(zenith)


def _turbidity(climate: Climate) -> float:
    """Return the Linke turbidity [-] whose clear sky two in a hundred hours of high sun surpass."""
    sun = cast(Array, climate.global_horizontal)

    def off(turbidity: float) -> float:
        clear, zenith = _clear(climate, turbidity)
        high = zenith < 65.0
        return abs(float(np.quantile(sun[high] / clear[high], 0.98)) - 1.0)

    choices: list[float] = np.arange(1.8, 6.01, 0.2).round(1).tolist()
    return min(choices, key=off)


def _from(direction: Array, weight: Array) -> float:
    """Return the direction [degree] from which most comes."""
    angle = np.radians(direction)
    return float(np.degrees(np.arctan2((weight * np.sin(angle)).sum(), (weight * np.cos(angle)).sum())) % 360.0)


def fit_place(climate: Climate, name: str = "") -> Place:
    """Return the place whose generated years are like a measured climate.

    Parameters
    ----------
    climate : Climate
        A year and more, with wind, rain and global sun.
    name : str
        Of the place; it also seeds the generator.

    Raises
    ------
    InputError
        If a column is unavailable or a month is missing.
    """
    where = name or climate.name
    for column in NEEDED:
        if getattr(climate, column) is None:
            raise InputError(f"{column} is unavailable in this weather; more years cannot be made without it", where)
    month = (climate.time - HOUR).astype("datetime64[M]").astype(np.int64) % 12
    if len(np.unique(month)) < 12 or len(climate.time) < 8000:
        raise InputError("a whole year is needed to make more years like it", where)
    first = int(np.argmax((climate.time.astype("datetime64[h]").astype(np.int64) % 24) == 1))
    days = (len(climate.time) - first) // 24
    by_day = climate.temperature[first : first + 24 * days].reshape(days, 24)
    month_of_day = month[first : first + 24 * days].reshape(days, 24)[:, 12]
    wind, rain = cast(Array, climate.wind_speed), cast(Array, climate.rain)
    sun = cast(Array, climate.global_horizontal)
    direction = cast(Array, climate.wind_direction)
    turbidity = _turbidity(climate)
    clear, _ = _clear(climate, turbidity)
    off = anomaly(by_day.mean(axis=1), month_of_day)
    got = behaviour(climate)
    swing = np.ptp(by_day, axis=1)
    calm = min(got["calm"] / 100.0, 0.4)
    course = 0.012 * float(swing.mean())  # what the daily course itself is off the middle of its neighbours
    begin = climate.time - HOUR
    starts = np.unique(begin.astype("datetime64[M]"))
    length = np.array(
        [float((m + 1).astype("datetime64[D]").astype(int) - m.astype("datetime64[D]").astype(int)) for m in starts]
    )
    of_start = starts.astype(np.int64) % 12
    place = Place(
        name=where,
        kind=f"fitted to {climate.source or climate.name}",
        latitude=climate.latitude,
        longitude=climate.longitude,
        altitude=climate.altitude,
        utc_offset=climate.utc_offset,
        temperature=_months(climate.temperature - 273.15, month),
        daily_range=_months(swing, month_of_day),
        synoptic=cast(Months, tuple(round(float(off[month_of_day == m].std()), 3) for m in range(12))),
        humidity=_months(climate.humidity, month),
        cloud=_cloud(sun, clear, month),
        wind=_months(wind, month),
        rain=cast(
            Months, tuple(24.0 * float(length[of_start == m].mean() * rain[month == m].mean()) for m in range(12))
        ),
        wet_share=cast(Months, tuple(float(np.clip((rain[month == m] > 0.02).mean(), 0.003, 0.6)) for m in range(12))),
        wind_from=_from(direction, wind),
        rain_from=_from(direction, rain * wind),
        turbidity=turbidity,
        calm=float(np.sqrt(-np.log(1.0 - calm))),
        flicker=float(np.sqrt(max(got["noise"] ** 2 - course**2, 0.0) / 0.83)),
        sun_correlation=(round(got["sun_winter"], 2), round(got["sun_summer"], 2)),
    )
    wanted = np.array([sun[month == m].mean() for m in range(12)])
    for _ in range(ROUNDS):
        place = _with_sun(place, wanted)
    return place


def _cloud(sun: Array, clear: Array, month: NDArray[np.int64]) -> Months:
    """Return the mean cloud [-] of the months by Kasten and Czeplak's reduction, from the sun of each month."""
    share = np.array([sun[month == m].sum() / max(clear[month == m].sum(), 1.0) for m in range(12)])
    return cast(Months, tuple(np.clip(((1.0 - share) / 0.75).clip(0.0, 1.0) ** (1.0 / 3.4), 0.05, 0.95).tolist()))


def _with_sun(place: Place, wanted: Array) -> Place:
    """Return the place with cloud moved so that the sun of the months comes nearer to what is wanted [W/m2]."""
    made = generate(place, years=3)
    month = (made.time - HOUR).astype("datetime64[M]").astype(np.int64) % 12
    sun = cast(Array, made.global_horizontal)
    got = np.array([sun[month == m].mean() for m in range(12)])
    dark = wanted < 5.0
    step = np.where(dark, 0.0, np.clip(got / np.maximum(wanted, 1.0) - 1.0, -0.3, 0.3))
    return replace(place, cloud=cast(Months, tuple(np.clip(np.array(place.cloud) + 0.8 * step, 0.03, 0.97).tolist())))
