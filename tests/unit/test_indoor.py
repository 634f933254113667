"""Indoor air models: what they give at the marks, and what they refuse."""

import numpy as np
import pytest
from drydown.case.sides import Chamber, Physics
from drydown.errors import InputError
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown.sides.indoor import (
    AirConditioned,
    AnnualSine,
    Constant,
    FromOutdoor,
    HumidityClass,
    Indoor,
    last_day_mean,
)

MARKS = np.arange("2021-01-01", "2022-01-01", dtype="datetime64[h]").astype("datetime64[s]")
PHYSICS = Physics()


def humidity(forcing):
    return forcing.vapour_pressure / saturation(forcing.temperature)


def test_constant_air_and_film():
    f = Indoor(Constant(294.15, 0.45)).forcing(MARKS, PHYSICS)
    assert np.allclose(f.temperature, 294.15)
    assert np.allclose(humidity(f), 0.45)
    assert np.allclose(f.heat_transfer * 0.13, 1.0)
    assert np.allclose(f.vapour_transfer, 2.5e-8, rtol=1e-12, atol=0.0)
    assert f.emissivity == 0.0 and not f.radiation_in.any() and not f.rain.any()
    assert "21 degC" in f.notes["indoor"]


def test_annual_sine_peaks_on_its_day():
    f = Indoor(AnnualSine(295.0, 3.0, 0.5, 0.1, warmest_day=200.0)).forcing(MARKS, PHYSICS)
    peak = MARKS[f.temperature.argmax()]
    assert abs(peak - np.datetime64("2021-07-19T00:00:00")) <= np.timedelta64(3600, "s")  # day 200
    assert f.temperature.max() == pytest.approx(298.0, abs=1e-3)
    assert f.temperature.min() == pytest.approx(292.0, abs=1e-2)
    assert humidity(f).max() == pytest.approx(0.6, abs=1e-4)


def test_last_day_mean_is_the_mean_of_24_hours():
    x = np.random.default_rng(1).normal(size=100)
    got = last_day_mean(x)
    for k in (23, 24, 50, 99):
        assert got[k] == pytest.approx(x[k - 23 : k + 1].mean(), rel=1e-12)
    assert np.allclose(got[:23], x[:24].mean())
    assert np.allclose(last_day_mean(np.array([1.0, 3.0])), 2.0)


def test_daily_swing_outside_does_not_reach_an_annex_c_room():
    class Swing:
        def air(self, marks, physics):
            hour = (marks - marks[0]) / np.timedelta64(3600, "s")
            t = 288.15 + 8.0 * np.sin(2 * np.pi * hour / 24.0)
            return t, 0.7 * saturation(t)

    f = Indoor(FromOutdoor()).forcing(MARKS, PHYSICS, Swing())
    assert np.ptp(f.temperature) < 1e-6
    assert f.temperature[0] == pytest.approx(273.15 + 22.5)


def test_air_conditioning_holds_its_cap_and_heats_in_winter():
    summer = Indoor(AirConditioned()).forcing(MARKS, PHYSICS, Chamber(303.15, 0.75))
    assert np.allclose(summer.temperature, 297.15) and np.allclose(humidity(summer), 0.55)
    winter = Indoor(AirConditioned(excess=200.0)).forcing(MARKS, PHYSICS, Chamber(273.15, 0.8))
    assert np.allclose(winter.temperature, 293.15)
    assert np.allclose(winter.vapour_pressure, 0.8 * 610.5 + 200.0)
    between = Indoor(AirConditioned()).forcing(MARKS, PHYSICS, Chamber(295.15, 0.5))
    assert np.allclose(between.temperature, 295.15)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Constant(humidity=65.0), "write it as a fraction, 0.65"),
        (lambda: Constant(temperature=20.0), "degC"),
        (lambda: AnnualSine(humidity=0.95, humidity_amplitude=0.1), "1.05"),
        (lambda: FromOutdoor(margin=5.0), "margin"),
        (lambda: HumidityClass(5), "class 5"),
        (lambda: AirConditioned(heating=299.0, cooling=297.0), "below"),
        (lambda: Indoor(Constant(), heat_transfer=0.0), "heat_transfer"),
        (lambda: Indoor(FromOutdoor()).forcing(MARKS, PHYSICS), "outer side"),
    ],
)
def test_refusals_say_what_would_be_right(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)
