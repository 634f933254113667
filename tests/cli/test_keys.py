"""`drydown new --keys`: what may stand in a case file, told where the file is written."""

import pytest
from drydown.casefile.schema import SECTIONS


def test_every_key_of_every_section_is_told(folder, drydown):
    before = sorted(folder.iterdir())
    result = drydown("new", "--keys")
    assert result.exit_code == 0, result.stderr
    lines = {line.split("  ")[1] for line in result.stdout.splitlines() if line.startswith("  ") and line[2] != " "}
    assert lines == {key for keys in SECTIONS.values() for key in keys}
    assert sorted(folder.iterdir()) == before


def test_one_section_comes_with_its_models_units_and_what_is_needed(drydown):
    told = drydown("new", "--keys", "air_leak").stdout
    assert told.startswith("[[air_leak]]\n") and '[[air_leak]], way = "flow"' in told
    assert "\n[outside]" not in told
    assert '"3 m3/(m2 h)"' in told and "(needed)" in told


def test_one_key_comes_with_the_section_it_stands_in(drydown):
    told = drydown("new", "--keys", "overhang").stdout.splitlines()
    assert told[0] == '[outside], model = "weather"' and len(told) == 3


@pytest.mark.parametrize(("name", "near"), [("air_lek", "'air_leak'"), ("q5", "'q50'"), ("[outsid]", "'outside'")])
def test_a_name_that_is_not_known_is_refused_in_a_line(drydown, name, near):
    result = drydown("new", "--keys", name)
    assert result.exit_code != 0
    assert result.stderr.count("\n") == 1 and near in result.stderr and "--keys" in result.stderr
