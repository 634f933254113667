"""PVGIS typical years: UTC to local time, instants to means of hours, clear refusals; files of our own."""

import json

import numpy as np
import pytest
from drydown.climate.model import HOUR
from drydown.climate.solar import sun_position
from drydown.climate.weather.files import read_weather
from drydown.climate.weather.pvgis import hour_means
from drydown.errors import InputError

LATITUDE, LONGITUDE = 47.0, 31.0  # an invented place; UTC+2


def rows(offset=0.2):
    """Hourly rows in UTC: temperature counts the hours, the sun is that of a clear sky without air."""
    begin = np.arange("2001-01-01", "2002-01-01", dtype="M8[h]").astype("M8[s]")
    month = begin.astype("M8[M]").astype(int) % 12
    year = 2005 + month % 3
    moment = begin + round(offset * 3600) * np.timedelta64(1, "s")
    days = (begin.astype("M8[D]") - np.datetime64("2001-01-01")).astype(float)
    declination = np.radians(-23.44 * np.cos(2 * np.pi * (days + 10.0) / 365.0))
    seconds = (moment - moment.astype("M8[D]").astype("M8[s]")).astype(float)
    turn = np.radians(15.0 * (seconds / 3600.0 - 12.0) + LONGITUDE)
    lat = np.radians(LATITUDE)
    up = np.sin(lat) * np.sin(declination) + np.cos(lat) * np.cos(declination) * np.cos(turn)
    dni = np.where(up > 0.0, 800.0, 0.0)
    dhi = np.where(up > 0.0, 80.0, 0.0)
    stamps = [f"{y}{str(b)[5:7]}{str(b)[8:10]}:{str(b)[11:13]}00" for y, b in zip(year, begin, strict=True)]
    return {
        "time(UTC)": stamps,
        "T2m": (np.arange(8760) / 1000.0).tolist(),
        "RH": [80.0] * 8760,
        "G(h)": (dni * np.maximum(up, 0.0) + dhi).tolist(),
        "Gb(n)": dni.tolist(),
        "Gd(h)": dhi.tolist(),
        "IR(h)": [290.0] * 8760,
        "WS10m": [3.0] * 8760,
        "WD10m": [200.0] * 8760,
        "SP": [99000.0] * 8760,
    }


def write_csv(path, offset=0.2, stated=True, change=None, count=8760):
    table = rows(offset) | (change or {})
    head = [
        f"Latitude (decimal degrees): {LATITUDE}",
        f"Longitude (decimal degrees): {LONGITUDE}",
        "Elevation (m): 120.0",
        *([f"Irradiance Time Offset (h): {offset}"] if stated else []),
        "month,year",
        *(f"{m},{2005 + (m - 1) % 3}" for m in range(1, 13)),
        ",".join(table),
    ]
    lines = [",".join(str(v) for v in row) for row in zip(*table.values(), strict=True)][:count]
    path.write_text("\r\n".join([*head, *lines, "", "T2m: air temperature", ""]), encoding="utf-8")
    return path


def write_json(path, offset=0.2):
    table = rows(offset)
    hourly = [dict(zip(table, row, strict=True)) for row in zip(*table.values(), strict=True)]
    place = {
        "latitude": LATITUDE,
        "longitude": LONGITUDE,
        "elevation": 120.0,
        "irradiance_time_offset": offset,
    }
    months = [{"month": m, "year": 2005 + (m - 1) % 3} for m in range(1, 13)]
    document = {
        "inputs": {"location": place},
        "outputs": {"months_selected": months, "tmy_hourly": hourly},
        "meta": {"inputs": {}},
    }
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


@pytest.fixture(scope="module", params=["csv", "json"])
def climate(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("pvgis") / f"steppe.{request.param}"
    return read_weather((write_csv if request.param == "csv" else write_json)(path))


def test_states_are_moved_from_utc_to_local_time(climate):
    c = climate
    assert (c.utc_offset, c.altitude, c.latitude, c.longitude) == (2.0, 120.0, LATITUDE, LONGITUDE)
    assert len(c.time) == 8760 and c.cyclic and c.whole_years == 1
    # 05:00 UTC on 1 March is 07:00 local; the row counts the hours of the year in UTC.
    k = int((np.datetime64("2001-03-01T07", "s") - c.time[0]) // HOUR)
    assert c.temperature[k] == pytest.approx(273.15 + ((31 + 28) * 24 + 5) / 1000.0)
    # The ring is closed: 00:00 local of 1 January is 22:00 UTC of 31 December, at the end of the year.
    assert c.temperature[-1] == pytest.approx(273.15 + 8758 / 1000.0)
    assert c.temperature[0] == pytest.approx(273.15 + 8759 / 1000.0)
    assert np.allclose(c.longwave_down, 290.0) and np.allclose(c.pressure, 99000.0)


def test_the_sun_of_the_file_stands_where_the_sun_of_the_engine_stands(climate):
    zenith, _ = sun_position(climate.time, climate)
    beam = climate.global_horizontal - climate.diffuse_horizontal
    full = climate.direct_normal > 799.0  # the whole hour in the sun
    assert full.sum() > 3500
    apart = beam[full] / 800.0 - np.cos(np.radians(zenith[full]))
    # The sun of the file keeps mean time: the equation of time, up to 16.4 min or 4.1 degrees, makes 0.07.
    assert abs(apart.mean()) < 0.01 and np.abs(apart).max() < 0.075
    morning = (np.arange(8760) % 24 < 11)[full]
    assert abs(apart[morning].mean()) < 0.015  # a shift of one hour would make 0.13


def test_what_was_done_is_named_and_rain_is_unavailable(climate):
    text = "; ".join(climate.repairs)
    assert climate.rain is None and "rain unavailable: PVGIS has none" in text
    assert "2005, 2006, 2007" in text and "UTC+2 h" in text and "0.20 h after the stamp" in text


def test_hour_means_keep_the_sum_and_are_right_for_a_line():
    x = np.random.default_rng(2).random(100)
    for offset in (0.0, 0.18, 0.5, 1.0):
        assert hour_means(x, offset).sum() == pytest.approx(x.sum(), rel=1e-12)
    line = np.arange(100.0)  # value k at k + offset, so the mean of k to k + 1 is k + 0.5 - offset
    for offset in (0.0, 0.18, 0.9):
        assert np.allclose(hour_means(line, offset)[1:-1], line[1:-1] + 0.5 - offset)


def test_half_an_hour_marks_means_and_a_missing_offset_is_named(tmp_path):
    c = read_weather(write_csv(tmp_path / "a.csv", offset=0.5))
    assert set(np.unique(c.direct_normal)) == {0.0, 800.0}
    c = read_weather(write_csv(tmp_path / "b.csv", offset=0.0, stated=False))
    assert any("no offset of the radiation is stated" in r for r in c.repairs)


HOURLY = """Latitude (decimal degrees):\t47.000
Longitude (decimal degrees):\t31.000
Elevation (m):\t120
Radiation database:\tdemo

Slope: 0 deg.
time,G(i),H_sun,T2m,WS10m,Int
20200101:0010,0.0,0.0,1.5,2.0,0.0
"""


def test_refusals_name_the_file_and_the_way_out(tmp_path):
    series = tmp_path / "series.csv"
    series.write_text(HOURLY)
    with pytest.raises(InputError, match=r"series.csv: it is an hourly series of PVGIS"):
        read_weather(series)
    other = tmp_path / "other.json"
    other.write_text('{"weather": []}')
    with pytest.raises(InputError, match=r"other.json: it is no whole typical year"):
        read_weather(other)
    other.write_text("no json")
    with pytest.raises(InputError, match=r"other.json: it is no whole typical year"):
        read_weather(other)
    with pytest.raises(InputError, match=r"short.csv: it is no whole typical year"):
        read_weather(write_csv(tmp_path / "short.csv", count=5000))
    wrong = {"time(UTC)": [s.replace("0601", "0602") for s in rows()["time(UTC)"]]}
    with pytest.raises(InputError, match=r"row 3625 is 2007-06-02 00:00"):
        read_weather(write_csv(tmp_path / "wrong.csv", change=wrong))
    hot = {"RH": [0.8] * 8760, "T2m": [290.0] * 8760}
    with pytest.raises(InputError, match=r"hot.csv: temperature is 563"):
        read_weather(write_csv(tmp_path / "hot.csv", change=hot))
