"""Writing a case file: what is written reads back as the same case."""

import dataclasses
import warnings

import numpy as np
import pytest
from drydown.case.assembly import Assembly, Layer
from drydown.case.case import Case, Initial, Numerics
from drydown.case.keys import Key
from drydown.case.loads import RainShare, WindWash
from drydown.case.partial_cover import partly_covering
from drydown.case.sides import Chamber, Physics, Side
from drydown.case.wetting import Wetting
from drydown.casefile import read_case, write_case
from drydown.casefile.schema import MODELS, SECTIONS
from drydown.casefile.values import read_value, write_value
from drydown.climate.driving_rain import HourlyIndex, OpenField
from drydown.climate.model import Climate
from drydown.climate.shading import Shading
from drydown.climate.weather.severe_year import cold, severe_year
from drydown.errors import InputError
from drydown.plugins import climate, film, material
from drydown.quantities import QUANTITIES
from drydown.sides import ground, indoor
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.ground_slab import SlabOnGround
from drydown.sides.indoor_balance import MoistureBalance
from drydown.sides.indoor_design import IntermediateHumidity, SimplifiedHumidity
from drydown.sides.indoor_measured import Measured
from hypothesis import given
from hypothesis import strategies as st

WALL = Assembly(
    (Layer(material("OSB"), 0.0111), film("latex paint"), Layer(material("spruce"), 1.0 / 30.0, "inner", 7))
)


def case(**changes):
    keys = {
        "assembly": WALL,
        "outside": Chamber(270.0, 0.8),
        "inside": indoor.Indoor(),
        "start": np.datetime64("2022-03-01T05:00"),
        "end": np.datetime64("2023-04-01"),
    }
    return Case(**(keys | changes))


def fernmoor(**changes):
    return Outdoor(climate("fernmoor"), **changes)


def same(a, b):
    """Whether two inputs are equal, weather by its columns."""
    if isinstance(a, Climate):
        one, other = a.columns(), b.columns()
        return (
            list(one) == list(other)
            and all(np.array_equal(one[k], other[k]) for k in one)
            and np.array_equal(a.time, b.time)
            and (a.name, a.source, a.cyclic, a.synthetic, a.repairs)
            == (b.name, b.source, b.cyclic, b.synthetic, b.repairs)
        )
    if dataclasses.is_dataclass(a) and not callable(a):
        return type(a) is type(b) and all(same(getattr(a, f.name), getattr(b, f.name)) for f in dataclasses.fields(a))
    if isinstance(a, tuple):
        return len(a) == len(b) and all(map(same, a, b))
    return a == b


ROOM = dataclasses.replace(
    climate("fernmoor"), **{k: None for k in climate("fernmoor").columns() if k not in ("temperature", "humidity")}
)
ROOM = Measured(
    dataclasses.replace(
        ROOM,
        latitude=0.0,
        longitude=0.0,
        altitude=0.0,
        utc_offset=0.0,
        synthetic=False,
        time=ROOM.time[:50],
        temperature=ROOM.temperature[:50] / 3.0 + 200.0,
        humidity=ROOM.humidity[:50],
        repairs=("a", "b"),
    )
)
CASES = {
    "plain": {},
    "start and numerics": {
        "initial": Initial(281.2345678, 1.0 / 3.0, {"inner": 0.9123456789}),
        "numerics": Numerics(0.3, 900.0, 0.1, 2.0, "mean", 7200.0),
    },
    "wettings": {
        "wettings": (
            Wetting("OSB", 1.0 / 3.0, np.datetime64("2022-05-01T06:30")),
            Wetting("inner", 0.1, np.datetime64("2022-06-01"), 21601.0, "inner", 0.0033),
        )
    },
    "chambers": {
        "outside": Chamber(270.0, 0.8, 25.0, 1.23e-7, surface=True, rain=1e-5),
        "inside": Chamber(290.0, 0.4, sealed=True),
    },
    "installed climate": {
        "outside": fernmoor(
            exposure=Exposure(
                123.4, 90.0, 0.31, 0.8, 0.25, 0.65, 0.5, OpenField(1.3, 0.35), 274.0, 3.0, Shading(5.0, 1.0)
            )
        )
    },
    "other factors of the rain": {
        "outside": fernmoor(exposure=Exposure(45.0, 30.0, rain=HourlyIndex(0.9, 1.1, 0.8, 0.3)), cyclic=True)
    },
    "severe year": {"outside": Outdoor(severe_year(climate("fernmoor"), cold(), 80.0))},
    "ground": {"outside": ground.Ground(climate("fernmoor"), 1.5, diffusivity=ground.ROCK, conductance=3.0)},
    "ground without weather": {
        "outside": ground.Ground(None, 0.1, 283.0, 7.0, 33.3),
        "inside": indoor.Indoor(indoor.Constant(), *indoor.FLOOR),
    },
    "class": {"inside": indoor.Indoor(indoor.HumidityClass(3, 294.0), *indoor.CEILING)},
    "high occupancy": {"inside": indoor.Indoor(indoor.FromOutdoor(True, 0.05), 7.0, 1e-8)},
    "class in summer": {"inside": indoor.Indoor(indoor.HumidityClass(2, 293.0, 297.0))},
    "simplified": {"inside": indoor.Indoor(SimplifiedHumidity(cooled=True))},
    "intermediate": {"inside": indoor.Indoor(IntermediateHumidity(1.6e-4, 300.0, 0.1 / 3600.0))},
    "slab": {
        "outside": SlabOnGround(climate("fernmoor"), 100.0, 40.0, 3.0, 0.35, "sand", 0.98, 1e-9),
        "inside": indoor.Indoor(indoor.Constant(), *indoor.FLOOR),
    },
    "roof in snow": {"outside": fernmoor(exposure=Exposure(tilt=5.0, snow_lies=True, roof_shade="beside"))},
    "foot of a wall": {"outside": fernmoor(exposure=Exposure(splash=0.1, run_off=5.0))},
    "loads of wind and drainage": {
        "outside": fernmoor(),
        "loads": (RainShare("OSB", 0.02, holds=0.06), WindWash("inner", 2.5e-4, 3.0, 0.2)),
    },
    "annual": {"inside": indoor.Indoor(indoor.AnnualSine(293.0, 2.0, 0.45, 0.12, 200.0))},
    "air conditioned": {"inside": indoor.Indoor(indoor.AirConditioned(292.0, 296.0, 0.5, 150.0))},
    "balance": {"inside": indoor.Indoor(MoistureBalance(1.234e-4, 250.0, 0.5 / 3600.0, 292.0, 299.0, 0.7))},
    "measured": {"inside": indoor.Indoor(ROOM)},
    "a film with gaps": {
        "assembly": Assembly(
            (
                WALL.parts[0],
                partly_covering(film("polyethylene 0.15 mm"), 0.95, [WALL.parts[0], WALL.parts[2]]),
                WALL.parts[2],
            )
        )
    },
}


@pytest.mark.parametrize("name", CASES)
def test_there_and_back(name, tmp_path):
    given = case(**CASES[name], name='a "wall" \\ of straw')
    given = dataclasses.replace(given, assembly=dataclasses.replace(given.assembly, name=given.name))
    path = write_case(given, tmp_path / "wall.toml")
    back = read_case(path)
    assert same(given, back), path.read_text()


def test_what_is_default_is_not_written(tmp_path):
    text = write_case(case(), tmp_path / "wall.toml").read_text()
    assert "[numerics]" not in text and "[start]" not in text and "emissivity" not in text
    assert 'thickness = "11.1 mm"' in text and "start = 2022-03-01T05:00:00" in text


QUANTITY = sorted({k.reads for keys in SECTIONS.values() for k in keys.values()} & set(QUANTITIES))


@given(st.sampled_from(QUANTITY), st.floats(1e-12, 1.0))
def test_a_value_is_written_so_that_it_reads_back_the_same(name, value):
    import tomllib

    key = Key("x", name, "", False)
    value = 200.0 + value if name == "temperature" else value
    literal = write_value(value, key)
    assert read_value(tomllib.loads(f"x = {literal}")["x"], key, "") == value


def test_every_model_has_its_chooser():
    for section, (chooser, word) in MODELS.items():
        assert chooser in SECTIONS[section] and f"{section} {word}" in SECTIONS


class Strange(Side):
    """A side, and the air of a room, that no case file knows."""

    needs_outdoor = False

    def forcing(self, marks, physics, other=None):
        raise NotImplementedError


def test_what_a_case_file_cannot_state_is_refused(tmp_path):
    other = dataclasses.replace(material("OSB"), density=700.0)
    refusals = [
        (case(assembly=Assembly((Layer(other, 0.01),))), "'OSB'", "catalogue"),
        (
            case(assembly=Assembly((WALL.parts[0], partly_covering(film("latex paint"), 0.5, [WALL.parts[2]])))),
            "latex paint",
            "another assembly",
        ),
        (case(physics=Physics(latent_heat=2.4e6)), "physics", "default"),
        (case(outside=fernmoor(exposure=Exposure(rain=object()))), "driving rain", "object"),
        (case(inside=indoor.Indoor(Strange())), "indoor air", "Strange"),
        (case(outside=Strange()), "outer side", "Strange"),
    ]
    for given_case, *words in refusals:
        with pytest.raises(InputError) as caught:
            write_case(given_case, tmp_path / "wall.toml")
        assert all(word in str(caught.value) for word in words), caught.value
        assert not (tmp_path / "wall.toml").exists()
    with pytest.raises(InputError, match="does not exist"):
        write_case(case(), tmp_path / "no" / "wall.toml")


def test_own_materials_are_named_by_their_catalogue(tmp_path):
    (tmp_path / "mine.toml").write_text(
        '[source.x]\nauthors = "own test"\nwhere = "notes"\nkind = "demo"\n'
        '[film."my film"]\npermeance = "20 ng/(Pa s m2)"\nsource = "x"\n'
    )
    (tmp_path / "one.toml").write_text(
        'catalogues = ["mine.toml"]\n[outside]\nmodel = "constant"\ntemperature = "0 degC"\nhumidity = 0.8\n'
        '[period]\nstart = 2022-01-01\ndays = 3\n[[layer]]\nmaterial = "OSB"\nthickness = "11 mm"\n'
        '[[layer]]\nfilm = "my film"\n'
    )
    one = read_case(tmp_path / "one.toml")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        two = read_case(write_case(one, tmp_path / "two.toml", ("mine.toml",)))
    assert two.assembly.films[0].sources == one.assembly.films[0].sources
    with pytest.raises(InputError, match="'my film'"):
        write_case(one, tmp_path / "three.toml")
