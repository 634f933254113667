"""Sky, driving rain, films and indoor air against published numbers, each with its source."""

import numpy as np
import pytest
from drydown.case.sides import Chamber, Physics
from drydown.climate.driving_rain import HourlyIndex, OpenField
from drydown.climate.model import Climate
from drydown.climate.sky import sky_emissivity
from drydown.climate.solar import plane_irradiance, sun_position
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown.sides.exposure import Exposure, Outdoor, convective_coefficient
from drydown.sides.indoor import CEILING, FLOOR, FromOutdoor, HumidityClass, Indoor
from drydown.sides.indoor_balance import MoistureBalance, dwelling_production

MARKS = np.arange("2021-01-01", "2021-01-03", dtype="datetime64[h]").astype("datetime64[s]")
ONE = np.ones(1)


def test_hourly_index_of_iso_15927_3():
    # ISO 15927-3, hourly index (2/9) v r^(8/9) cos(D - theta): v 5 m/s, r 2 mm/h, normal incidence,
    # 2.057 l/(m2 h) (computed from the formula of the standard to four digits).
    model = HourlyIndex(roughness=1.0, topography=1.0, obstruction=1.0, wall=1.0)
    got = model.on_surface(2.0 * ONE, 5.0 * ONE, 180.0 * ONE, 180.0, 90.0)
    assert got[0] == pytest.approx(2.057, abs=5e-4)
    assert model.on_surface(2.0 * ONE, 5.0 * ONE, 240.0 * ONE, 180.0, 90.0)[0] == pytest.approx(1.0286, abs=5e-4)


def test_default_roughness_is_that_of_a_suburb():
    # C_R(z) = K_R ln(z/z0), not below zmin. Terrain III: K_R 0.22, z0 0.3 m, zmin 8 m; terrain II: 0.19,
    # 0.05 m, 4 m. Source: ISO 15927-3 as published in open scripts of A. Laukkarinen.
    suburb, field = 0.22 * np.log(8.0 / 0.3), 0.19 * np.log(10.0 / 0.05)
    assert HourlyIndex().roughness == pytest.approx(suburb, abs=5e-4)
    assert Exposure().wind_factor == pytest.approx(suburb / field, abs=5e-3)


@pytest.mark.parametrize(
    ("exposure", "deposition", "want"),
    # ANSI/ASHRAE 160 (from memory): r_bv = FE FD 0.2 U cos(theta) r; U 5 m/s, r 2 mm/h.
    [(1.0, 0.5, 1.0), (1.3, 0.35, 0.91), (0.7, 1.0, 1.4)],
)
def test_open_field_driving_rain(exposure, deposition, want):
    got = OpenField(exposure, deposition).on_surface(2.0 * ONE, 5.0 * ONE, 180.0 * ONE, 180.0, 90.0)
    assert got[0] == pytest.approx(want, abs=1e-9)


@pytest.mark.parametrize(
    ("t", "dew", "emissivity", "sky"),
    # Clark and Allen (1978), clear sky; emissivity and sky temperature [degC] worked out by hand.
    [(0.0, -5.0, 0.773, -17.0), (10.0, 5.0, 0.801, -5.3), (20.0, 12.0, 0.820, 5.8)],
)
def test_clear_sky(t, dew, emissivity, sky):
    e = float(sky_emissivity(np.array([dew + 273.15]), 0.0)[0])
    assert e == pytest.approx(emissivity, abs=6e-4)
    assert (t + 273.15) * e**0.25 - 273.15 == pytest.approx(sky, abs=0.1)


def test_cloud_factor():
    # Walton (1983): full cloud (10 tenths) multiplies by 1 + 0.224 - 0.35 + 0.28 = 1.154.
    dew = np.array([278.15])
    assert float((sky_emissivity(dew, 10.0) / sky_emissivity(dew, 0.0))[0]) == pytest.approx(1.154, abs=1e-12)


@pytest.mark.parametrize(
    ("wind", "want"), [(1, 0.08), (2, 0.06), (3, 0.05), (4, 0.04), (5, 0.04), (7, 0.03), (10, 0.02)]
)
def test_outer_surface_resistance(wind, want):
    # ISO 6946 annex A (from memory): R_se by wind, two digits; h_r = 0.9 x 4.6 W/(m2 K), 0 degC.
    total = float(convective_coefficient(np.array([float(wind)]))[0]) + 0.9 * 4.6
    assert round(1.0 / total, 2) == pytest.approx(want)


def indoor(model, outside, humidity=0.5):
    f = Indoor(model).forcing(MARKS, Physics(), Chamber(outside + 273.15, humidity))
    return f.temperature[0] - 273.15, f.vapour_pressure[0] / float(saturation(f.temperature[0]))


@pytest.mark.parametrize(
    ("outside", "t", "normal", "high"),
    # EN 15026:2007 annex C (ISO 13788:2012 annex A.1), from memory.
    [
        (-20, 20.0, 0.30, 0.40),
        (-10, 20.0, 0.30, 0.40),
        (-5, 20.0, 0.35, 0.45),
        (0, 20.0, 0.40, 0.50),
        (5, 20.0, 0.45, 0.55),
        (10, 20.0, 0.50, 0.60),
        (15, 22.5, 0.55, 0.65),
        (20, 25.0, 0.60, 0.70),
        (25, 25.0, 0.60, 0.70),
    ],
)
def test_indoor_climate_of_en_15026_annex_c(outside, t, normal, high):
    assert indoor(FromOutdoor(), outside) == pytest.approx((t, normal), abs=1e-6)
    assert indoor(FromOutdoor(high_occupancy=True), outside) == pytest.approx((t, high), abs=1e-6)
    assert indoor(FromOutdoor(margin=0.05), outside) == pytest.approx((t, normal + 0.05), abs=1e-6)


@pytest.mark.parametrize(("number", "excess"), [(1, 270.0), (2, 540.0), (3, 810.0), (4, 1080.0)])
def test_humidity_classes_of_iso_13788(number, excess):
    # ISO 13788:2012 annex A.2 (from memory): upper limits up to 0 degC outside, zero at 20 degC; in g/m3 they
    # are 2, 4, 6, 8 (dp = dv R_v T at 20 degC, within 1 Pa of the rounded figures per class).
    for outside, share in ((-5.0, 1.0), (0.0, 1.0), (10.0, 0.5), (20.0, 0.0)):
        f = Indoor(HumidityClass(number)).forcing(MARKS, Physics(), Chamber(outside + 273.15, 0.5))
        above = f.vapour_pressure - 0.5 * float(saturation(outside + 273.15))
        assert np.allclose(above, share * excess, atol=1e-9)
    assert 2e-3 * number * 461.5 * 293.15 == pytest.approx(excess, abs=2.5)


def test_inner_film_is_near_that_of_en_15026():
    # EN 15026: s_d of the inner film 8 mm, delta_0 = 2e-7 T^0.81/P at 20 degC: beta = 2.4e-8 kg/(m2 s Pa);
    # ISO 6946: R_si 0.13 m2 K/W.
    beta = 2.0e-7 * 293.15**0.81 / 101325.0 / 0.008
    assert Indoor().vapour_transfer == pytest.approx(beta, rel=0.05)
    assert 1.0 / Indoor().heat_transfer == pytest.approx(0.13)


@pytest.mark.parametrize(
    ("film", "resistance", "s_d"),
    # ISO 6946: R_si 0.10 (heat flows up) and 0.17 m2 K/W (down); draft of EN 15026: s_d 4 mm and 30 mm.
    [(CEILING, 0.10, 0.004), (FLOOR, 0.17, 0.03)],
)
def test_inner_films_of_roof_and_floor(film, resistance, s_d):
    assert 1.0 / film.heat_transfer == pytest.approx(resistance)
    assert film.vapour_transfer == pytest.approx(2.0e-7 * 293.15**0.81 / 101325.0 / s_d, rel=0.01)


@pytest.mark.parametrize(
    ("bedrooms", "production"),
    # ANSI/ASHRAE 160 (from memory): moisture production of a dwelling [kg/s], rounded to 0.1e-4;
    # 8, 12, 14 and 15 kg a day.
    [(1, 0.9e-4), (2, 1.4e-4), (3, 1.6e-4), (4, 1.7e-4)],
)
def test_moisture_production_of_dwellings(bedrooms, production):
    assert dwelling_production(bedrooms) == pytest.approx(production, abs=0.06e-4)


@pytest.mark.parametrize("outside", [-15.0, 5.0])
def test_intermediate_method_of_ashrae_160(outside):
    # ANSI/ASHRAE 160 (from memory): p_i = p_o,24h + c m/Q, c = 1.36e5 Pa m3/kg, m in kg/s, Q in m3/s.
    model = MoistureBalance(production=1.4e-4, volume=300.0, air_changes=0.2 / 3600.0)
    f = Indoor(model).forcing(MARKS, Physics(), Chamber(outside + 273.15, 0.6))
    above = f.vapour_pressure[0] - 0.6 * float(saturation(outside + 273.15))
    assert above == pytest.approx(1.36e5 * 1.4e-4 / (300.0 * 0.2 / 3600.0), rel=2e-3)


# -- Perez et al. (1990), written out here once more --------------------------------------------------------

#: Coefficients F11 F12 F13 F21 F22 F23 by clearness bin. Source: R. Perez, P. Ineichen, R. Seals,
#: J. Michalsky, R. Stewart, Solar Energy 44 (1990), table 6 (from memory).
PEREZ = np.array(
    [
        [-0.008, 0.588, -0.062, -0.060, 0.072, -0.022],
        [0.130, 0.683, -0.151, -0.019, 0.066, -0.029],
        [0.330, 0.487, -0.221, 0.055, -0.064, -0.026],
        [0.568, 0.187, -0.295, 0.109, -0.152, -0.014],
        [0.873, -0.392, -0.362, 0.226, -0.462, 0.001],
        [1.132, -1.237, -0.412, 0.288, -0.823, 0.056],
        [1.060, -1.600, -0.359, 0.264, -1.127, 0.131],
        [0.678, -0.327, -0.250, 0.156, -1.377, 0.251],
    ]
)


def perez(zenith, sun_azimuth, dni, dhi, extra, tilt, azimuth, ground):
    """Total irradiance of a plane [W/m2], all angles in degrees; plain transcription of the paper."""
    z, b = np.radians(zenith), np.radians(tilt)
    towards = np.cos(z) * np.cos(b) + np.sin(z) * np.sin(b) * np.cos(np.radians(sun_azimuth - azimuth))
    clear = ((dhi + dni) / dhi + 1.041 * z**3) / (1.0 + 1.041 * z**3)
    k = np.digitize(clear, [1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2])
    f = PEREZ[k]
    airmass = 1.0 / (np.cos(z) + 0.50572 * (96.07995 - zenith) ** -1.6364)
    bright = dhi * airmass / extra
    f1 = np.maximum(f[:, 0] + f[:, 1] * bright + f[:, 2] * z, 0.0)
    f2 = f[:, 3] + f[:, 4] * bright + f[:, 5] * z
    around = np.maximum(towards, 0.0) / np.maximum(np.cos(z), np.cos(np.radians(85.0)))
    sky = dhi * ((1.0 - f1) * (1.0 + np.cos(b)) / 2.0 + f1 * around + f2 * np.sin(b))
    below = (dni * np.cos(z) + dhi) * ground * (1.0 - np.cos(b)) / 2.0
    return dni * np.maximum(towards, 0.0) + np.maximum(sky, 0.0) + below


@pytest.mark.parametrize(("tilt", "azimuth"), [(90.0, 0.0), (90.0, 180.0), (90.0, 250.0), (35.0, 140.0)])
def test_sun_on_a_plane_against_perez_1990(tilt, azimuth):
    time = np.arange("2021-01-01T01", "2022-01-01T01", dtype="datetime64[h]").astype("datetime64[s]")
    flat = np.full(len(time), 0.5)
    place = Climate("yard", 52.0, 10.0, 50.0, 1.0, time, 280.0 + flat, flat)
    zenith, sun = sun_position(time, place)
    rng = np.random.default_rng(5)
    cosz = np.maximum(np.cos(np.radians(zenith)), 0.0)
    dni = np.where(cosz > 0.0, 800.0 * rng.random(len(time)) ** 2, 0.0)
    dhi = (20.0 + 200.0 * rng.random(len(time))) * (cosz > 0.0)
    got, _ = plane_irradiance(
        time, place, dni, dhi, dni * cosz + dhi, azimuth=azimuth, tilt=tilt, ground_reflectance=0.2
    )
    day = (time.astype("M8[D]") - np.datetime64("2021-01-01")).astype(int) + 1.0
    g = 2.0 * np.pi * (day - 1.0) / 365.0  # distance of the sun after Spencer (1971)
    extra = 1366.1 * (
        1.00011 + 0.034221 * np.cos(g) + 0.00128 * np.sin(g) + 0.000719 * np.cos(2 * g) + 7.7e-05 * np.sin(2 * g)
    )
    up = zenith < 88.0
    want = perez(zenith[up], sun[up], dni[up], dhi[up], extra[up], tilt, azimuth, 0.2)
    assert up.sum() > 4000
    assert np.allclose(got[up], want, rtol=1e-9, atol=1e-9)


def test_sun_on_a_south_wall_in_winter_and_summer_by_geometry():
    # Beam alone, noon of the sun at 50 N: altitude 16.6 degrees at the winter and 63.4 at the summer solstice
    # (90 - latitude -+ 23.44, refraction below 0.06); a south wall gets cos(altitude) of the beam.
    time = np.arange("2021-01-01T01", "2022-01-01T01", dtype="datetime64[h]").astype("datetime64[s]")
    n = len(time)
    c = Climate("yard", 50.0, 15.0, 0.0, 1.0, time, np.full(n, 280.0), np.full(n, 0.5))
    wall = {}
    for day in ("2021-12-21", "2021-06-21"):
        dni = np.where(time.astype("M8[D]") == np.datetime64(day), 500.0, 0.0)
        total, _ = plane_irradiance(time, c, dni, np.zeros(n), None, azimuth=180.0, tilt=90.0, ground_reflectance=0.0)
        wall[day] = total.max()
    assert wall["2021-12-21"] == pytest.approx(500.0 * np.cos(np.radians(16.6)), rel=0.01)
    assert wall["2021-06-21"] == pytest.approx(500.0 * np.cos(np.radians(63.4)), rel=0.03)


def test_vapour_transfer_follows_the_lewis_relation():
    # beta = 7e-9 h_c, the rounded form in common use (from memory): 4 + 4 x 5 = 24 W/(m2 K) gives 1.68e-7.
    n = 48
    time = np.datetime64("2021-01-01T01", "s") + np.arange(n) * np.timedelta64(3600, "s")
    c = Climate("yard", 50.0, 15.0, 0.0, 1.0, time, np.full(n, 280.0), np.full(n, 0.5), wind_speed=np.full(n, 5.0))
    f = Outdoor(c, Exposure(wind_factor=1.0)).forcing(time[:24], Physics())
    assert np.allclose(f.vapour_transfer, 1.68e-7, rtol=1e-12, atol=0.0)
