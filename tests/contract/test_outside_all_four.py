"""A material, a climate, a load and a criterion from an outside package in one wall: trial, page, comparison, study.

The engine is not changed: `test_outside_plugin` looks for the package's name in it.
"""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from forked import Forked
from small_case import CASE

PLUGIN = Path(__file__).parents[2] / "docs" / "example_plugin"
WALL = (
    CASE.replace('file = "weather.csv"', 'name = "estuary"')
    .replace('material = "OSB"', 'material = "reed board"')
    .replace('layer = "OSB"', 'layer = "reed board"')
    .replace("days = 10", "days = 20")
)
WALL += """
[[spring_tide]]
layer = "reed board"
amount = "0.5 kg/m2"
every = "3 days"

[limits]
salt_cycles = 15

[[variant]]
name = "no salt to speak of, twice the spray"
set = { "spring_tide.1.amount" = "1 kg/m2" }
"""
STUDY = """
base = "wall.toml"
[[output]]
of = "criterion"
criterion = "salt"
[[output]]
of = "final_water"
layer = "reed board"
[[axis]]
name = "spray"
path = "spring_tide.1.amount"
values = ["0.1 kg/m2", "0.5 kg/m2"]
"""
READ = """
import json
import numpy as np
import drydown
from drydown import assess, open_result, plugins, read_case, simulate
case = read_case("wall.toml")
homes = [plugins.materials().home("reed board"), plugins.climates().home("estuary"), plugins.criteria().home("salt")]
with open_result("trial.nc") as trial, open_result("both.nc") as both, open_result("study.nc") as study:
    found = {f.criterion: f for f in assess(simulate(case), {"salt_cycles": 15.0})}
    print(json.dumps({
        "homes": homes,
        "ways": [str(w) for w in trial["way"].values],
        "climate": case.outside.climate.name,
        "salt": found["salt"].value,
        "limit": found["salt"].limit,
        "compared": both["value"].sel(criterion="salt").values.tolist(),
        "compared limit": np.ravel(both["limit"].sel(criterion="salt").values).tolist(),
        "studied": study["salt"].values.tolist(),
        "water": study["final_water_reed_board"].values.tolist(),
        "names": list(study.data_vars),
    }))
"""


@pytest.mark.slow
def test_all_four_show_everywhere(tmp_path):
    target, folder, meanwhile = (tmp_path / name for name in ("outside", "wall", "meanwhile"))
    folder.mkdir(), meanwhile.mkdir()
    ready = ["--no-build-isolation"] if importlib.util.find_spec("hatchling") else []
    pip = [sys.executable, "-m", "pip", "install", "--no-deps", "--quiet", "--disable-pip-version-check", *ready]
    done = subprocess.run([*pip, "--target", str(target), str(PLUGIN)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (folder / "wall.toml").write_text(WALL, encoding="utf-8")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    paths = os.pathsep.join(p for p in (str(target), os.environ.get("PYTHONPATH", "")) if p)
    environment = {**os.environ, "PYTHONPATH": paths, "PYTHONDONTWRITEBYTECODE": "1"}

    forked = Forked(environment, meanwhile)

    def python(*arguments):
        done = forked.run(folder, *arguments)
        assert done.returncode == 0, (arguments, done.stdout + done.stderr)
        return done.stdout

    def drydown(*arguments):
        return " ".join(python("from drydown.cli import main; main()", *arguments).split())

    told = drydown("dryout", "wall.toml", "-o", "trial.nc", "--sources")
    assert "reed board" in told and "spring tides" in told and "salt" in told
    drydown("report", "wall.toml", "-o", "wall.html", "--no-changes")
    page = (folder / "wall.html").read_text(encoding="utf-8")
    for word in ("reed board", "estuary", "spray in reed board", "salt"):
        assert word in page, word
    told = drydown("compare", "wall.toml", "-o", "both.nc")
    assert "twice the spray" in told
    drydown("study", "run", "study.toml", "--workers", "1")
    drydown("study", "gather", "study.toml", "-o", "study.nc")

    got = json.loads(python(READ))
    assert got["homes"] == ["estuary"] * 3 and got["climate"] == "estuary"
    assert got["ways"][-1] == "spray in reed board"
    assert got["limit"] == 15.0 and set(got["compared limit"]) == {15.0}
    # the study's second case and the comparison's first variant are the wall itself
    assert got["compared"][0] == pytest.approx(got["salt"]) and got["studied"][1] == pytest.approx(got["salt"])
    assert got["water"][1] > got["water"][0]
    listed = drydown("climates"), drydown("materials"), drydown("climates", "estuary")
    assert "estuary" in listed[0] and "reed board" in listed[1] and "two sines and a shower" in listed[2]
    forked.close()
