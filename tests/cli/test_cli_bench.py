"""The commands of the membrane bench, run as a person would."""

import subprocess
import sys

import pytest
import xarray as xr
from drydown import plugins
from drydown.catalogue.file import read_catalogue
from drydown.materials.curves import mean_permeance

TESTS = """# demo
cup, room, permeance [ng/(Pa s m2)], uncertainty
0 %, 50 %, 6.0, 5 %
100 %, 50 %, 760, 5 %
33 %, 11 %, 5.3, 5 %
53 %, 33 %, 7.2, 5 %
75 %, 53 %, 150, 5 %
93 %, 75 %, 1400, 5 %
"""
CLOSED = ("--closed", "3 300 ng/(Pa s m2)")


def test_cup_of_a_film(drydown):
    result = drydown("bench", "cup", "polyamide film 0.05 mm", "--cup", "0 %", "--room", "50 %")
    assert result.exit_code == 0, result.output
    value = float(result.stdout.splitlines()[-1].split()[2])
    assert value == pytest.approx(mean_permeance(plugins.film("polyamide film").permeance, 0.0, 0.5) * 1e12, rel=0.01)


def test_the_usual_cups_of_a_board(drydown):
    result = drydown("bench", "cup", "OSB", "--thickness", "11 mm", "--units", "us", "--air-layer", "15 mm")
    assert result.exit_code == 0, result.output
    assert "vapour alone" in result.stdout and "perm" in result.stdout
    assert [line.split()[:2] for line in result.stdout.splitlines() if line[:3].strip().isdigit()] == [
        ["0", "50"],
        ["50", "85"],
        ["93", "50"],
        ["100", "50"],
    ]


def test_cup_of_a_film_of_ones_own(drydown, folder):
    with open("wall.toml", "a", encoding="utf-8") as case:
        case.write('\n[film."my sheet"]\npermeance = "0.5 perm"\n')
    result = drydown("bench", "cup", "my sheet", "--from", "wall.toml", "--units", "us")
    assert result.exit_code == 0, result.output
    rows = [line.split() for line in result.stdout.splitlines()[4:]]
    assert [float(row[2]) for row in rows] == [0.5] * 4
    assert "did you mean 'my sheet'" in drydown("bench", "cup", "my shet", "--from", "wall.toml").stderr


def test_uptake_of_a_board(drydown):
    result = drydown("bench", "uptake", "stucco")
    assert result.exit_code == 0, result.output
    rows = [line.rsplit(None, 1) for line in result.stdout.splitlines()[3:6]]
    assert [float(value) for _, value in rows] == pytest.approx([0.012] * 3, rel=0.02)


@pytest.mark.parametrize("family", ["logistic", "two-level", "exponential", "spline", "constant"])
def test_fit_writes_a_film_that_the_catalogue_reads(drydown, folder, family):
    (folder / "tests.csv").write_text(TESTS, encoding="utf-8")
    result = drydown("bench", "fit", "tests.csv", "--family", family, "--name", "valley membrane", "--figure", "a.png")
    assert result.exit_code == 0, result.output
    assert (folder / "a.png").stat().st_size > 10000
    lines = result.stdout.splitlines()
    start = lines.index('[film."valley membrane"]')
    text = "\n".join(["[source.own]", 'authors = "a"', 'where = "b"', 'kind = "demo"', *lines[start : start + 2]])
    (folder / "own.toml").write_text(text + '\nsource = "own"\n', encoding="utf-8")
    film = read_catalogue(folder / "own.toml")["valley membrane"]()
    shown = next(line for line in lines if line.startswith("permeance, ng")).split()[-1]
    assert float(film.permeance(0.9)) * 1e12 == pytest.approx(float(shown), rel=0.01)


WAYS = """# demo
cup, room, permeance [ng/(Pa s m2)], uncertainty, turned
100 %, 50 %, 1000, 5 %, no
75 %, 53 %, 400, 5 %, no
93 %, 75 %, 1600, 5 %, no
53 %, 33 %, 8, 5 %, no
100 %, 50 %, 480, 5 %, yes
75 %, 53 %, 60, 5 %, yes
93 %, 75 %, 760, 5 %, yes
53 %, 33 %, 6, 5 %, yes
"""


def test_fit_of_both_directions(drydown, folder):
    (folder / "ways.csv").write_text(WAYS, encoding="utf-8")
    result = drydown("bench", "fit", "ways.csv", "--directions", "--name", "laminate", "--figure", "a.png")
    assert result.exit_code == 0, result.output
    assert "less than 1 of 100 such series" in " ".join(result.stdout.split())
    lines = result.stdout.splitlines()
    start = lines.index('[film."laminate"]')
    text = "\n".join(["[source.own]", 'authors = "a"', 'where = "b"', 'kind = "demo"', *lines[start : start + 3]])
    (folder / "own.toml").write_text(text + '\nsource = "own"\n', encoding="utf-8")
    film = read_catalogue(folder / "own.toml")["laminate"]()
    # cup wet, outer face to the room: outward; those of 75 against 53 % gave 400 that way and 60 turned
    assert mean_permeance(film.permeance_outward, 0.53, 0.75) * 1e12 == pytest.approx(400, rel=0.1)
    assert mean_permeance(film.permeance, 0.53, 0.75) * 1e12 == pytest.approx(60, rel=0.1)
    assert (folder / "a.png").stat().st_size > 10000
    (folder / "tests.csv").write_text(TESTS, encoding="utf-8")
    refused = drydown("bench", "fit", "tests.csv", "--directions")
    assert refused.exit_code == 2 and "1 of the 6 tests has flow inward" in refused.stderr


def test_fit_of_a_pair_says_so(drydown, folder):
    (folder / "tests.csv").write_text("\n".join(TESTS.splitlines()[:4]), encoding="utf-8")
    result = drydown("bench", "fit", "tests.csv")
    assert result.exit_code == 0 and "no shape" in result.stdout


def test_map(drydown, folder):
    options = ("--open", "500 5000 ng/(Pa s m2)", "-o", "map.nc", "--figure", "map.png")
    result = drydown("bench", "map", "wall.toml", *CLOSED, *options)
    assert result.exit_code == 0, result.output
    assert (folder / "map.png").stat().st_size > 10000
    with xr.open_dataset(folder / "map.nc") as found:
        assert found.sizes == {"closed": 2, "open": 2}
        assert f"{100 * float(found['share_inward'][1, 1]):.0f} %" in result.stdout.splitlines()[-2]


def test_sensitivity(drydown, folder):
    result = drydown("bench", "sensitivity", "wall.toml", "--at", "20 50 80 %", "--figure", "a.png", "-o", "a.nc")
    assert result.exit_code == 0, result.output
    assert (folder / "a.png").stat().st_size > 10000
    with xr.open_dataset(folder / "a.nc") as found:
        assert found.sizes == {"humidity": 3}
    assert "everywhere" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("cup", "OSB"), "give --thickness, such as '12.5 mm'"),
        (("cup", "latex paint", "--thickness", "1 mm"), "is a film"),
        (("cup", "latex pain"), "did you mean 'latex paint'"),
        (("cup", "latex paint", "--cup", "0 %"), "together"),
        (("cup", "latex paint", "--cup", "0 %", "--room", "150 %"), "between 0 and 1"),
        (("cup", "latex paint", "--surface", "0 perm"), "greater than 0"),
        (("uptake", "latex paint"), "is a film"),
        (("uptake", "stucco", "--start", "0 %"), "greater than 0 %"),
        (("fit", "none.csv"), "no such file"),
        (("fit", "wall.toml"), "write [[test]]"),
        (("fit", "none.csv", "--figure", "a.txt"), "must end in"),
        (("map", "wall.toml", *CLOSED), "two of them need several values"),
        (("map", "wall.toml", *CLOSED, "--middle", "50 70 %"), "give its permeance"),
        (("map", "wall.toml", "--film", "latex paint"), "known: 'polyamide film 0.05 mm'"),
        (("map", "none.toml"), "no such case file"),
        (("sensitivity", "wall.toml", "--at", "80 20 %"), "rise within 0 to 1"),
        (("sensitivity", "wall.toml", "-o", "a.csv"), "must end in .nc"),
    ],
)
def test_bad_input_is_one_line(drydown, folder, arguments, words):
    result = drydown("bench", *arguments)
    assert result.exit_code == 2
    assert words in result.stderr and len(result.stderr.strip().splitlines()) == 1
    assert result.stdout == ""


def test_help_imports_nothing_heavy():
    code = (
        "import sys; from drydown.cli import main\n"
        "try: main(['bench', '--help'])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('scipy', 'numba', 'matplotlib', 'xarray', 'pint', 'pandas') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.splitlines()[-1] == "[]" and "sensitivity" in out
