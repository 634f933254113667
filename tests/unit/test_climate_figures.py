"""The figure of a climate carries its numbers, and says what is unavailable."""

import dataclasses
import importlib.util
from pathlib import Path

import drydown_climates
import numpy as np
import pytest
from drydown.climate.model import HOUR, Climate
from drydown.climate.statistics import behaviour
from drydown.figures.climate import about, climate_figure


def words_of(figure):
    figure.canvas.draw()
    found = [t.get_text() for t in figure.texts] + [figure.get_suptitle()]
    for axes in figure.axes:
        found += [t.get_text() for t in axes.texts] + [axes.get_title(loc="left")]
    return " ".join(" ".join(found).split())


@pytest.fixture(scope="module")
def fernmoor():
    return drydown_climates.catalogue()["fernmoor"]()


def test_the_figure_carries_the_numbers_of_the_climate(fernmoor):
    figure = climate_figure(fernmoor)
    text = words_of(figure)
    assert "fernmoor" in text and "59° N, 21° E, 80 m · 2021 to 2030 · synthetic, an invented place" in text
    for name in ("temperature", "dew point", "flat roof", "south", "east, west", "north"):
        assert name in text
    rain, frost = fernmoor.rain, fernmoor.temperature <= 273.15
    assert f"{rain.sum() / 10:.0f} a year, {float(f'{rain[frost].sum() / 10:.2g}'):.0f} as snow" in text
    # The bars of the months add up to the year; the rose is the mean of the open-field formula.
    bars = figure.axes[1].patches
    assert sum(b.get_height() for b in bars) == pytest.approx(rain.sum() / 10, rel=2e-3)
    toward = np.maximum(np.cos(np.radians(fernmoor.wind_direction - 180.0)), 0.0)
    south = (0.2 * fernmoor.wind_speed * toward * np.where(frost, 0.0, rain)).sum() / 10
    rose = [b.get_height() for b in figure.axes[3].patches]
    assert len(rose) == 16 and rose[8] == pytest.approx(south, rel=1e-3)
    assert f"most facing S, {float(f'{south:.3g}'):.0f}" in text


def test_the_lines_are_the_means(fernmoor):
    figure = climate_figure(fernmoor)
    air, damp = (line.get_ydata() for line in figure.axes[0].lines[:2])
    assert air.mean() == pytest.approx(fernmoor.temperature.mean() - 273.15, abs=0.05)
    assert (damp < air).all()
    roof = figure.axes[2].lines[0].get_ydata()
    assert roof.mean() == pytest.approx(fernmoor.global_horizontal.mean() * 0.024, rel=0.02)


def test_what_is_unavailable_is_said_and_not_drawn_as_zero(fernmoor):
    bare = dict.fromkeys(("rain", "wind_direction", "direct_normal", "global_horizontal"))
    text = words_of(climate_figure(dataclasses.replace(fernmoor, **bare)))
    assert "rain unavailable in this weather" in text and "sun unavailable in this weather" in text
    assert "rain and direction unavailable in this weather" in text


def test_a_part_of_a_year_can_be_drawn():
    n = 24 * 60
    time = np.datetime64("2023-11-20", "s") + np.arange(1, n + 1) * HOUR
    c = Climate("logger", -35.0, -60.0, 9.0, -4.0, time, 280.0 + np.arange(n) % 24, np.full(n, 0.7), source="own")
    c = dataclasses.replace(c, global_horizontal=np.where(np.arange(n) % 24 == 12, 500.0, 0.0))
    assert about(c) == "35° S, 60° W, 9 m · 2023 to 2024 · own"
    c = dataclasses.replace(c, rain=np.full(n, 0.1), wind_speed=np.full(n, 3.0), wind_direction=np.full(n, 90.0))
    figure = climate_figure(c)
    text = words_of(figure)
    assert "no whole year" in text and "whole year unavailable" in text
    air = figure.axes[0].lines[0]
    seen = air.get_xdata()[np.isfinite(air.get_ydata())]  # 20 November to 19 January, and a week around
    assert ((seen <= 18 + 7) | (seen >= 323 - 7)).all() and len(seen) > 20
    assert np.isfinite([b.get_height() for b in figure.axes[1].patches[:12]]).sum() == 3


def test_a_surface_of_interest_is_drawn_in_front(fernmoor):
    from drydown.climate.solar import plane_irradiance

    figure = climate_figure(fernmoor, 0.0)
    text = words_of(figure)
    toward = np.maximum(np.cos(np.radians(fernmoor.wind_direction)), 0.0)
    liquid = np.where(fernmoor.temperature > 273.15, fernmoor.rain, 0.0)
    north = (0.2 * fernmoor.wind_speed * toward * liquid).sum() / 10
    assert f"facing N: {float(f'{north:.3g}'):g}" in text and "north" not in text
    figure = climate_figure(fernmoor, 225.0, 30.0)
    assert "SW, tilt 30°" in words_of(figure) and "with falling rain" in words_of(figure)
    c = fernmoor
    total, _ = plane_irradiance(
        c.time, c, c.direct_normal, c.diffuse_horizontal, None, azimuth=225.0, tilt=30.0, ground_reflectance=0.2
    )
    drawn = figure.axes[2].lines[-1].get_ydata()
    month = (c.time - HOUR).astype("datetime64[M]").astype(int) % 12
    assert drawn[6] == pytest.approx(total[month == 6].mean() * 0.024, rel=0.02)


def test_every_figure_outside_the_measured_ones_has_a_reason():
    """`benchmarks/climates.py`: the table, a star where a figure lies outside, and why."""
    path = Path(__file__).parents[2] / "benchmarks" / "climates.py"
    spec = importlib.util.spec_from_file_location("climate_table", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    printed, outside = module.report()
    why, unknown = module.reasons(outside)
    assert not unknown and printed.count("*") == sum(map(len, outside.values())) > 5
    assert "84 % on average" in why
    # A reason that is no longer needed is taken out.
    assert {(name, key) for name, keys in outside.items() for key in keys} == set(module.REASONS)


def test_saturation_deficit_over_that_of_means():
    # Two kinds of hours in every month: 10 degC at 90 % and 20 degC at 50 %. (1 - phi) p: 0.1 p10, 0.5 p20.
    time = np.datetime64("2021-01-01", "s") + np.arange(1, 8761) * HOUR
    warm = np.arange(8760) % 2 == 0
    place = Climate("yard", 50.0, 15.0, 0.0, 1.0, time, np.where(warm, 293.15, 283.15), np.where(warm, 0.5, 0.9))
    p10, p20 = 1227.31, 2336.951  # ISO 13788, at 10 and 20 degC
    want = (0.1 * p10 + 0.5 * p20) / 2.0 / (0.3 * (p10 + p20) / 2.0)
    assert behaviour(place)["drying"] == pytest.approx(want, rel=1e-4)
