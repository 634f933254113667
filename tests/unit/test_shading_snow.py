"""What hides the sky from a surface, and snow that brightens the ground."""

import dataclasses

import drydown_climates
import numpy as np
import pytest
from drydown.case.sides import Physics
from drydown.climate.model import HOUR, Climate
from drydown.climate.shading import Shading
from drydown.climate.snow import MELT, snow_water, white_ground
from drydown.climate.solar import plane_irradiance, sun_position
from drydown.errors import InputError
from drydown.sides.exposure import Exposure, Outdoor

PHYSICS = Physics()


@pytest.fixture(scope="module")
def fernmoor():
    return drydown_climates.catalogue()["fernmoor"]()


def climate(n=240, start="2021-01-01", **columns):
    time = np.datetime64(start, "s") + np.arange(1, n + 1) * HOUR
    given = dict(temperature=np.full(n, 283.15), humidity=np.full(n, 0.8)) | columns
    return Climate("yard", 50.0, 15.0, 0.0, 1.0, time, **given)


# -- view of the sky: closed forms of radiation exchange, written here ---------------------------------------


@pytest.mark.parametrize("horizon", [0.0, 10.0, 30.0, 60.0])
def test_view_of_the_sky_above_an_even_horizon(horizon):
    # Integral of the cosine of incidence over the sky above elevation H, over pi: a flat roof has cos^2 H, a
    # wall 1/2 - (H + sin H cos H)/pi.
    h = np.radians(horizon)
    assert Shading(horizon=horizon).sky_view(0.0) == pytest.approx(np.cos(h) ** 2, abs=2e-3)
    wall = 0.5 - (h + np.sin(h) * np.cos(h)) / np.pi
    assert Shading(horizon=horizon).sky_view(90.0) == pytest.approx(wall, abs=2e-3)


@pytest.mark.parametrize(("depth", "height"), [(0.5, 2.0), (1.0, 1.0), (3.0, 0.5)])
def test_view_of_the_sky_below_a_long_overhang(depth, height):
    # Crossed strings (Hottel) for a long strip: the open sky from the level up to the profile angle p of the
    # edge has the view factor sin(p)/2.
    p = np.arctan2(height, depth)
    view = Shading(overhang=depth, overhang_height=height).sky_view(90.0)
    assert view == pytest.approx(0.5 * np.sin(p), abs=3e-3)


def test_the_open_form_and_the_grid_agree():
    for tilt in (0.0, 35.0, 90.0, 120.0, 180.0):
        grid = Shading(horizon=1e-9).sky_view(tilt)
        assert grid == pytest.approx(Shading().sky_view(tilt), abs=1e-4)


# -- sun ---------------------------------------------------------------------------------------


def beam_alone(shading, azimuth=180.0):
    c = climate(8760)
    n = len(c.time)
    total, how = plane_irradiance(
        c.time,
        c,
        np.full(n, 500.0),
        np.zeros(n),
        None,
        azimuth=azimuth,
        tilt=90.0,
        ground_reflectance=0.0,
        shading=shading,
    )
    zenith, sun = sun_position(c.time, c)
    return total, 90.0 - zenith, sun, how


def test_the_horizon_hides_the_low_sun():
    full, height, _, _ = beam_alone(None)
    cut, _, _, how = beam_alone(Shading(horizon=20.0))
    assert (cut[height < 19.9] == 0.0).all() and np.allclose(cut[height > 20.1], full[height > 20.1])
    assert 0.3 < cut.sum() / full.sum() < 0.9 and "horizon up to 20 degrees" in how


def test_an_overhang_shades_in_summer_and_not_in_winter():
    # South wall, 50 N, noon: the sun stands at 63.4 degrees in June, 16.6 in December; an overhang as deep as
    # it is high above the middle hides the sun above 45 degrees.
    cut, height, sun, _ = beam_alone(Shading(overhang=1.0, overhang_height=1.0))
    full, *_ = beam_alone(None)
    noon = np.abs(sun - 180.0) < 8.0
    assert (cut[noon & (height > 46.0)] == 0.0).all()
    low = noon & (height > 0.0) & (height < 44.0)
    assert low.sum() > 100 and np.allclose(cut[low], full[low])
    # Away from noon the profile angle is steeper than the sun is high.
    aside = (np.abs(sun - 180.0) > 65.0) & (np.abs(sun - 180.0) < 85.0) & (height > 30.0) & (height < 44.0)
    assert aside.sum() > 50 and (cut[aside] == 0.0).all() and (full[aside] > 0.0).all()


def test_shading_takes_from_every_part_and_none_changes_nothing(fernmoor):
    marks = fernmoor.time[4000:6000]

    def received(**how):
        return Outdoor(fernmoor, Exposure(azimuth=180.0, **how)).forcing(marks, PHYSICS)

    plain, none, some, much = (
        received(),
        received(shading=Shading(overhang_height=3.0)),
        received(shading=Shading(horizon=15.0)),
        received(shading=Shading(horizon=15.0, overhang=1.5)),
    )
    assert np.array_equal(plain.radiation_in, none.radiation_in)
    assert some.radiation_in.sum() < plain.radiation_in.sum()
    assert much.radiation_in.sum() < 0.98 * some.radiation_in.sum()
    assert np.isfinite(much.radiation_in).all() and "overhang 1.5 m deep" in much.notes["sun"]


def test_hidden_sky_is_as_warm_as_the_ground(fernmoor):
    night = Exposure(absorptance=0.0, emissivity=1.0)
    hidden = dataclasses.replace(night, shading=Shading(horizon=89.0))
    marks = fernmoor.time[:200]
    f = Outdoor(fernmoor, hidden).forcing(marks, PHYSICS)
    assert np.allclose(f.radiation_in, 5.670374e-8 * f.temperature**4, rtol=2e-3)
    assert (Outdoor(fernmoor, night).forcing(marks, PHYSICS).radiation_in <= f.radiation_in).all()


# -- snow --------------------------------------------------------------------------------------


def test_snow_gathers_below_freezing_and_melts_by_degree_hours():
    t = np.concatenate([np.full(24, 268.15), np.full(24, 278.15)])
    c = climate(48, temperature=t, rain=np.where(np.arange(48) < 24, 0.5, 1.0))
    snow = snow_water(c)
    assert snow[23] == pytest.approx(12.0)  # 24 h of 0.5 mm
    assert snow[30] == pytest.approx(12.0 - 7 * 5.0 * MELT)
    assert snow[-1] == 0.0
    # 4 mm a day and kelvin: 12 mm at +5 degC are gone after 14.4 h.
    assert np.flatnonzero(snow[24:] == 0.0)[0] == 14


def test_snow_against_a_plain_loop(fernmoor):
    s, want = 0.0, []
    for _ in range(2):
        want = []
        for t, r in zip(fernmoor.temperature, fernmoor.rain, strict=True):
            s = max(s + (r if t <= 273.15 else 0.0) - MELT * max(t - 273.15, 0.0), 0.0)
            want.append(s)
    assert np.allclose(snow_water(fernmoor), want, atol=1e-9)


def test_snow_lies_in_winter_where_it_is_cold_and_hardly_where_it_is_hot(fernmoor):
    white = white_ground(fernmoor)
    month = (fernmoor.time - HOUR).astype("M8[M]").astype(int) % 12
    share = np.array([white[month == m].mean() for m in range(12)])
    assert share[0] > 0.8 and share[1] > 0.8 and share[5:8].max() == 0.0
    assert not white_ground(drydown_climates.catalogue()["saltreed"]()).any()


def test_snow_brightens_a_wall_and_says_so(fernmoor):
    marks = np.arange("2022-02-01", "2022-03-01", dtype="M8[h]").astype("M8[s]")

    def sun(**how):
        return Outdoor(fernmoor, Exposure(absorptance=1.0, emissivity=0.0, **how)).forcing(marks, PHYSICS)

    bright, bare = sun(), sun(snow_reflectance=0.2)
    assert "0.7 under snow" in bright.notes["ground"]
    # A wall sees half the ground: 0.5 (0.7 - 0.2) G more while snow lies.
    rows = ((marks - fernmoor.time[0]) // HOUR).astype(int)
    white = white_ground(fernmoor)
    more = 0.25 * np.where(white, fernmoor.global_horizontal, 0.0)
    assert white[rows].mean() > 0.5
    assert np.allclose(bright.radiation_in - bare.radiation_in, 0.5 * (more[rows] + more[rows + 1]))


def test_without_rain_snow_is_unknown_and_that_is_said():
    n = 240
    c = climate(n, temperature=np.full(n, 263.15), global_horizontal=np.full(n, 100.0))
    assert white_ground(c) is None
    f = Outdoor(c, Exposure()).forcing(c.time[:-1], PHYSICS)
    assert "snow unknown" in f.notes["ground"]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Shading(horizon=95.0), "horizon is 95; it must lie between 0 and 89"),
        (lambda: Shading(overhang=-1.0), "overhang is -1"),
        (lambda: Shading(overhang_height=0.0), "overhang_height is 0"),
        (lambda: Exposure(tilt=30.0, shading=Shading(overhang=0.5)), "the tilt is 30"),
        (lambda: Exposure(snow_reflectance=70.0), "snow_reflectance is 70"),
    ],
)
def test_refusals(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)
