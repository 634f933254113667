"""Loads through the whole engine against closed forms and published models, each with its source.

The formulas are written out here once more; nothing of the engine's own load code is called.
"""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, simulate
from drydown.airtightness import Leakage, LeakPath
from drydown.climate import HOUR, Climate
from drydown.exposure import Exposure, Outdoor
from drydown.indoor import Constant, Indoor
from drydown.loads import AirLeak, AirStream, RainShare, VentilatedGap
from drydown.plugins import material

R_V, R_A, P = 461.5, 287.055, 101325.0
#: Temperature of cup tests [K], at which permeabilities are stated.
CUP = 296.15
START = np.datetime64("2022-01-01")


def p_sat(celsius):
    """Saturation pressure of ISO 13788 [Pa]."""
    a, b = (17.269, 237.3) if celsius >= 0.0 else (21.875, 265.5)
    return 610.5 * np.exp(a * celsius / (b + celsius))


def run(parts, outside, inside, loads, days=20, start=0.6, temperature=293.15):
    case = Case(
        Assembly(tuple(parts)),
        outside,
        inside,
        START,
        START + np.timedelta64(days, "D"),
        initial=Initial(temperature, start),
        loads=loads,
    )
    return simulate(case)


def rate(ds, name, **where):
    """Mean over the last day [per s]."""
    values = ds[name].isel(**where).values
    return (values[-1] - values[-25]) / 86400.0


def film(permeance):
    return Film("of the test", lambda phi: np.full_like(np.asarray(phi, dtype=float), permeance))


AIR_GAP = material("air gap 25 mm")
WOOL = material("mineral wool")


def wool_resistance(thickness):
    return thickness / float(np.asarray(WOOL.permeability(np.array([0.5])))[0])


def test_a_gap_carries_away_what_the_balance_of_its_air_says():
    # Mass balance of mixed air, n d (p_g - p_o)/(R_v T) = (p_i - p_g)/Z, isothermal: p_g in closed form. Nothing
    # passes the outer surface, so all that leaves is the gap's. One cell: its air is in the middle of the gap.
    n, d, permeance, beta = 20.0 / 3600.0, 0.025, 2.0e-10, 2.5e-8
    p_o, p_i = 0.3 * p_sat(23.0), 0.7 * p_sat(23.0)
    half = 0.5 * d / float(np.asarray(AIR_GAP.permeability(np.array([0.5])))[0])
    z = half + 1.0 / permeance + wool_resistance(0.05) + 1.0 / beta
    c = n * d / (R_V * CUP)
    p_g = (c * p_o + p_i / z) / (c + 1.0 / z)
    want = c * (p_g - p_o)
    ds = run(
        [Layer(AIR_GAP, d, cells=1), film(permeance), Layer(WOOL, 0.05)],
        Chamber(CUP, 0.3, sealed=True),
        Chamber(CUP, 0.7, vapour_transfer=beta),
        (VentilatedGap("air gap 25 mm", n),),
        temperature=CUP,
    )
    assert -rate(ds, "load_water", load=0) == pytest.approx(want, rel=1e-3)
    assert -rate(ds, "vapour_passed", interface=-1) == pytest.approx(want, rel=1e-3)


@pytest.mark.parametrize("flow", [1e-5, 1e-4, -1e-4, -1e-3])
def test_flow_and_diffusion_through_one_layer(flow):
    # Steady, isothermal: J = a (p_o e^Pe - p_i)/(e^Pe - 1), a = 0.622 g/P, Pe = a Z (advection and diffusion in one
    # dimension, as Patankar 1980, section 5.2, from memory). The air films are made thin.
    a = 0.622 * flow / P
    p_o, p_i = 0.3 * p_sat(23.0), 0.7 * p_sat(23.0)
    pe = a * (wool_resistance(0.2) + 2.0 / 1e-6)
    want = a * (p_o * np.exp(pe) - p_i) / np.expm1(pe)
    ds = run(
        [Layer(WOOL, 0.2)],
        Chamber(CUP, 0.3, vapour_transfer=1e-6),
        Chamber(CUP, 0.7, vapour_transfer=1e-6),
        (AirStream(((START, flow),)),),
        temperature=CUP,
    )
    for interface in (0, -1):
        passed = rate(ds, "vapour_passed", interface=interface) + rate(ds, "carried_passed", interface=interface)
        assert passed == pytest.approx(want, rel=3e-3)


def leaking(*parts):
    """Water that leaves the room with the air [g/(m2 h)]: 20 degC, 40 %, against -10 degC, 2 m above neutral."""
    ds = run(
        parts,
        Chamber(263.15, 0.5),
        Chamber(293.15, 0.4),
        (AirLeak(Leakage.from_q(3.0 / 3600.0), LeakPath(height=2.0), "flow"),),
        temperature=278.15,
    )
    return -3.6e6 * (rate(ds, "carried_passed", interface=-1) + rate(ds, "vapour_passed", interface=-1))


# ASHRAE Handbook Fundamentals 2021, ch. 16: 1.346 Pa/m of stack; q50 3 m3/(m2 h), n 0.65: 3 (2.692/50)^0.65 = 0.4495
# m3/(m2 h) of room air go out, and with each the vapour of 20 degC, 40 %, 934.8/(461.5 293.15) = 6.91 g/m3.
LEAKING = 3.106


def test_the_leak_by_hand():
    stack = 9.80665 * P / (R_A * 263.15) * 30.0 / 293.15
    out = 3.0 * (2.0 * stack / 50.0) ** 0.65
    vapour = 0.4 * p_sat(20.0) / (R_V * 293.15)
    assert (stack, out, vapour * out * 1e3) == pytest.approx((1.346, 0.4495, LEAKING), rel=2e-3)


def test_air_that_leaks_takes_the_vapour_of_the_room_along():
    # A film within the wall stops diffusion; the air that passes it is room air.
    assert leaking(Layer(WOOL, 0.1), film(1e-15), Layer(WOOL, 0.05, "inner wool")) == pytest.approx(LEAKING, rel=3e-3)


@pytest.mark.xfail(strict=True, reason="the kernel does not know a film at the surface where air passes it; reported")
def test_air_through_a_film_at_the_surface_is_room_air():
    assert leaking(Layer(WOOL, 0.1), film(1e-15)) == pytest.approx(LEAKING, rel=3e-3)


def test_the_screening_source_meets_the_layer_that_the_engine_found():
    # Kuenzel, Zirkelbach and Schafaczek (2012), from memory: S = k (c_i - c_sat(T)) (h/2) P_T, class B, 5 m.
    ds = run(
        [Layer(WOOL, 0.002, "cold"), Layer(WOOL, 0.14, "warm"), film(1e-13)],
        Chamber(263.15, 0.8),
        Chamber(293.15, 0.5),
        (AirLeak(Leakage.from_q(3.0 / 3600.0), way="screening", layer="cold", place="whole"),),
        days=5,
        temperature=270.0,
    )
    cold = ds["temperature"].isel(cell=np.flatnonzero(ds["layer_of_cell"].values == "cold")).mean("cell").values[-25:]
    stack = 9.80665 * P / (R_A * 263.15) * 30.0 / 293.15
    c_i = 0.5 * p_sat(20.0) / (R_V * 293.15)
    c_sat = np.array([p_sat(t - 273.15) / (R_V * t) for t in cold])
    want = 0.007 / 3600.0 * 2.5 * stack * np.mean(c_i - c_sat)
    assert 0.05 < want * 3.6e6 < 0.3  # g/(m2 h)
    assert rate(ds, "load_water", load=0) == pytest.approx(want, rel=1e-3)


def yard(**columns):
    n = 24 * 30
    time = START.astype("datetime64[s]") + np.arange(1, n + 1) * HOUR
    whole = {k: np.full(n, v) for k, v in ({"temperature": 283.15, "humidity": 0.7} | columns).items()}
    return Climate("yard", 50.0, 15.0, 0.0, 1.0, time, **whole)


def test_a_gap_that_wind_drives_changes_its_air_as_bernoulli_says():
    # dp = dC_p rho U^2/2 = zeta rho v^2/2, so v = U sqrt(dC_p/zeta), n = v/H: wind 5 m/s, factor 0.72, dC_p 0.2,
    # zeta 20, H 3 m: 3.6 x 0.1/3 = 0.12 1/s. The same wall with that as a constant air change behaves the same.
    climate = yard(wind_speed=5.0, wind_direction=0.0)
    outside = Outdoor(climate, Exposure(wind_factor=0.72))
    inside = Indoor(Constant(283.15, 0.5))  # as warm as outside: no buoyancy
    driven = VentilatedGap("air gap 25 mm", height=3.0, pressure_coefficient=0.2, loss_coefficient=20.0)
    parts = [Layer(material("spruce"), 0.02), Layer(AIR_GAP, 0.025), Layer(WOOL, 0.1)]
    by_wind, by_hand = (
        run(parts, outside, inside, (gap,), days=6, temperature=283.15)
        for gap in (driven, VentilatedGap("air gap 25 mm", 0.12))
    )
    a, b = (rate(ds, "load_heat", load=0) for ds in (by_wind, by_hand))
    assert a == pytest.approx(b, rel=0.02) and abs(a) > 1e-3
    assert np.abs(by_wind["relative_humidity"].values - by_hand["relative_humidity"].values).max() < 2e-4


def test_a_gap_that_warmth_drives():
    # v = sqrt(2 g H |T_g - T_o|/(T_o zeta)), n = v/H (stack pressure, ASHRAE Handbook Fundamentals 2021, ch. 16). With
    # the temperature of the gap that the engine finds, the heat that leaves is n d rho c (T_g - T_o).
    gap = VentilatedGap("air gap 25 mm", height=3.0, loss_coefficient=50.0)
    ds = run(
        [Layer(AIR_GAP, 0.025), Layer(WOOL, 0.05)],
        Chamber(263.15, 0.5, sealed=True, convection=1e-6),
        Chamber(293.15, 0.3, vapour_transfer=1e-15),
        (gap,),
        days=4,
        temperature=275.0,
    )
    cells = np.flatnonzero(ds["layer_of_cell"].values == "air gap 25 mm")
    t_g = float(ds["temperature"].isel(time=-1, cell=cells).weighted(ds["width"].isel(cell=cells)).mean())
    v = np.sqrt(2.0 * 9.80665 * 3.0 * (t_g - 263.15) / (263.15 * 50.0))
    want = v / 3.0 * 0.025 * P / (R_A * 263.15) * 1005.0 * (t_g - 263.15)
    assert t_g > 264.0
    assert -rate(ds, "load_heat", load=0) == pytest.approx(want, rel=0.02)


def test_a_share_of_the_rain():
    # 1 % of 1 mm/h: 0.24 kg/m2 in a day.
    ds = run(
        [Layer(material("spruce"), 0.02), Layer(WOOL, 0.1)],
        Chamber(283.15, 0.8, rain=1.0 / 3600.0),
        Chamber(293.15, 0.5),
        (RainShare("mineral wool", 0.01),),
        days=2,
    )
    assert rate(ds, "load_water", load=0) * 86400.0 == pytest.approx(0.24, rel=1e-9)
