"""One real hourly year through every reader: written in each format, it reads back as the same weather.

The year is Greensboro, TMY3, as the package of pvlib ships it; its raw columns are taken with pvlib alone.
"""

import json
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from drydown.climate.model import HOUR
from drydown.climate.weather.files import read_weather, write_weather

GREENSBORO = Path(str(files("pvlib") / "data" / "723170TYA.CSV"))
STATES = ("temperature", "humidity", "wind_speed", "wind_direction", "pressure")
SUN = ("direct_normal", "diffuse_horizontal", "global_horizontal")


@pytest.fixture(scope="module")
def original():
    return read_weather(GREENSBORO)


@pytest.fixture(scope="module")
def raw():
    """Raw columns of the file [degC, %, m/s, degree, hPa, W/m2, mm], the leap day of 1996 taken out."""
    from pvlib import iotools

    table, _ = iotools.read_tmy3(str(GREENSBORO), map_variables=True)
    keep = ~table["Date (MM/DD/YYYY)"].str.startswith("02/29")
    table = table[keep.to_numpy()]
    names = "temp_air relative_humidity wind_speed wind_direction pressure dni dhi ghi temp_dew".split()
    return {name: table[name].to_numpy(dtype=float) for name in names}


def epw(path, raw, rain):
    head = ["LOCATION,Greensboro,NC,USA,TMY3,723170,36.1,-79.95,-5.0,273.0"]
    head += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,made", "COMMENTS 2,made"]
    head += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    rows = []
    begin = np.arange("2001-01-01", "2002-01-01", dtype="M8[h]").astype("M8[s]").tolist()
    for k, b in enumerate(begin):
        t, rh, v, d, p, dni, dhi, ghi, dew = (raw[name][k] for name in raw)
        rows.append(
            f"2001,{b.month},{b.day},{b.hour + 1},60,?9,{t},{dew},{rh},{p * 100:.0f},0,0,9999,{ghi},{dni},{dhi},"
            f"0,0,0,0,{d},{v},5,5,9999,77777,9,999999999,10,0.05,0,88,0.2,{rain[k]:.4f},1"
        )
    path.write_text("\n".join(head + rows) + "\n")


def pvgis(raw):
    """States at the stamp in UTC, means of the hour after it: five hours later than in Greensboro."""
    state = {"T2m": "temp_air", "RH": "relative_humidity", "WS10m": "wind_speed", "WD10m": "wind_direction"}
    table = {"time(UTC)": []}
    for b in np.arange("2001-01-01", "2002-01-01", dtype="M8[h]"):
        text = str(b)
        table["time(UTC)"].append(f"{text[:4]}{text[5:7]}{text[8:10]}:{text[11:13]}00")
    table |= {name: np.roll(raw[key], 6).tolist() for name, key in state.items()}
    table |= {n: np.roll(raw[k], 5).tolist() for n, k in {"G(h)": "ghi", "Gb(n)": "dni", "Gd(h)": "dhi"}.items()}
    return table | {"SP": np.roll(raw["pressure"] * 100.0, 6).tolist(), "IR(h)": [300.0] * 8760}


def pvgis_csv(path, raw):
    table = pvgis(raw)
    head = ["Latitude (decimal degrees): 36.1", "Longitude (decimal degrees): -79.95", "Elevation (m): 273.0"]
    head += ["Irradiance Time Offset (h): 0.5", "month,year", *(f"{m},2001" for m in range(1, 13)), ",".join(table)]
    lines = [",".join(str(v) for v in row) for row in zip(*table.values(), strict=True)]
    path.write_text("\r\n".join([*head, *lines, "", "T2m: air temperature", ""]), encoding="utf-8")


def pvgis_json(path, raw):
    table = pvgis(raw)
    place = {"latitude": 36.1, "longitude": -79.95, "elevation": 273.0, "irradiance_time_offset": 0.5}
    hourly = [dict(zip(table, row, strict=True)) for row in zip(*table.values(), strict=True)]
    months = [{"month": m, "year": 2001} for m in range(1, 13)]
    outputs = {"months_selected": months, "tmy_hourly": hourly}
    path.write_text(json.dumps({"inputs": {"location": place}, "outputs": outputs, "meta": {"inputs": {}}}))


def logger(path, raw, rain):
    """Our own schema as a logger would write it: other units, dew point, no pressure, two gaps, no rain column."""
    lines = ["# latitude: 36.1", "# longitude: -79.95", "# altitude: 273", "# utc_offset: -5", "# cyclic: yes"]
    lines.append("time,temperature [degF],humidity [%],wind_speed [km/h],wind_direction [degree]")
    end = np.arange("2001-01-01T01", "2002-01-01T01", dtype="M8[h]").astype("M8[s]")
    for k, t in enumerate(end):
        if k == 4000:
            continue  # an hour that is not there
        celsius = "" if k in (100, 101) else f"{raw['temp_air'][k] * 1.8 + 32.0:.4f}"
        wind = f"{raw['wind_speed'][k] * 3.6:.4f},{raw['wind_direction'][k]:.0f}"
        lines.append(f"{str(t)[:16].replace('T', ' ')},{celsius},{raw['relative_humidity'][k]:.0f},{wind}")
    path.write_text("\n".join(lines) + "\n")


def same(got, want, names, but=()):
    rows = np.setdiff1d(np.arange(len(want.time)), but)
    for name in names:
        assert np.allclose(getattr(got, name)[rows], getattr(want, name)[rows], rtol=1e-4, atol=2e-3), name


def test_the_raw_columns_are_those_the_reader_takes(original, raw):
    assert len(original.time) == len(raw["temp_air"]) == 8760
    assert np.array_equal(original.temperature, raw["temp_air"] + 273.15)
    assert np.array_equal(original.direct_normal, raw["dni"])


def test_epw(original, raw, tmp_path):
    epw(tmp_path / "g.epw", raw, original.rain)
    got = read_weather(tmp_path / "g.epw")
    same(got, original, (*STATES, *SUN, "rain"))
    assert (got.latitude, got.utc_offset, got.altitude) == (36.1, -5.0, 273.0)


@pytest.mark.parametrize("write", [pvgis_csv, pvgis_json])
def test_pvgis(original, raw, tmp_path, write):
    path = tmp_path / ("g.csv" if write is pvgis_csv else "g.json")
    write(path, raw)
    got = read_weather(path)
    same(got, original, (*STATES, *SUN))
    assert got.rain is None and any("rain unavailable" in r for r in got.repairs)


@pytest.mark.parametrize("suffix", [".csv", ".nc"])
def test_our_own_schema(original, tmp_path, suffix):
    got = read_weather(write_weather(original, tmp_path / f"g{suffix}"))
    for name, values in original.columns().items():
        assert np.allclose(getattr(got, name), values, rtol=1e-9, atol=1e-9), name
    assert (got.name, got.source, got.repairs, got.cyclic) == (
        original.name,
        original.source,
        original.repairs,
        original.cyclic,
    )


def test_a_logger_with_gaps_and_without_rain_names_both(original, raw, tmp_path):
    logger(tmp_path / "g.csv", raw, original.rain)
    got = read_weather(tmp_path / "g.csv")
    assert (np.diff(got.time) == HOUR).all() and len(got.time) == 8760
    same(got, original, ("temperature", "humidity", "wind_speed"), but=(100, 101, 4000))
    text = "; ".join(got.repairs)
    assert "temperature was interpolated in 3 hours" in text and "absent" in text, text
    assert got.rain is None
    from drydown.case.sides import Physics
    from drydown.sides.exposure import Outdoor

    notes = Outdoor(got).forcing(got.time[:48], Physics()).notes
    assert "rain unavailable" in notes["rain"] and "no driving rain" in notes["rain"]
    assert "sun unavailable" in notes["sun"]
