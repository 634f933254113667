"""Moving air and rain inside the wall against closed forms, balances written out and the published source model."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drydown import (
    Assembly,
    Case,
    Chamber,
    Initial,
    InputError,
    Layer,
    Material,
    Numerics,
    Physics,
    Wetting,
    dryout,
    simulate,
)
from drydown.case.air_leakage import Leakage, LeakPath, screening_deposit
from drydown.case.loads import AirLeak, AirStream, RainShare, VentilatedGap
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from scipy.optimize import brentq

START = np.datetime64("2001-01-01T00", "s")
C_AIR, RATIO, R_AIR = 1006.0, 0.622 / 101325.0, 287.055


def stuff(delta: float = 2e-11, conductivity: float = 0.04, name: str = "fibre", light: bool = True) -> Material:
    return Material(
        name=name,
        density=20.0,
        heat_capacity=100.0 if light else 1000.0,
        conductivity=lambda w: conductivity + 0.0 * w,
        storage=lambda phi: 0.5 * phi,
        permeability=lambda phi: delta + 0.0 * phi,
        permeability_temperature=lambda t: 1.0 + 0.0 * t,
        saturation=300.0,
    )


def days(n: float) -> np.datetime64:
    return START + np.timedelta64(round(n * 24), "h")


def steady(case: Case):
    return simulate(case).isel(time=-1)


def exponential(g: float, by: float, outer: float, inner: float, before: np.ndarray, total: float) -> np.ndarray:
    """State behind the resistance `before` of `total` with a flow g carrying `by` per unit.

    The closed form of -(1/R) dy + g by y = const.
    """
    x = g * by
    return outer + (inner - outer) * np.expm1(x * before) / np.expm1(x * total)


@pytest.mark.parametrize("g", [-2e-4, -2e-5, 3e-5, 3e-4])
def test_heat_profile_of_steady_flow(g):
    h = 10.0
    wall = Assembly((Layer(stuff(), 0.2, cells=120),))
    dry = 1e-4  # relative humidity: the vapour carries nothing
    case = Case(
        wall,
        Chamber(268.15, dry, heat_transfer=h),
        Chamber(293.15, dry, heat_transfer=h),
        START,
        days(20),
        initial=Initial(280.0, dry),
        physics=Physics(latent_heat=0.0, vapour_heat_capacity=0.0),
        loads=(AirStream(((START, g),)),),
    )
    ds = steady(case)
    before = 1.0 / h + ds["x"].values / 0.04
    exact = exponential(g, C_AIR, 268.15, 293.15, before, 2.0 / h + 0.2 / 0.04)
    worst = float(np.max(np.abs(ds["temperature"].values - exact)))
    print(f"flow {g:g} kg/(m2 s): worst cell {worst:.2e} K")
    assert worst < 1e-6


@pytest.mark.parametrize("g", [-4e-5, 2e-6])
def test_vapour_profile_of_steady_flow(g):
    """The flux between two cells is exact where the permeability is constant, on any mesh."""
    beta, delta = 2e-8, 2e-11
    worst = []
    for cells in (5, 40):
        wall = Assembly((Layer(stuff(delta), 0.2, cells=cells),))
        case = Case(
            wall,
            Chamber(293.15, 0.3, vapour_transfer=beta),
            Chamber(293.15, 0.8, vapour_transfer=beta),
            START,
            days(20),
            initial=Initial(293.15, 0.5),
            # nothing but vapour: its heat would warm the wall
            physics=Physics(latent_heat=0.0, vapour_heat_capacity=0.0),
            loads=(AirStream(((START, g),)),),
        )
        ds = steady(case)
        p = Physics().saturation_pressure(np.array([293.15]))[0]
        before = 1.0 / beta + ds["x"].values / delta
        exact = exponential(g, RATIO, 0.3 * p, 0.8 * p, before, 2.0 / beta + 0.2 / delta)
        worst.append(float(np.max(np.abs(ds["relative_humidity"].values - exact / p))))
    print(f"flow {g:g} kg/(m2 s): worst humidity {worst}")
    assert max(worst) < 1e-6


def gap_wall() -> Assembly:
    """Two leaves and a gap so open that its air is mixed."""
    air = stuff(1e-8, 50.0, "air")
    leaf = stuff(2e-12, 0.2, "leaf")
    return Assembly((Layer(leaf, 0.02, "leaf", 10), Layer(air, 0.03, "gap", 6), Layer(leaf, 0.04, "back", 10)))


@pytest.mark.parametrize("side", ["outside", "inside"])
def test_gap_balance(side):
    """Temperature and vapour pressure of a ventilated gap from its steady balance."""
    n, beta, h = 20.0 / 3600.0, 2e-8, 10.0
    warm = Chamber(295.15, 0.3, h, beta)
    cold = Chamber(268.15, 0.7, h, beta)
    case = Case(
        gap_wall(), cold, warm, START, days(30), initial=Initial(280.0, 0.5), loads=(VentilatedGap("gap", n, side),)
    )
    ds = steady(replace(case, physics=Physics(latent_heat=0.0, vapour_heat_capacity=0.0, water_heat_capacity=1e-9)))
    gap = ds["layer_of_cell"].values == "gap"
    half = 0.015
    air = 101325.0 / (R_AIR * (268.15 if side == "outside" else 295.15)) * n * 0.03
    u_out = 1.0 / (1.0 / h + 0.02 / 0.2 + half / 50.0)
    u_in = 1.0 / (1.0 / h + 0.04 / 0.2 + half / 50.0)
    t_air = 268.15 if side == "outside" else 295.15
    t = (u_out * 268.15 + u_in * 295.15 + air * C_AIR * t_air) / (u_out + u_in + air * C_AIR)
    ps = Physics().saturation_pressure
    p_out, p_in = 0.7 * ps(np.array([268.15]))[0], 0.3 * ps(np.array([295.15]))[0]
    z_out = 1.0 / (1.0 / beta + 0.02 / 2e-12 + half / 1e-8)
    z_in = 1.0 / (1.0 / beta + 0.04 / 2e-12 + half / 1e-8)
    p_air = p_out if side == "outside" else p_in
    p = (z_out * p_out + z_in * p_in + air * RATIO * p_air) / (z_out + z_in + air * RATIO)
    got_t = float(np.mean(ds["temperature"].values[gap]))
    vapour = ds["relative_humidity"].values * ps(ds["temperature"].values)
    got_p = float(np.mean(vapour[gap]))
    print(f"gap open to {side}: {got_t:.3f} K for {t:.3f}, {got_p:.2f} Pa for {p:.2f}")
    assert got_t == pytest.approx(t, abs=0.02)
    assert got_p == pytest.approx(p, rel=2e-3)


def test_gap_driven_by_buoyancy():
    """The air change and the temperature of the gap from one fixed point."""
    h, height, zeta, to, ti = 10.0, 2.5, 8.0, 263.15, 295.15
    case = Case(
        gap_wall(),
        Chamber(to, 1e-4, h),
        Chamber(ti, 1e-4, h),
        START,
        days(30),
        initial=Initial(280.0, 1e-4),
        loads=(VentilatedGap("gap", height=height, loss_coefficient=zeta),),
    )
    ds = simulate(case)
    u_out = 1.0 / (1.0 / h + 0.02 / 0.2 + 0.015 / 50.0)
    u_in = 1.0 / (1.0 / h + 0.04 / 0.2 + 0.015 / 50.0)

    def off(t: float) -> float:
        v = np.sqrt(2.0 * 9.80665 * height * (t - to) / to / zeta)
        m = 101325.0 / (R_AIR * to) * v / height * 0.03
        return u_out * (to - t) + u_in * (ti - t) + m * C_AIR * (to - t)

    t = brentq(off, to + 1e-9, ti)
    gap = ds["layer_of_cell"].values == "gap"
    got = float(ds["temperature"].isel(time=-1).values[gap].mean())
    print(f"driven gap: {got - to:.4f} K above outside, balance {t - to:.4f} K")
    assert got - to == pytest.approx(t - to, rel=5e-3)


def test_gap_driven_by_wind():
    """Without warmth in the gap the air change follows from the wind alone."""
    c = climate("saltreed")
    start = c.start.astype("datetime64[D]").astype("datetime64[s]")
    outside = Outdoor(c, Exposure(azimuth=0.0))
    gap = VentilatedGap("gap", height=2.5, pressure_coefficient=0.2, loss_coefficient=8.0)
    case = Case(gap_wall(), outside, Indoor(FromOutdoor()), start, start + np.timedelta64(5, "D"), loads=(gap,))
    from drydown.lowering.problem import lower

    loads = lower(case).forcing.loads
    wind = 0.72 * c.at_marks(case.marks).wind_speed
    expected = np.sqrt(0.2 * wind**2 / 8.0) / 2.5  # v = sqrt(2 dp/(rho zeta)), dp = dCp rho U2/2
    assert np.sqrt(loads.gap_wind[:, 0]) == pytest.approx(expected, rel=1e-12)


def test_screening_leak_is_the_published_source():
    c = climate("fernmoor")
    start = c.start.astype("datetime64[D]").astype("datetime64[s]")
    wall = Assembly((Layer(material("OSB"), 0.012, "sheathing"), Layer(material("mineral wool"), 0.2, "insulation")))
    leak = AirLeak(Leakage.from_q(3.0 / 3600.0), layer="sheathing", place="inner", depth=1e-6, connected_height=5.0)
    inside = Chamber(294.15, 0.5)
    case = Case(wall, Outdoor(c), inside, start, start + np.timedelta64(30, "D"), loads=(leak,))
    ds = simulate(case)
    at = int(np.flatnonzero(ds["layer_of_cell"].values == "sheathing")[-1])
    hours = c.at_marks(ds["time"].values.astype("datetime64[s]"))
    p_in = 0.5 * Physics().saturation_pressure(np.array([294.15]))[0]
    rate = screening_deposit(0.007 / 3600.0, 294.15, p_in, ds["temperature"].values[:, at], hours.temperature, 5.0)
    expected = np.sum(0.5 * (rate[1:] + rate[:-1])) * 3600.0
    brought = float(ds["load_water"][-1, 0])
    print(f"leaking air left {1e3 * brought:.2f} g/m2, the source model says {1e3 * expected:.2f}")
    assert brought > 0.01
    assert brought == pytest.approx(expected, rel=2e-3)


def test_rain_share_is_taken_or_refused():
    wall = Assembly((Layer(material("fibre cement"), 0.01, "board"), Layer(material("OSB"), 0.012, "sheathing")))
    outside = Chamber(283.15, 0.8, rain=1e-4)
    case = Case(wall, outside, Chamber(293.15, 0.5), START, days(1), loads=(RainShare("sheathing", 0.01, "whole"),))
    ds = simulate(case)
    assert float(ds["load_water"][-1, 0]) == pytest.approx(1e-6 * 86400.0, rel=1e-9)
    assert float(ds["load_refused"][-1, 0]) == pytest.approx(0.0, abs=1e-12)
    flooded = replace(case, end=days(10), loads=(RainShare("sheathing", 1.0, "whole"),))
    ds = simulate(flooded)
    taken, refused = float(ds["load_water"][-1, 0]), float(ds["load_refused"][-1, 0])
    assert taken + refused == pytest.approx(1e-4 * 864000.0, rel=1e-9)
    assert refused > taken > 5.0
    sheathing = ds["layer_of_cell"].values == "sheathing"
    over = (ds["water_content"].values - ds["saturation"].values)[:, sheathing]
    assert np.max(over) < 5.0  # kg/m3


def test_path_ends_in_the_gap():
    """Air that leaves through a gap crosses the faces behind it and not those in front; every layer balances."""
    stream = AirStream(((START, -1e-5),), layer="gap")
    case = Case(gap_wall(), Chamber(268.15, 0.8), Chamber(293.15, 0.5), START, days(5), loads=(stream,))
    ds = simulate(case)
    carried = ds["convected_vapour_passed"].values[-1]
    assert carried[0] == 0.0 and carried[1] == 0.0  # outer surface, inner face of the leaf
    assert carried[2] < 0.0 and carried[3] < 0.0
    passed = (ds["vapour_passed"] + ds["liquid_passed"] + ds["convected_vapour_passed"]).values
    net = passed[:, :-1] - passed[:, 1:]
    net[:, 1] += ds["load_water"].values[:, 0]
    stored = ds["layer_water"].values - ds["layer_water"].values[0]
    assert np.max(np.abs(net - stored)) < 1e-9


def test_yearly_wetting():
    event = Wetting("a", 0.1, np.datetime64("2004-02-29T06"), 3600.0, yearly=True)
    starts = event.starts(np.datetime64("2007-06-01", "s"))
    assert [str(s) for s in starts] == [
        "2004-02-29T06:00:00",
        "2005-02-28T06:00:00",
        "2006-02-28T06:00:00",
        "2007-02-28T06:00:00",
    ]
    wall = Assembly((Layer(material("OSB"), 0.012, "a"),))
    case = Case(
        wall,
        Chamber(283.15, 0.6),
        Chamber(293.15, 0.5),
        np.datetime64("2004-02-01"),
        np.datetime64("2006-04-01"),
        (event,),
        numerics=Numerics(output_every=86400.0),
    )
    ds = simulate(case)
    assert float(ds["water_added"][-1, 0]) == pytest.approx(0.3, abs=1e-12)
    trial = dryout(case)
    assert trial.attrs["amount"] == pytest.approx(0.3)
    assert (
        0.0 < trial.attrs["days_to_50_percent_dry"] < trial.attrs["days_to_90_percent_dry"] < 34.0
    )  # after the last one


def test_trial_counts_every_way_out():
    c = climate("fernmoor")
    start = c.start.astype("datetime64[D]").astype("datetime64[s]") + np.timedelta64(300, "D")
    wall = Assembly(
        (
            Layer(material("spruce cladding"), 0.021, "cladding"),
            Layer(material("air gap 25 mm"), 0.025, "gap"),
            Layer(material("OSB"), 0.012, "sheathing"),
            Layer(material("mineral wool"), 0.14, "insulation"),
            film("polyethylene 0.15 mm"),
            Layer(material("gypsum board"), 0.0125, "lining"),
        )
    )
    case = Case(
        wall,
        Outdoor(c),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(200, "D"),
        (Wetting("sheathing", 1.0, start + np.timedelta64(5, "D")),),
    )
    still = dryout(case)
    moved = dryout(replace(case, loads=(VentilatedGap("gap", 30.0 / 3600.0),)))
    for trial in (still, moved):
        gap = trial["added"] - trial["excess"] - trial["left"].sum("way")
        assert float(np.max(np.abs(gap))) < 1e-9
    assert list(still["way"].values) == ["outer surface, vapour", "outer surface, liquid", "inner surface"]
    last = moved["left"].isel(time=-1)
    assert float(last.sel(way="ventilation of gap")) > 0.5 * float(last.sum())
    assert bool(moved["outward"].sel(way="ventilation of gap"))
    # common practice: a ventilated cavity helps the sheathing dry
    assert moved.attrs["remaining"] < still.attrs["remaining"]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: VentilatedGap("gap"), "give air_changes"),
        (lambda: VentilatedGap("gap", 2.0), "air_changes is 2 1/s"),
        (lambda: VentilatedGap("gap", 0.01, "both"), "use 'outside' or 'inside'"),
        (lambda: AirLeak(Leakage.from_q(3.0 / 3600.0)), "say in which layer"),
        (lambda: AirLeak(Leakage.from_q(9.0 / 3600.0), layer="x"), "the screening source ends at 5"),
        (lambda: AirLeak(Leakage.from_q(3.0 / 3600.0), way="wind", layer="x"), "use 'screening' or 'flow'"),
        (lambda: AirStream(()), "at least one point"),
        (lambda: AirStream(((START, 1.0),)), "between -0.1 and 0.1"),
        (lambda: AirStream(((START, 1e-5), (START, 2e-5))), "does not come after"),
        (lambda: RainShare("x", 2.0), "1 % is 0.01"),
        (lambda: RainShare("x", 0.1, "middle"), "use 'whole', 'outer' or 'inner'"),
    ],
)
def test_bad_loads_say_what_would_be_right(make, words):
    with pytest.raises(InputError, match=words):
        make()


def test_loads_that_cannot_act_here():
    case = Case(gap_wall(), Chamber(268.15, 0.8, sealed=True), Chamber(293.15, 0.5), START, days(1))
    with pytest.raises(InputError, match="no layer is called 'gup'"):
        replace(case, loads=(VentilatedGap("gup", 0.01),))
    with pytest.raises(InputError, match="no air can pass"):
        simulate(replace(case, loads=(AirStream(((START, 1e-5),)),)))
    with pytest.raises(InputError, match="climate with wind"):
        simulate(replace(case, loads=(VentilatedGap("gap", height=2.0, pressure_coefficient=0.2),)))
    with pytest.raises(InputError, match="two of them in this layer"):
        simulate(replace(case, loads=(VentilatedGap("gap", 0.01), VentilatedGap("gap", 0.02))))
    stack = AirLeak(Leakage.from_q(1.0 / 3600.0), LeakPath(height=2.0), "flow")
    ds = simulate(replace(case, outside=Chamber(268.15, 0.8), loads=(stack,)))
    assert "stack and fan pressure alone" in ds.attrs["note_leak"]
    assert float(ds["convected_vapour_passed"][-1, -1]) < 0.0  # warm air leaks outward above the neutral level
