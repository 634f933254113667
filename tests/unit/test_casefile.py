"""Reading of the case file."""

import tomllib

import numpy as np
import pytest
from drydown import casefile
from drydown.case.sides import Chamber
from drydown.casefile import read_case, reading
from drydown.casefile.layers import humidity_at
from drydown.casefile.schema import INDOOR, MODELS, SECTIONS
from drydown.errors import InputError
from drydown.plugins import material
from drydown.quantities import QUANTITIES
from odd_values import places, spoilt

HEAD = """
[outside]
model = "constant"
temperature = "0 degC"
humidity = "80 %"
[inside]
model = "constant"
temperature = "20 degC"
humidity = 0.5
"""
PERIOD = "[period]\nstart = 2022-01-01\ndays = 3\n"
LAYER = '[[layer]]\nmaterial = "OSB"\nthickness = "11 mm"\n'


@pytest.fixture
def read(tmp_path):
    def reader(*parts):
        path = tmp_path / "wall.toml"
        path.write_text("\n".join(parts), encoding="utf-8")
        return read_case(path)

    return reader


def test_a_small_case(read):
    case = read('title = "Test wall"', HEAD, PERIOD, LAYER, '[[layer]]\nfilm = "latex paint"')
    assert case.name == case.assembly.name == "Test wall"
    assert case.outside == Chamber(273.15, 0.8)
    assert case.inside.model.temperature == pytest.approx(293.15)
    assert [p.name for p in case.assembly.parts] == ["OSB", "latex paint"]
    assert case.end - case.start == np.timedelta64(3, "D")


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("140 mm", 0.14),
        ("5.5 in", 0.1397),
        ("5 1/2 in", 0.1397),
        ("0.14 m", 0.14),
        ("0.9 ft", 0.27432),
        ("14 cm", 0.14),
    ],
)
def test_thickness_in_units_of_builders(read, text, metres):
    case = read(HEAD, PERIOD, f'[[layer]]\nmaterial = "OSB"\nthickness = "{text}"')
    assert case.assembly.layers[0].thickness == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("north", 0.0),
        ("South-West", 225.0),
        ("ene", 67.5),
        ("north north west", 337.5),
        ("100 deg", 100.0),
        ("-90 deg", 270.0),
    ],
)
def test_directions(read, text, degrees):
    case = read(f'[climate]\nname = "fernmoor"\n[outside]\norientation = "{text}"', PERIOD, LAYER)
    assert case.outside.exposure.azimuth == pytest.approx(degrees)


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("start = 2020-02-29\nyears = 1", "2021-03-01T00"),
        ("start = 2021-10-01\nyears = 2", "2023-10-01T00"),
        ("start = 2021-10-01T06:00:00\nyears = 1", "2022-10-01T06"),
        ("start = '2021-10-01 06:00'\ndays = 2", "2021-10-03T06"),
        ("start = 2021-10-01\nend = 2021-10-05", "2021-10-05T00"),
    ],
)
def test_periods(read, text, end):
    assert read(HEAD, "[period]", text, LAYER).end == np.datetime64(end)


def test_defaults_are_those_of_the_inputs(read):
    from drydown.case.case import Initial, Numerics
    from drydown.case.wetting import Wetting
    from drydown.sides.exposure import Exposure
    from drydown.sides.indoor import Indoor

    case = read(
        '[climate]\nname = "fernmoor"\n[outside]\norientation = "north"',
        PERIOD,
        LAYER,
        '[[wetting]]\nlayer = "OSB"\namount = "1 kg/m2"\ndate = 2022-01-02',
    )
    assert case.numerics == Numerics()
    assert case.initial == Initial()
    assert case.inside == Indoor()
    assert case.outside.exposure == Exposure()
    assert case.wettings == (Wetting("OSB", 1.0, np.datetime64("2022-01-02")),)


@pytest.mark.parametrize("word", INDOOR)
def test_every_indoor_model_is_read(read, word, tmp_path):
    hours = "\n".join(f"2022-01-{1 + h // 24:02d} {h % 24:02d}:00,20,45" for h in range(1, 97))
    (tmp_path / "room.csv").write_text(f"time,temperature [degC],humidity [%]\n{hours}\n")
    needed = {
        "constant": 'temperature = "20 degC"\nhumidity = "50 %"',
        "humidity class": "class = 3",
        "balance": 'bedrooms = 2\nvolume = "250 m3"',
        "intermediate": 'bedrooms = 2\nvolume = "250 m3"',
        "measured": 'file = "room.csv"',
        "chamber": 'temperature = "20 degC"\nhumidity = "50 %"',
    }.get(word, "")
    inside = f'[inside]\nmodel = "{word}"\nheat_transfer = "10 W/(m2 K)"\n{needed}'
    case = read('[climate]\nname = "fernmoor"\n[outside]\norientation = "north"', inside, PERIOD, LAYER)
    assert case.inside.heat_transfer == 10.0
    marks = case.marks
    forcing = case.inside.forcing(marks, case.physics, case.outside)
    assert np.all((forcing.temperature > 285.0) & (forcing.temperature < 305.0))


def test_every_key_of_a_model_reaches_it(read):
    case = read(
        '[climate]\nname = "fernmoor"',
        '[outside]\norientation = "east"\ntilt = "45 deg"\nabsorptance = 0.3\nemissivity = "85 %"',
        "ground_reflectance = 0.5\nwind_factor = 0.5\nrain_exposure = 1.3",
        'rain_deposition = 0.35\nsnow_below = "1 degC"',
        '[inside]\nmodel = "annual"\ntemperature = "19 degC"\ntemperature_amplitude = "2 K"',
        'humidity = "40 %"\nhumidity_amplitude = "5 %"\nvapour_transfer = "3e-8 kg/(m2 s Pa)"',
        PERIOD,
        LAYER,
        '[numerics]\ntolerance = 0.5\nrefine = 2\nfilm_reading = "mean"',
        'output_every = "3 h"\nmax_step = "30 min"',
    )
    e = case.outside.exposure
    assert (e.azimuth, e.tilt, e.absorptance, e.emissivity, e.ground_reflectance) == (90, 45, 0.3, 0.85, 0.5)
    assert (e.wind_factor, e.rain.exposure, e.rain.deposition, e.snow_below) == (0.5, 1.3, 0.35, 274.15)
    m = case.inside.model
    assert (m.temperature, m.temperature_amplitude, m.humidity, m.humidity_amplitude) == (
        292.15,
        2.0,
        0.4,
        0.05,
    )
    assert case.inside.vapour_transfer == 3e-8
    n = case.numerics
    assert (n.tolerance, n.refine, n.film_reading, n.output_every, n.max_step) == (
        0.5,
        2.0,
        "mean",
        10800.0,
        1800.0,
    )


def test_own_materials_and_films_in_the_file_and_beside_it(read, tmp_path):
    (tmp_path / "mine.toml").write_text(
        '[source.x]\nauthors = "own test"\nyear = 2024\nwhere = "notes"\nkind = "demo"\n'
        '[film."beside film"]\npermeance = "20 ng/(Pa s m2)"\nsource = "x"\n'
    )
    case = read(
        'catalogues = ["mine.toml"]',
        HEAD,
        PERIOD,
        LAYER,
        '[[layer]]\nfilm = "beside film"\n[[layer]]\nfilm = "my film"',
        '[film."my film"]\npermeance = { humidity = "10 50 90 %", permeance = "1 2 4 perm" }',
    )
    beside, mine = case.assembly.films
    assert beside.sources[0].authors == "own test"
    assert float(beside.permeance(np.array([0.5]))[0]) == pytest.approx(2e-11)
    assert mine.sources[0].kind == "assumed"
    assert float(mine.permeance(np.array([0.5]))[0]) == pytest.approx(2 * 57.2135e-12)


def test_water_at_the_start(read):
    case = read(
        HEAD,
        PERIOD,
        '[start]\nhumidity = "60 %"',
        LAYER + 'start_water = "18 %MC"',
        '[[layer]]\nmaterial = "spruce"\nthickness = "20 mm"\nstart_humidity = "90 %"',
    )
    assert case.initial.humidity == 0.6
    assert case.initial.layers["spruce"] == 0.9
    osb = material("OSB")
    held = float(np.asarray(osb.storage(np.array([case.initial.layers["OSB"]])))[0])
    assert held == pytest.approx(0.18 * osb.density, rel=1e-4)


POINT = '[[profile]]\ndepth = "{}"\ntemperature = "{}"\nhumidity = "{}"\n'


def test_a_run_starts_from_a_measured_profile(read):
    case = read(
        HEAD,
        PERIOD,
        LAYER + 'start_humidity = "95 %"',
        POINT.format("2 mm", "4 degC", "88 %"),
        POINT.format("0.4 in", "50 degF", 0.7),
    )
    profile = case.initial.profile
    assert profile.depth == pytest.approx((0.002, 0.01016)) and profile.humidity == (0.88, 0.7)
    assert profile.temperature == pytest.approx((277.15, 283.15))
    assert case.initial.layers == pytest.approx({"OSB": 0.95})


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (('[start]\nhumidity = "60 %"', POINT.format("2 mm", "4 degC", 0.5)), "start, humidity: .*give one"),
        (
            (POINT.format("2 mm", "4 degC", 0.5), POINT.format("1 mm", "4 degC", 0.5)),
            "profile 2, depth: it lies no deeper",
        ),
        (('[[profile]]\ndepth = "2 mm"\ntemperature = "4 degC"',), "profile 1: 'humidity' is missing"),
        ((POINT.format("2 mm", "4 degC", "150 %"),), "profile 1, humidity"),
    ],
)
def test_a_profile_that_cannot_be(read, parts, words):
    with pytest.raises(InputError, match=words):
        read(HEAD, PERIOD, LAYER, *parts)


@pytest.mark.parametrize("humidity", [0.1, 0.5, 0.9, 0.99, 0.9999])
@pytest.mark.parametrize("name", ["OSB", "concrete", "mineral wool", "spruce"])
def test_humidity_at_undoes_the_storage_curve(name, humidity):
    from drydown.materials.curves import by_humidity

    m = material(name)
    water = by_humidity(m.storage)(humidity)
    found = humidity_at(m, water)
    assert by_humidity(m.storage)(found) == pytest.approx(water, rel=1e-4)


def test_every_key_of_the_schema_can_be_read_and_says_what_it_means():
    readers = {
        "text",
        "texts",
        "number",
        "count",
        "yes or no",
        "date",
        "direction",
        "as given",
        "years",
        "points",
        "share",
    }
    for section, keys in SECTIONS.items():
        assert keys, section
        for key in keys.values():
            assert key.reads in readers or key.reads in QUANTITIES or key.reads.startswith("one of ")
            assert key.about
    for section, (chooser, word) in MODELS.items():
        for model in SECTIONS[section][chooser].reads.removeprefix("one of ").split(", "):
            assert f"{section} {model}" in SECTIONS
        assert word in SECTIONS[section][chooser].reads


def test_the_climate_and_a_constant_outside_exclude_each_other(read):
    with pytest.raises(InputError, match="leave out"):
        read(HEAD, '[climate]\nname = "fernmoor"', PERIOD, LAYER)


def test_an_odd_value_anywhere_is_read_or_refused_in_one_line(tmp_path, monkeypatch):
    base = tomllib.loads(
        f'title = "a"\ncatalogues = []\n{HEAD}{PERIOD}[start]\nhumidity = 0.5\n[numerics]\ntolerance = 1.0\n'
        f"{LAYER}"
        '[[layer]]\nfilm = "latex paint"\n[[wetting]]\nlayer = "OSB"\namount = "1 kg/m2"\ndate = 2022-01-02\n'
        '[source.s]\nkind = "demo"\n[material.m]\ndensity = "1 kg/m3"\n[film.f]\npermeance = "1 perm"\n'
    )
    refused = 0
    for place, odd, data in spoilt(base, list(places(base))):
        monkeypatch.setattr(reading, "load", lambda path, data=data: data)
        try:
            casefile.read_case(tmp_path / "wall.toml")
        except InputError as error:
            refused += 1
            assert str(error).startswith(str(tmp_path / "wall.toml")) and "\n" not in str(error), (place, odd, error)
    assert refused > 400


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("date = 15.01.2022", "line 2: 15.01.2022 is no date as it is written here; write year-month-day"),
        ("date = 1/15/2022", "line 2: 1/15/2022 is no date as it is written here"),
        ("thickness = \u201c11 mm\u201d", 'line 2: quotes must be straight: thickness = "11 mm"'),
        ("[layer]\na = 1\n[layer]\na = 2", "line 4: [layer] is there twice; of several each begins with [[layer]]"),
        ("[start]\na = 1\n[start]\na = 2", "line 4: [start] is there twice"),
        ("[[layer]]\na = 1\n[layer]\na = 2", "line 4: [layer] is there twice; of several each begins with [[layer]]"),
    ],
)
def test_a_slip_in_the_writing_is_told_as_a_builder_would_mend_it(tmp_path, line, said):
    path = tmp_path / "wall.toml"
    path.write_text(f'title = "x"\n{line}\n', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        reading.load(path)
    assert str(caught.value).startswith(f"{path}, {said}")
