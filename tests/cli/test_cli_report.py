"""`drydown report`: from a case, from results, and what cannot be used."""

import pytest


def test_from_a_case(folder, drydown):
    done = drydown("report", "wall.toml", "--no-changes")
    assert done.exit_code == 0, done.output
    assert "Written: wall.html" in done.output
    text = (folder / "wall.html").read_text(encoding="utf-8")
    assert "To which side?" in text and "polyamide film 0.05 mm" in text
    assert "What would change it?" not in text


def test_from_results(folder, drydown):
    assert drydown("run", "wall.toml", "-o", "run.nc").exit_code == 0
    assert drydown("dryout", "wall.toml", "-o", "trial.nc").exit_code == 0
    done = drydown("report", "run.nc", "-o", "a.html")
    assert done.exit_code == 0, done.output
    text = (folder / "a.html").read_text(encoding="utf-8")
    assert "Would it dry?" in text and "polyamide" not in text
    done = drydown("report", "run.nc", "--case", "wall.toml", "--trial", "trial.nc", "-o", "b.html")
    assert done.exit_code == 0, done.output
    text = (folder / "b.html").read_text(encoding="utf-8")
    assert "Does it dry?" in text and "polyamide" in text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["none.toml"], "none.toml"),
        (["none.nc"], "none.nc: there is no such file"),
        (["weather.csv"], "weather.csv"),
        (["wall.toml", "-o", "wall.pdf"], "must end in .html"),
        (["wall.toml", "--case", "wall.toml"], "--case wall.toml: goes with results"),
        (["broken.nc"], "broken.nc: cannot be read as netCDF"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_line(folder, drydown, arguments, words):
    (folder / "broken.nc").write_text("no netCDF", encoding="utf-8")
    done = drydown("report", *arguments)
    assert done.exit_code == 2
    assert words in done.output
    assert len([line for line in done.output.splitlines() if line.strip()]) == 1
    assert not list(folder.glob("*.html"))


def test_a_case_of_other_layers_is_refused(folder, drydown):
    assert drydown("run", "wall.toml", "-o", "run.nc").exit_code == 0
    (folder / "other.toml").write_text(
        (folder / "wall.toml").read_text(encoding="utf-8").replace('"mineral wool"', '"dense cellulose"'),
        encoding="utf-8",
    )
    done = drydown("report", "run.nc", "--case", "other.toml")
    assert done.exit_code == 2 and "give the case it was run from" in done.output
