"""The panel of walls whose fate is known: its form, and two of its walls; `drydown validate --field` asks all."""

import pytest
from click.testing import CliRunner
from drydown.casefile import case_of
from drydown_validation import field
from drydown_validation.field import OUTCOMES, Answer, agrees, table, walls


def test_the_panel_is_large_and_every_wall_is_a_case_with_a_source():
    panel = walls()
    assert len(panel) >= 25 and len({w.name for w in panel}) == len(panel)
    assert {w.expected for w in panel} == set(OUTCOMES)
    assert sum(w.expected == "damaged" for w in panel) >= 10
    for wall in panel:
        assert wall.source and wall.known in ("read", "quoted", "memory", "practice")
        case = case_of(wall.data, field.HERE / "walls.toml")
        assert (case.end - case.start).astype("timedelta64[D]").astype(int) >= 1095


def test_walls_of_one_about_differ_in_what_they_say():
    seen = [repr({k: v for k, v in w.data.items() if k != "title"}) for w in walls()]
    assert len(set(seen)) == len(seen)


def test_a_sound_wall_may_come_near_a_limit_and_a_failed_one_must_pass_it():
    assert agrees("sound", "wet in winter") and not agrees("sound", "damaged")
    assert agrees("damaged", "damaged") and not agrees("damaged", "wet in winter")
    assert agrees("wet in winter", "damaged") and not agrees("wet in winter", "sound")


def test_the_table_counts_and_says_why():
    first, second, *_ = walls()
    text, enough = table([(first, Answer(first.name, "sound", ())), (second, Answer(second.name, "sound", ()))])
    assert "1 of 2 agree, 50 %" in text and not enough
    said = " ".join(text.split())
    assert "no criterion comes near its limit" in said and first.found in said


@pytest.mark.slow
@pytest.mark.parametrize("name", ["code wall cold", "leaky stucco marine"])
def test_a_wall_of_the_panel_is_told_as_it_was_found(name):
    wall = next(w for w in walls() if w.name == name)
    answer = field.told(wall)
    assert agrees(wall.expected, answer.found), answer


def test_the_command_lists_the_panel():
    from drydown.cli import main

    result = CliRunner().invoke(main, ["validate", "--field", "--list"])
    assert len(result.output.splitlines()) == len(walls())
