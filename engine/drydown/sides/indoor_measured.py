"""Measured indoor air, from a file of our own schema.

UTF-8 text, like a weather file (`weather.own`) without a place::

    # drydown_indoor: 1
    # name: reading room
    # stamp: end
    # source: own logger, calibrated in May
    time,temperature [degC],humidity [%]
    2023-01-01 01:00,20.4,41

- `name`, `source`, `cyclic` (yes or no: whole years that may be repeated), `stamp`, `humidity_below_0` and
  any number of `repair` lines are optional. `time` is local standard time, every hour or finer; it names the
  END of the row, `# stamp: start` says that it names the start. A stamp with an offset needs `utc_offset` [h].
- `temperature` and `humidity` (or `dew_point`) are needed, each with its unit in square brackets. A missing
  value is an empty cell; short gaps are interpolated and named, long ones refused (`RepairPolicy`). A sauna is a room:
  up to 393 K.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from ..arrays import Array, Marks
from ..case.sides import Physics
from ..climate.columns import HOTTEST_ROOM
from ..climate.model import COLUMNS, Climate, stamp
from ..climate.weather.frames import read_frame
from ..climate.weather.mended import mended_climate
from ..climate.weather.own import KEYS, SCHEMA, flag, read_table
from ..climate.weather.repair import RepairPolicy
from ..errors import InputError, nearest
from ..files import write_text
from .indoor import OutdoorAir

#: Keys of weather files that say where a place is, and mean nothing indoors.
_COLUMNS = ("temperature", "humidity", "dew_point")
_PLACE = ("drydown_weather", "latitude", "longitude", "altitude", "synthetic")
#: A room may be hotter than any weather: a sauna.
_POLICY = RepairPolicy(hottest=HOTTEST_ROOM)


@dataclass(frozen=True)
class Measured:
    """Indoor air as it was measured.

    Parameters
    ----------
    record : Climate
        Hourly temperature and humidity; its place is not read.
    """

    record: Climate
    needs_outdoor = False

    @classmethod
    def from_dataframe(
        cls,
        frame: Any,
        *,
        name: str = "measured",
        units: Mapping[str, str] | None = None,
        columns: Mapping[str, str] | None = None,
        stamp: Literal["end", "start"] = "end",
        zone: str | None = None,
        utc_offset: float | None = None,
        humidity_below_0: Literal["water", "ice"] = "water",
        source: str = "",
        cyclic: bool = False,
        policy: RepairPolicy | None = None,
    ) -> Measured:
        """Return the indoor air in a table of temperature and humidity; rows of an hour, or finer down to a minute.

        Parameters
        ----------
        frame : DataFrame or Dataset
        name, source : str
        utc_offset : float, optional
            Of the local standard time of the run [h]; needed where the times have a zone.
        units, columns : mapping of str to str, optional
        stamp, zone, humidity_below_0 : str
        cyclic : bool
        policy : RepairPolicy, optional
            As for `Climate.from_dataframe`.

        Raises
        ------
        InputError
            As for `Climate.from_dataframe`.
        """
        where = f"indoor air '{name}'"
        time, found, repairs = read_frame(
            frame, units, columns, stamp, zone, utc_offset, humidity_below_0, policy or _POLICY, where, _COLUMNS
        )
        given = {"source": source or "a table", "repairs": repairs, "cyclic": cyclic, **found}
        return cls(Climate(name, 0.0, 0.0, 0.0, 0.0, time, **given))

    def air(self, marks: Marks, physics: Physics, outdoor: OutdoorAir | None) -> tuple[Array, Array]:
        """Return temperature [K] and vapour pressure [Pa].

        Parameters
        ----------
        marks : array of datetime64, shape (n,)
            Hour marks of the run.
        physics : Physics
        outdoor : OutdoorAir or None
            Outdoor air at the marks, where the model reads it.

        Raises
        ------
        InputError
            If the marks lie outside the record and it may not be repeated.
        """
        try:
            h = self.record.at_marks(marks)
        except InputError as error:
            raise error.at("measured indoor air") from None
        return h.temperature, h.humidity * physics.saturation_pressure(h.temperature)

    def describe(self) -> str:
        """Return the record, its period and its repairs in one line."""
        r = self.record
        again = ", repeated by calendar outside it" if r.cyclic else ""
        mended = f"; mended: {'; '.join(r.repairs)}" if r.repairs else ""
        return f"measured, {r.name}, {stamp(r.start)} to {stamp(r.end)}{again} ({r.source}){mended}"


def read_indoor(path: str | Path, policy: RepairPolicy | None = None) -> Measured:
    """Read measured indoor air; the module's description has the schema.

    Parameters
    ----------
    path : str or Path
    policy : RepairPolicy, optional
        What may be mended.

    Raises
    ------
    InputError
        Naming the file and the line, the column or the time.
    """
    path = Path(path)
    where = path.name
    if not path.is_file():
        near = nearest(path.name, [p.name for p in path.parent.glob("*.csv")])
        raise InputError(f"there is no such file of indoor air; {near}", str(path))
    try:
        known = ("drydown_indoor", *(k for k in KEYS if k not in _PLACE))
        table = read_table(path, known)
    except UnicodeDecodeError:
        raise InputError("it is no UTF-8 text", where) from None
    keys = table.keys
    if keys.get("drydown_indoor", SCHEMA) != SCHEMA:
        raise InputError(f"schema {keys['drydown_indoor']} is not known; this version reads {SCHEMA}", where)
    for name in table.columns:
        if name not in _COLUMNS:
            what = COLUMNS[name].long_name
            raise InputError(f"{what} means nothing indoors; leave out the column {name}", where)
    time, columns, repairs = table.hours(where, policy or _POLICY)
    record = mended_climate(
        time,
        columns,
        policy or _POLICY,
        where,
        repairs,
        name=keys.get("name") or path.stem,
        latitude=0.0,
        longitude=0.0,
        altitude=0.0,
        utc_offset=0.0,
        source=keys.get("source", "") or f"file {path.name}",
        cyclic=flag(keys, "cyclic", where),
    )
    return Measured(record)


def write_indoor(measured: Measured, path: str | Path) -> None:
    """Write measured indoor air so that `read_indoor` gives the same values back."""
    r = measured.record
    keys = {"drydown_indoor": SCHEMA, "name": r.name, "humidity_below_0": "ice", "source": r.source}
    keys["cyclic"] = "yes" if r.cyclic else "no"
    head = [f"# {key}: {' '.join(value.split())}" for key, value in keys.items()]
    head += [f"# repair: {' '.join(repair.split())}" for repair in r.repairs]
    rows = [
        f"{stamp(t)},{float(temperature)!r},{float(humidity)!r}"
        for t, temperature, humidity in zip(r.time, r.temperature, r.humidity, strict=True)
    ]
    lines = [*head, "time,temperature [K],humidity [1]", *rows]
    write_text(Path(path), "\n".join(lines) + "\n")
