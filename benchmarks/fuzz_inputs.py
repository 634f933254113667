"""Inputs out of joint, drawn from a seed: case files, weather tables, studies, catalogues and stores.

A document is changed by what TOML can say (values, keys, tables, nesting), then at times letter by letter. Odd values
are mostly refused at the first of them, so a part of the documents is changed gently: other amounts, other materials,
layers in another order; they get as far as a run. All data here are invented.
"""

from __future__ import annotations

import copy
import datetime
import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from drydown.study.toml_text import toml_text

Document = dict[str, Any]
Place = tuple[Any, ...]

CASE: Document = {
    "title": "fuzz",
    "catalogues": [],
    "climate": {"name": "fernmoor", "years": "2021 to 2023", "repeat": True},
    "outside": {
        "orientation": "north", "tilt": "90 deg", "absorptance": 0.6, "emissivity": 0.9, "horizon": "10 deg",
        "overhang": "0.9 m", "overhang_height": "2 m", "rain_exposure": 1.0, "rain_deposition": 0.35,
        "snow_below": "0 degC", "wind_factor": 0.7, "assumed_cloud": 5,
    },
    "inside": {
        "model": "balance", "bedrooms": 3, "volume": "300 m3", "air_changes": "0.3 1/h", "heating": "20 degC",
        "cooling": "25 degC",
    },
    "period": {"start": datetime.date(2022, 1, 1), "days": 2},
    "start": {"temperature": "10 degC", "humidity": "75 %"},
    "limits": {},
    "material": {"my board": {"like": "OSB", "density": "600 kg/m3"}},
    "film": {"my film": {"like": "polyamide film 0.05 mm"}},
    "source": {"given2": {"authors": "invented", "where": "here", "kind": "assumed"}},
    "layer": [
        {"material": "spruce cladding", "thickness": "20 mm"},
        {"material": "air gap 25 mm", "thickness": "25 mm"},
        {"film": "my film"},
        {"material": "OSB", "thickness": "11 mm", "start_humidity": "80 %", "cells": 5},
        {"material": "my board", "thickness": "0.5 in", "start_water": "60 kg/m3"},
        {"film": "polyamide film 0.05 mm", "covered": "95 %"},
        {"material": "gypsum board", "thickness": "12.5 mm"},
    ],
    "ventilated_gap": [{"layer": "air gap 25 mm", "air_changes": "50 1/h"}],
    "rain_share": [{"layer": "OSB", "share": "1 %", "place": "outer", "depth": "3 mm"}],
    "air_leak": [{"q50": "3 m3/(m2 h)", "layer": "OSB", "place": "inner", "exponent": 0.65}],
    "wetting": [
        {"layer": "OSB", "amount": "0.1 kg/m2", "date": datetime.datetime(2022, 1, 1, 6), "duration": "6 h",
         "place": "inner", "depth": "2 mm"},
    ],
    "numerics": {"tolerance": 1.0, "refine": 1.0, "film_reading": "mean", "output_every": "1 h", "max_step": "1800 s"},
    "variant": [{"name": "other film", "set": {"layer.3.film": "polyethylene 0.15 mm"}}],
}  # fmt: skip
STUDY: Document = {
    "title": "fuzz",
    "base": "wall.toml",
    "design": "grid",
    "block": 2,
    "outputs": ["remaining", "share_inward", "days_to_90_percent_dry"],
    "output": [{"of": "maximum_humidity", "layer": "OSB", "place": "inner"}, {"of": "criterion", "criterion": "mould"}],
    "axis": [
        {"name": "film", "path": "layer.3.film", "values": ["polyamide film 0.05 mm", "polyethylene 0.15 mm"]},
        {"path": "start.humidity", "values": ["65 %", "75 %"]},
        {"name": "amount", "path": "wetting.1.amount", "values": ["0.2 kg/m2", "0.6 kg/m2"]},
    ],
}
CATALOGUE: Document = {
    "source": {"s": {"authors": "invented", "year": 2021, "where": "here", "kind": "assumed"}},
    "material": {
        "board": {
            "density": "650 kg/m3", "heat_capacity": "1880 J/(kg K)", "saturation": "160 %MC",
            "conductivity": {"dry": "0.10 W/(m K)", "per_moisture": 1.5},
            "storage": {"humidity": "49 69 89 %", "water": "5.4 8.2 14.7 %MC", "pores": "90 kPa", "n": 2},
            "permeability": {"humidity": "10 50 90 %", "permeance": "2.4 110 380 ng/(Pa s m2)", "thickness": "11 mm"},
            "liquid": {"absorption": "0.0022 kg/(m2 s^0.5)"}, "source": "s", "spread": {"permeability": [0.5, 2.0]},
        },
    },
    "film": {
        "paper": {"permeance": {"humidity": "10 50 90 %", "permeance": "240 780 3060 ng/(Pa s m2)"}, "source": "s"},
    },
}  # fmt: skip

ODD: tuple[Any, ...] = (
    3, 0, -1, -1.5, 1e300, -1e300, 1e-300, True, False, "", " ", "nan", "inf", float("nan"), float("inf"), [], ["a"],
    [["a", "b"]], [{"a": 1}], {}, {"a": 1}, {"a": {"b": {"c": [1]}}}, datetime.date(2022, 1, 1), datetime.date(1, 1, 1),
    datetime.date(9999, 12, 31), datetime.time(3), datetime.datetime(2022, 1, 1, 6), 2**53, 99999, 10**15, "1e400 mm",
    "-5 degC", "1 mm", "999999999999999999999999999999 mm", "1e-30 mm", "0 m", "100 %", "0 %", "-0 %", "200 %",
    "1 perm",
    "OSB", "mineral wool", "polyethylene 0.15 mm", "weather.csv", "/dev/zero", "/dev/stdin", "..", "wall.toml",
    "a\nb = 1", 'a"b', "a'b", "\x7f", "\u202e", "ä" * 300, "layer.1", "layer..film", "a.b.c.d.e.f", "1e3000", "--help",
    "drydown:OSB", "north", "constant", "weather", "ground", "measured", "chamber", "0.000001 s", "1e9 s", "1 1/h",
)  # fmt: skip


#: What a layer may be made of instead, dense and open, dry and wet, thin and thick.
MATERIALS = (
    "OSB", "spruce cladding", "mineral wool", "gypsum board", "clay brick", "concrete", "expanded polystyrene",
    "cellular glass", "dense cellulose", "absorbent brick", "aerated concrete", "copper sheet", "air gap 25 mm",
    "closed-cell spray foam", "calcium silicate insulation", "clay soil", "cross-laminated timber", "my board",
)  # fmt: skip
FILMS = ("polyamide film 0.05 mm", "polyethylene 0.15 mm", "my film")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def places(data: Any, place: Place = ()) -> list[Place]:
    """Return the way to every value of nested tables and lists."""
    out = [place] if place else []
    items = list(data.items()) if isinstance(data, dict) else list(enumerate(data)) if isinstance(data, list) else []
    for key, value in items:
        out += places(value, (*place, key))
    return out


def _at(data: Any, place: Place) -> Any:
    for key in place:
        data = data[key]
    return data


def changed(draw: random.Random, base: Document) -> Document:
    """Return a document with one to four changes that TOML can say."""
    data = copy.deepcopy(base)
    for _ in range(draw.choice((1, 1, 1, 2, 3, 4))):
        ways = places(data)
        if not ways:
            break
        place = draw.choice(ways)
        table, key = _at(data, place[:-1]), place[-1]
        what = draw.random()
        if what < 0.5:
            table[key] = copy.deepcopy(draw.choice(ODD))
        elif what < 0.6:
            del table[key]
        elif what < 0.7:  # the value of another place
            table[key] = copy.deepcopy(_at(data, draw.choice(ways))) if draw.random() < 0.9 else data
            table[key] = copy.deepcopy(table[key])
        elif what < 0.8 and isinstance(table, list):
            table.insert(key, copy.deepcopy(table[key]))
        elif what < 0.85 and isinstance(table, dict):
            table[str(draw.choice((*ODD, *(p[-1] for p in ways))))[:60] or "x"] = table.pop(key)
        elif what < 0.9 and isinstance(table[key], str):
            table[key] = _letters(draw, table[key])
        elif isinstance(table[key], int | float) and not isinstance(table[key], bool):
            table[key] = table[key] * draw.choice((-1, 0, 10, 1e6, 1e-6, 1e12))
        else:
            table[key] = copy.deepcopy(draw.choice(ODD))
    return data


def gently(draw: random.Random, base: Document) -> Document:
    """Return a document with one to five changes of amounts, materials, dates and order: what somebody may mean."""
    data = copy.deepcopy(base)
    for _ in range(draw.choice((1, 1, 2, 3, 5))):
        place = draw.choice(places(data))
        table, key = _at(data, place[:-1]), place[-1]
        value = table[key]
        if key in ("material", "film") and isinstance(value, str):
            table[key] = draw.choice(MATERIALS if key == "material" else FILMS)
        elif isinstance(value, bool):
            table[key] = not value
        elif isinstance(value, int | float):
            table[key] = type(value)(value * draw.choice((0.5, 0.9, 1.1, 2, 3)))
        elif isinstance(value, str):
            by = draw.choice((0.1, 0.5, 0.9, 1.1, 2, 5))
            table[key] = _NUMBER.sub(lambda found, by=by: f"{float(found[0]) * by:.6g}", value)
        elif isinstance(value, datetime.date):
            table[key] = value + datetime.timedelta(days=draw.choice((-400, -1, 1, 30)))
        elif isinstance(value, list) and value:
            at = draw.randrange(len(value))
            what = draw.random()
            if what < 0.4:
                value.insert(draw.randrange(len(value) + 1), value.pop(at))
            elif what < 0.7:
                value.insert(at, copy.deepcopy(value[at]))
            else:
                del value[at]
        elif isinstance(value, dict) and value and draw.random() < 0.3:
            del value[draw.choice(list(value))]
    return data


def _letters(draw: random.Random, text: str) -> str:
    """Return a text with a few letters changed, doubled, taken away or cut off."""
    for _ in range(draw.choice((1, 1, 2, 5))):
        at = draw.randrange(len(text) + 1)
        what = draw.random()
        if what < 0.3:
            text = text[:at] + draw.choice("\0\n\r\t\"'[]{}=#.,\\ -+eE0123456789_%äλ\ufeff\u2028") + text[at:]
        elif what < 0.6:
            text = text[:at] + text[at + draw.choice((1, 1, 5, 40)) :]
        elif what < 0.8:
            end = min(len(text), at + draw.choice((1, 10, 100)))
            text = text[:end] + text[at:end] * draw.choice((1, 2, 30)) + text[end:]
        else:
            text = text[:at] if draw.random() < 0.2 else text
    return text


def mutated(draw: random.Random, base: Document) -> bytes:
    """Return a file of TOML out of joint; four of ten are changed gently, and stay TOML."""
    if draw.random() < 0.4:
        return toml_text(gently(draw, base)).encode()
    try:
        text = toml_text(changed(draw, base))
    except (TypeError, RecursionError):
        text = toml_text(base)
    if draw.random() < 0.3:
        text = _letters(draw, text)
    data = text.encode("utf-8", "surrogatepass")
    what = draw.random()
    if what < 0.02:
        data = b"\xef\xbb\xbf" + data
    elif what < 0.04:
        data = data.replace(b"\n", b"\r\n")
    elif what < 0.05:
        data = text.encode("utf-16")
    elif what < 0.06:
        data = flipped(draw, data)
    return data


def flipped(draw: random.Random, data: bytes) -> bytes:
    """Return bytes with some of them changed, or cut off."""
    out = bytearray(data)
    for _ in range(draw.choice((1, 3, 20))):
        if out:
            out[draw.randrange(len(out))] = draw.randrange(256)
    return bytes(out[: draw.randrange(len(out) + 1)]) if draw.random() < 0.2 else bytes(out)


def weather_csv(hours: int = 60) -> str:
    """Return a small table of weather in our own schema."""
    stamps = np.datetime64("2022-01-01T01:00") + np.arange(hours) * np.timedelta64(1, "h")
    wave = np.sin(2.0 * np.pi * np.arange(hours) / 24.0)
    head = "# latitude: 59\n# longitude: 21\n# utc_offset: 1\n"
    head += "time,temperature [degC],humidity [%],wind_speed [m/s],rain [mm/h]\n"
    rows = (f"{str(t).replace('T', ' ')},{3 * w:.2f},{80 - 8 * w:.1f},3,0.1" for t, w in zip(stamps, wave, strict=True))
    return head + "\n".join(rows) + "\n"


CELLS = (
    "",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "-9999",
    "99999",
    "abc",
    "0",
    "1e-320",
    "5 degC",
    '"',
    "2022-01-01",
    "ä",
    "\0",
)


def weather_table(draw: random.Random, path: Path) -> Path:
    """Write a weather file out of joint beside `path`, and return its name."""
    lines = weather_csv(draw.choice((1, 3, 60, 60, 60))).splitlines()
    if draw.random() < 0.3:  # other amounts, in a table that can be read
        rows = [line.split(",") for line in lines]
        column, by, more = draw.randrange(1, 5), draw.choice((-1, 0, 0.5, 2, 10)), draw.choice((-40, 0, 0, 20))
        for row in rows[4:]:
            row[column] = f"{float(row[column]) * by + more:g}"
        path.write_text("\n".join(",".join(row) for row in rows) + "\n", encoding="utf-8")
        return path
    for _ in range(draw.choice((1, 1, 2, 4))):
        at = draw.randrange(len(lines))
        cells = lines[at].split(",")
        what = draw.random()
        if what < 0.4:
            cells[draw.randrange(len(cells))] = draw.choice(CELLS)
            lines[at] = ",".join(cells)
        elif what < 0.5:
            del lines[at : at + draw.choice((1, 1, 3, 30))]
        elif what < 0.6:
            lines.insert(draw.randrange(len(lines) + 1), lines[at])
        elif what < 0.7:
            lines[at] += "," + draw.choice(CELLS)
        elif what < 0.8:
            lines[at] = ",".join(cells[:-1])
        elif what < 0.9:
            lines[at] = _letters(draw, lines[at])
        else:
            draw.shuffle(lines)
        lines = lines or [""]
    data = "\n".join(lines).encode("utf-8", "surrogatepass")
    kind = draw.choice((".csv", ".csv", ".csv", ".epw", ".json", ".nc"))
    if kind == ".nc":
        data = flipped(draw, _netcdf(draw))
    elif draw.random() < 0.2:
        data = flipped(draw, data)
    path = path.with_suffix(kind)
    path.write_bytes(data)
    return path


def _netcdf(draw: random.Random) -> bytes:
    """Return a netCDF file of weather with odd declarations."""
    import netCDF4

    file = netCDF4.Dataset("weather.nc", "w", memory=1024)
    hours = draw.choice((0, 1, 48, 48, 100_000_000))
    file.createDimension("time", hours)
    file.createDimension("place", 2)
    for name in draw.sample(("time", "temperature", "humidity", "rain", "ghost"), draw.choice((2, 3, 4))):
        kind = draw.choice(("f8", "f8", "i4", "S1", "i1"))
        dims = draw.choice((("time",), ("time",), ("time",), ("time", "place"), ()))
        variable = file.createVariable(name, kind, dims, zlib=kind != "S1", fill_value=False if kind == "S1" else None)
        variable.setncattr(
            "units", draw.choice(("K", "1", "hours since 1970-01-01", "hours since nowhere", "furlong", ""))
        )
        variable.setncattr("calendar", draw.choice(("standard", "360_day", "none", "gregorian")))
        if hours <= 48 and kind != "S1" and dims == ("time",):
            variable[:] = np.arange(hours)
    file.setncatts({"latitude": draw.choice((59.0, "x", -1e300)), "longitude": 21.0, "utc_offset": 1.0})
    return bytes(file.close())


def spoil_store(draw: random.Random, store: Path) -> None:
    """Change a few files of the store of a study: flipped, cut, exchanged, gone, turned into folders."""
    for _ in range(draw.choice((1, 1, 2, 3))):
        files = sorted(p for p in store.rglob("*") if p.is_file())
        if not files:
            return
        path = draw.choice(files)
        ways: tuple[Callable[[], Any], ...] = (
            lambda path=path: path.write_bytes(flipped(draw, path.read_bytes())),
            lambda path=path: path.write_bytes(flipped(draw, path.read_bytes())),
            lambda path=path: path.write_bytes(path.read_bytes()[: draw.randrange(200)]),
            lambda path=path, files=files: path.write_bytes(draw.choice(files).read_bytes()),
            lambda path=path: path.unlink(),
            lambda path=path: (path.unlink(), path.mkdir()),
            lambda path=path: path.write_text('{"host": [], "pid": 1e400, "born": {}, "token": 3}'),
            lambda path=path: path.with_name(f".{path.name}.abc.writing").write_bytes(b"half"),
            lambda path=path: (path.unlink(), path.symlink_to(path)),
            lambda: (store / "locks" / "block-000001.lock").write_text("[" * 100_000),
        )
        draw.choice(ways)()
