"""The command `climates`: it lists, shows and draws, and refuses in one line."""

import re
import subprocess
import sys

import pytest


def test_one_climate_is_drawn(folder, drydown):
    result = drydown("climates", "fernmoor", "--figure", "out.png", "--facing", "N", "--tilt", "90")
    assert result.exit_code == 0, result.stderr
    assert re.search(r"^January +-\d", result.stdout, re.M) and "Written: out.png" in result.stdout
    assert (folder / "out.png").stat().st_size > 30000


def test_a_weather_file_is_shown_like_a_climate(folder, drydown):
    result = drydown("climates", "weather.csv", "--figure", "out.svg")
    assert result.exit_code == 0, result.stderr
    assert (folder / "out.svg").stat().st_size > 10000
    assert re.search(r"^January +-?0.0", result.stdout, re.M) and "unknown" in result.stdout
    assert "February" not in result.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("fernmoor", "--facing", "N"), ("--facing", "--figure")),
        (("fernmoor", "--tilt", "30"), ("--tilt", "--figure")),
        (("fernmoor", "--figure", "out.png", "--tilt", "30"), ("--tilt", "--facing south")),
        (("fernmoor", "--figure", "out.png", "--facing", "up"), ("--facing", "'up'", "south-west")),
        (("fernmoor", "--figure", "out.png", "--facing", "N", "--tilt", "300"), ("--tilt", "300", "180")),
        (("fernmoor", "--figure", "out.bmp"), ("out.bmp", ".png")),
        (("--figure", "out.png"), ("--figure", "fernmoor")),
        (("fernmor",), ("'fernmor'", "'fernmoor'")),
        (("wether.csv",), ("wether.csv", "'weather.csv'")),
    ],
)
def test_refusals_are_one_line(folder, drydown, arguments, words):
    before = sorted(folder.iterdir())
    result = drydown("climates", *arguments)
    assert result.exit_code == 2 and result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert all(word in line for word in words), line
    assert sorted(folder.iterdir()) == before


def test_an_unknown_name_is_answered_at_once():
    """Without building a climate, and without what that needs: 0.15 s here, of which 0.1 s is the interpreter."""
    code = (
        "import sys, drydown.plugins as p\n"
        "try: p.climate('fernmor')\n"
        "except Exception as e: print(e)\n"
        "print(sorted({'scipy', 'pandas', 'pvlib', 'drydown_climates.generator'} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.splitlines()
    assert "'fernmoor'" in out[0] and out[1] == "[]"
