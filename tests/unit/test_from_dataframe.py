"""Weather and indoor air from tables of Python: units, zones, stamps, steps from a minute, repairs, water to ice."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from drydown import Climate, InputError, Measured, read_indoor, read_weather
from drydown.climate.model import COLUMNS

PLACE = dict(name="library yard", latitude=59.0, longitude=21.0, utc_offset=1.0, altitude=80.0)
UNITS = {
    "temperature": "degC", "humidity": "%", "rain": "mm", "global_horizontal": "W/m2",
    "wind_speed": "m/s", "wind_direction": "deg",
}  # fmt: skip


def rows(minutes: int = 10, hours: int = 48, seed: int = 1, start: str = "2023-05-01") -> pd.DataFrame:
    """Demo rows, each the mean (rain: the sum) of the time that ends at its stamp."""
    n = hours * 60 // minutes
    end = pd.date_range(start, periods=n + 1, freq=f"{minutes}min")[1:]
    rng = np.random.default_rng(seed)
    hour = (np.arange(n) + 0.5) * minutes / 60.0
    return pd.DataFrame(
        {
            "temperature": 12.0 + 0.25 * hour,
            "humidity": 60.0 + 10.0 * np.sin(hour / 5.0),
            "rain": rng.exponential(0.1, n) * (rng.random(n) < 0.2),
            "global_horizontal": np.maximum(0.0, 600.0 * np.sin((hour - 6.0) / 24.0 * 2.0 * np.pi)),
            "wind_speed": rng.uniform(1.0, 4.0, n),
            "wind_direction": (350.0 + 20.0 * rng.random(n)) % 360.0,
        },
        index=end,
    )


@pytest.mark.parametrize("minutes", [1, 5, 7, 10, 30])
def test_means_of_finer_rows(minutes):
    table = rows(minutes, hours=42)
    got = Climate.from_dataframe(table, **PLACE, units=UNITS)
    assert got.time[0] == np.datetime64("2023-05-01T01") and len(got.time) == 42
    # a temperature that rises evenly is met at every mark, without a lag; at the end but half of the hours is there
    exact = 273.15 + 12.0 + 0.25 * (np.arange(42) + 1.0)
    assert got.temperature[:-1] == pytest.approx(exact[:-1], abs=0.25 * 7 / 60.0 if minutes == 7 else 1e-9)
    # what fell and what shone is there, to the digit where rows do not straddle the hours
    loose = 0.02 if minutes == 7 else 1e-12
    assert got.rain.sum() == pytest.approx(table["rain"].sum(), rel=10 * loose if minutes == 7 else loose)
    sun = np.add.reduceat(table["global_horizontal"].to_numpy(), np.arange(0, len(table), 60 // minutes))[:42]
    if minutes != 7:
        assert got.global_horizontal == pytest.approx(sun * minutes / 60.0, abs=1e-9)
    # a wind about north stays one about north, and no hour comes from the south
    assert np.all((got.wind_direction > 345.0) | (got.wind_direction < 15.0))
    assert f"rows of {minutes} min were averaged to 42 hours" in got.repairs


def test_vapour_is_averaged_not_relative_humidity():
    """Warm dry and cold damp air of one vapour pressure, in turn: the mean keeps the pressure."""
    end = pd.date_range("2023-05-01", periods=49, freq="30min")[1:]
    t = np.where(np.arange(48) % 2, 10.0, 30.0)

    def saturation(celsius):  # Magnus form of ISO 13788 annex E
        return 610.5 * np.exp(17.269 * celsius / (237.3 + celsius))

    table = pd.DataFrame({"temperature [degC]": t, "humidity [1]": 900.0 / saturation(t)}, index=end)
    got = Climate.from_dataframe(table, **PLACE)
    assert got.humidity[:-1] == pytest.approx(900.0 / saturation(20.0), rel=1e-9)


def test_hourly_rows_are_taken_as_they_are():
    table = rows(60)
    got = Climate.from_dataframe(table, **PLACE, units=UNITS)
    assert np.array_equal(got.temperature, table["temperature"].to_numpy() + 273.15)
    assert np.array_equal(got.rain, table["rain"].to_numpy())
    assert got.repairs == () and got.source == "a table"


def test_zones_and_stamps_give_one_climate():
    table = rows(10)
    plain = Climate.from_dataframe(table, **PLACE, units=UNITS)
    begin = table.set_axis(table.index - pd.Timedelta("10min"))
    aware = table.set_axis(table.index.tz_localize("Etc/GMT-1").tz_convert("Asia/Kolkata"))
    utc = table.set_axis(table.index - pd.Timedelta("1h"))
    for made in (
        Climate.from_dataframe(begin, **PLACE, units=UNITS, stamp="start"),
        Climate.from_dataframe(aware, **PLACE, units=UNITS),
        Climate.from_dataframe(utc, **PLACE, units=UNITS, zone="UTC"),
        Climate.from_dataframe(table.rename_axis("time").reset_index(), **PLACE, units=UNITS),
    ):
        assert np.array_equal(made.time, plain.time) and np.array_equal(made.temperature, plain.temperature)
        assert np.array_equal(made.rain, plain.rain)


def test_clocks_that_go_forward_are_followed():
    """Berlin goes forward on 26 March 2023 at 2 h: local standard time has no hole."""
    clock = pd.date_range("2023-03-25 23:00", periods=49, freq="1h", tz="UTC").tz_convert("Europe/Berlin")[1:]
    table = rows(60).set_axis(clock)
    want = Climate.from_dataframe(table, **PLACE, units=UNITS)
    got = Climate.from_dataframe(table.set_axis(clock.tz_localize(None)), **PLACE, units=UNITS, zone="Europe/Berlin")
    assert np.array_equal(got.time, want.time) and np.all(np.diff(got.time) == np.timedelta64(3600, "s"))


def test_water_to_ice_row_by_row():
    table = rows(10)[["temperature", "humidity"]]
    table["temperature"] -= 30.0
    over_water = Climate.from_dataframe(table, **PLACE, units=UNITS)
    over_ice = Climate.from_dataframe(table, **PLACE, units=UNITS, humidity_below_0="ice")
    # at -12 degC the pressure over water is 12 % above that over ice (WMO tables: 2.4441 and 2.1732 hPa)
    k = int(np.argmin(np.abs(over_ice.temperature - 261.15)))
    assert over_water.humidity[k] / over_ice.humidity[k] == pytest.approx(2.4441 / 2.1732, rel=3e-3)


def test_gaps_are_mended_and_told_or_refused():
    table = rows(10)
    hole = table.drop(table.index[60:72])  # two hours
    got = Climate.from_dataframe(hole, **PLACE, units=UNITS)
    assert len(got.time) == 48 and any("interpolated" in r for r in got.repairs)
    table.iloc[100, 0] = -999.0
    got = Climate.from_dataframe(table, **PLACE, units=UNITS)
    assert any("temperature is -725.85 K at" in r and "taken as missing" in r for r in got.repairs)
    assert abs(got.temperature[16] - (273.15 + 12.0 + 0.25 * 17.0)) < 0.1
    with pytest.raises(InputError, match="missing"):
        Climate.from_dataframe(rows(10).drop(rows(10).index[60:120]), **PLACE, units=UNITS)


def test_xarray_brings_its_units():
    table = rows(10)
    data = table.rename_axis("time").to_xarray()
    for name, unit in UNITS.items():
        data[name].attrs["units"] = unit
    assert np.array_equal(
        Climate.from_dataframe(data, **PLACE).humidity, Climate.from_dataframe(table, **PLACE, units=UNITS).humidity
    )


def test_columns_of_other_names():
    table = rows(60).rename(columns={"temperature": "T_out"}).assign(battery=3.3)
    got = Climate.from_dataframe(
        table,
        **PLACE,
        columns={"T_out": "temperature", "humidity": "humidity"},
        units={"T_out": "degC", "humidity": "%"},
    )
    assert set(got.columns()) == {"temperature", "humidity"}


@pytest.mark.parametrize(
    ("change", "more", "words"),
    [
        (lambda t: t, {"units": {}}, "column temperature has no unit"),
        (lambda t: t.assign(battery=3.3), {}, "no weather column is called 'battery'.*columns="),
        (lambda t: t, {"units": UNITS | {"humidity": "K"}}, "unit 'K' does not fit humidity"),
        (lambda t: t, {"units": UNITS | {"dew": "K"}}, "no column is called 'dew'"),
        (lambda t: t, {"units": UNITS | {"humidity": "1"}}, "it looks like percent"),
        (lambda t: t, {"stamp": "middle"}, "stamp is 'middle'"),
        (lambda t: t, {"zone": "Mars"}, "zone is 'Mars'"),
        (lambda t: t.set_axis(t.index.tz_localize("UTC")), {"zone": "UTC"}, "have a zone already"),
        (lambda t: t.reset_index(drop=True), {}, "no times; use a DatetimeIndex"),
        (lambda t: t.assign(temperature="cold"), {}, "column 'temperature': it holds what is no number"),
        (lambda t: t.set_axis(pd.date_range("2023-05-01", periods=len(t), freq="10s")), {}, "rows are 10 s apart"),
        (lambda t: t.to_numpy(), {}, "a pandas DataFrame or an xarray Dataset is needed"),
        (lambda t: t.drop(columns="temperature"), {"units": {k: v for k, v in UNITS.items() if k != "temperature"}},
         "column temperature is missing"),
        (lambda t: t.set_axis(pd.date_range("2023-05-01", periods=len(t), freq="3h")), {}, "rows are 3 h apart"),
        (lambda t: t.assign(humidity=0.8), {"units": UNITS | {"humidity": "%"}},
         "column 'humidity': its values are about 0.8 %, drier than any air; if they are fractions, its unit is 1"),
        (lambda t: t.set_axis(pd.date_range("2023-05-01 00:30", periods=len(t), freq="1h")), {},
         "00:30 is not a whole hour; hourly rows are needed; all are 30 minutes past one: shift them"),
    ],
)  # fmt: skip
def test_refused_with_the_name(change, more, words):
    with pytest.raises(InputError, match=words) as caught:
        Climate.from_dataframe(change(rows(10)), **PLACE, **({"units": UNITS} | more))
    assert "library yard" in str(caught.value) and "\n" not in str(caught.value)


def test_a_logger_in_a_room():
    table = rows(5)[["temperature", "humidity"]]
    got = Measured.from_dataframe(table, units=UNITS, name="reading room")
    assert len(got.record.time) == 48 and "rows of 5 min" in got.describe()
    with pytest.raises(InputError, match=r"rain on the horizontal.* means nothing here"):
        Measured.from_dataframe(rows(5), units=UNITS)
    with pytest.raises(InputError, match="it has a time zone"):
        Measured.from_dataframe(table.set_axis(table.index.tz_localize("UTC")), units=UNITS)


def test_files_of_ten_minutes(tmp_path):
    """The CSV files of weather and of rooms take the same rows."""
    table = rows(10)
    cells = table.rename(columns=lambda c: f"{c} [{UNITS[c]}]").rename_axis("time").to_csv(float_format="%.17g")
    head = "# name: library yard\n# latitude: 59\n# longitude: 21\n# altitude: 80\n# utc_offset: 1\n# source: a table\n"
    (tmp_path / "yard.csv").write_text("# drydown_weather: 1\n" + head + cells)
    want = Climate.from_dataframe(table, **PLACE, units=UNITS)
    got = read_weather(tmp_path / "yard.csv")
    for name in COLUMNS:
        a, b = getattr(got, name), getattr(want, name)
        assert (a is None and b is None) or np.allclose(a, b, rtol=1e-12), name
    cells = (
        table[["temperature", "humidity"]].rename(columns=lambda c: f"{c} [{UNITS[c]}]").rename_axis("time").to_csv()
    )
    (tmp_path / "room.csv").write_text("# drydown_indoor: 1\n" + cells)
    assert len(read_indoor(tmp_path / "room.csv").record.time) == 48
