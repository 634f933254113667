"""More years like those of a weather file: their months and their behaviour are those of the file."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from drydown.climate.model import HOUR
from drydown.climate.statistics import behaviour
from drydown.climate.weather.files import read_weather
from drydown.errors import InputError
from drydown_climates.__main__ import main
from drydown_climates.fitting import fit_place
from drydown_climates.generator import generate

GREENSBORO = Path(str(files("pvlib") / "data" / "723170TYA.CSV"))


@pytest.fixture(scope="module")
def pair():
    measured = read_weather(GREENSBORO)
    return measured, generate(fit_place(measured, "like it"), years=20)


def by_month(climate, column):
    month = (climate.time - HOUR).astype("datetime64[M]").astype(int) % 12
    return np.array([getattr(climate, column)[month == m].mean() for m in range(12)])


def test_the_months_are_met(pair):
    measured, made = pair
    for column, within in (("temperature", 0.2), ("humidity", 0.01)):
        assert np.abs(by_month(made, column) - by_month(measured, column)).max() < within
    for column, within in (("wind_speed", 0.02), ("global_horizontal", 0.08)):
        assert np.abs(by_month(made, column) / by_month(measured, column) - 1.0).max() < within
    rain = by_month(measured, "rain")
    assert np.abs(by_month(made, "rain") - rain).max() < 0.03 * rain.max()


def test_the_behaviour_is_met(pair):
    measured, made = (behaviour(c) for c in pair)
    for key, within in (("sun_winter", 0.15), ("sun_summer", 0.15), ("clear_range", 0.2), ("noise", 0.06)):
        assert made[key] == pytest.approx(measured[key], abs=within), key
    assert made["daily_range"] == pytest.approx(measured["daily_range"], rel=0.05)
    assert made["calm"] == pytest.approx(measured["calm"], abs=2.0)
    assert made["dry_rain"] < 1.5


def test_years_made_differ(pair):
    year = (pair[1].time - HOUR).astype("datetime64[Y]").astype(int)
    warmth = np.array([pair[1].temperature[year == y].mean() for y in np.unique(year)])
    assert len(warmth) == 20 and 0.2 < warmth.std(ddof=1) < 1.5


def test_what_cannot_be_fitted_is_said(pair):
    import dataclasses

    with pytest.raises(InputError, match="rain is unavailable"):
        fit_place(dataclasses.replace(pair[0], rain=None))


def test_the_command_writes_a_file_that_is_read_again(tmp_path):
    out = tmp_path / "more.nc"
    done = CliRunner().invoke(main, [str(GREENSBORO), "--years", "2", "--output", str(out)])
    assert done.exit_code == 0 and "2 years like 723170TYA.CSV" in done.output
    again = read_weather(out)
    assert again.whole_years == 2 and again.synthetic
    done = CliRunner().invoke(main, [str(tmp_path / "no.csv"), "--output", str(out)])
    assert done.exit_code == 2 and "no such weather file" in done.output
