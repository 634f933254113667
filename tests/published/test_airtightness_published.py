"""Blower door, stack, wind and leaks against published numbers, each with its source."""

import numpy as np
import pytest
from drydown.case.air_leakage import (
    SCREENING,
    Leakage,
    LeakPath,
    air_density,
    leak_flow,
    leak_pressure,
    pressure_coefficient,
    screening_class,
    screening_deposit,
    stack_gradient,
    wind_pressure,
)
from drydown.climate.model import HOUR, Climate
from drydown.errors import InputError
from drydown.moist_air import saturation_pressure_iso13788 as saturation

H = 3600.0  # flows per hour


@pytest.mark.parametrize(("outside", "want"), [(-30, 2.43), (-20, 1.87), (-10, 1.35), (0, 0.865), (10, 0.417)])
def test_stack_pressure_per_metre(outside, want):
    # ASHRAE Handbook Fundamentals 2021 (SI), ch. 16: g rho_o (T_i - T_o)/T_i at 20 degC inside, three digits
    # worked out from it with rho of dry air at 101325 Pa.
    got = float(stack_gradient(outside + 273.15, 293.15))
    assert got == pytest.approx(want, abs=0.5 * 10.0 ** (np.floor(np.log10(want)) - 2))


@pytest.mark.parametrize(("pressure", "ratio"), [(4, 0.194), (10, 0.351), (1, 0.0786), (75, 1.30)])
def test_flow_at_another_pressure(pressure, ratio):
    # ASHRAE Handbook Fundamentals 2021, ch. 16, eq. 40, Q = C dp^n with n = 0.65: Q/Q50.
    leak = Leakage.from_q(3.0 / H)
    assert leak.flow(50.0) * H == pytest.approx(3.0)
    assert leak.flow(pressure) * H / 3.0 == pytest.approx(ratio, rel=3e-3)


def test_n50_and_q50_of_one_house():
    # 3 air changes an hour of 400 m3 through 300 m2 are 4 m3/(m2 h).
    leak = Leakage.from_n50(3.0 / H, 400.0, 300.0)
    assert leak.coefficient == pytest.approx(Leakage.from_q(4.0 / H).coefficient)


def test_leakage_area():
    # ASHRAE Handbook Fundamentals 2021, ch. 16: A_L = 10 000 Q_r sqrt(rho/(2 dp_r))/C_D [cm2]; 1.0 m3/s at
    # 4 Pa, C_D 1, 1.2 kg/m3: 10 000 sqrt(1.2/8) = 3873 cm2; at 10 Pa, C_D 0.611: 4009 cm2.
    one = Leakage.from_q(0.01, 4.0)
    assert 100.0 * one.area(4.0) * 1e4 == pytest.approx(3873.0, abs=0.5)
    ten = Leakage.from_q(0.01, 10.0)
    assert 100.0 * ten.area(10.0, 0.611) * 1e4 == pytest.approx(4009.0, abs=0.5)


def test_an_assembly_by_its_figure_at_75_pa():
    # 0.2 L/(s m2) at 75 Pa is the common limit of an assembly (from memory); at 50 Pa it is 0.2/1.3 L/(s m2).
    assert Leakage.from_q(0.2e-3, 75.0).flow(50.0) == pytest.approx(0.2e-3 / 1.3015, rel=1e-3)


def test_wind_pressure():
    # ASHRAE Handbook Fundamentals 2021, ch. 16: rho U^2/2; 1.2 kg/m3 (20.9 degC) and 5 m/s: 15 Pa.
    assert float(air_density(294.0)) == pytest.approx(1.2, abs=2e-3)
    assert float(wind_pressure(5.0, 1.0, 294.0)) == pytest.approx(15.0, abs=0.02)
    # Low-rise: 0.6 windward, -0.3 leeward, -0.65 sides.
    got = pressure_coefficient(np.array([350.0, 170.0, 80.0, 260.0]), 350.0)
    assert got == pytest.approx([0.6, -0.3, -0.65, -0.65])


# -- over a period --------------------------------------------------------------------------------------


def yard(t, n=72, **wind):
    time = np.datetime64("2021-01-01", "s") + np.arange(1, n + 1) * HOUR
    columns = {k: np.full(n, v) for k, v in wind.items()}
    return Climate("yard", 50.0, 15.0, 0.0, 1.0, time, np.full(n, t), np.full(n, 0.8), **columns)


def test_warm_air_leaks_out_above_and_in_below_the_neutral_level():
    c = yard(263.15, wind_speed=0.0, wind_direction=0.0)
    room = np.full(72, 293.15)
    above, _ = leak_pressure(LeakPath(height=2.0), c, c.time, room)
    below, _ = leak_pressure(LeakPath(height=-2.0), c, c.time, room)
    assert np.allclose(above, -2.0 * 1.35, rtol=3e-3) and np.allclose(below, -above)
    leak = Leakage.from_q(3.0 / H)
    out, notes = leak_flow(leak, LeakPath(height=2.0), c, c.time, room)
    assert np.allclose(out * H, -3.0 * (2.7 / 50.0) ** 0.65, rtol=3e-3)
    assert notes["leak"] == "driven by stack and wind pressure"


def test_wind_blows_in_where_it_strikes_and_out_behind():
    c = yard(283.15, wind_speed=10.0, wind_direction=180.0)
    room = np.full(72, 283.15)
    dp = {
        a: leak_pressure(LeakPath(azimuth=a, wind_factor=0.5), c, c.time, room)[0][0] for a in (0.0, 90.0, 180.0, 270.0)
    }
    head = 0.5 * 1.2466 * 5.0**2  # dry air at 10 degC
    assert dp[180.0] == pytest.approx(0.85 * head, rel=1e-3)
    assert dp[0.0] == pytest.approx(-0.05 * head, rel=1e-3)
    # The inside takes the pressure at which the four walls add up to nothing.
    assert sum(dp.values()) == pytest.approx(0.0, abs=1e-9)
    sheltered, _ = leak_pressure(LeakPath(azimuth=180.0, wind_factor=0.5, shelter=0.5), c, c.time, room)
    assert sheltered[0] == pytest.approx(dp[180.0] / 4.0)


def test_fans_add_and_missing_wind_is_said():
    c = yard(273.15)
    room = np.full(72, 293.15)
    fan, notes = leak_pressure(LeakPath(height=0.0, mechanical=5.0), c, c.time, room)
    assert np.allclose(fan, 5.0) and "wind unavailable" in notes["leak"]
    c = yard(273.15, wind_speed=3.0)
    assert "wind direction unavailable" in leak_pressure(LeakPath(), c, c.time, room)[1]["leak"]


# -- screening source -----------------------------------------------------------------------------------


def test_screening_source_by_hand():
    # Kuenzel, Zirkelbach, Schafaczek (2012), from memory, class B, 0.007 m3/(m2 h Pa): inside 20 degC, 50 %,
    # outside -10 degC, layer at -5 degC, 5 m. c_i = 1168.5/(461.5 293.15) = 8.637 g/m3, c_sat(-5) =
    # 401.2/(461.5 268.15) = 3.242 g/m3, dP = 2.5 x 1.346 = 3.365 Pa: 0.1271 g/(m2 h).
    got = screening_deposit(SCREENING["B"], 293.15, 0.5 * saturation(293.15), 268.15, 263.15, 5.0)
    assert float(got) * H * 1e3 == pytest.approx(0.1271, abs=1e-4)


def test_no_deposit_on_a_warm_layer_or_against_the_stack():
    p = 0.5 * saturation(293.15)  # dew point 9.3 degC
    warm = screening_deposit(SCREENING["C"], 293.15, p, np.array([281.0, 282.5]), 263.15, 5.0)
    assert warm[0] > 0.0 and warm[1] == 0.0
    assert screening_deposit(SCREENING["C"], 293.15, p, 280.0, 300.0, 5.0) == 0.0


@pytest.mark.parametrize(("q50", "name"), [(0.6, "A"), (1.0, "A"), (1.1, "B"), (3.0, "B"), (5.0, "C")])
def test_classes_of_the_screening_source(q50, name):
    assert screening_class(q50 / H) == name


def test_a_small_hole_brings_far_more_water_than_diffusion():
    # Common practice: a hole of 25 x 25 mm in a sheet of 1.2 x 2.4 m. Its flow as an orifice (exponent 0.5,
    # C_D 0.6, 1.2 kg/m3) under the stack of 1 m at 0 degC outside; air of 20 degC, 40 %; a sheathing as cold
    # as outside takes what condenses. Diffusion through the same sheet with 57 ng/(Pa s m2), the limit of a
    # class II retarder (ICC).
    dp = float(stack_gradient(273.15, 293.15))
    leak = Leakage(0.6 * (0.025**2 / (1.2 * 2.4)) * (2.0 / 1.2) ** 0.5, 0.5)
    p = 0.4 * float(saturation(293.15))
    brought = p / (461.5 * 293.15) - float(saturation(273.15)) / (461.5 * 273.15)
    air = float(leak.flow(dp)) * brought
    diffusion = 57.0e-12 * (p - float(saturation(273.15)))
    assert air > 10.0 * diffusion


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Leakage.from_q(3.0), "the flow at 50 Pa is 10800 m3/(m2 h)"),
        (lambda: Leakage(1e-5, 0.3), "exponent is 0.3"),
        (lambda: Leakage.from_n50(1.0 / H, 0.0, 100.0), "volume is 0"),
        (lambda: screening_class(8.0 / H), "q50 is 8 m3/(m2 h); the screening source ends at 5"),
        (lambda: LeakPath(shelter=2.0), "shelter is 2"),
        (lambda: screening_deposit(1e-6, 293.0, 1000.0, 270.0, 263.0, 0.0), "connected height is 0 m"),
    ],
)
def test_refusals(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)
