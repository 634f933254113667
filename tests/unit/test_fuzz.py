"""Fuzz as a habit: hypothesis draws cases, weather, studies and catalogues out of joint; what was found stays here."""

import random
import re
import subprocess
import sys
from pathlib import Path

import pytest
from drydown import InputError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "benchmarks"))
import fuzz_inputs as inputs  # noqa: E402

#: Files of TOML out of joint; each shrinks to the fewest changes that still break something.
cases, studies, catalogues = (
    st.randoms(use_true_random=False).map(lambda draw, base=base: inputs.mutated(draw, base))
    for base in (inputs.CASE, inputs.STUDY, inputs.CATALOGUE)
)
tables = st.randoms(use_true_random=False)
quick = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


def test_what_the_others_are_made_of_is_sound(tmp_path):
    from drydown.casefile import read_case
    from drydown.catalogue.file import read_catalogue
    from drydown.climate.weather.files import read_weather
    from drydown.study import read_study

    for name, base in (("wall", inputs.CASE), ("study", inputs.STUDY), ("own", inputs.CATALOGUE)):
        (tmp_path / f"{name}.toml").write_text(inputs.toml_text(base))
    (tmp_path / "weather.csv").write_text(inputs.weather_csv())
    assert len(read_case(tmp_path / "wall.toml").assembly.parts) == 7
    assert len(read_study(tmp_path / "study.toml")) == 8
    assert [entry().name for entry in read_catalogue(tmp_path / "own.toml").values()] == ["board", "paper"]
    assert len(read_weather(tmp_path / "weather.csv").time) == 60


def one_line(read, path):
    try:
        read(path)
    except InputError as error:
        assert "\n" not in str(error) and str(error).isprintable() and len(str(error)) < 2000


@quick
@given(data=cases)
def test_cases(tmp_path, data):
    from drydown.casefile import read_file

    (tmp_path / "wall.toml").write_bytes(data)
    one_line(read_file, tmp_path / "wall.toml")


@quick
@given(data=studies)
def test_studies(tmp_path, data):
    from drydown.study import read_study

    (tmp_path / "wall.toml").write_text(inputs.toml_text(inputs.CASE))
    (tmp_path / "study.toml").write_bytes(data)
    one_line(lambda path: len(read_study(path)), tmp_path / "study.toml")


@quick
@given(data=catalogues)
def test_catalogues(tmp_path, data):
    from drydown.catalogue.file import read_catalogue

    (tmp_path / "own.toml").write_bytes(data)
    one_line(lambda path: [entry() for entry in read_catalogue(path).values()], tmp_path / "own.toml")


@quick
@given(draw=tables)
def test_tables(tmp_path, draw):
    from drydown.climate.weather.files import read_weather

    one_line(read_weather, inputs.weather_table(draw, tmp_path / "weather.csv"))


#: What the command has found: where in the base, and the odd value.
FOUND = {
    "an exponent beyond all bounds": (("air_leak", 0, "exponent"), 650000.0),
    "an exponent that is endless": (("air_leak", 0, "exponent"), 1e300),
    "a great number": (("outside", "assumed_cloud"), int("9" * 30)),
    "a tolerance of 400 digits": (("numerics", "tolerance"), int("1" + "0" * 399)),
    "a key of two lines": (("a\nb",), 1),
    "a title that steers a terminal": (("layer", 0, "material"), "\x1b[2J\u202e"),
}


@pytest.mark.parametrize("name", FOUND)
def test_cases_that_were_found(tmp_path, name):
    from drydown.casefile import read_file

    place, odd = FOUND[name]
    data = inputs.changed(random.Random(0), {}) | inputs.copy.deepcopy(inputs.CASE)
    table = data
    for key in place[:-1]:
        table = table[key]
    table[place[-1]] = odd
    (tmp_path / "wall.toml").write_text(inputs.toml_text(data))
    with pytest.raises(InputError) as caught:
        read_file(tmp_path / "wall.toml")
    assert "\n" not in str(caught.value) and str(caught.value).isprintable()


@pytest.mark.parametrize(
    "text", ['source = "x"', "source = true", "material.board.storage.n = 0", "material.board.storage.n = 1"]
)
def test_catalogues_that_were_found(tmp_path, text):
    from drydown.catalogue.file import read_catalogue

    data = inputs.copy.deepcopy(inputs.CATALOGUE)
    if text.startswith("source"):
        data["source"] = "x" if "x" in text else True
    else:
        data["material"]["board"]["storage"]["n"] = int(text[-1])
    (tmp_path / "own.toml").write_text(inputs.toml_text(data))
    with pytest.raises(InputError):
        [entry() for entry in read_catalogue(tmp_path / "own.toml").values()]


def test_a_column_that_is_there_twice(tmp_path):
    from drydown.climate.weather.files import read_weather

    text = inputs.weather_csv().replace("rain [mm/h]", "temperature [K]")
    (tmp_path / "a.csv").write_text(text)
    with pytest.raises(InputError, match="column 'temperature' is there twice"):
        read_weather(tmp_path / "a.csv")


def test_a_column_without_any_value(tmp_path):
    """A table of one hour, and no humidity in it that can be."""
    from drydown.climate.weather.files import read_weather

    text = re.sub(r",\d\d\.\d,3,", ",0,3,", inputs.weather_csv(1))
    (tmp_path / "a.csv").write_text(text)
    with pytest.raises(InputError, match="humidity has no value that can be used in any hour"):
        read_weather(tmp_path / "a.csv")


def test_what_a_message_quotes_is_cut_in_the_middle(tmp_path):
    from drydown.catalogue.file import read_catalogue

    data = inputs.copy.deepcopy(inputs.CATALOGUE)
    data["film"]["paper"]["permeance"] = "1 " + "ng/(Pa s m2) 3060 " * 400
    (tmp_path / "own.toml").write_text(inputs.toml_text(data))
    with pytest.raises(InputError) as caught:
        [entry() for entry in read_catalogue(tmp_path / "own.toml").values()]
    assert len(str(caught.value)) < 2000 and "film 'paper', permeance" in str(caught.value)
    assert str(caught.value).endswith("is no known unit; write it as '0.1 perm' or 'sd 5 m'")


@pytest.mark.slow
def test_a_short_round_of_the_command(tmp_path):
    words = ["--cases", "60", "--tables", "40", "--studies", "10", "--catalogues", "20", "--stores", "8", "--seed", "1"]
    command = [sys.executable, str(ROOT / "benchmarks/fuzz.py"), *words, "--keep", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 0, done.stdout[-3000:]
    assert "0 broke something" in done.stdout and "seed 1" in done.stdout
