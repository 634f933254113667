"""Choosing a severe year: whole years, the right rank, and what it says of itself."""

import dataclasses

import drydown_climates
import numpy as np
import pytest
from drydown.case.sides import Physics
from drydown.climate.model import HOUR, Climate
from drydown.climate.weather.severe_year import (
    AnnualIndex,
    annual_values,
    cold,
    driving_rain,
    drying_potential,
    severe_year,
    warmth,
    whole_years,
)
from drydown.errors import InputError
from drydown.sides.exposure import Exposure, Outdoor


@pytest.fixture(scope="module")
def fernmoor():
    return drydown_climates.catalogue()["fernmoor"]()


def ranked(order, first="2010-01-01", **columns):
    """Years whose temperature is 280 K + the number in `order`."""
    start = np.datetime64(first, "s")
    month = start.astype("M8[M]")
    end = (month + 12 * len(order)).astype("M8[s]") + (start - month.astype("M8[s]"))
    time = np.arange(start + HOUR, end + HOUR, HOUR)
    passed = ((time - HOUR - (start - month.astype("M8[s]"))).astype("M8[M]") - month).astype(int) // 12
    t = 280.0 + np.array(order, dtype=float)[passed]
    given = {k: np.full(len(time), v) for k, v in columns.items()}
    return Climate("yard", 50.0, 15.0, 0.0, 1.0, time, t, np.full(len(time), 0.8), **given)


def test_years_are_whole_and_follow_each_other(fernmoor):
    years = whole_years(fernmoor)
    assert len(years) == 10 and all(y.whole_years == 1 and y.cyclic for y in years)
    assert np.array_equal(np.concatenate([y.rain for y in years]), fernmoor.rain)
    assert {len(y.time) for y in years} == {8760, 8784}
    # Years that begin in summer are cut there.
    odd = whole_years(ranked([0, 1, 2], first="2010-06-15"))
    assert [str(y.start)[:10] for y in odd] == ["2010-06-15", "2011-06-15", "2012-06-15"]
    assert [set(y.temperature) for y in odd] == [{280.0}, {281.0}, {282.0}]


@pytest.mark.parametrize(
    ("percentile", "warm", "chilly"),
    # 11 years in steps of 1 K: the 90th percentile of 0, 1 ... 10 is 9, the 10th is 1 (by definition).
    [(90.0, 9, 1), (100.0, 10, 0), (50.0, 5, 5), (0.0, 0, 10)],
)
def test_the_year_at_a_percentile(percentile, warm, chilly):
    order = [3, 7, 0, 10, 1, 9, 2, 8, 5, 4, 6]
    c = ranked(order)
    assert severe_year(c, warmth(), percentile).temperature[0] == 280.0 + warm
    got = severe_year(c, cold(), percentile)
    assert got.temperature[0] == 280.0 + chilly
    assert got.name == f"yard {2010 + order.index(chilly)}"


def test_driving_rain_by_hand_and_by_facing():
    c = ranked([0, 1], rain=0.5, wind_speed=4.0, wind_direction=200.0)
    _, values = annual_values(c, driving_rain(200.0))
    assert values == pytest.approx(0.2 * 4.0 * 0.5 * 8766.0)  # 0.2 s/m U r, Lacy (1965), over a year
    assert annual_values(c, driving_rain(20.0))[1] == pytest.approx(0.0, abs=1e-9)
    with pytest.raises(InputError, match="driving rain needs rain, wind and wind direction"):
        annual_values(ranked([0, 1]), driving_rain(0.0))


def test_drying_potential_by_hand():
    _, values = annual_values(ranked([3.15, 13.15]), drying_potential())
    # 20 % of 1227 Pa at 10 degC and of 2337 Pa at 20 degC (ISO 13788 annex E).
    assert values == pytest.approx([0.2 * 1227.3, 0.2 * 2337.0], rel=1e-4)
    assert severe_year(ranked([3.15, 13.15]), drying_potential(), 100.0).temperature[0] == 283.15


def test_a_severe_year_runs_for_many_years_and_says_what_it_is(fernmoor):
    index = driving_rain(180.0)
    year = severe_year(fernmoor, index)
    names, values = annual_values(fernmoor, index)
    assert (values > index.of(year)).sum() == 1
    assert year.name.startswith("fernmoor 20") and year.synthetic
    assert "90 % of severity by driving rain on a wall facing 180 degrees" in year.source
    marks = np.arange("2030-01-01", "2033-01-01", dtype="M8[h]").astype("M8[s]")
    f = Outdoor(year, Exposure(azimuth=180.0)).forcing(marks, Physics())
    assert len(f.rain) == len(marks) and "repeated by calendar" in f.notes["climate_period"]
    assert len(np.unique(names)) == 10


def test_an_index_of_ones_own(fernmoor):
    frosts = AnnualIndex("hours of frost", "h", lambda c: float((c.temperature < 273.15).sum()))
    worst = severe_year(fernmoor, frosts, 100.0)
    assert frosts.of(worst) == annual_values(fernmoor, frosts)[1].max()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda c: severe_year(c, cold(), 190.0), "percentile is 190"),
        (lambda c: severe_year(whole_years(c)[0], cold()), "one year is no choice"),
        (lambda c: severe_year(dataclasses.replace(part(c)), cold()), "whole years are needed"),
    ],
)
def test_refusals(fernmoor, make, words):
    with pytest.raises(InputError) as e:
        make(fernmoor)
    assert words in str(e.value) and "\n" not in str(e.value)


def part(c):
    columns = {k: v[:2000] for k, v in c.columns().items()}
    return dataclasses.replace(c, time=c.time[:2000], **columns)
