"""What docs/climates.md and docs/loads.md show can be run, and they name what there is."""

import re
import tomllib
from pathlib import Path

import pytest
from drydown.case.loads import AirLeak, RainShare, VentilatedGap
from drydown.casefile import read_case
from drydown.casefile.schema import INDOOR, LISTS, SECTIONS, SEVERE
from drydown.examples import template

DOCS = Path(__file__).parents[2] / "docs"


def page(name):
    return (DOCS / name).read_text(encoding="utf-8")


def test_the_loads_on_the_page_are_lines_of_a_case_file(tmp_path):
    (block,) = re.findall(r"```toml\n(.*?)```", page("loads.md"), re.S)
    lines = block.strip().splitlines()
    assert [next(iter(tomllib.loads(line))) for line in lines] == [
        "wetting",
        "rain_share",
        "air_leak",
        "ventilated_gap",
    ]
    text = template("wall").split("# The water that gets in.")[0]
    (tmp_path / "wall.toml").write_text(block + text)
    case = read_case(tmp_path / "wall.toml")
    assert {type(load) for load in case.loads} == {VentilatedGap, AirLeak, RainShare}
    assert case.wettings[0].yearly


def test_the_climate_on_the_page_can_be_read(tmp_path):
    (block,) = re.findall(r"```toml\n(.*?)```", page("climates.md"), re.S)
    text = template("wall").replace('[climate]\nname = "fernmoor" ', f"{block}# ", 1)
    (tmp_path / "wall.toml").write_text(text)
    case = read_case(tmp_path / "wall.toml")
    assert case.outside.climate.whole_years == 1 and "of 2022 to 2026" in case.outside.climate.source


def test_the_python_on_the_page(capsys):
    (block,) = (b for b in re.findall(r"```python\n(.*?)```", page("climates.md"), re.S) if "severe_year" in b)
    exec(compile(block, "climates.md", "exec"), {})
    assert "driving rain on a wall facing 225 degrees" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["climates.md", "loads.md"])
def test_pictures_are_there(name):
    for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", page(name)):
        assert (DOCS / picture).stat().st_size > 20000


def test_every_load_and_model_is_on_the_page():
    loads, climates = page("loads.md"), page("climates.md")
    for name in LISTS[1:]:
        assert f"`{name}`" in loads
    for word in INDOOR:
        if word != "chamber":
            assert f'`"{word}"`' in climates
    for word in SEVERE:
        assert f'"{word}"' in climates
    missing = [k for k in SECTIONS["outside ground"] if k not in climates]
    assert set(missing) <= {"coldest_day", "diffusivity", "vapour_transfer"}
