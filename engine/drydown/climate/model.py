"""Hourly weather of one place: the frozen `Climate`, what its stamps mean, and how a run reads it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..arrays import Array
from ..errors import InputError
from ..frozen import ByValue
from ..times import local_time, local_times, zone_of
from .columns import COLUMNS, HOUR, Times, check_column, stamp

if TYPE_CHECKING:
    from .weather.repair import RepairPolicy


__all__ = ["COLUMNS", "HOUR", "Climate", "Hours", "Times", "dew_point", "stamp"]


class Hours(NamedTuple):
    """Weather at the marks of a run, arrays of one length n; None where a column is unavailable.

    Units and meaning as in `Climate`: states at the mark, radiation and rain of the hour ending there.
    `source_time` is the stamp of the weather each mark takes its values from.
    """

    source_time: Times
    temperature: Array
    humidity: Array
    wind_speed: Array | None
    wind_direction: Array | None
    pressure: Array | None
    direct_normal: Array | None
    diffuse_horizontal: Array | None
    global_horizontal: Array | None
    longwave_down: Array | None
    rain: Array | None
    notes: dict[str, str]


def dew_point(vapour_pressure: Any) -> Any:
    """Dew point of a vapour pressure, frost point below 0 degC.

    Parameters
    ----------
    vapour_pressure : array_like
        [Pa], greater than zero.

    Returns
    -------
    ndarray
        [K], same shape.

    Notes
    -----
    The inverse of `moist_air.saturation_pressure_iso13788`. Source: ISO 13788:2012, annex E.
    """
    x = np.log(np.asarray(vapour_pressure, dtype=float) / 610.5)
    return 273.15 + np.where(x >= 0.0, 237.3 * x / (17.269 - x), 265.5 * x / (21.875 - x))


def _check_times(time: Times, where: str) -> None:
    if np.isnat(time).any():
        raise InputError(f"row {int(np.isnat(time).argmax()) + 1} has no time", where)
    odd = time != time.astype("datetime64[h]").astype("datetime64[s]")
    if odd.any():
        raise InputError(f"{time[odd][0]} is not a whole hour; hourly stamps are needed", where)
    step = np.diff(time)
    if (step == HOUR).all():
        return
    k = int((step != HOUR).argmax())
    a, b = time[k], time[k + 1]
    if len(np.unique(time)) < len(time):
        values, counts = np.unique(time, return_counts=True)
        raise InputError(f"hour {stamp(values[counts > 1][0])} is there more than once", where)
    if b < a:
        raise InputError(f"rows are not in order of time: {stamp(b)} (row {k + 2}) follows {stamp(a)}", where)
    raise InputError(f"{int((b - a) / HOUR) - 1} hours are missing between {stamp(a)} and {stamp(b)}", where)


@dataclass(frozen=True, eq=False)
class Climate(ByValue):
    """Hourly weather of one place, without gaps; arrays of one length N.

    Parameters
    ----------
    name : str
    latitude, longitude : float
        [degree], north and east positive.
    altitude : float
        [m] above the sea.
    utc_offset : float
        [h] of the local standard time of the stamps; no daylight saving.
    time : array of datetime64, shape (N,)
        The END of each hour, local standard time; an index with a zone is converted to it.
    temperature : array, shape (N,)
        [K], value at the stamp.
    humidity : array, shape (N,)
        Relative humidity [-] as a fraction, value at the stamp; below 0 degC over ice, as ISO 13788 has it
        (stations report over water; the readers of files refer it to ice).
    wind_speed : array or None
        [m/s] at 10 m, at the stamp.
    wind_direction : array or None
        [degree] the wind comes from, clockwise from north, at the stamp.
    pressure : array or None
        [Pa] at the station, at the stamp.
    direct_normal, diffuse_horizontal, global_horizontal : array or None
        [W/m2], mean over the hour that ends at the stamp.
    longwave_down : array or None
        Long-wave irradiance of the sky on the horizontal [W/m2], at the stamp.
    rain : array or None
        [kg/(m2 h)], sum over the hour that ends at the stamp (1 kg/(m2 h) = 1 mm/h).
    source : str
        Where the data come from.
    repairs : tuple of str
        Everything that was mended between the file and these arrays, one sentence each.
    synthetic : bool
        True: made by a generator for an invented place.
    cyclic : bool
        True: the years may be repeated by calendar for a run outside their period (typical years,
        synthetic years).

    Raises
    ------
    InputError
        Naming the column and the time, where an array is empty, of another length, not finite or out of
        range, where hours are missing, doubled or out of order, or where the place is impossible.

    Notes
    -----
    None means that a column is unavailable. It is never replaced by zeros.
    """

    name: str
    latitude: float
    longitude: float
    altitude: float
    utc_offset: float
    time: Times
    temperature: Array
    humidity: Array
    wind_speed: Array | None = None
    wind_direction: Array | None = None
    pressure: Array | None = None
    direct_normal: Array | None = None
    diffuse_horizontal: Array | None = None
    global_horizontal: Array | None = None
    longwave_down: Array | None = None
    rain: Array | None = None
    source: str = ""
    repairs: tuple[str, ...] = ()
    synthetic: bool = False
    cyclic: bool = False

    def __post_init__(self) -> None:
        where = f"weather '{self.name}'"
        time = np.array(local_times(self.time, self.utc_offset, f"{where}, time"))
        if zone_of(self.time) and (past := time - time.astype("datetime64[h]"))[:1].astype(int).any():
            minutes = int(past[0] / np.timedelta64(1, "m"))
            raise InputError(
                f"its hours, of the zone {zone_of(self.time)}, end {minutes} minutes past the hour at utc_offset "
                f"{self.utc_offset:+g} h; give the utc_offset of the place",
                where,
            )
        if time.ndim != 1 or len(time) < 2:
            raise InputError(f"it has {time.size} hours; at least 2 are needed", where)
        for key, value in self.columns().items():
            array = np.array(value, dtype=float)
            if array.shape != time.shape:
                raise InputError(f"{key} has {array.size} values for {time.size} hours", where)
            check_column(key, array, time, where)
            array.flags.writeable = False
            object.__setattr__(self, key, array)
        _check_times(time, where)
        time.flags.writeable = False
        object.__setattr__(self, "time", time)
        object.__setattr__(self, "repairs", tuple(self.repairs))
        self._check_place(where)

    def _check_place(self, where: str) -> None:
        for key, low, high in (
            ("latitude", -90.0, 90.0),
            ("longitude", -180.0, 180.0),
            ("altitude", -450.0, 9000.0),
            ("utc_offset", -12.0, 14.0),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                raise InputError(f"{key} is {value:g}; it must lie between {low:g} and {high:g}", where)
        solar = self.longitude / 15.0
        apart = abs((solar - self.utc_offset + 12.0) % 24.0 - 12.0)
        if apart > 4.0:
            raise InputError(
                f"utc_offset is {self.utc_offset:g} h, but longitude {self.longitude:g} (east positive) "
                f"is near {solar:+.0f} h; check the signs",
                where,
            )

    @classmethod
    def from_dataframe(
        cls,
        frame: Any,
        *,
        name: str,
        latitude: float,
        longitude: float,
        utc_offset: float,
        altitude: float = 0.0,
        units: Mapping[str, str] | None = None,
        columns: Mapping[str, str] | None = None,
        stamp: Literal["end", "start"] = "end",
        zone: str | None = None,
        humidity_below_0: Literal["water", "ice"] = "water",
        source: str = "",
        cyclic: bool = False,
        policy: RepairPolicy | None = None,
    ) -> Climate:
        """Return the climate in a table, mended: rows of an hour, or finer down to a minute, which are averaged.

        Parameters
        ----------
        frame : DataFrame or Dataset
            Times in the index or in ``time``; columns called as here (or ``dew_point`` for the humidity), each with its
            unit: ``"temperature [degC]"``, `units`, or the attribute ``units`` in an xarray Dataset.
        name, source : str
        latitude, longitude, utc_offset, altitude : float
        cyclic : bool
            As for `Climate`.
        units : mapping of str to str, optional
            Unit by column, such as ``{"temperature": "degC", "rain": "mm"}``.
        columns : mapping of str to str, optional
            Column of the table to column of the weather; what it does not name is not read.
        stamp : {'end', 'start'}
            What of its row a time names.
        zone : str, optional
            Time zone of times that carry none, such as ``"UTC"``; times that carry one are converted anyway, and what
            has neither is local standard time.
        humidity_below_0 : {'water', 'ice'}
            What relative humidity below 0 degC is over; stations and loggers report over water.
        policy : RepairPolicy, optional
            What may be mended; `repairs` of the climate says what was.

        Raises
        ------
        InputError
            Naming the column and the time: a unit that is missing, values that cannot be, gaps too long to be mended.
        """
        from .weather.frames import read_frame

        where = f"weather '{name}'"
        time, found, repairs = read_frame(
            frame, units, columns, stamp, zone, utc_offset, humidity_below_0, policy, where
        )
        return cls(
            name, latitude, longitude, altitude, utc_offset, time, **found,
            source=source or "a table", repairs=repairs, cyclic=cyclic,
        )  # fmt: skip

    def local(self, time: Any) -> np.datetime64:
        """Return a time with a zone, or without one, in the local standard time of this climate.

        Parameters
        ----------
        time : str, datetime, Timestamp or datetime64
            Such as ``"2022-01-15T06:00+00:00"``; what has no zone is local already.

        Raises
        ------
        InputError
            If it cannot be read.
        """
        return local_time(time, self.utc_offset, f"weather '{self.name}', time")

    def columns(self) -> dict[str, Array]:
        """Return the columns that are available, by name."""
        return {k: getattr(self, k) for k in COLUMNS if not COLUMNS[k].optional or getattr(self, k) is not None}

    @property
    def start(self) -> np.datetime64:
        """Start of the first hour."""
        found: np.datetime64 = self.time[0] - HOUR
        return found

    @property
    def end(self) -> np.datetime64:
        """End of the last hour."""
        found: np.datetime64 = self.time[-1]
        return found

    @property
    def whole_years(self) -> int:
        """Number of calendar years the data cover from their start; 0 where they are not whole."""
        first = _calendar(self.start)
        last = _calendar(self.end)
        same = all(a[0] == b[0] for a, b in zip(first[1:], last[1:], strict=True))
        return int(last[0][0] - first[0][0]) if same else 0

    def at_marks(self, marks: Times, cyclic: bool | None = None) -> Hours:
        """Return the weather at the hour marks of a run.

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Whole hours, rising.
        cyclic : bool, optional
            Whether a run outside the data may repeat them by calendar; the climate's own `cyclic` where
            not given.

        Returns
        -------
        Hours
            Arrays of length n.

        Raises
        ------
        InputError
            Naming both periods, where the run is not covered and may not be, or cannot be, repeated.

        Notes
        -----
        The mark at the very start of the data (one hour before the first stamp) takes the first values.
        Years repeat in order: the year after the last is the first. 29 February takes 28 February where
        the repeated year has none.
        """
        marks = np.asarray(marks, dtype="datetime64[s]")
        index = ((marks - self.time[0]) // HOUR).astype(np.int64)
        index = np.where(index == -1, 0, index)
        notes = {"climate": self.name, "climate_source": self.source or "not stated"}
        if self.synthetic:
            notes["climate_source"] += " (synthetic, invented place)"
        if self.repairs:
            notes["climate_repairs"] = "; ".join(self.repairs)
        inside = (index >= 0) & (index < len(self.time))
        if not inside.all():
            repeat = self.cyclic if cyclic is None else cyclic
            index = np.where(inside, index, self._repeated(marks, repeat))
            share = 1.0 - inside.mean()
            notes["climate_period"] = (
                f"weather of {stamp(self.start)} to {stamp(self.end)} repeated by calendar for {share:.0%} of the run"
            )
        available = self.columns()
        values: dict[str, Any] = {k: available[k][index] if k in available else None for k in COLUMNS}
        return Hours(source_time=self.time[index], **values, notes=notes)

    def between(self, start: Any, end: Any, cyclic: bool | None = None) -> Hours:
        """Return the weather at every hour mark from `start` to `end`, both included; see `at_marks`.

        Parameters
        ----------
        start : datetime64 or str
        end : datetime64 or str
        cyclic : bool, optional
            As for `at_marks`.
        """
        first, last = np.datetime64(start, "s"), np.datetime64(end, "s")
        if not last > first:
            raise InputError(f"the end {stamp(last)} is not after the start {stamp(first)}", "period")
        return self.at_marks(np.arange(first, last + HOUR, HOUR), cyclic)

    def _repeated(self, marks: Times, allowed: bool) -> NDArray[np.int64]:
        """Return the row of each mark when the years of the data are repeated by calendar."""
        where = f"weather '{self.name}'"
        have = f"the weather runs from {stamp(self.start)} to {stamp(self.end)}"
        want = f"the run from {stamp(marks[0])} to {stamp(marks[-1])}"
        if not allowed:
            raise InputError(f"{have}, {want}; choose a period inside the weather, or let it repeat", where)
        years = self.whole_years
        if years < 1:
            raise InputError(f"{have}, {want}; only whole years can be repeated", where)
        year, month, day, hour = _calendar(marks - HOUR)
        y0, m0, d0, h0 = (int(x[0]) for x in _calendar(self.start))
        # A year of the data starts where the data start, not at new year.
        before = ((month * 100 + day) * 100 + hour) < (m0 * 100 + d0) * 100 + h0
        age = (year - y0 - before) % years
        target = y0 + age + before
        leap = ((target % 4 == 0) & (target % 100 != 0)) | (target % 400 == 0)
        day = np.where((month == 2) & (day == 29) & ~leap, 28, day)
        begin = ((12 * (target - 1970) + month - 1).astype("datetime64[M]")).astype("datetime64[s]")
        begin = begin + ((day - 1) * 24 + hour) * HOUR
        return ((begin - self.start) // HOUR).astype(np.int64)


def _calendar(t: Any) -> tuple[NDArray[np.int64], ...]:
    """Return year, month, day and hour of times (whole hours)."""
    t = np.atleast_1d(np.asarray(t, dtype="datetime64[s]"))
    y, m, d = (t.astype(f"datetime64[{u}]") for u in "YMD")
    return (
        y.astype(np.int64) + 1970,
        (m - y.astype("datetime64[M]")).astype(np.int64) + 1,
        (d - m.astype("datetime64[D]")).astype(np.int64) + 1,
        ((t - d.astype("datetime64[s]")) // HOUR).astype(np.int64),
    )
