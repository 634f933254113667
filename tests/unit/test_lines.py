"""The line through the wall that a case stands for, and the head of its sheet."""

import pytest
from click.testing import CliRunner
from drydown.casefile import schema
from drydown.casefile.heading import read_heading
from drydown.cli import main
from drydown.errors import InputError
from drydown.wording.lines import CAUTIONS, LINES

WALL = """{top}
[climate]
name = "fernmoor"
[outside]
orientation = "north"
[period]
start = 2021-10-01
days = 2
[[layer]]
material = "SPF lumber"
thickness = "5-1/2 in"
"""


def test_the_file_and_the_words_know_the_same_lines():
    assert schema.LINES == LINES and [line for line in LINES if not CAUTIONS[line]] == ["clear wall"]


@pytest.mark.parametrize("line", LINES)
def test_an_answer_carries_the_cautions_of_its_line(tmp_path, line):
    path = tmp_path / "wall.toml"
    path.write_text(WALL.format(top=f'line = "{line}"'))
    said = " ".join(CliRunner().invoke(main, ["run", str(path)]).output.split())
    assert "SPF lumber" in said
    assert CAUTIONS[line] in said
    assert ("This line runs through" in said) == (line != "clear wall")


def test_the_head_is_read_and_units_follow_the_file_and_the_option(tmp_path):
    path = tmp_path / "wall.toml"
    path.write_text(WALL.format(top='units = "us"\naddress = "12 Mill Lane"\nbuilder = "R. Demo"\ndate = 2022-03-01'))
    head = read_heading(path)
    assert (head.system, head.address, head.builder, head.date) == ("US", "12 Mill Lane", "R. Demo", "1 March 2022")
    own = CliRunner().invoke(main, ["run", str(path)]).output
    metric = CliRunner().invoke(main, ["run", str(path), "--units", "metric"]).output
    assert "5 1/2" in own and "lb/ft2" in own and "kg/m2" not in own
    assert "140" in metric and "kg/m2" in metric and "lb/ft2" not in metric


def test_another_line_is_refused(tmp_path):
    path = tmp_path / "wall.toml"
    path.write_text(WALL.format(top='line = "stub"'))
    with pytest.raises(InputError, match="did you mean 'stud'"):
        read_heading(path)
