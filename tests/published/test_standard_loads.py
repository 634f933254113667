"""Loads and indoor air of standards against values printed in them or beside them, each with its source."""

import drydown_climates
import numpy as np
import pytest
from drydown.case.assembly import Assembly, Layer
from drydown.case.drainage import held_back
from drydown.case.loads import VentilatedGap
from drydown.case.sides import Chamber, Physics
from drydown.case.surface_factor import (
    needed_factor,
    surface_factor,
    surface_humidity,
    surface_note,
    surface_temperature,
    thermal_resistance,
    warm_layers,
)
from drydown.climate.model import HOUR, Climate
from drydown.climate.roof_shade import SHADES
from drydown.climate.roof_snow import share_on_roof, snow_conductivity
from drydown.climate.solar import plane_irradiance
from drydown.criteria.limits import reserve_asked_for
from drydown.materials.curves import Constant as Flat
from drydown.materials.model import Material
from drydown.moist_air import saturation_pressure_iso13788 as saturation
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.ground_slab import (
    SOIL,
    SlabOnGround,
    characteristic_dimension,
    equivalent_thickness,
    periodic_transmittance,
    slab_transmittance,
)
from drydown.sides.indoor import Constant as Still
from drydown.sides.indoor import HumidityClass, Indoor
from drydown.sides.indoor_balance import dwelling_production
from drydown.sides.indoor_design import EXCESS, IntermediateHumidity, SimplifiedHumidity

MARKS = np.arange("2021-01-01", "2021-01-03", dtype="M8[h]").astype("M8[s]")
PHYSICS = Physics()


def inside(model, outdoors, humidity=0.8):
    return Indoor(model).forcing(MARKS, PHYSICS, Chamber(273.15 + outdoors, humidity))


# -- ANSI/ASHRAE 160 (figures from memory) ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("outdoors", "percent"), [(-25.0, 40.0), (-10.0, 40.0), (0.0, 50.0), (5.0, 55.0), (20.0, 70.0), (28.0, 70.0)]
)
def test_simplified_humidity(outdoors, percent):
    f = inside(SimplifiedHumidity(), outdoors)
    assert np.allclose(100.0 * f.vapour_pressure / saturation(f.temperature), percent, rtol=1e-9)


@pytest.mark.parametrize(
    ("outdoors", "heated", "cooled"),
    [(-5.0, 21.1, 21.1), (18.3, 21.1, 21.1), (20.0, 22.8, 22.8), (21.1, 23.9, 23.9), (27.0, 29.8, 23.9)],
)
def test_design_temperatures(outdoors, heated, cooled):
    for model, want in ((SimplifiedHumidity(), heated), (SimplifiedHumidity(cooled=True), cooled)):
        assert np.allclose(inside(model, outdoors).temperature, 273.15 + want, atol=0.011)


def test_intermediate_humidity_is_the_excess_of_a_dwelling():
    # Three bedrooms 14 kg a day are 1.6e-4 kg/s (table, two digits); 300 m3 at 0.2 changes an hour are 0.01667 m3/s:
    # 1.36e5 * 1.62e-4/0.01667 = 1322 Pa; airtight, twice that.
    production = dwelling_production(3)
    assert production == pytest.approx(1.6e-4, abs=0.05e-4)
    house = IntermediateHumidity(production, 300.0)
    above = inside(house, -5.0).vapour_pressure - 0.8 * saturation(268.15)
    assert np.allclose(above, 1322.0, atol=1.0)
    tight = IntermediateHumidity(production, 300.0, 0.1 / 3600.0)
    assert np.all(inside(tight, -5.0).vapour_pressure <= saturation(294.25) * (1.0 + 1e-12))
    # The constant is R_v T of the room, as the balance of ISO 13788 has it.
    assert pytest.approx(461.5 * 294.25, rel=2e-3) == EXCESS


# -- ISO 13788: a room that warms in summer --------------------------------------------------------------


def test_a_room_of_a_humidity_class_may_warm_in_summer():
    # Annex A.1 has 20 degC up to 10 degC outdoors and 25 degC from 20 degC (from memory).
    model = HumidityClass(2, 293.15, summer=298.15)
    for outdoors, want in ((5.0, 20.0), (10.0, 20.0), (15.0, 22.5), (20.0, 25.0), (29.0, 29.0)):
        assert np.allclose(inside(model, outdoors).temperature - 273.15, want, atol=1e-9)
    # Held at 20 degC the air of a hot humid place stands at saturation half of the year; no room does.
    place = drydown_climates.catalogue()["saltreed"]()
    time = place.time[:8760]

    def saturated(summer):
        f = Indoor(HumidityClass(2, 293.15, summer)).forcing(time, PHYSICS, Outdoor(place))
        return np.mean(f.vapour_pressure > 0.9999 * saturation(f.temperature))

    assert saturated(None) > 0.4
    assert saturated(298.15) < 0.001


# -- ISO 13370 -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "printed"),
    # CIBSE Guide A, U of solid floors on clay (1.5 W/(m K)) without insulation, walls of 0.3 m, by perimeter over area
    # (from memory).
    [(0.05, 0.13), (0.1, 0.22), (0.2, 0.37), (0.3, 0.49), (0.4, 0.60), (0.5, 0.70), (0.7, 0.86), (1.0, 1.05)],
)
def test_transmittance_of_solid_floors(share, printed):
    got = slab_transmittance(characteristic_dimension(100.0, 100.0 * share), 0.3, 0.0, 1.5)
    assert got == pytest.approx(printed, abs=0.0051)


def test_an_insulated_slab_tends_to_its_own_resistance():
    # Where the floor resists far more than the soil, U is that of the floor and its two films.
    u = slab_transmittance(1.0, 0.0, 20.0, 1.5)
    assert u == pytest.approx(1.0 / (20.0 + 0.17 + 0.04), rel=0.02)
    # Both branches meet where d_t = B', within 1 % (the standard joins two fits).
    floor = (10.0 - 0.3) / 1.5 - 0.21
    below, above = (slab_transmittance(10.0, 0.3, floor + e, 1.5) for e in (-1e-9, 1e-9))
    assert below == pytest.approx(above, rel=0.01)


def slab(**more):
    given = dict(area=100.0, perimeter=40.0, floor_resistance=3.0) | more
    return SlabOnGround(drydown_climates.catalogue()["fernmoor"](), **given)


def test_the_slab_loses_what_the_standard_says():
    side = slab()
    year = np.arange("2022-01-01", "2023-01-01", dtype="M8[h]").astype("M8[s]")
    f = side.forcing(year, PHYSICS, Indoor(Still(293.15, 0.5)))
    # Through the floor, its film and what `heat_transfer` stands for, over the year: U (T_i - T_e).
    through = (293.15 - f.temperature) / (0.17 + 3.0 + 1.0 / f.heat_transfer)
    air = side.climate.temperature
    assert through.mean() == pytest.approx(side.transmittance * (293.15 - air.mean()), rel=0.01)
    # The swing outdoors comes in a month late and by H_pe = 0.37 P lambda ln(delta/d_t + 1), worked out by hand: d_t
    # 0.3 + 1.5 (0.17 + 3 + 0.04) = 5.115 m, delta 2.24 m: 0.37*40*1.5*ln(1.438)/100 = 0.0806 W/(m2 K).
    soil = SOIL["clay"]
    d = equivalent_thickness(0.3, 3.0, soil.conductivity)
    assert d == pytest.approx(5.115, abs=1e-9)
    _, outer = periodic_transmittance(100.0, 40.0, d, 1.5, 2.24)
    assert outer == pytest.approx(0.0806, abs=2e-4)
    assert f.notes["ground"].startswith("slab on clay by ISO 13370")
    # Below a heated slab it is warmer than outdoors on average, and damp.
    assert f.vapour_pressure.mean() > 0.99 * saturation(air.mean())


def test_ground_under_a_larger_house_is_warmer():
    def base(area, perimeter):
        side = slab(area=area, perimeter=perimeter)
        f = side.forcing(side.climate.time[:8760], PHYSICS, Indoor(Still(293.15, 0.5)))
        return (f.vapour_pressure / side.humidity).mean()

    assert base(1000.0, 130.0) > base(100.0, 40.0) > base(40.0, 40.0)


# -- Surface factor --------------------------------------------------------------------------------------


def test_surface_factor_of_din_4108_2():
    # -5 degC outside, 20 degC and 50 % inside: f 0.70 gives 12.5 degC (12.6 printed), where air of a dew point of 9.3
    # degC has 80 %. R 1.2 m2 K/W of an outer wall keeps that (DIN 4108-2 as quoted in Bauphysik-Kalender 2022).
    assert float(surface_temperature(0.70, 293.15, 268.15)) - 273.15 == pytest.approx(12.5, abs=1e-9)
    p = 0.5 * float(saturation(293.15))
    need = float(needed_factor(np.array([293.15]), np.array([p]), np.array([268.15]))[0])
    assert need == pytest.approx(0.70, abs=0.006)
    assert float(surface_humidity(p, 273.15 + 12.6)) == pytest.approx(0.80, abs=0.003)
    assert surface_factor(1.2) > need
    assert surface_factor(1.2) == pytest.approx(1.0 - 0.25 / 1.49, abs=1e-12)
    assert needed_factor(np.array([293.15]), np.array([p]), np.array([293.15]))[0] == -np.inf


def test_resistance_of_an_assembly_is_that_of_its_layers():
    def board(name, lam):
        return Material(name, 500.0, 1000.0, Flat(lam), lambda phi: 50.0 * phi, Flat(1e-11), 100.0)

    wall = Assembly((Layer(board("a", 0.13), 0.0125), Layer(board("b", 0.04), 0.14)))
    assert thermal_resistance(wall.layers) == pytest.approx(0.0125 / 0.13 + 0.14 / 0.04, rel=1e-12)
    # What stands outside of a ventilated layer does not keep warm (ISO 6946).
    assert warm_layers(wall) == wall.layers
    assert [x.name for x in warm_layers(wall, (VentilatedGap("a", 1e-3),))] == ["b"]


def test_a_run_says_how_warm_the_surface_stays():
    c = drydown_climates.catalogue()["fernmoor"]()
    hours = np.arange("2022-01-01", "2022-04-01", dtype="M8[h]").astype("M8[s]")
    out, room = Outdoor(c), Indoor(Still(293.15, 0.5))
    sides = out.forcing(hours, PHYSICS, room), room.forcing(hours, PHYSICS, out)

    def said(thickness):
        wool = Material("wool", 30.0, 1000.0, Flat(0.04), lambda phi: 1.0 * phi, Flat(1e-10), 500.0)
        return surface_note(Assembly((Layer(wool, thickness),)), (), hours, *sides)["surface"]

    # The coldest month, by hand: T_si,min of 50 % at 20 degC over 80 % is 12.6 degC.
    months = hours.astype("M8[M]")
    coldest = min(c.at_marks(hours).temperature[months == m].mean() for m in np.unique(months))
    needed = (12.6 + 273.15 - coldest) / (293.15 - coldest)
    assert f"meets {needed:.2f}" in said(0.14) and "February 2022" in said(0.14)
    assert "f_Rsi 0.93" in said(0.14)  # 1 - 0.25/(0.25 + 3.5 + 0.04)
    assert "falls short" in said(0.01)


# -- Drying reserve --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("side", "asked"),
    # DIN 68800-2: 250 g/(m2 a) in roofs (as quoted in Bauphysik-Kalender 2022), 100 in walls (from memory).
    [
        (Outdoor(drydown_climates.catalogue()["fernmoor"](), Exposure(tilt=3.0)), 0.25),
        (Outdoor(drydown_climates.catalogue()["fernmoor"](), Exposure(tilt=45.0)), 0.25),
        (Outdoor(drydown_climates.catalogue()["fernmoor"](), Exposure(tilt=90.0)), 0.10),
        (Chamber(268.15, 0.8), 0.10),
    ],
)
def test_the_reserve_knows_its_roof(side, asked):
    assert reserve_asked_for(side.tilt) == asked


# -- Snow, shade, rain from above and below, drainage ----------------------------------------------------


@pytest.mark.parametrize(("tilt", "share"), [(0.0, 0.8), (30.0, 0.8), (45.0, 0.4), (60.0, 0.0), (75.0, 0.0)])
def test_snow_slides_off_steep_roofs(tilt, share):
    # EN 1991-1-3, table 5.2, mu_1 (from memory).
    assert share_on_roof(tilt) == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize(("density", "printed"), [(300.0, 0.23), (500.0, 0.60)])
def test_conductivity_of_snow(density, printed):
    # ISO 10456, table 3: slightly compacted snow 300 kg/m3 0.23 W/(m K), compacted 500 kg/m3 0.60 (from memory).
    assert snow_conductivity(density) == pytest.approx(printed, abs=0.006)


def weather(n=200, **columns):
    time = np.datetime64("2021-01-01", "s") + np.arange(1, n + 1) * HOUR
    given = dict(temperature=np.full(n, 263.15), humidity=np.full(n, 0.8)) | columns
    return Climate("yard", 50.0, 15.0, 0.0, 1.0, time, **given)


def test_snow_on_a_roof_insulates_and_melts_away():
    n = 400
    t = np.where(np.arange(n) < 200, 263.15, 276.15)
    calm = dict(temperature=t, wind_speed=np.full(n, 2.0), wind_direction=np.full(n, 0.0), rain=np.zeros(n))
    calm["rain"][:50] = 1.0  # 50 kg/m2 of snow, 40 on the roof: 16 cm
    place = weather(n, longwave_down=np.full(n, 5.670374e-8 * 263.15**4), **calm)
    side = Outdoor(place, Exposure(tilt=0.0, snow_lies=True))
    f = side.forcing(place.time, PHYSICS)
    bare = Outdoor(place, Exposure(tilt=0.0)).forcing(place.time, PHYSICS)
    # Sky as warm as the air, no sun: the top of the snow is as cold as the air, and 16 cm of 250 kg/m3 lie between.
    total = 4.0 + 4.0 * 0.72 * 2.0 + 4.0 * 0.98 * 5.670374e-8 * 263.15**3
    assert f.temperature[100] == pytest.approx(263.15, abs=1e-9)
    assert 1.0 / f.heat_transfer[100] == pytest.approx(0.16 / snow_conductivity(250.0) + 1.0 / total, rel=1e-9)
    assert f.emissivity[100] == 0.0 and f.radiation_in[100] == 0.0
    # What fell has run off as water when it is gone, and the roof is as bare as one without snow.
    assert 3600.0 * f.rain.sum() == pytest.approx(40.0, rel=1e-9) and not bare.rain.any()
    assert f.rain[:200].max() == 0.0
    for key in ("temperature", "heat_transfer", "radiation_in"):
        assert getattr(f, key)[-1] == getattr(bare, key)[-1]
    assert "snow lies on the roof" in f.notes["roof snow"] and "16 cm" in f.notes["roof snow"]


def test_shade_beside_a_roof_is_what_a_wall_to_the_north_sees():
    # Source of the factor 0.35: the sun on a wall to the north is 0.37 to 0.41 of that on the level (WTA 6-8, Central
    # Europe). The invented places of 45 to 60 degrees lie about there.
    for name in ("fernmoor", "kelpwick"):
        c = drydown_climates.catalogue()[name]()
        given = (c.time, c, c.direct_normal, c.diffuse_horizontal, c.global_horizontal)
        north, level = (
            plane_irradiance(*given, azimuth=0.0, tilt=tilt, ground_reflectance=0.2)[0].sum() for tilt in (90.0, 0.0)
        )
        assert 0.3 < north / level < 0.45
    assert SHADES["beside"][:2] == (0.35, 1.0) and SHADES["panels"][:2] == (0.30, 0.50)


def test_a_shaded_roof_gets_its_share_of_the_sun_and_the_sky():
    place = drydown_climates.catalogue()["fernmoor"]()
    time = place.time[4000:4100]
    free, panels = (
        Outdoor(place, Exposure(tilt=5.0, absorptance=0.9, roof_shade=word)).forcing(time, PHYSICS)
        for word in ("none", "panels")
    )
    dark = Outdoor(place, Exposure(tilt=5.0, absorptance=0.0)).forcing(time, PHYSICS)
    sun = free.radiation_in - dark.radiation_in
    assert np.allclose(panels.radiation_in, 0.3 * sun + 0.5 * dark.radiation_in, rtol=1e-12)
    assert panels.emissivity == 0.45 and "solar panels" in panels.notes["shade"]


def test_run_off_and_splash_are_balances_of_water():
    n = 48
    rain = np.where(np.arange(n) % 2 == 0, 2.0, 0.0)
    wet = dict(temperature=np.full(n, 283.15), rain=rain, wind_speed=np.full(n, 5.0), wind_direction=np.zeros(n))
    place = weather(n, **wet)

    def hit(**more):
        return 3600.0 * Outdoor(place, Exposure(azimuth=0.0, **more)).forcing(place.time, PHYSICS).rain

    # ASHRAE 160: 1.0 kg/(m2 h) at 5 m/s and 2 mm/h; 1.5 m of glass above 0.3 m of wall bring five times that.
    assert hit().max() == pytest.approx(1.0, rel=1e-12)
    assert hit(run_off=1.5 / 0.3).max() == pytest.approx(6.0, rel=1e-12)
    # Splash comes from any wind: the wall to the lee has it alone.
    lee = Outdoor(place, Exposure(azimuth=180.0, splash=0.1)).forcing(place.time, PHYSICS)
    assert np.allclose(3600.0 * lee.rain, 0.1 * rain, rtol=1e-12)
    assert "splashes up" in lee.notes["rain"]


def test_a_drained_gap_holds_back_so_much_of_each_spell():
    rain = np.zeros(120)
    rain[5:9] = 0.04  # 0.16: 0.1 stays
    rain[20] = 0.5  # the same spell, 11 hours later: drains
    rain[80:82] = 0.03  # another: all of its 0.06 stays
    stays = held_back(rain, 0.1)
    assert stays[:60].sum() == pytest.approx(0.1) and stays[20] == 0.0
    assert np.allclose(stays[5:9], [0.04, 0.04, 0.02, 0.0])
    assert stays[60:].sum() == pytest.approx(0.06)
    # Never more than falls, and all of it where much is held.
    drawn = np.random.default_rng(3).exponential(0.05, 500) * (np.random.default_rng(4).random(500) < 0.1)
    assert np.all(held_back(drawn, 0.08) <= drawn + 1e-15)
    assert np.allclose(held_back(drawn, 1e6), drawn)
