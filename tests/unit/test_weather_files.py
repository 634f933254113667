"""Weather files: every reader on a real or a small file, our own schema there and back, clear refusals."""

import os
from importlib.resources import files
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from drydown.climate.weather.files import read_weather, write_weather
from drydown.climate.weather.repair import RepairPolicy
from drydown.errors import InputError

SAND_POINT = Path(str(files("pvlib") / "data" / "703165TY.csv"))
GREENSBORO = Path(str(files("pvlib") / "data" / "723170TYA.CSV"))
HEAD = """# drydown_weather: 1
# name: library yard
# latitude: 59.0
# longitude: 21.0
# altitude: 80
# utc_offset: 1
"""


def table(n=48, start="2023-01-01 01:00"):
    time = pd.date_range(start, periods=n, freq="h")
    return pd.DataFrame(
        {
            "time": time.strftime("%Y-%m-%d %H:%M"),
            "temperature [degC]": np.round(3.0 + np.arange(n) % 48 / 100.0, 3),
            "humidity [%]": np.full(n, 80.0),
            "rain [mm/h]": np.where(np.arange(n) == 5, 1.5, 0.0),
        }
    )


def save(tmp_path, frame, head=HEAD, name="yard.csv"):
    path = tmp_path / name
    path.write_text(head + frame.to_csv(index=False), encoding="utf-8")
    return path


# -- our own schema -------------------------------------------------------------------------------------


def test_own_csv_is_read_in_si(tmp_path):
    c = read_weather(save(tmp_path, table()))
    assert (c.name, c.latitude, c.longitude, c.altitude, c.utc_offset) == (
        "library yard",
        59.0,
        21.0,
        80.0,
        1.0,
    )
    assert c.time[0] == np.datetime64("2023-01-01T01:00:00")
    assert np.allclose(c.temperature[:2], [276.15, 276.16], rtol=0, atol=1e-9)
    assert np.allclose(c.humidity, 0.8) and c.rain.sum() == pytest.approx(1.5)
    assert c.wind_speed is None and c.repairs == () and not c.cyclic and not c.synthetic


def test_units_of_another_system(tmp_path):
    f = table().rename(columns={"temperature [degC]": "temperature [degF]", "rain [mm/h]": "rain [inch/h]"})
    f["temperature [degF]"] = 50.0
    f["wind_speed [mph]"] = 10.0
    f["pressure [inHg]"] = 29.92
    c = read_weather(save(tmp_path, f))
    assert np.allclose(c.temperature, 283.15)
    assert np.allclose(c.wind_speed, 4.4704)
    assert c.pressure[0] == pytest.approx(101325.0, rel=1e-4)
    assert c.rain.sum() == pytest.approx(1.5 * 25.4)


@pytest.mark.parametrize("suffix", [".csv", ".nc"])
def test_there_and_back(tmp_path, suffix):
    c = read_weather(GREENSBORO)
    path = write_weather(c, tmp_path / f"back{suffix}")
    d = read_weather(path)
    assert (d.time == c.time).all()
    for key, values in c.columns().items():
        assert np.allclose(d.columns()[key], values, rtol=1e-9, atol=1e-12), key
    assert d.columns().keys() == c.columns().keys()
    for key in (
        "name",
        "latitude",
        "longitude",
        "altitude",
        "utc_offset",
        "source",
        "repairs",
        "synthetic",
        "cyclic",
    ):
        assert getattr(d, key) == getattr(c, key), key
    assert [p.name for p in tmp_path.iterdir()] == [path.name]  # no temporary file is left


def test_netcdf_follows_cf(tmp_path):
    import xarray as xr

    with xr.open_dataset(write_weather(read_weather(GREENSBORO), tmp_path / "cf.nc")) as d:
        assert d.attrs["Conventions"].startswith("CF-")
        assert d["temperature"].attrs["standard_name"] == "air_temperature"
        assert d["rain"].attrs["cell_methods"] == "time: sum"
        assert d["direct_normal"].attrs["cell_methods"] == "time: mean"
        first = d["time_bounds"].to_numpy()[0]
        assert first[1] - first[0] == np.timedelta64(1, "h") and first[1] == d["time"].to_numpy()[0]


def test_a_failed_write_leaves_nothing(tmp_path, monkeypatch):
    path = tmp_path / "half.csv"
    path.write_text("kept")
    monkeypatch.setattr(os, "replace", lambda *a: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OSError, match="disk full"):
        write_weather(read_weather(SAND_POINT), path)
    assert os.listdir(tmp_path) == ["half.csv"] and path.read_text() == "kept"


def test_stamps_at_the_start_of_the_hour_are_moved_to_its_end(tmp_path):
    c = read_weather(save(tmp_path, table(start="2023-01-01 00:00"), HEAD + "# stamp: start\n"))
    assert c.time[0] == np.datetime64("2023-01-01T01:00:00")
    assert any("start of the hour" in r for r in c.repairs)


def test_stamps_with_an_offset_become_local_standard_time(tmp_path):
    f = table()
    f["time"] = pd.to_datetime(f["time"]).dt.strftime("%Y-%m-%dT%H:%M:%SZ")
    assert read_weather(save(tmp_path, f)).time[0] == np.datetime64("2023-01-01T02:00:00")


# -- repairs and refusals -------------------------------------------------------------------------------


def test_short_gaps_are_interpolated_and_recorded(tmp_path):
    f = table()
    f.loc[10:12, "temperature [degC]"] = np.nan
    c = read_weather(save(tmp_path, f.drop(index=[20, 21])))
    assert len(c.time) == 48
    assert np.allclose(c.temperature, 276.15 + np.arange(48) / 100.0, rtol=0, atol=1e-9)
    assert any("2 absent hours in 1 gaps" in r for r in c.repairs)
    assert any("temperature was interpolated in 5 hours (longest gap 3 h)" in r for r in c.repairs)


def test_the_longest_gap_is_a_choice(tmp_path):
    path = save(tmp_path, table().drop(index=range(20, 28)))
    with pytest.raises(InputError) as e:
        read_weather(path)
    assert "8 hours are missing after 2023-01-01 20:00" in str(e.value) and "yard.csv" in str(e.value)
    assert len(read_weather(path, RepairPolicy(max_gap=8)).time) == 48


def test_shuffled_hours_are_sorted_and_recorded(tmp_path):
    c = read_weather(save(tmp_path, table().sample(frac=1.0, random_state=1)))
    assert np.allclose(c.temperature, 276.15 + np.arange(48) / 100.0, rtol=0, atol=1e-9)
    assert any("out of order" in r for r in c.repairs)


def test_doubled_rows_are_dropped_where_equal_and_refused_where_not(tmp_path):
    f = pd.concat([table(), table().iloc[[7]]])
    assert any("1 doubled rows" in r for r in read_weather(save(tmp_path, f)).repairs)
    f.iloc[-1, 1] = 5.0
    with pytest.raises(InputError, match="2023-01-01 08:00 is there more than once with temperature"):
        read_weather(save(tmp_path, f))


def test_a_leap_year_without_its_leap_day_repeats_the_day_before(tmp_path):
    f = table(8784, "2024-01-01 01:00")
    f = f[~f["time"].between("2024-02-29 01:00", "2024-03-01 00:00")]
    c = read_weather(save(tmp_path, f))
    assert len(c.time) == 8784 and c.whole_years == 1
    assert any("2024-02-29 was absent and repeats the day before" in r for r in c.repairs)
    k = (31 + 28) * 24
    assert (c.temperature[k : k + 24] == c.temperature[k - 24 : k]).all()


def test_8784_hours_are_kept(tmp_path):
    c = read_weather(save(tmp_path, table(8784, "2024-01-01 01:00")))
    assert len(c.time) == 8784 and c.repairs == ()


def test_small_excesses_are_clipped_and_recorded(tmp_path):
    f = table()
    f.loc[3, "humidity [%]"] = 103.0
    f["global_horizontal [W/m2]"] = np.where(np.arange(48) % 24 < 8, -1.5, 100.0)
    c = read_weather(save(tmp_path, f))
    assert c.humidity.max() == 1.0 and c.global_horizontal.min() == 0.0
    assert any("humidity above 1 (up to 1.03) was set to 1 in 1 hours" in r for r in c.repairs)
    assert any("global_horizontal below 0" in r for r in c.repairs)


def test_humidity_below_zero_is_over_water_unless_the_file_says_ice(tmp_path):
    f = table()
    f["temperature [degC]"] = -10.0
    over_water = read_weather(save(tmp_path, f))
    # p_sat at -10 degC: 286.5 Pa over water, 259.9 Pa over ice (WMO tables, from memory).
    assert np.allclose(over_water.humidity, 0.8 * 286.5 / 259.9, rtol=2e-3)
    assert "humidity over water was referred to ice in 48 hours below 0 degC, 0 of them reach 1" in over_water.repairs
    over_ice = read_weather(save(tmp_path, f, HEAD + "# humidity_below_0: ice\n"))
    assert np.allclose(over_ice.humidity, 0.8) and over_ice.repairs == ()
    f["humidity [%]"] = 97.0
    assert np.allclose(read_weather(save(tmp_path, f)).humidity, 1.0)


def test_a_mostly_empty_column_is_unavailable_not_zero(tmp_path):
    f = table()
    f["rain [mm/h]"] = f["rain [mm/h]"].where(np.arange(48) < 10)
    c = read_weather(save(tmp_path, f))
    assert c.rain is None and "rain unavailable: missing in 38 of 48 hours" in c.repairs


def put(column, k, value):
    def change(f):
        f[column] = f[column].astype(object)
        f.loc[k, column] = value
        return f

    return change


@pytest.mark.parametrize(
    ("change", "head", "words"),
    [
        (lambda f: f.iloc[:0], HEAD, "weather is empty"),
        (lambda f: f.rename(columns={"humidity [%]": "humidity [1]"}), HEAD, "looks like percent"),
        (lambda f: f.rename(columns={"temperature [degC]": "temperature [K]"}), HEAD, "looks like degC"),
        (lambda f: f.rename(columns={"temperature [degC]": "temperature"}), HEAD, "temperature has no unit"),
        (
            lambda f: f.rename(columns={"temperature [degC]": "temperature [degX]"}),
            HEAD,
            "unit 'degX' does not fit",
        ),
        (lambda f: f.rename(columns={"rain [mm/h]": "rian [mm/h]"}), HEAD, "did you mean 'rain'?"),
        (lambda f: f.drop(columns="humidity [%]"), HEAD, "column humidity is missing"),
        (lambda f: f.drop(columns="time"), HEAD, "column time is missing"),
        (put("temperature [degC]", 7, "mild"), HEAD, "yard.csv, line 15: temperature is 'mild'"),
        (put("time", 7, "8 o'clock"), HEAD, "yard.csv, line 15: time is '8 o'clock'"),
        (put("time", 7, "2023-01-01 08:20"), HEAD, "2023-01-01 08:20 is not a whole hour"),
        (lambda f: f, HEAD.replace("# latitude: 59.0\n", ""), "latitude is missing"),
        (lambda f: f, HEAD.replace("59.0", "north"), "latitude is 'north'"),
        (lambda f: f, HEAD.replace("latitude", "lattitude"), "did you mean"),
        (lambda f: f, HEAD.replace("21.0", "-121.0"), "check the signs"),
        (lambda f: f, HEAD + "# stamp: middle\n", "stamp is 'middle'"),
        (lambda f: f, HEAD + "# synthetic: perhaps\n", "write yes or no"),
        (lambda f: f, HEAD.replace("weather: 1", "weather: 7"), "schema 7 is not known"),
        (lambda f: f.iloc[::3], HEAD, "rows are 3 h apart"),
        (lambda f: f.assign(**{"rain [mm/h]": [-1.0] * 48}), HEAD, "rain is -1"),
        (lambda f: f.assign(**{"temperature [degC]": [9999.0] * 48}), HEAD, "48 of 48 values"),
        (
            lambda f: f.assign(**{"temperature [degC]": [np.nan] * 48}),
            HEAD,
            "temperature is missing for 48 hours",
        ),
    ],
)
def test_refusals_name_the_file_and_the_place(tmp_path, change, head, words):
    with pytest.raises(InputError) as e:
        read_weather(save(tmp_path, change(table()), head))
    assert words in str(e.value) and "yard.csv" in str(e.value) and "\n" not in str(e.value)


def test_refusals_before_reading(tmp_path):
    (tmp_path / "empty.csv").write_text("")
    (tmp_path / "text.nc").write_text("no netCDF")
    (tmp_path / "not.epw").write_text("DATE,1\n")
    (tmp_path / "half.epw").write_text("LOCATION,F,-,-,demo,0,59.0,21.0,1.0,80.0\n" + "X\n" * 7)
    (tmp_path / "half.csv").write_text('1,"A",B,-9.0,55,-160,7\nDate (MM/DD/YYYY),Time (HH:MM)\n01/01/1997,01:00\n')
    for name, words in (
        ("empty.csv", "empty"),
        ("text.nc", "cannot be read as netCDF"),
        ("not.epw", "must begin with LOCATION"),
        ("half.epw", "must begin with DESIGN CONDITIONS"),
        ("half.csv", "column temp_air is missing"),
        ("emty.csv", "did you mean 'empty.csv'"),
        ("weather.xlsx", "end in .csv, .epw, .json or .nc"),
    ):
        with pytest.raises(InputError) as e:
            read_weather(tmp_path / name)
        assert words in str(e.value) and name in str(e.value) and "\n" not in str(e.value)
    with pytest.raises(InputError, match=r"written as .csv or .nc"):
        write_weather(read_weather(SAND_POINT), tmp_path / "x.epw")
    with pytest.raises(InputError, match="does not exist"):
        write_weather(read_weather(SAND_POINT), tmp_path / "no" / "x.csv")


def test_netcdf_without_units_is_refused(tmp_path):
    import xarray as xr

    time = pd.date_range("2023-01-01 01:00", periods=3, freq="h")
    data = xr.Dataset({"temperature": ("time", [280.0] * 3)}, coords={"time": time})
    data.to_netcdf(tmp_path / "bare.nc")
    with pytest.raises(InputError, match="temperature has no unit"):
        read_weather(tmp_path / "bare.nc")
