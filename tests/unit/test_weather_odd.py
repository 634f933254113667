"""Weather that means something else than it says: one line that names the file, the line and what would be right."""

import time
from importlib.resources import files
from pathlib import Path

import netCDF4
import numpy as np
import pandas as pd
import pytest
from drydown.climate.weather.files import EPW_HEAD, read_weather
from drydown.errors import InputError

HEAD = "# latitude: 59.0\n# longitude: 21.0\n# utc_offset: 1\n"


def table(hours=48, constant=False):
    stamps = pd.date_range("2023-01-01 01:00", periods=hours, freq="h").strftime("%Y-%m-%d %H:%M")
    warm = np.full(hours, 3.0) if constant else 3.0 + np.arange(hours) % 48 / 100.0
    return pd.DataFrame({"time": stamps, "temperature [degC]": warm, "humidity [%]": np.full(hours, 80.0)})


def refused(path, said, seconds=10.0):
    began = time.monotonic()
    with pytest.raises(InputError, match=said) as caught:
        read_weather(path)
    assert time.monotonic() - began < seconds and "\n" not in str(caught.value) and len(str(caught.value)) < 500


@pytest.mark.parametrize("value", ["inf", "-inf", "1e999"])
def test_endless_values_are_asked_about(tmp_path, value):
    text = HEAD + table().to_csv(index=False).replace("3.05,", f"{value},")
    (tmp_path / "a.csv").write_text(text)
    refused(tmp_path / "a.csv", "temperature is -?inf at 2023-01-01 06:00; leave a missing value empty")


def test_a_year_of_one_temperature_is_asked_about(tmp_path):
    (tmp_path / "a.csv").write_text(HEAD + table(8760, constant=True).to_csv(index=False))
    refused(tmp_path / "a.csv", "the temperature is 3 degC in all of 8760 hours")
    (tmp_path / "a.csv").write_text(HEAD + "# synthetic: yes\n" + table(8760, constant=True).to_csv(index=False))
    assert len(read_weather(tmp_path / "a.csv").time) == 8760
    (tmp_path / "a.csv").write_text(HEAD + table(48, constant=True).to_csv(index=False))
    assert len(read_weather(tmp_path / "a.csv").time) == 48  # two days may be so


def epw(hours=8760):
    head = [
        "LOCATION,Yard,-,DEMO,invented,000000,59.0,21.0,1.0,80.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
    ]
    head += ["GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,demo", "COMMENTS 2,demo"]
    head += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    rows = []
    for begin in pd.date_range("2023-01-01", periods=hours, freq="h"):
        warm = 5.0 + begin.hour / 10.0
        day = [begin.year, begin.month, begin.day, begin.hour + 1, 0, "?9", warm, 2.0, 80, 101325, 9999, 9999, 300]
        rows.append(",".join(str(v) for v in [*day, 0, 0, 0, 999999, 999999, 999999, 9999, 180, 3.0, 5, 5, 20, 777,
                                              9, "999999999", 10, 0.1, 0, 88, 0.2, 0.0, 1.0]))  # fmt: skip
    return head, rows


@pytest.mark.parametrize("missing", range(8))
def test_an_epw_without_a_line_of_its_header_is_refused(tmp_path, missing):
    head, rows = epw(30)
    (tmp_path / "a.epw").write_text("\n".join(h for i, h in enumerate([*head, *rows]) if i != missing) + "\n")
    refused(tmp_path / "a.epw", f"line {missing + 1}: .*must begin with {EPW_HEAD[missing]}")


def test_an_epw_without_its_header_is_refused_and_a_whole_one_with_a_mark_keeps_every_hour(tmp_path):
    head, rows = epw()
    (tmp_path / "a.epw").write_text("\n".join([head[0], *rows]) + "\n")
    refused(tmp_path / "a.epw", "line 2")
    (tmp_path / "b.epw").write_bytes(b"\xef\xbb\xbf" + "\r\n".join([*head, *rows]).encode() + b"\r\n")
    found = read_weather(tmp_path / "b.epw")
    assert len(found.time) == 8760 and str(found.start) == "2023-01-01T00:00:00"


def netcdf(path, calendar="standard", kind="f8", hours=48, **more):
    with netCDF4.Dataset(path, "w") as file:
        file.createDimension("time", hours)
        stamps = file.createVariable("time", "i8", ("time",))
        stamps[:] = 464592 + np.arange(hours)
        stamps.units, stamps.calendar = "hours since 1970-01-01", calendar
        for name, unit, value in (("temperature", "K", 280.0), ("humidity", "1", 0.8)):
            one = file.createVariable(name, str if kind == "text" else kind, ("time",))
            one[:] = np.array(["cold"] * hours, dtype=object) if kind == "text" else np.full(hours, value)
            one.units = unit
        file.setncatts({"latitude": 59.0, "longitude": 21.0, "utc_offset": 1.0, **more})
    return path


@pytest.mark.parametrize("calendar", ["360_day", "noleap", "julian"])
def test_other_calendars_are_refused_by_name(tmp_path, calendar):
    path = netcdf(tmp_path / "a.nc", calendar)
    refused(path, calendar)


def test_text_columns_of_netcdf_are_refused(tmp_path):
    refused(netcdf(tmp_path / "a.nc", kind="text"), "no numbers")


def test_a_small_file_that_declares_400_million_hours_is_refused_at_once(tmp_path):
    with netCDF4.Dataset(tmp_path / "a.nc", "w") as f:
        f.createDimension("time", 400_000_000)
        for name, unit in (("time", "hours since 1970-01-01"), ("temperature", "K"), ("humidity", "1")):
            v = f.createVariable(name, "i1", ("time",), zlib=True, chunksizes=(10_000_000,), fill_value=1)
            v.units = unit
    assert Path(tmp_path / "a.nc").stat().st_size < 20_000
    refused(tmp_path / "a.nc", "has 400000000 values; more than 300 years cannot be used", 5.0)


def test_two_stamps_far_apart_cost_no_memory(tmp_path):
    frame = pd.concat([table(40), table(2).assign(time=["9000-01-01 00:00", "9000-01-01 01:00"])])
    (tmp_path / "a.csv").write_text(HEAD + frame.to_csv(index=False))
    refused(tmp_path / "a.csv", "more than 300 years cannot be used|is no date|write it as")


def test_surplus_values_are_refused_by_line(tmp_path):
    lines = (HEAD + table(30).to_csv(index=False)).splitlines()
    for at in (4, 10):
        broken = lines.copy()
        broken[at] += ",7"
        (tmp_path / "a.csv").write_text("\n".join(broken) + "\n")
        refused(tmp_path / "a.csv", f"line {at + 1}: 4 values for 3 columns")
    every = [*lines[:4], *(line + ",7" for line in lines[4:])]
    (tmp_path / "a.csv").write_text("\n".join(every) + "\n")
    refused(tmp_path / "a.csv", "line 5: 4 values for 3 columns")


@pytest.mark.parametrize(
    "content", [b"", b"\x00" * 500, b"\xff\xfe" + "time".encode("utf-16-le"), b"CDF\x01" * 9, b"\x89HDF\r\n\x1a\n"]
)
@pytest.mark.parametrize("ending", [".csv", ".epw", ".json", ".nc"])
def test_what_is_no_weather_is_refused_in_one_line(tmp_path, content, ending):
    (tmp_path / f"a{ending}").write_bytes(content)
    refused(tmp_path / f"a{ending}", "a")


def test_a_mark_at_the_head_is_read_past_in_every_format(tmp_path):
    (tmp_path / "a.csv").write_bytes(
        b"\xef\xbb\xbf" + (HEAD + table().to_csv(index=False)).replace("\n", "\r\n").encode()
    )
    assert len(read_weather(tmp_path / "a.csv").time) == 48
    tmy = Path(str(files("pvlib") / "data" / "703165TY.csv")).read_bytes()
    (tmp_path / "t.csv").write_bytes(b"\xef\xbb\xbf" + tmy)
    assert len(read_weather(tmp_path / "t.csv").time) == 8760
