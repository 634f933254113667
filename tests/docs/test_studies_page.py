"""What docs/studies.md shows can be run as it stands, in its order."""

import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from drydown.study.axes import DISTRIBUTIONS
from drydown.study.designs import METHODS
from drydown.study.outputs import KINDS

PAGE = Path(__file__).parents[2] / "docs" / "studies.md"


@pytest.fixture(scope="module")
def page():
    return PAGE.read_text(encoding="utf-8")


def test_the_page_runs(page, tmp_path, monkeypatch):
    """Its study file, of the case that `drydown new` writes, shortened; its Python, block after block."""
    monkeypatch.chdir(tmp_path)
    wall = files("drydown").joinpath("templates/library_wall.toml").read_text(encoding="utf-8")
    assert "years = 2 " in wall
    Path("wall.toml").write_text(wall.replace("years = 2 ", "days = 150 "), encoding="utf-8")
    (study,) = re.findall(r"```toml\n(.*?)```", page, re.S)
    Path("study.toml").write_text(study, encoding="utf-8")
    names: dict = {}
    for block in re.findall(r"```python\n(.*?)```", page, re.S):
        exec(compile(block, str(PAGE), "exec"), names)
    assert names["summary"].computed == 8 and not names["summary"].failed
    assert names["grid"]["share_inward"].dims == ("film", "faces", "amount")
    dry, damp = names["starts"]["final_water_OSB"].values
    assert dry < damp
    assert len(list(Path("cases").glob("case-*.toml"))) == 2
    first = names["found"]["first_order"].values[0]
    assert np.allclose(first, [0.314, 0.442, 0.0], atol=0.05)  # analytic, see tests/study/test_study_sobol.py


def test_the_tables_are_whole(page):
    for name in (*KINDS, *DISTRIBUTIONS, *METHODS):
        assert f"`{name}`" in page or f'`"{name}"`' in page, name


def test_the_commands_on_the_page_exist(page):
    from drydown.cli.studying import study

    said = {line.split()[2] for line in re.findall(r"^    (drydown study .*)$", page, re.M)}
    assert said == set(study.commands)
