"""Calendar, reserve, spread, leaks and built-in water on the page, each where it was asked for or is there."""

import re

import numpy as np
import pytest
from click.testing import CliRunner
from drydown.cli import main
from drydown.report import further
from made_further import a_calendar, a_reserve
from matplotlib.backends.backend_agg import FigureCanvasAgg

CASE = """
title = "damp box"
air_leak = [{ q50 = "3 m3/(m2 h)", layer = "OSB", place = "inner" }]
line = "sill"
[outside]
model = "constant"
temperature = "5 degC"
humidity = "80 %"
[inside]
model = "constant"
temperature = "20 degC"
humidity = "50 %"
[period]
start = 2021-10-01
days = 4
[start]
humidity = "60 %"
[[layer]]
material = "OSB"
thickness = "11 mm"
start_humidity = "95 %"
[[layer]]
material = "mineral wool"
thickness = "60 mm"
"""
WETTING = """
[[wetting]]
layer = "OSB"
amount = "0.1 kg/m2"
date = 2021-10-02
[[variant]]
name = "thin"
set = { "layer.2.thickness" = "40 mm" }
"""


def test_every_block_stands_on_the_page(made):
    block = re.search(r"<section id='more'>.*?</section>", made.html, re.S)[0]
    text = " ".join(re.sub(r"<[^>]*>", " ", block).split())
    for said in (
        "Two models of “leaking air in OSB”",
        "it takes longest in December",
        "That much does not fit into gypsum board",
        "Up to 0.2 kg/m²",
        "in the weather from 15 January 2022 to",
        "Spread of the materials",
    ):
        assert said in text
    assert block.count("<figure>") == 1


def test_a_page_without_questions_has_no_such_section(made):
    assert "id='more'" not in made.paths["run"].read_text(encoding="utf-8")


def test_the_figure_of_the_calendar_can_be_drawn_for_a_phone():
    one = further.of_calendar(a_calendar())
    assert "30 % of it go inward" in one.sentences[1] and "30 % to 30 %" not in one.sentences[1]
    assert one.draw is not None
    for width in (8.6, 4.2):
        figure = one.draw(width)
        FigureCanvasAgg(figure).draw()
        assert figure.get_size_inches()[0] == pytest.approx(width)
        texts = [*figure.texts, *(axes._left_title for axes in figure.axes), *(axes.title for axes in figure.axes)]
        assert all(t.get_window_extent().x1 <= figure.bbox.x1 + 1.0 for t in texts if t.get_text())
    assert "ample" in further.of_reserve(a_reserve()).sentences[0]


@pytest.fixture
def wall(tmp_path):
    path = tmp_path / "wall.toml"
    path.write_text(CASE, encoding="utf-8")
    return path


def test_leak_and_built_in_water_stand_there_unasked(wall):
    result = CliRunner().invoke(main, ["report", str(wall)])
    assert result.exit_code == 0, result.output
    page = wall.with_suffix(".html").read_text(encoding="utf-8")
    assert "Two models of" in page and "more than usual was built in, in OSB" in page


@pytest.mark.parametrize("option", ["--calendar", "--reserve", "--spread"])
def test_what_becomes_of_no_water_is_not_asked(wall, option):
    result = CliRunner().invoke(main, ["report", str(wall), option])
    assert result.exit_code != 0 and "the case has no wetting" in str(result.output) + str(result.exception)
    assert not wall.with_suffix(".html").exists()


def test_spread_is_put_on_it_where_it_is_asked_for(wall):
    wall.write_text(CASE + WETTING, encoding="utf-8")
    result = CliRunner().invoke(main, ["report", str(wall), "--spread", "--no-changes"])
    assert result.exit_code == 0, result.output
    assert "What if the materials differ?" in wall.with_suffix(".html").read_text(encoding="utf-8")


def test_compare_says_what_its_line_leaves_out(wall):
    wall.write_text(CASE + WETTING, encoding="utf-8")
    result = CliRunner().invoke(main, ["compare", str(wall)])
    assert result.exit_code == 0, result.output
    assert "This line runs through the sill" in " ".join(result.output.split())
    assert np.all([len(line) <= 120 for line in result.output.splitlines()])


def test_a_run_says_both_leak_models(wall):
    result = CliRunner().invoke(main, ["run", str(wall)])
    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    assert "Two models of 'leaking air in OSB'" in said and "This run took the screening model." in said
