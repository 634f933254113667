"""PVGIS files, typical years as CSV or JSON (through pvlib).

What stamps mean: PVGIS states UTC. The state of the air is that at the stamp. Radiation from satellites is
the value of one instant, a stated offset after the stamp; here it becomes the mean of each hour, by straight
lines between the instants, which keeps its sum. An offset of half an hour marks means of the hour that
begins at the stamp; they are taken as they are (the rule of the reanalysis, from memory). The rows are
shifted to local standard time and the year is closed into a ring. PVGIS has no rain: it is unavailable,
never zero. Its hourly series (not the typical year) has no humidity and is refused.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from ...arrays import Array
from ...errors import InputError
from ..model import HOUR, Climate, Times, stamp
from .mended import mended_climate
from .repair import RepairPolicy, over_ice

#: How a CSV file of PVGIS begins.
FIRST_LINE = "Latitude (decimal degrees)"
FIELDS = ("temp_air", "relative_humidity", "ghi", "dni", "dhi", "wind_speed", "wind_direction", "pressure")


def is_csv(first_line: str) -> bool:
    """Return whether a CSV file is one of PVGIS, by its first line."""
    return first_line.startswith(FIRST_LINE)


def read(path: Path, policy: RepairPolicy) -> Climate:
    """Read a typical year of PVGIS, `.csv` or `.json`.

    Raises
    ------
    InputError
        Where the file is no typical year of PVGIS, is not whole, or states values that cannot be.
    """
    from pvlib import iotools

    try:
        table, meta = iotools.read_pvgis_tmy(str(path))
    except (KeyError, ValueError, TypeError, IndexError, AttributeError):
        raise InputError(_no_year(path), path.name) from None
    lacking = [name for name in FIELDS if name not in table]
    if lacking:
        raise InputError(f"column {lacking[0]} is missing; download the typical year (TMY) again", path.name)
    place = _place(meta, path.name)
    offset_utc = float(round(place["longitude"] / 15.0))
    moment, repairs = _one_year(table.index.tz_localize(None).to_numpy().astype("datetime64[s]"), path.name)

    def column(name: str) -> Array:
        values = np.asarray(table[name], dtype=float)
        return np.where(values <= -99.0, np.nan, values)

    after = place.pop("offset")
    if after is None:
        after = 0.0
        repairs += ("no offset of the radiation is stated: instants at the stamp were taken",)
    if not 0.0 <= after <= 1.0:
        raise InputError(f"Irradiance Time Offset is {after:g} h; it must lie between 0 and 1", path.name)
    if after != 0.5:
        repairs += (f"radiation of instants {after:.2f} h after the stamp was brought to means of hours",)
    sun = {
        key: hour_means(column(name), after)
        for key, name in (
            ("global_horizontal", "ghi"),
            ("direct_normal", "dni"),
            ("diffuse_horizontal", "dhi"),
        )
    }
    columns: dict[str, Any] = {
        "temperature": column("temp_air") + 273.15,
        "humidity": column("relative_humidity") / 100.0,
        "wind_speed": column("wind_speed"),
        "wind_direction": column("wind_direction"),
        "pressure": column("pressure"),
    }
    if "IR(h)" in table:
        columns["longwave_down"] = column("IR(h)")
    columns["humidity"], more = over_ice(columns["humidity"], columns["temperature"])
    year = moment[0].astype("datetime64[Y]").astype("datetime64[s]")
    time = year + np.arange(1, len(moment) + 1) * HOUR
    # The state at stamp t (UTC) belongs to the end t + offset; the mean of t to t + 1 h to one hour later.
    columns = {k: np.roll(v, int(offset_utc) - 1) for k, v in columns.items()}
    columns |= {k: np.roll(v, int(offset_utc)) for k, v in sun.items()}
    repairs += (
        f"stamps in UTC were moved to local standard time, UTC{offset_utc:+.0f} h (from the longitude)",
        *more,
        "rain unavailable: PVGIS has none",
    )
    return mended_climate(
        time,
        columns,
        policy,
        path.name,
        repairs,
        name=path.stem,
        utc_offset=offset_utc,
        source=f"PVGIS typical year, file {path.name}",
        cyclic=True,
        **place,
    )


def hour_means(instants: Array, offset: float) -> Array:
    """Means of the hours that begin at each stamp, of values at instants after the stamps.

    Parameters
    ----------
    instants : array, shape (n,)
        Values `offset` hours after each stamp of a year closed into a ring.
    offset : float
        [h], 0 to 1; 0.5 marks values that are such means already.

    Notes
    -----
    The integral of straight lines between the instants over each hour: weights o^2/2, (1 + 2 o - 2 o^2)/2 and
    (1 - o)^2/2 of the value before, at and after the hour. They add up to one, so the sum is kept.
    """
    if offset == 0.5:
        return instants
    o = offset
    return (
        0.5 * o**2 * np.roll(instants, 1)
        + 0.5 * (1.0 + 2.0 * o - 2.0 * o**2) * instants
        + 0.5 * (1.0 - o) ** 2 * np.roll(instants, -1)
    )


def _no_year(path: Path) -> str:
    """Say why a file cannot be read as a typical year."""
    head = path.read_text(encoding="utf-8", errors="replace")[:4000]
    if any(mark in head for mark in ('"hourly"', "\ntime,G", "\ntime,P")):
        return "it is an hourly series of PVGIS, which has no humidity; download the typical year (TMY)"
    return "it is no whole typical year (TMY) of PVGIS; download it again as CSV or JSON"


def _place(meta: dict[str, Any], where: str) -> dict[str, Any]:
    """Return latitude, longitude, altitude, and the offset of the radiation [h], None where not stated."""
    given = dict(meta["inputs"])
    given |= given.get("location", {})
    try:
        place = {k: float(given[k]) for k in ("latitude", "longitude")}
        place["altitude"] = float(given.get("elevation", 0.0))
    except (KeyError, TypeError, ValueError) as error:
        raise InputError(f"the place cannot be read ({error})", where) from None
    offset = given.get("irradiance time offset", given.get("irradiance_time_offset"))
    return place | {"offset": None if offset is None else float(offset)}


def _one_year(moment: Times, where: str) -> tuple[Times, tuple[str, ...]]:
    """Give months of different years the stamps of 2001; they must make one whole year of 8760 hours."""
    month = moment.astype("datetime64[M]")
    years = np.unique(month.astype("datetime64[Y]").astype(np.int64) + 1970)
    first = (np.int64(12 * 31) + month.astype(np.int64) % 12).astype("datetime64[M]").astype("datetime64[s]")
    label = first + (moment - month.astype("datetime64[s]"))
    want = np.datetime64("2001-01-01", "s") + np.arange(8760) * HOUR
    if len(label) != 8760:
        raise InputError(f"it has {len(label)} rows; a typical year has 8760", where)
    if (label != want).any():
        k = int((label != want).argmax())
        raise InputError(f"row {k + 1} is {stamp(moment[k])}; a typical year has every hour once", where)
    if len(years) == 1:
        return label, ()
    text = ", ".join(str(y) for y in years)
    return label, (f"typical year of months from {text}: labelled as the year 2001",)
