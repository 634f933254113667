"""What a case file says of its climate and its two sides: every key reaches its field, bad input is one line."""

import numpy as np
import pytest
from drydown.case.sides import Chamber
from drydown.casefile import read_case
from drydown.climate.driving_rain import HourlyIndex
from drydown.climate.shading import Shading
from drydown.climate.weather.severe_year import annual_values, driving_rain, drying_potential
from drydown.errors import InputError
from drydown.plugins import climate
from drydown.quantities import AIR_PERMEABILITY
from drydown.sides import ground, indoor
from drydown.sides.indoor_balance import MoistureBalance, dwelling_production
from drydown.sides.indoor_design import IntermediateHumidity, SimplifiedHumidity

CLIMATE = '[climate]\nname = "fernmoor"\n'
OUTSIDE = '[outside]\norientation = "north"\n'
PERIOD = "[period]\nstart = 2022-01-01\ndays = 3\n"
LAYER = '[[layer]]\nmaterial = "OSB"\nthickness = "11 mm"\n'
ROOM = "time,temperature [degC],humidity [%]\n" + "".join(
    f"2022-01-{1 + h // 24:02d} {h % 24:02d}:00,{19 + h % 3},45\n" for h in range(1, 97)
)


@pytest.fixture
def read(tmp_path):
    (tmp_path / "room.csv").write_text(ROOM)

    def reader(climate=CLIMATE, outside=OUTSIDE, inside="", rest=""):
        path = tmp_path / "wall.toml"
        path.write_text("\n".join((climate, outside, inside, PERIOD, LAYER, rest)), encoding="utf-8")
        return read_case(path)

    return reader


def test_shading_snow_and_cloud_reach_the_exposure(read):
    e = read(
        outside='[outside]\norientation = "south"\nsnow_reflectance = "60 %"\nhorizon = "12 deg"\noverhang = "0.9 m"\n'
        'overhang_height = "2 m"\nassumed_cloud = 7\n'
    ).outside.exposure
    assert (e.snow_reflectance, e.assumed_cloud) == (0.6, 7.0)
    assert e.shading == Shading(12.0, 0.9, 2.0)


def test_driving_rain_by_the_hourly_index(read):
    e = read(
        outside='[outside]\norientation = "south"\nrain_model = "hourly index"\nrain_roughness = 0.9\n'
        "rain_topography = 1.1\nrain_obstruction = 0.8\nrain_wall = 0.5\n"
    ).outside.exposure
    assert e.rain == HourlyIndex(0.9, 1.1, 0.8, 0.5)


def test_the_ground_under_a_slab(read):
    side = read(outside='[outside]\nmodel = "ground"\n').outside
    assert side == ground.Ground(climate("fernmoor"))
    side = read(
        climate="",
        outside='[outside]\nmodel = "ground"\ndepth = "1 m"\nmean = "9 degC"\namplitude = "8 K"\ncoldest_day = 30\n'
        'soil = "sand"\nhumidity = "98 %"\nconductance = "2 W/(m2 K)"\nvapour_transfer = "sd 1 m"\n',
        inside='[inside]\nmodel = "constant"\ntemperature = "20 degC"\nhumidity = "50 %"\nsurface = "floor"\n',
    ).outside
    assert (side.depth, side.mean, side.amplitude, side.coldest_day) == (1.0, 282.15, 8.0, 30.0)
    assert (side.diffusivity, side.humidity, side.conductance) == (ground.SAND, 0.98, 2.0)
    assert side.vapour_transfer == pytest.approx(AIR_PERMEABILITY)


def test_weather_over_the_ground_may_repeat(read):
    assert read(climate=CLIMATE + "repeat = true\n", outside=GROUND).outside.climate.cyclic
    assert not read(climate=CLIMATE + "repeat = false\n", outside=GROUND).outside.climate.cyclic


@pytest.mark.parametrize("word", ["wall", "ceiling", "floor"])
def test_inner_surfaces(read, word):
    side = read(inside=f'[inside]\nsurface = "{word}"\n').inside
    assert (side.heat_transfer, side.vapour_transfer) == getattr(indoor, word.upper())
    side = read(inside=f'[inside]\nsurface = "{word}"\nheat_transfer = "9 W/(m2 K)"\n').inside
    assert (side.heat_transfer, side.vapour_transfer) == (9.0, getattr(indoor, word.upper()).vapour_transfer)


def test_a_balance_of_moisture(read):
    model = read(
        inside='[inside]\nmodel = "balance"\nbedrooms = 3\nvolume = "300 m3"\nair_changes = "0.3 1/h"\n'
        'heating = "20 degC"\ncooling = "25 degC"\nhumidity_cap = 0.7\n'
    ).inside.model
    assert model == MoistureBalance(dwelling_production(3), 300.0, 0.3 / 3600.0, 293.15, 298.15, 0.7)
    model = read(inside='[inside]\nmodel = "balance"\nproduction = "8 kg/day"\nvolume = "300 m3"\n').inside.model
    assert model.production == pytest.approx(8.0 / 86400.0)
    assert model == MoistureBalance(model.production, 300.0)


def test_measured_indoor_air(read):
    case = read(inside='[inside]\nmodel = "measured"\nfile = "room.csv"\n')
    t, _ = case.inside.model.air(case.marks, case.physics, None)
    assert t[1] == pytest.approx(273.15 + 20.0)
    assert not case.inside.model.record.cyclic
    assert read(inside='[inside]\nmodel = "measured"\nfile = "room.csv"\nrepeat = true\n').inside.model.record.cyclic


def test_chambers(read):
    text = '{}temperature = "5 degC"\nhumidity = "90 %"\nsealed = true\nrain = "1 mm/h"\n'
    case = read(
        climate="",
        outside=text.format('[outside]\nmodel = "constant"\n'),
        inside=text.format('[inside]\nmodel = "chamber"\n').replace("sealed", "surface"),
    )
    assert case.outside.rain == pytest.approx(1.0 / 3600.0)
    assert case.outside == Chamber(278.15, 0.9, sealed=True, rain=case.outside.rain)
    assert case.inside == Chamber(278.15, 0.9, surface=True, rain=case.outside.rain)


def test_years_of_a_climate(read):
    whole = climate("fernmoor")
    first = int(str(whole.start)[:4])
    one = read(climate=f"{CLIMATE}years = {first + 2}\n").outside.climate
    assert (str(one.start)[:10], str(one.end)[:10]) == (f"{first + 2}-01-01", f"{first + 3}-01-01")
    some = read(climate=f"{CLIMATE}years = '{first + 1} to {first + 3}'\n").outside.climate
    assert some.whole_years == 3 and str(some.start)[:4] == str(first + 1)
    at = int((some.start - whole.start) / np.timedelta64(1, "h"))
    assert np.array_equal(some.temperature, whole.temperature[at : at + len(some.time)])


def test_a_severe_year_by_the_wall_that_it_strikes(read):
    whole = climate("fernmoor")
    for facing, azimuth in (("north", 0.0), ("south", 180.0)):
        got = read(
            climate=f'{CLIMATE}severe = "driving rain"\npercentile = 100\n',
            outside=f'[outside]\norientation = "{facing}"\n',
        ).outside.climate
        years, values = annual_values(whole, driving_rain(azimuth))
        assert got.name == f"fernmoor {years[values.argmax()]}"
        assert got.cyclic and "100 % of severity" in got.source
    cold, warm = (read(climate=f'{CLIMATE}severe = "{w}"\n').outside.climate for w in ("cold", "warm"))
    assert cold.temperature.mean() < warm.temperature.mean()
    dry = read(climate=f'{CLIMATE}severe = "little drying"\n').outside.climate
    assert "drying potential" in dry.source


def test_a_severe_year_by_more_than_one_index(read):
    text = f'{CLIMATE}severe = "driving rain and little drying"\npercentile = 100\n'
    got = read(climate=text, outside='[outside]\norientation = "south"\n').outside.climate
    whole = climate("fernmoor")
    years, rain = annual_values(whole, driving_rain(180.0))
    _, dry = annual_values(whole, drying_potential())
    # Rank by both, written out: how many of the nine others are milder, the mean of the two.
    milder = [((rain < r).sum() + (dry > d).sum()) / 18.0 for r, d in zip(rain, dry, strict=True)]
    assert got.name == f"fernmoor {years[np.argmax(milder)]}"
    assert "mean severity of driving rain on a wall facing 180 degrees and drying potential" in got.source


def test_indoor_air_and_slab_of_standards(read):
    assert read(inside='[inside]\nmodel = "simplified"\ncooled = true\n').inside.model == SimplifiedHumidity(True)
    house = read(
        inside='[inside]\nmodel = "intermediate"\nbedrooms = 3\nvolume = "300 m3"\nconstruction = "airtight"\n'
    ).inside.model
    assert house == IntermediateHumidity(dwelling_production(3), 300.0, 0.1 / 3600.0)
    warm = read(inside='[inside]\nmodel = "humidity class"\nclass = 2\nsummer = "25 degC"\n').inside.model
    assert warm == indoor.HumidityClass(2, summer=298.15)
    side = read(outside=SLAB).outside
    assert (side.area, side.perimeter, side.floor_resistance, side.soil) == (100.0, 40.0, 3.0, "clay")
    roof = read(outside='[outside]\norientation = "south"\ntilt = "3 deg"\nsnow_lies = true\nroof_shade = "panels"\n')
    assert roof.outside.exposure.snow_lies and roof.outside.exposure.roof_shade == "panels"
    foot = read(outside='[outside]\norientation = "south"\nsplash = "10 %"\nrun_off = 5\n').outside.exposure
    assert (foot.splash, foot.run_off) == (0.1, 5.0)


SLAB = '[outside]\nmodel = "slab"\narea = "100 m2"\nperimeter = "40 m"\nfloor_resistance = "3 m2 K/W"\n'
GROUND = '[outside]\nmodel = "ground"\n'
# name: (changed sections, words the error must hold)
BAD = {
    "snow on a wall": ({"outside": OUTSIDE + "snow_lies = true\n"}, ("outside", "snow_lies", "tilt below 60")),
    "shade on a wall": ({"outside": OUTSIDE + 'roof_shade = "panels"\n'}, ("outside", "roof_shade", "tilt")),
    "splash on a roof": (
        {"outside": OUTSIDE + 'tilt = "20 deg"\nsplash = "10 %"\n'},
        ("outside", "splash is of a wall"),
    ),
    "slab without a climate": ({"climate": "", "outside": SLAB}, ("outside", "give [climate]")),
    "slab on peat": ({"outside": SLAB + 'soil = "peat"\n'}, ("outside, soil", "clay")),
    "cooler in summer": (
        {"inside": '[inside]\nmodel = "humidity class"\nclass = 2\nsummer = "15 degC"\n'},
        ("inside", "summer", "below"),
    ),
    "construction and air changes": (
        {
            "inside": '[inside]\nmodel = "intermediate"\nbedrooms = 2\nvolume = "250 m3"\nconstruction = "airtight"\n'
            'air_changes = "0.3 1/h"\n'
        },
        ("inside", "give one"),
    ),
    "cold and warm at once": ({"climate": CLIMATE + 'severe = "cold and warm"\n'}, ("climate, severe", "choose one")),
    "the same index twice": ({"climate": CLIMATE + 'severe = "cold, cold"\n'}, ("climate, severe", "twice")),
    "horizon without a unit": ({"outside": OUTSIDE + "horizon = 12\n"}, ("outside, horizon", "12", "deg")),
    "horizon beyond the zenith": ({"outside": OUTSIDE + 'horizon = "95 deg"\n'}, ("outside", "horizon", "89")),
    "height of no overhang": (
        {"outside": OUTSIDE + 'overhang_height = "2 m"\n'},
        ("outside", "overhang_height", "no overhang"),
    ),
    "overhang over a roof": (
        {"outside": OUTSIDE + 'tilt = "30 deg"\noverhang = "1 m"\n'},
        ("outside", "overhang", "tilt"),
    ),
    "snow brighter than all": (
        {"outside": OUTSIDE + "snow_reflectance = 1.7\n"},
        ("outside", "snow_reflectance", "between 0 and 1"),
    ),
    "cloud of 70 tenths": ({"outside": OUTSIDE + "assumed_cloud = 70\n"}, ("outside", "assumed_cloud", "10")),
    "unknown rain model": (
        {"outside": OUTSIDE + 'rain_model = "hourly"\n'},
        ("outside, rain_model", "'hourly index'"),
    ),
    "factor of the other rain model": (
        {"outside": OUTSIDE + 'rain_model = "hourly index"\nrain_exposure = 1.0\n'},
        ("outside, rain_exposure", "rain_roughness"),
    ),
    "roughness of 30": (
        {"outside": OUTSIDE + 'rain_model = "hourly index"\nrain_roughness = 30\n'},
        ("outside", "roughness is 30", "between 0 and 3"),
    ),
    "ground that faces somewhere": (
        {"outside": GROUND + 'orientation = "north"\n'},
        ("outside, orientation", "ground", "depth"),
    ),
    "ground without climate and wave": ({"climate": "", "outside": GROUND}, ("outside", "climate", "amplitude")),
    "unknown soil": ({"outside": GROUND + 'soil = "clai"\n'}, ("outside, soil", "'clay'")),
    "two soils": (
        {"outside": GROUND + 'soil = "clay"\ndiffusivity = "1e-6 m2/s"\n'},
        ("outside", "soil and diffusivity", "give one"),
    ),
    "ground as humid as 980": ({"outside": GROUND + 'humidity = "980 %"\n'}, ("outside, humidity", "100 %")),
    "depth below zero": ({"outside": GROUND + 'depth = "-1 m"\n'}, ("outside", "depth", "between 0 and 100")),
    "day 400": ({"outside": GROUND + "coldest_day = 400\n"}, ("outside", "coldest_day", "366")),
    "vapour through no layer": (
        {"outside": GROUND + 'vapour_transfer = "1 perm"\n'},
        ("outside", "vapour_transfer", "conductance"),
    ),
    "unknown index": ({"climate": CLIMATE + 'severe = "rain"\n'}, ("climate, severe", "driving rain")),
    "percentile alone": ({"climate": CLIMATE + "percentile = 90\n"}, ("climate", "percentile", "severe")),
    "percentile of 900": (
        {"climate": CLIMATE + 'severe = "cold"\npercentile = 900\n'},
        ("climate", "percentile is 900", "between 0 and 100"),
    ),
    "rain that strikes the ground": (
        {"climate": CLIMATE + 'severe = "driving rain"\n', "outside": GROUND},
        ("climate, severe", "another index"),
    ),
    "severe of one year": (
        {"climate": CLIMATE + 'years = 2024\nsevere = "cold"\n'},
        ("climate, severe", "several are needed"),
    ),
    "years that are not there": (
        {"climate": CLIMATE + "years = 1950\n"},
        ("climate, years", "1950 is not there", "2021 to 2030"),
    ),
    "years that are none": ({"climate": CLIMATE + 'years = "all"\n'}, ("climate, years", "2012 to 2016")),
    "years backwards": ({"climate": CLIMATE + 'years = "2020 to 2018"\n'}, ("climate, years", "before the first")),
    "unknown surface": ({"inside": '[inside]\nsurface = "roof"\n'}, ("inside, surface", "ceiling")),
    "temperature of no model": (
        {"inside": '[inside]\ntemperature = "21 degC"\nhumidity = "45 %"\n'},
        ("inside, temperature", "which holds where none is named", 'model = "constant", "annual" or "chamber" reads'),
    ),
    "keys that no model reads together": (
        {"inside": '[inside]\ncooled = true\nmargin = "5 %"\n'},
        ("inside, cooled", "it reads surface, heat_transfer, vapour_transfer, margin"),
    ),
    "balance without moisture": (
        {"inside": '[inside]\nmodel = "balance"\nvolume = "250 m3"\n'},
        ("inside", "bedrooms = 3"),
    ),
    "balance with both": (
        {"inside": '[inside]\nmodel = "balance"\nvolume = "250 m3"\nbedrooms = 2\nproduction = "8 kg/day"\n'},
        ("inside", "give one"),
    ),
    "balance without a volume": ({"inside": '[inside]\nmodel = "balance"\nbedrooms = 2\n'}, ("inside", "'volume'")),
    "no bedroom": (
        {"inside": '[inside]\nmodel = "balance"\nbedrooms = 0\nvolume = "250 m3"\n'},
        ("inside, bedrooms", "from 1"),
    ),
    "air changes without a unit": (
        {"inside": '[inside]\nmodel = "balance"\nbedrooms = 2\nvolume = "250 m3"\nair_changes = 0.3\n'},
        ("inside, air_changes", "1/h"),
    ),
    "cooling below heating": (
        {"inside": '[inside]\nmodel = "balance"\nbedrooms = 2\nvolume = "250 m3"\ncooling = "15 degC"\n'},
        ("inside", "below heating"),
    ),
    "measured air without a file": ({"inside": '[inside]\nmodel = "measured"\n'}, ("inside", "'file'")),
    "measured air that is not there": (
        {"inside": '[inside]\nmodel = "measured"\nfile = "rom.csv"\n'},
        ("inside, file", "'room.csv'"),
    ),
    "class 5": ({"inside": '[inside]\nmodel = "humidity class"\nclass = 5\n'}, ("inside", "class 5", "1, 2, 3 or 4")),
    "warmest day 0": ({"inside": '[inside]\nmodel = "annual"\nwarmest_day = 0\n'}, ("inside", "warmest_day", "366")),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_line(read, name):
    changed, words = BAD[name]
    with pytest.raises(InputError) as caught:
        read(**changed)
    text = str(caught.value)
    assert "\n" not in text and "wall.toml" in text
    for word in words:
        assert word in text, text
