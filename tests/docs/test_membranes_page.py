"""What docs/membranes.md shows can be run as it stands, in its order."""

import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from drydown.bench import FAMILIES
from drydown.testing import check_film

PAGE = Path(__file__).parents[2] / "docs" / "membranes.md"


@pytest.fixture(scope="module")
def page():
    return PAGE.read_text(encoding="utf-8")


def test_the_page_runs(page, tmp_path, monkeypatch):
    """Its tests, its case (the one `drydown new` writes, shortened) and its Python, block after block."""
    monkeypatch.chdir(tmp_path)
    (csv,) = re.findall(r"```csv\n(.*?)```", page, re.S)
    Path("tests.csv").write_text(csv, encoding="utf-8")
    wall = files("drydown").joinpath("templates/library_wall.toml").read_text(encoding="utf-8")
    assert "years = 2 " in wall
    Path("wall.toml").write_text(wall.replace("years = 2 ", "days = 200 "), encoding="utf-8")
    names: dict = {}
    for block in re.findall(r"```python\n(.*?)```", page, re.S):
        exec(compile(block, str(PAGE), "exec"), names)
    check_film(names["membrane"])
    assert names["found"].warnings == ()
    assert np.all(names["low"] < names["found"].curve(np.array([0.3, 0.5, 0.7, 0.9])))
    assert names["trials"].sizes == {"closed": 3, "middle": 2}
    for picture in ("curve.png", "map.png", "sensitivity.png"):
        assert Path(picture).stat().st_size > 10000


def test_the_commands_on_the_page_exist(page):
    from drydown.cli.benching import bench

    lines = re.findall(r"^    drydown bench (.*)$", page, re.M)
    assert {line.split()[0] for line in lines} == set(bench.commands)
    for line in lines:
        command = bench.commands[line.split()[0]]
        known = {o for p in command.params for o in p.opts}
        assert set(re.findall(r"--[a-z-]+", line)) <= known


def test_every_family_is_on_the_page(page):
    for name, family in FAMILIES.items():
        assert f"| `{name}` |" in page
        if name != "spline":
            row = page.split(f"| `{name}` |")[1].splitlines()[0]
            assert all(f"`{p}`" in row for p in family.parameters)
