"""The bundled examples: each is written by `drydown new`, can be read, and runs."""

import re

import numpy as np
import pytest
import xarray as xr
from drydown import simulate
from drydown.casefile import read_case
from drydown.examples import EXAMPLES, template
from drydown.trial.dryout import dryout

#: A wall on each side, a roof, a slab, a masonry wall.
ALL = [("wall", side) for side in ("north", "east", "south", "west")] + [(e, None) for e in EXAMPLES if e != "wall"]
#: Ten days in winter instead of two years, with the water early on.
SHORT = (("years = 2 ", "days = 10 "), ("years = 2\n", "days = 10\n"), ("start = 2021-10-01", "start = 2022-01-10"))


def short(text):
    for old, new in SHORT:
        text = text.replace(old, new)
    text = re.sub(r"date = 2022-\d\d-15", "date = 2022-01-12", text)
    assert "days = 10" in text
    return text


@pytest.mark.parametrize(("example", "faces"), ALL)
def test_an_example_is_written_and_runs(folder, drydown, example, faces):
    turn = ("--faces", faces) if faces else ()
    result = drydown("new", "mine.toml", "--example", example, *turn)
    assert result.exit_code == 0, result.stderr
    path = folder / "mine.toml"
    whole = read_case(path)
    assert whole.end - whole.start > np.timedelta64(700, "D") and whole.wettings
    if faces:
        assert whole.name.startswith(faces.capitalize())
        assert whole.outside.exposure.azimuth == {"north": 0, "east": 90, "south": 180, "west": 270}[faces]
    path.write_text(short(path.read_text()))
    trial = dryout(read_case(path))
    given = whole.wettings[0].amount
    left = float(trial["left"][-1].sum())
    assert 0.0 < left < given
    assert left + float(trial["excess"][-1]) == pytest.approx(given, abs=1e-9)


def test_sides_differ_by_sun_and_rain(folder):
    """At 59 degrees north the south wall has the most sun in March and here the most driving rain."""
    sun, rain = {}, {}
    for side in ("north", "east", "south", "west"):
        path = folder / "side.toml"
        path.write_text(template("wall", side))
        case = read_case(path)
        march = np.datetime64("2022-03-01") + np.arange(24 * 31) * np.timedelta64(1, "h")
        f = case.outside.forcing(march.astype("datetime64[s]"), case.physics)
        sun[side], rain[side] = f.radiation_in.mean(), f.rain.mean()
    assert sun["south"] > max(sun["east"], sun["west"]) > min(sun["east"], sun["west"]) > sun["north"]
    assert rain["south"] > rain["north"]


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_load_that_an_example_offers_works_as_it_stands(folder, example):
    text = short(template(example))
    offered = re.findall(r"^# ((?:ventilated_gap|rain_share|air_leak) = \[.*?\])", text, re.M)
    assert offered or example == "slab"
    for line in offered:
        path = folder / "mine.toml"
        path.write_text(text.replace(f"# {line}", line, 1))
        case = read_case(path)
        new = [x for x in case.loads if x not in _loads(folder, text)]
        assert len(new) == 1
        result = simulate(case)
        assert new[0].label in result["load_term"].values
        water = np.abs(result["load_water"].sel(load_term=new[0].label).values)
        assert np.isfinite(water).all()
        if "rain" not in new[0].label:  # it may not rain in these days
            assert water.max() > 0.0 or np.abs(result["convected_vapour_passed"].values).max() > 0.0


def _loads(folder, text):
    (folder / "plain.toml").write_text(text)
    return read_case(folder / "plain.toml").loads


def test_other_offers_of_the_wall_can_be_read(folder):
    text = template("wall")
    for old, new in (
        ('# severe = "driving rain" ', 'severe = "driving rain" '),
        ('# covered = "95 %" ', 'covered = "95 %" '),
        ("# yearly = true ", "yearly = true "),
        ('# place = "inner" ', 'place = "inner" '),
        ("# [numerics]\n# tolerance", "[numerics]\ntolerance"),
    ):
        assert old in text
        (folder / "mine.toml").write_text(text.replace(old, new, 1))
        read_case(folder / "mine.toml")
    inside = 'model = "normal occupancy" '
    for model in (
        'model = "air conditioned"\ncooling = "24 degC"\n',
        'model = "balance"\nbedrooms = 3\nvolume = "300 m3"\nair_changes = "0.3 1/h"\n',
    ):
        (folder / "mine.toml").write_text(text.replace(inside, f"{model}# ", 1))
        read_case(folder / "mine.toml")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--example", "rof"), ("'rof'", "roof")),
        (("--faces", "up"), ("--faces", "'up'", "south-west")),
        (("--example", "slab", "--faces", "south"), ("--faces", "'slab'")),
    ],
)
def test_refusals_are_one_line(folder, drydown, arguments, words):
    result = drydown("new", "mine.toml", *arguments)
    (line,) = result.stderr.splitlines()
    assert result.exit_code == 2 and all(word in line for word in words), line
    assert not (folder / "mine.toml").exists()


def test_a_run_says_what_each_load_brought(folder, drydown):
    text = short(template("wall"))
    for line in ("ventilated_gap", "rain_share", "air_leak"):
        text = text.replace(f"# {line}", line, 1)
    text = text.replace('layer = "OSB", place = "inner" }]', 'layer = "OSB" }, { q50 = "1 m3/(m2 h)", way = "flow" }]')
    (folder / "mine.toml").write_text(text)
    said = drydown("run", "mine.toml", "-o", "out.nc")
    assert said.exit_code == 0, said.stderr
    with xr.open_dataset(folder / "out.nc") as run:
        water = dict(zip(run["load_term"].values, run["load_water"].values[-1], strict=True))
        carried = -float(run["convected_vapour_passed"].values[-1, -1])
    lines = " ".join(said.stdout.split())
    for name in ("ventilation of air gap 25 mm", "leaking air in OSB"):
        number = float(re.search(rf"{name}: (?:brought|took) ([\d.e-]+) kg/m2", lines)[1])
        assert number == pytest.approx(abs(water[name]), rel=6e-3)
    assert float(re.search(r"carried ([\d.]+) kg/m2 from the room", lines)[1]) == pytest.approx(carried, rel=6e-3)
