"""The verdict, its options and the comparison, from the command line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import xarray as xr

VARIANTS = """
[[variant]]
name = "polyethylene inside"
set = { "layer.3.film" = "polyethylene 0.15 mm" }

[[variant]]
name = "no leak"
remove = ["wetting.1"]
"""


def plain(text):
    return " ".join(text.split())


def append(text):
    path = Path("wall.toml")
    path.write_text(path.read_text() + text)


def test_the_verdict_stands_first_and_the_cautions_last(folder, drydown):
    text = drydown("dryout", "wall.toml").stdout
    lines = [line for line in text.splitlines() if line]
    assert lines[0] == "Small wall"
    # what is not known comes before the answer
    assert lines[1].startswith("Not known: There is no rain in the weather")
    said = next(i for i, line in enumerate(lines) if line.startswith("Does it dry?"))
    assert all(not line.startswith("Not known") for line in lines[said:])
    assert lines[said].startswith("Does it dry? Not within the run: ")
    assert lines[said + 1].startswith("Does it stay sound? Within every limit, as far as 10 days can tell")
    for words in ("without", "with it", "mould index", "too wet wood", "way to the onset of rot"):
        assert words in text
    assert "DIN 68800-2" in drydown("dryout", "wall.toml", "--sources").stdout
    caution = plain(text).partition("Caution: ")[2]
    for words in ("mould and rot", "advice, not a licence", "one dimension", "Local codes", "makers' instructions"):
        assert words in caution


def test_limits_of_the_case_file_count_and_are_named(folder, drydown):
    append('[limits]\nwood_moisture = "7 %"\npanel_moisture = "7 %"\nwood_days = "5 days"\n')
    text = plain(drydown("dryout", "wall.toml").stdout)
    assert "Does it stay sound? Not even without the water: wood stays too wet for too long" in text
    assert "Limits set in the case file: panel_moisture, wood_days, wood_moisture." in text
    assert "is above 7.0 % for" in text and "still above it at the end" in text
    run = plain(drydown("run", "wall.toml").stdout)
    assert "exceeded" in run and "is above 7.0 % for" in run


def test_a_limit_that_does_not_exist_is_refused(folder, drydown):
    append("[limits]\nmold_index = 2\n")
    for command in ("run", "dryout"):
        result = drydown(command, "wall.toml")
        assert result.exit_code == 2 and len(result.stderr.splitlines()) == 1
        assert "wall.toml, limits: 'mold_index' is not known here; did you mean 'mould_index'" in result.stderr


def test_check_and_spread_say_how_sure_it_is(folder, drydown):
    text = plain(drydown("dryout", "wall.toml", "--check", "--spread").stdout)
    assert "Numerical error: in twice as many cells and at a third of the tolerance" in text
    assert "Spread of the materials, one at a time" in text
    assert "permeability of 'OSB'" in text


def test_calendar_and_reserve_need_more_weather_than_ten_days(folder, drydown):
    for option in ("--calendar", "--reserve"):
        result = drydown("dryout", "wall.toml", option)
        assert result.exit_code == 2 and len(result.stderr.splitlines()) == 1
        assert "wall.toml" in result.stderr and "weather" in result.stderr


def test_calendar_and_reserve_are_told_in_words(folder, drydown, monkeypatch):
    """On a constant climate with a very open wall, so that both are quick."""
    text = Path("wall.toml").read_text().replace('[climate]\nfile = "weather.csv"\n', "")
    text = text.replace(
        '[outside]\norientation = "north"', '[outside]\nmodel = "constant"\ntemperature = "15 degC"\nhumidity = "50 %"'
    )
    Path("wall.toml").write_text(text.replace('material = "mineral wool"\nthickness = "4 in"', 'film = "latex paint"'))
    import drydown.trial.calendar as calendar
    import drydown.trial.reserve as reserve

    monkeypatch.setattr(calendar, "_starts", lambda case: [case.start + np.timedelta64(k, "D") for k in range(12)])
    monkeypatch.setattr(reserve.drying_reserve, "__defaults__", (None, 3, 0.5, ("mould", "wood moisture"), None))
    result = drydown("dryout", "wall.toml", "--reserve", "--calendar-figure", "calendar.png")
    assert result.exit_code == 0, result.stderr
    said = plain(result.stdout)
    assert "When 0.5 kg/m2 of water gets in on the first of a month:" in said
    assert "Drying reserve: Up to" in said and "It is no leave to let water in" in said
    assert Path("calendar.png").read_bytes().startswith(b"\x89PNG")


def test_compare_puts_variants_side_by_side(folder, drydown):
    append(VARIANTS)
    result = drydown("compare", "wall.toml", "-o", "all.nc", "--figure", "all.png")
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    assert lines[0] == "Small wall"
    starts = [
        next(i for i, x in enumerate(lines) if x.startswith(n)) for n in ("as written", "polyethylene", "no leak")
    ]
    assert starts == [4, 5, 6]
    assert "polyethylene inside: layer.3.film = polyethylene 0.15 mm" in result.stdout
    assert "advice, not a licence" in plain(result.stdout)
    assert Path("all.png").read_bytes().startswith(b"\x89PNG")
    with xr.open_dataset("all.nc") as found:
        assert list(found["variant"].values) == ["as written", "polyethylene inside", "no leak"]
        alone = drydown("dryout", "wall.toml", "-o", "one.nc")
        assert alone.exit_code == 0
        with xr.open_dataset("one.nc") as one:
            assert float(found["remaining"][0]) == one.attrs["remaining"]
        inward = found["share_inward"].values
        assert inward[1] < inward[0] and inward[2] != inward[2]


def test_compare_says_what_is_missing(folder, drydown):
    result = drydown("compare", "wall.toml")
    assert result.exit_code == 2 and "it has no [[variant]]; write one" in result.stderr
    append('[[variant]]\nname = "a"\nset = { "period.days" = 5 }\n')
    result = drydown("compare", "wall.toml")
    assert result.exit_code == 2 and "variant 'a': its period differs" in result.stderr
