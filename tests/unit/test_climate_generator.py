"""Synthetic climates: they meet their normals, differ from year to year, and say that they are invented."""

import sys

import drydown_climates
import numpy as np
import pytest
from drydown.climate.model import HOUR, dew_point
from drydown.climate.statistics import behaviour
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown_climates.generator import generate, warmth_of_sun
from drydown_climates.places import FERNMOOR, PLACES


@pytest.fixture(scope="module", params=[p.name for p in PLACES])
def place_and_climate(request):
    place = next(p for p in PLACES if p.name == request.param)
    return place, drydown_climates.catalogue()[place.name]()


def calendar(climate):
    begin = climate.time - HOUR
    month = begin.astype("datetime64[M]").astype(int) % 12
    year = begin.astype("datetime64[Y]").astype(int) + 1970
    return month, year


def by_month(values, month):
    return np.array([values[month == m].mean() for m in range(12)])


def test_monthly_normals_are_met(place_and_climate):
    place, c = place_and_climate
    month, _ = calendar(c)
    hours = np.array([(month == m).sum() for m in range(12)]) / c.whole_years
    assert np.abs(by_month(c.temperature, month) - 273.15 - place.temperature).max() < 0.2
    assert np.abs(by_month(c.humidity, month) - place.humidity).max() < 0.01
    assert np.abs(by_month(c.rain, month) * hours / place.rain - 1.0).max() < 0.02
    assert np.abs(by_month(c.wind_speed, month) / place.wind - 1.0).max() < 0.02
    assert np.abs(by_month(c.rain > 0.0, month) - place.wet_share).max() < 0.06


def test_the_daily_range_is_met(place_and_climate):
    place, c = place_and_climate
    month, _ = calendar(c)
    days = np.ptp(c.temperature.reshape(-1, 24), axis=1)
    got = by_month(days, month.reshape(-1, 24)[:, 12])
    # Where the weather alone swings more than the normal, the day adds hardly anything.
    assert np.all(got > 0.95 * np.array(place.daily_range))
    assert np.all(got < 1.05 * np.array(place.daily_range) + 0.25 * np.maximum(np.array(place.synoptic) - 2.0, 0.0))
    for m in (5, 6, 7):
        course = c.temperature[month == m].reshape(-1, 24).mean(axis=0)
        assert 13 <= course.argmax() + 1 <= 17


def test_a_clear_day_swings_wide_and_is_cold_in_winter_where_the_sun_is_low(place_and_climate):
    place, c = place_and_climate
    got = behaviour(c)
    winter, summer = warmth_of_sun(place.latitude, np.array([1, 7]))
    if abs(place.latitude) > 55.0:  # little sun to go with: between what the three TMY years have
        assert -0.65 <= got["sun_winter"] <= -0.22
    else:
        assert got["sun_winter"] == pytest.approx(winter, abs=0.15)
    assert got["sun_summer"] == pytest.approx(summer, abs=0.15)
    assert got["sun_winter"] < 0.0 < got["sun_summer"]
    assert 1.2 < got["clear_range"] < 2.0
    assert got["calm_night"] > 1.1


def test_rain_in_a_cold_winter_falls_mostly_as_snow():
    c = drydown_climates.catalogue()["fernmoor"]()
    month, _ = calendar(c)
    january = month == 0
    thawing = january & (c.temperature > 273.15)
    assert c.rain[thawing].sum() < 0.2 * c.rain[january].sum()
    wet = january & (c.rain > 0.0)
    assert 0.0 < c.temperature[wet].mean() - c.temperature[january].mean() < 5.0


def test_hours_are_as_restless_and_as_calm_as_measured_ones(place_and_climate):
    """Spans of TMY years and of New York's airports: benchmarks/climates.py."""
    _, c = place_and_climate
    got = behaviour(c)
    assert 0.41 < got["noise"] < 0.65
    assert 3.6 < got["calm"] < 12.0
    assert 943.0 < got["direct"] < 1006.0 or c.altitude > 1000.0
    assert got["dry_rain"] < 1.0 or c.altitude > 1000.0


def test_years_differ_as_they_do(place_and_climate):
    _, c = place_and_climate
    _, year = calendar(c)
    t = np.array([c.temperature[year == y].mean() for y in np.unique(year)])
    r = np.array([c.rain[year == y].sum() for y in np.unique(year)])
    assert len(t) == 10
    assert 0.3 < t.std(ddof=1) < 1.6
    assert 0.08 < r.std(ddof=1) / r.mean() < 0.35


def test_columns_hang_together(place_and_climate):
    place, c = place_and_climate
    wet = c.rain > 0.1
    assert c.humidity[wet].mean() > c.humidity[~wet].mean() + 0.02
    assert c.global_horizontal[wet].mean() < 0.6 * c.global_horizontal[~wet].mean()
    assert c.wind_speed[wet].mean() > c.wind_speed[~wet].mean()
    toward = np.cos(np.radians(c.wind_direction - place.rain_from))
    assert toward[wet].mean() > 0.4
    assert (c.humidity > 0.99).mean() < 0.08
    # The afternoon is drier than the end of the night.
    hour = (c.time.astype("datetime64[h]").astype(int)) % 24
    assert c.humidity[hour == 15].mean() < c.humidity[hour == 5].mean() - 0.03
    # The sun is down at local midnight of a place that has nights.
    if abs(place.latitude) < 60.0:
        assert c.global_horizontal[hour == 1].max() == 0.0
    # Global is direct and diffuse; the sky never radiates more than a black body at air temperature.
    assert (c.global_horizontal >= c.diffuse_horizontal - 1e-9).all()
    assert (c.longwave_down <= 5.670374e-8 * c.temperature**4 * (1 + 1e-12)).all()


def test_weather_lasts_for_days_and_not_for_weeks(place_and_climate):
    _, c = place_and_climate
    month, _ = calendar(c)
    days = c.temperature.reshape(-1, 24).mean(axis=1)
    season = by_month(days, month[::24])
    x = days - season[month[::24]]
    x -= x.mean()

    def correlation(lag):
        return float((x[:-lag] * x[lag:]).mean() / x.var())

    assert 0.35 < correlation(2) < 0.75
    assert correlation(14) < 0.3


def test_they_say_what_they_are(place_and_climate):
    place, c = place_and_climate
    assert c.synthetic and c.cyclic and c.whole_years == 10 and c.repairs == ()
    assert "synthetic, invented place" in c.at_marks(c.time[:3]).notes["climate_source"]
    assert c.name == place.name


def test_the_same_seed_gives_the_same_years_and_another_seed_others():
    a, b, c = (generate(FERNMOOR, years=1, seed=s) for s in (3, 3, 4))
    assert (a.temperature == b.temperature).all() and (a.rain == b.rain).all()
    assert np.corrcoef(a.rain, c.rain)[0, 1] < 0.3


def test_years_are_made_at_once_and_not_hour_by_hour():
    """Five years (0.2 s here) take no more calls of functions than one does, on any machine."""

    def calls(years):
        count = [0]

        def one_more(frame, event, argument):
            count[0] += event in ("call", "c_call")

        sys.setprofile(one_more)
        try:
            made = generate(FERNMOOR, years=years, first_year=2024)
        finally:
            sys.setprofile(None)
        return made, count[0]

    calls(1)  # imports
    (_, one), (c, five) = calls(1), calls(5)
    assert len(c.time) == 5 * 8760 + 48  # 2024 and 2028 are leap years
    assert five < 1.05 * one < 15_000


def test_the_default_is_cold_and_humid_and_the_hot_one_is_humid_in_summer():
    cold = drydown_climates.catalogue()[drydown_climates.DEFAULT]()
    month, _ = calendar(cold)
    t = by_month(cold.temperature, month) - 273.15
    assert cold.temperature.mean() - 273.15 == pytest.approx(4.5, abs=0.3)
    assert t[0] == pytest.approx(-9.0, abs=0.2) and t[6] == pytest.approx(17.0, abs=0.2)
    assert cold.rain.sum() / 10 == pytest.approx(850.0, rel=0.02)
    hot = drydown_climates.catalogue()["saltreed"]()
    month, _ = calendar(hot)
    dew = by_month(dew_point(hot.humidity * saturation(hot.temperature)), month) - 273.15
    assert hot.temperature.mean() - 273.15 == pytest.approx(24.0, abs=0.2)
    assert dew[5:9].min() > 22.0 and dew[5:9].max() < 24.3
