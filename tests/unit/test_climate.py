"""The hourly climate: what its stamps mean, what it refuses, how a run reads it."""

import dataclasses

import numpy as np
import psychrolib
import pytest
from drydown.climate.model import COLUMNS, HOUR, Climate, dew_point
from drydown.errors import InputError
from drydown.moist_air import saturation_pressure_iso13788 as saturation


def make(first="2021-01-01", last="2022-01-01", **changes):
    """A climate whose temperature counts its rows: 280 K + row/1e4."""
    time = np.arange(np.datetime64(first, "s") + HOUR, np.datetime64(last, "s") + HOUR, HOUR)
    n = len(time)
    columns = {"temperature": 280.0 + np.arange(n) / 1e4, "humidity": np.full(n, 0.8)}
    about = dict(name="yard", latitude=59.0, longitude=21.0, altitude=80.0, utc_offset=1.0, time=time)
    return Climate(**{**about, **columns, **changes})


def row(hours, k=0):
    return round((hours.temperature[k] - 280.0) * 1e4)


def test_arrays_are_frozen_and_columns_listed():
    c = make()
    assert list(c.columns()) == ["temperature", "humidity"]
    with pytest.raises(ValueError, match="read-only"):
        c.temperature[0] = 1.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        c.name = "other"


def test_a_mark_takes_the_hour_that_ends_at_it():
    c = make()
    hours = c.between("2021-03-01 05:00", "2021-03-01 07:00")
    assert len(hours.temperature) == 3
    assert (hours.source_time == np.array(["2021-03-01T05", "2021-03-01T06", "2021-03-01T07"], "M8[s]")).all()
    assert row(hours) == (31 + 28) * 24 + 5 - 1
    assert "climate_period" not in hours.notes


def test_the_mark_at_the_very_start_takes_the_first_values():
    hours = make().between("2021-01-01", "2021-01-02")
    assert row(hours, 0) == 0 and row(hours, 1) == 0 and row(hours, 2) == 1


def test_unavailable_columns_stay_unavailable():
    hours = make().between("2021-01-01", "2021-01-02")
    assert all(getattr(hours, k) is None for k, c in COLUMNS.items() if c.optional)


def test_a_leap_year_keeps_its_8784_hours():
    c = make("2024-01-01", "2025-01-01")
    assert len(c.time) == 8784 and c.whole_years == 1
    hours = c.between("2024-02-29 12:00", "2024-02-29 13:00")
    assert row(hours) == (31 + 28) * 24 + 12 - 1


def test_repeating_a_year_follows_the_calendar():
    c = make(cyclic=True)
    hours = c.between("2030-07-01 00:00", "2031-07-01 00:00")
    assert hours.source_time[0] == np.datetime64("2021-07-01T00:00:00")
    assert hours.source_time[-1] == np.datetime64("2021-07-01T00:00:00")
    assert "repeated by calendar for 100% of the run" in hours.notes["climate_period"]
    new_year = c.between("2030-12-31 23:00", "2031-01-01 02:00").source_time
    assert list(new_year.astype(str)) == [
        "2021-12-31T23:00:00",
        "2022-01-01T00:00:00",
        "2021-01-01T01:00:00",
        "2021-01-01T02:00:00",
    ]


def test_29_february_repeats_the_28th_where_the_year_has_none():
    hours = make(cyclic=True).between("2024-02-28 01:00", "2024-03-01 00:00")
    assert (hours.source_time[:24] == hours.source_time[24:]).all()
    assert hours.source_time[-1] == np.datetime64("2021-03-01T00:00:00")


def test_several_years_repeat_in_order_and_leap_days_are_found():
    c = make("2023-01-01", "2026-01-01", cyclic=True)  # 2023, 2024 (leap), 2025
    years = [int(str(c.between(f"{y}-06-01 10:00", f"{y}-06-01 11:00").source_time[0])[:4]) for y in range(2021, 2030)]
    assert years == [2024, 2025, 2023, 2024, 2025, 2023, 2024, 2025, 2023]
    leap = c.between("2024-02-29 01:00", "2024-02-29 02:00")
    assert leap.source_time[0] == np.datetime64("2024-02-29T01:00:00")
    # 2020 falls on 2023, which has no 29 February; 2027 falls on 2024, which has one that 2027 skips.
    assert c.between("2020-02-29 01:00", "2020-02-29 02:00").source_time[0] == np.datetime64("2023-02-28T01:00:00")
    around = c.between("2027-02-28 23:00", "2027-03-01 02:00").source_time.astype(str)
    assert list(around) == [
        "2024-02-28T23:00:00",
        "2024-02-29T00:00:00",
        "2024-03-01T01:00:00",
        "2024-03-01T02:00:00",
    ]


def test_a_year_that_starts_in_summer_repeats_too():
    c = make("2021-07-01", "2022-07-01", cyclic=True)
    assert c.whole_years == 1
    for mark, want in (("2025-03-01T05", "2022-03-01T05"), ("2025-09-01T05", "2021-09-01T05")):
        got = c.between(mark, np.datetime64(mark, "s") + HOUR).source_time[0]
        assert got == np.datetime64(want, "s")


def test_outside_the_data_both_periods_are_named():
    with pytest.raises(InputError) as e:
        make().between("2030-07-01", "2031-07-01")
    text = str(e.value)
    assert "2021-01-01 00:00 to 2022-01-01 00:00" in text and "2030-07-01 00:00 to 2031-07-01 00:00" in text
    with pytest.raises(InputError, match="only whole years can be repeated"):
        make("2021-01-01", "2021-09-01", cyclic=True).between("2030-07-01", "2031-07-01")


def spoil(key, k, value):
    c = make()
    v = c.columns()[key].copy() if key in c.columns() else np.zeros(len(c.time))
    v[k] = value
    return {key: v}


TIME = make().time


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"time": TIME[:0], "temperature": [], "humidity": []}, "0 hours"),
        (
            spoil("temperature", 30, np.nan),
            "temperature is missing (not a number) at 2021-01-02 07:00 (row 31)",
        ),
        ({"temperature": np.full(8760, 12.0)}, "looks like degC"),
        ({"humidity": np.full(8760, 65.0)}, "looks like percent"),
        (spoil("humidity", 2, 1.3), "humidity is 1.3"),
        ({"pressure": np.full(8760, 1013.0)}, "looks like hPa"),
        (spoil("rain", 5, -0.1), "rain is -0.1 kg/(m2 h) at 2021-01-01 06:00 (row 6)"),
        (spoil("direct_normal", 5, -3.0), "direct_normal is -3"),
        (spoil("wind_speed", 5, 468.0), "wind_speed is 468 m/s"),
        (spoil("wind_direction", 5, 361.0), "between 0 and 360"),
        ({"humidity": np.full(8759, 0.5)}, "humidity has 8759 values for 8760 hours"),
        ({"time": TIME[::-1]}, "not in order of time"),
        ({"time": np.where(np.arange(8760) == 9, TIME[8], TIME)}, "2021-01-01 09:00 is there more than once"),
        (
            {"time": TIME + np.where(np.arange(8760) > 99, 5, 0) * HOUR},
            "5 hours are missing between 2021-01-05",
        ),
        ({"time": TIME + np.timedelta64(900, "s")}, "not a whole hour"),
        ({"latitude": 159.0}, "latitude is 159"),
        ({"latitude": float("nan")}, "latitude is nan"),
        ({"utc_offset": -6.0}, "check the signs"),
        ({"time": ["yesterday"] * 8760}, "cannot be read as a date"),
    ],
)
def test_refusals_name_the_column_and_the_place(changes, words):
    with pytest.raises(InputError) as e:
        make(**changes)
    assert words in str(e.value)
    assert str(e.value).startswith("weather 'yard'") and "\n" not in str(e.value)


def test_dew_point_inverts_the_saturation_pressure():
    t = np.linspace(233.15, 313.15, 161)
    assert np.allclose(dew_point(saturation(t)), t, rtol=0.0, atol=1e-9)


def test_dew_point_against_an_independent_psychrometric_library():
    # psychrolib (ASHRAE Handbook 2017) changes to ice at 0 degC too; the formulas differ by below 0.4 %.
    psychrolib.SetUnitSystem(psychrolib.SI)
    for t in (-15.0, -5.0, 2.0, 10.0, 20.0, 30.0):
        for rh in (0.3, 0.6, 0.95):
            want = psychrolib.GetTDewPointFromRelHum(t, rh)
            got = float(dew_point(rh * saturation(t + 273.15))) - 273.15
            assert got == pytest.approx(want, abs=0.1), (t, rh)
