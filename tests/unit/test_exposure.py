"""What an outer surface receives: sun, sky, wind, rain, and what is said of missing columns."""

import dataclasses
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from drydown.case.sides import AIR, Physics
from drydown.climate.driving_rain import HourlyIndex, OpenField, normal_wind
from drydown.climate.model import HOUR, Climate
from drydown.climate.solar import plane_irradiance, sun_position
from drydown.climate.weather.files import read_weather
from drydown.errors import InputError
from drydown.moist_air import STEFAN_BOLTZMANN
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown.sides.exposure import Exposure, Outdoor, sky_longwave

PHYSICS = Physics()


@pytest.fixture(scope="module")
def measured():
    """Greensboro, TMY3, from the package of pvlib: direct, diffuse, global, rain."""
    return read_weather(Path(str(files("pvlib") / "data" / "723170TYA.CSV")))


def steady(n=240, **changes):
    """A climate that never changes, at 10 degC and 80 %."""
    time = np.arange(np.datetime64("2021-06-01T01", "s"), np.datetime64("2021-06-01T01", "s") + n * HOUR, HOUR)
    columns = dict(temperature=np.full(n, 283.15), humidity=np.full(n, 0.8))
    columns |= dict(wind_speed=np.full(n, 5.0), wind_direction=np.full(n, 180.0), rain=np.full(n, 2.0))
    about = dict(name="still", latitude=50.0, longitude=15.0, altitude=0.0, utc_offset=1.0, time=time)
    return Climate(**{**about, **columns, **changes})


def marks_of(climate):
    return climate.time[:-1]


def forcing(climate, exposure=None, **how):
    return Outdoor(climate, exposure or Exposure(), **how).forcing(marks_of(climate), PHYSICS)


# -- sun ------------------------------------------------------------------------------------------------


def test_sun_position_against_the_almanac(measured):
    # Low-precision formulas of the Astronomical Almanac (0.01 degree until 2050), sidereal time of Meeus.
    zenith, azimuth = sun_position(measured.time, measured)
    utc = measured.time - HOUR // 2 + 5 * HOUR
    n = (utc - np.datetime64("2000-01-01T12:00:00")) / np.timedelta64(86400, "s")
    mean, g = 280.460 + 0.9856474 * n, np.radians(357.528 + 0.9856003 * n)
    ecliptic = np.radians(mean + 1.915 * np.sin(g) + 0.020 * np.sin(2 * g))
    tilt = np.radians(23.439 - 4e-7 * n)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    dec = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    w = np.radians(280.46061837 + 360.98564736629 * n + measured.longitude) - ascension
    lat = np.radians(measured.latitude)
    cosz = np.sin(lat) * np.sin(dec) + np.cos(lat) * np.cos(dec) * np.cos(w)
    up = cosz > np.sin(np.radians(15.0))
    refraction = 0.065  # at 15 degrees, less above
    assert np.abs(np.degrees(np.arccos(cosz[up])) - zenith[up]).max() < refraction + 0.02
    west = np.arctan2(np.sin(w), np.cos(w) * np.sin(lat) - np.tan(dec) * np.cos(lat))
    apart = (np.degrees(west) + 180.0 - azimuth + 180.0) % 360.0 - 180.0
    assert np.abs(apart * np.sin(np.radians(zenith)))[up].max() < 0.03


def test_sun_position_against_the_nrel_algorithm(measured):
    import pandas as pd
    from pvlib import solarposition

    zenith, azimuth = sun_position(measured.time, measured)
    utc = pd.DatetimeIndex(measured.time - HOUR // 2 + 5 * HOUR).tz_localize("UTC")
    want = solarposition.spa_python(utc, measured.latitude, measured.longitude)
    up = zenith < 85.0
    assert np.abs(want["apparent_zenith"].to_numpy() - zenith)[up].max() < 0.02
    apart = (want["azimuth"].to_numpy() - azimuth + 180.0) % 360.0 - 180.0
    assert np.abs(apart * np.sin(np.radians(zenith)))[up].max() < 0.02


def irradiance(c, azimuth=0.0, tilt=90.0, ground=0.2, **columns):
    given = {k: getattr(c, k) for k in ("direct_normal", "diffuse_horizontal", "global_horizontal")} | columns
    return plane_irradiance(c.time, c, *given.values(), azimuth=azimuth, tilt=tilt, ground_reflectance=ground)


def test_a_flat_roof_receives_the_measured_global_irradiance(measured):
    total, _ = irradiance(measured, tilt=0.0)
    assert total.sum() == pytest.approx(measured.global_horizontal.sum(), rel=0.02)


def test_a_floor_from_below_receives_what_the_ground_reflects(measured):
    total, _ = irradiance(measured, tilt=180.0, ground=0.3)
    assert np.allclose(total, 0.3 * measured.global_horizontal, atol=1e-6)


def test_each_wall_has_its_sun_at_its_time(measured):
    hour = (measured.time.astype("M8[h]").astype(int)) % 24
    course = {}
    for a in (0.0, 90.0, 180.0, 270.0):
        total, how = irradiance(measured, azimuth=a)
        assert (total >= 0.0).all() and np.isfinite(total).all() and "Perez" in how
        course[a] = np.array([total[hour == h].mean() for h in range(24)])
    assert course[90.0].argmax() < 11 and course[270.0].argmax() > 14 and course[180.0].argmax() in (12, 13)
    assert course[0.0].sum() < 0.55 * course[180.0].sum()
    assert all(c[1:4].max() == 0.0 for c in course.values())


def test_without_direct_and_diffuse_the_global_is_split(measured):
    full, _ = irradiance(measured, azimuth=180.0)
    split, how = irradiance(measured, azimuth=180.0, direct_normal=None, diffuse_horizontal=None)
    assert "Erbs" in how
    assert split.sum() == pytest.approx(full.sum(), rel=0.08)
    for gone in ("direct_normal", "diffuse_horizontal", "global_horizontal"):
        other, how = irradiance(measured, azimuth=180.0, **{gone: None})
        assert "Erbs" not in how
        assert other.sum() == pytest.approx(full.sum(), rel=0.05), gone


def test_radiation_at_marks_keeps_the_total_of_the_hours(measured):
    e = Exposure(azimuth=180.0, absorptance=1.0, emissivity=0.0)
    hours, _ = irradiance(measured, azimuth=180.0)
    at_marks = Outdoor(measured, e).forcing(measured.time[:4000], PHYSICS).radiation_in
    assert np.allclose(at_marks, 0.5 * (hours[:4000] + hours[1:4001]))
    trapezoid = (0.5 * (at_marks[1:] + at_marks[:-1])).sum()
    assert trapezoid == pytest.approx(hours[1:4000].sum(), rel=1e-3)


def test_absorptance_scales_the_sun(measured):
    sun = [
        forcing(measured, Exposure(azimuth=180.0, absorptance=a, emissivity=0.0)).radiation_in.sum() for a in (0.3, 0.9)
    ]
    assert sun[1] == pytest.approx(3.0 * sun[0], rel=1e-9)


# -- long-wave, film, vapour ----------------------------------------------------------------------------


def test_longwave_follows_the_views_of_sky_and_ground():
    c = steady(longwave_down=np.full(240, 250.0))
    black = STEFAN_BOLTZMANN * 283.15**4
    for tilt, sky in ((0.0, 1.0), (90.0, 0.5), (180.0, 0.0), (60.0, 0.75)):
        f = forcing(c, Exposure(tilt=tilt, emissivity=0.8))
        assert np.allclose(f.radiation_in, 0.8 * (sky * 250.0 + (1.0 - sky) * black))
        assert f.emissivity == 0.8


def test_sky_is_computed_and_said_where_the_weather_does_not_carry_it():
    f = forcing(steady(), Exposure(tilt=0.0, emissivity=1.0, assumed_cloud=5.0))
    dew = 273.15 + 6.7  # 80 % at 10 degC, psychrometric chart
    want = sky_longwave(np.array([283.15]), np.array([dew]), 5.0)
    assert np.allclose(f.radiation_in, want, rtol=1e-3)
    assert "Clark and Allen" in f.notes["longwave"] and "5 tenths" in f.notes["longwave"]


def test_film_follows_the_wind_along_the_surface():
    f = forcing(steady(), Exposure(wind_factor=0.5))
    assert np.allclose(f.heat_transfer, 4.0 + 4.0 * 2.5)
    assert np.allclose(f.vapour_transfer / (7e-9 * f.heat_transfer), 1.0, rtol=1e-9)
    assert np.allclose(f.vapour_pressure, 0.8 * saturation(283.15))
    assert f.kind == AIR and "0.5 of the wind" in f.notes["wind"]


# -- rain -----------------------------------------------------------------------------------------------


def test_only_wind_towards_the_wall_drives_rain():
    got = [forcing(steady(), Exposure(azimuth=a)).rain[0] * 3600.0 for a in (180.0, 120.0, 90.0, 0.0)]
    assert np.allclose(got, [1.0, 0.5, 0.0, 0.0], atol=1e-12)
    assert normal_wind(np.array([5.0]), np.array([350.0]), 10.0)[0] == pytest.approx(5.0 * np.cos(np.radians(20.0)))


def test_factors_and_slopes():
    c = steady()
    severe = Exposure(azimuth=180.0, rain=OpenField(exposure=1.3, deposition=1.0))
    assert forcing(c, severe).rain[0] * 3600.0 == pytest.approx(2.6)
    flat = Exposure(azimuth=180.0, tilt=0.0)
    assert forcing(c, flat).rain[0] * 3600.0 == pytest.approx(2.0)
    floor = Exposure(azimuth=180.0, tilt=180.0)
    assert forcing(c, floor).rain[0] == pytest.approx(0.0, abs=1e-18)
    index = Exposure(azimuth=180.0, rain=HourlyIndex(roughness=1.0, wall=1.0))
    assert "15927-3" in forcing(c, index).notes["rain"]


def test_snow_is_not_rain():
    c = steady(temperature=np.full(240, 272.0))
    assert not forcing(c, Exposure(azimuth=180.0)).rain.any()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rain": None}, "rain unavailable"),
        ({"wind_direction": None}, "wind direction unavailable"),
        ({"rain": None, "wind_speed": None}, "rain and wind unavailable"),
    ],
)
def test_missing_rain_is_said_and_not_called_dry(changes, words):
    f = forcing(dataclasses.replace(steady(), **changes), Exposure(azimuth=180.0))
    assert not f.rain.any() and words in f.notes["rain"]


def test_missing_sun_and_wind_are_said():
    f = forcing(steady(wind_speed=None))
    assert "sun unavailable" in f.notes["sun"] and "4 m/s assumed" in f.notes["wind"]


def test_rain_stays_in_its_hour():
    rain = np.zeros(240)
    rain[10] = 3.6
    f = forcing(steady(rain=rain), Exposure(azimuth=180.0))
    assert np.flatnonzero(f.rain).tolist() == [10]
    assert f.rain[10] == pytest.approx(0.5 * 0.2 * 5.0 * 3.6 / 3600.0)


# -- period and notes -----------------------------------------------------------------------------------


def test_a_typical_year_repeats_and_says_so(measured):
    marks = np.arange(np.datetime64("2030-10-01", "s"), np.datetime64("2032-10-01", "s") + HOUR, HOUR)
    f = Outdoor(measured).forcing(marks, PHYSICS)
    assert len(f.rain) == len(marks)
    assert "repeated by calendar" in f.notes["climate_period"] and "typical year" in f.notes["climate_repairs"]
    k = 365 * 24  # the same date a year later
    assert np.allclose(f.temperature[:3000], f.temperature[k : k + 3000])
    assert np.allclose(f.radiation_in[1:3000], f.radiation_in[k + 1 : k + 3000])
    with pytest.raises(InputError, match="let it repeat"):
        Outdoor(measured, cyclic=False).forcing(marks, PHYSICS)


def test_the_last_hour_of_the_data_can_be_the_end_of_a_run(measured):
    only = dataclasses.replace(measured, cyclic=False)
    marks = np.concatenate([[only.start], only.time])
    f = Outdoor(only).forcing(marks, PHYSICS)
    assert len(f.radiation_in) == 8761 and np.isfinite(f.radiation_in).all()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Exposure(azimuth=-10.0), "azimuth is -10"),
        (lambda: Exposure(tilt=200.0), "between 0 and 180"),
        (lambda: Exposure(absorptance=60.0), "between 0 and 1"),
        (lambda: Exposure(emissivity=float("nan")), "emissivity is nan"),
        (lambda: OpenField(exposure=-1.0), "exposure is -1"),
    ],
)
def test_refusals(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)


# -- from wall to roof to floor -------------------------------------------------------------------------


def test_a_roof_four_walls_and_a_floor_of_one_climate():
    import drydown_climates

    c = drydown_climates.catalogue()["fernmoor"]()
    marks = c.time[:8760]
    faces = {f"wall {a:g}": Exposure(azimuth=a) for a in (0.0, 90.0, 180.0, 270.0)}
    faces |= {"flat": Exposure(tilt=0.0), "steep": Exposure(azimuth=180.0, tilt=40.0)}
    faces |= {"floor": Exposure(tilt=180.0)}
    got = {name: Outdoor(c, e).forcing(marks, PHYSICS) for name, e in faces.items()}
    assert all(np.isfinite(f.radiation_in).all() and (f.rain >= 0.0).all() for f in got.values())
    sun = {name: f.radiation_in.mean() for name, f in got.items()}
    assert sun["wall 0"] < sun["wall 90"] < sun["wall 180"] and sun["wall 0"] < sun["wall 270"]
    # A flat roof takes all the rain, a floor none; a slope takes its plan area and what is driven.
    liquid = np.where(c.temperature > 273.15, c.rain, 0.0)[:8760].sum()
    fell = {name: f.rain.sum() * 3600.0 for name, f in got.items()}
    assert fell["flat"] == pytest.approx(liquid, rel=1e-9) and fell["floor"] == pytest.approx(0.0, abs=1e-9)
    assert fell["steep"] == pytest.approx(
        np.cos(np.radians(40.0)) * liquid + np.sin(np.radians(40.0)) * fell["wall 180"], rel=1e-9
    )
    # By night a flat roof loses most, a wall half of that, a floor nothing (net, at air temperature).
    night = c.global_horizontal[:8760] == 0.0
    net = {name: (f.radiation_in - 0.9 * STEFAN_BOLTZMANN * f.temperature**4)[night].mean() for name, f in got.items()}
    assert net["flat"] < -20.0
    assert net["wall 180"] == pytest.approx(0.5 * net["flat"], abs=2.0)
    assert net["floor"] == pytest.approx(0.0, abs=2.0)
