"""The ground under a slab: late, damped, wet; a slab on it runs."""

import drydown_climates
import numpy as np
import pytest
from drydown.case.assembly import Assembly, Layer
from drydown.case.case import Case, Initial
from drydown.case.sides import AIR, SURFACE, Physics
from drydown.climate.model import HOUR, Climate
from drydown.errors import InputError
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown.sides.ground import CLAY, ROCK, SAND, Ground, annual_wave, damping_depth
from drydown.sides.indoor import FLOOR, Constant, FromOutdoor, Indoor

MARKS = np.arange("2021-01-01", "2023-01-01", dtype="M8[h]").astype("M8[s]")
PHYSICS = Physics()
WAVE = dict(mean=281.15, amplitude=10.0, coldest_day=20.0)


@pytest.mark.parametrize(("soil", "depth"), [(CLAY, 2.2), (SAND, 3.2), (ROCK, 4.2)])
def test_damping_depths_are_those_of_iso_13370(soil, depth):
    # ISO 13370, periodic penetration depth: clay, silt 2.2 m, sand, gravel 3.2 m, rock 4.2 m (from memory).
    assert damping_depth(soil) == pytest.approx(depth, abs=0.05)


def test_the_wave_obeys_the_equation_of_heat():
    # dT/dt = a d2T/dz2 by differences, at 1.5 m of depth; a sine of the year is smooth on 1 day and 1 cm.
    a, dz = SAND, 0.01
    t = MARKS[24::24]

    def at(depth, shift=0):
        return Ground(depth=depth, diffusivity=a, **WAVE).temperature(t + shift * 24 * HOUR)

    rate = (at(1.5, 1) - at(1.5, -1)) / (2 * 86400.0)
    bend = (at(1.5 + dz) - 2 * at(1.5) + at(1.5 - dz)) / dz**2
    assert np.allclose(rate, a * bend, atol=2e-4 * np.abs(rate).max())


def test_depth_damps_and_delays():
    top, deep = (Ground(depth=z, **WAVE) for z in (0.0, damping_depth(CLAY)))
    t0, t1 = top.temperature(MARKS), deep.temperature(MARKS)
    assert np.ptp(t0) == pytest.approx(20.0, rel=1e-3) and t0.mean() == pytest.approx(281.15, abs=0.02)
    assert np.ptp(t1) / np.ptp(t0) == pytest.approx(np.exp(-1.0), rel=1e-3)
    year = 8766
    first, second = t0[:year].argmin(), t1[:year].argmin()
    assert first / 24.0 + 1.0 == pytest.approx(20.0, abs=0.3)
    assert (second - first) / 24.0 == pytest.approx(365.25 / (2 * np.pi), abs=0.5)  # one radian


def test_the_wave_of_a_climate_is_found_again():
    time = np.datetime64("2021-01-01", "s") + np.arange(1, 4 * 8766 - 15) * HOUR
    time = time[time <= np.datetime64("2024-01-01", "s")]
    day = (time - HOUR // 2 - np.datetime64("2021-01-01", "s")) / np.timedelta64(86400, "s") + 1.0
    t = 279.0 - 12.0 * np.cos(2 * np.pi * (day - 31.0) / 365.25) + 4.0 * np.cos(2 * np.pi * day)
    c = Climate("yard", 50.0, 15.0, 0.0, 1.0, time, t, np.full(len(t), 0.8))
    assert annual_wave(c) == pytest.approx((279.0, 12.0, 31.0), abs=0.05)
    ground = Ground(c, depth=0.5, mean=283.0)
    assert ground.wave() == pytest.approx((283.0, 12.0, 31.0), abs=0.05)
    assert "coldest on day 44" in ground.describe()  # 0.5 m in 2.24 m is 0.223 rad or 13 days later


def test_contact_and_a_layer_between():
    f = Ground(humidity=0.98, **WAVE).forcing(MARKS, PHYSICS)
    assert f.kind == SURFACE and not f.rain.any() and f.emissivity == 0.0
    assert np.allclose(f.vapour_pressure, 0.98 * saturation(f.temperature))
    f = Ground(conductance=2.0, vapour_transfer=1e-9, **WAVE).forcing(MARKS, PHYSICS)
    assert f.kind == AIR and np.allclose(f.heat_transfer, 2.0)
    assert np.allclose(f.vapour_transfer, 1e-9, rtol=1e-12, atol=0.0)


def test_indoor_air_follows_the_climate_not_the_ground():
    c = drydown_climates.catalogue()["fernmoor"]()
    f = Indoor(FromOutdoor(), *FLOOR).forcing(MARKS, PHYSICS, Ground(c, depth=1.0))
    summer = f.temperature[(MARKS.astype("M8[M]").astype(int) % 12) == 6]
    assert summer.max() > 295.0  # the ground never is so warm
    assert np.allclose(f.heat_transfer, 1 / 0.17)
    with pytest.raises(InputError, match="give the ground a climate"):
        Indoor(FromOutdoor()).forcing(MARKS, PHYSICS, Ground(**WAVE))


def test_a_slab_runs_and_its_warm_side_stays_drier():
    from drydown import simulate
    from drydown.plugins import material

    slab = Assembly(
        (
            Layer(material("expanded polystyrene"), 0.15),
            Layer(material("concrete"), 0.10),
        ),
        "slab",
    )
    case = Case(
        slab,
        Ground(**WAVE),
        Indoor(Constant(), *FLOOR),
        np.datetime64("2021-01-01"),
        np.datetime64("2021-03-01"),
        initial=Initial(288.15, 0.7),
    )
    out = simulate(case)
    assert abs(out.attrs["water_closure_total"]) < 1e-9
    last = out.isel(time=-1)
    assert float(last["relative_humidity"][0]) > 0.95
    ground = Ground(**WAVE).temperature(np.array(["2021-03-01"], "M8[s]"))[0]
    assert float(last["temperature"][0]) == pytest.approx(ground, abs=0.2)


def test_moist_soil_has_the_humidity_of_its_suction():
    """Kelvin's law, written here anew: 33 kPa at field capacity, 1.5 MPa where plants wilt."""
    vapour, temperature, density = 8.314462 / 0.0180153, 283.15, 1000.0
    for suction, humidity in ((33e3, Ground(**WAVE).humidity), (1.5e6, 0.99)):
        assert np.exp(-suction / (density * vapour * temperature)) == pytest.approx(humidity, abs=2e-3 * suction / 1e6)
    assert "99.98 %" in Ground(**WAVE).describe()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Ground(), "give a climate, or all of mean, amplitude and coldest_day"),
        (lambda: Ground(mean=8.0, amplitude=5.0, coldest_day=20.0), "8 degC is 281.15 K"),
        (lambda: Ground(humidity=99.0, **WAVE), "write it as a fraction, 0.99"),
        (lambda: Ground(depth=-1.0, **WAVE), "depth is -1 m; it must lie between 0 and 100"),
        (lambda: Ground(conductance=0.0, **WAVE), "conductance is 0 W/(m2 K)"),
    ],
)
def test_refusals(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)
