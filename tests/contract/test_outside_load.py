"""The load of the example plugin, installed with pip: it is read, counted, told and varied like the engine's own."""

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from forked import Forked
from small_case import CASE, write_case

PLUGIN = Path(__file__).parents[2] / "docs" / "example_plugin"
TIDE = '\n[[spring_tide]]\nlayer = "OSB"\namount = "2 kg/m2"\nevery = "3 days"\n'
VARIANT = '\n[[variant]]\nname = "twice the spray"\nset = { "spring_tide.1.amount" = "4 kg/m2" }\n'
STUDY = """
base = "wall.toml"
outputs = ["remaining", "share_inward"]
[[output]]
of = "final_water"
layer = "OSB"
[[axis]]
name = "spray"
path = "spring_tide.1.amount"
values = ["0.1 kg/m2", "0.4 kg/m2"]
"""
READ = """
import json, sys
import numpy as np
import xarray as xr
from drydown.casefile import read_case, write_case
case = read_case("wall.toml")
again = read_case(write_case(case, "again.toml"))
run = xr.open_dataset("run.nc")
stored = run["layer_water"].sum("layer").values
passed = sum(run[k].values for k in ("vapour_passed", "liquid_passed"))
load = {str(n): i for i, n in enumerate(run["load_term"].values)}
at = load["spray in OSB"]
brought = run["load_water"].values[:, at]
opened = stored - stored[0] - brought - run["water_added"].values.sum(axis=1) - passed[:, 0] + passed[:, -1]
print(json.dumps({
    "loads": list(load), "brought": float(brought[-1]), "refused": float(run["load_refused"].values[-1, at]),
    "open": float(np.abs(opened).max()), "note": run.attrs["note_spray"],
    "kinds": [type(x).__module__ for x in case.loads], "same": again.loads == case.loads,
}))
"""


@pytest.fixture(scope="module")
def shell(tmp_path_factory):
    """Install the plugin into a folder of its own; give what runs Python in a folder with the small case."""
    target, folder = tmp_path_factory.mktemp("outside"), tmp_path_factory.mktemp("wall")
    ready = ["--no-build-isolation"] if importlib.util.find_spec("hatchling") else []
    pip = [sys.executable, "-m", "pip", "install", "--no-deps", "--quiet", "--disable-pip-version-check", *ready]
    done = subprocess.run([*pip, "--target", str(target), str(PLUGIN)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    write_case(folder, CASE + TIDE + VARIANT)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    paths = os.pathsep.join(p for p in (str(target), os.environ.get("PYTHONPATH", "")) if p)
    environment = {**os.environ, "PYTHONPATH": paths, "PYTHONDONTWRITEBYTECODE": "1"}

    forked = Forked(environment, tmp_path_factory.mktemp("forked"))

    def run(*arguments, fails=False):
        done = forked.run(folder, *arguments)
        assert (done.returncode != 0) == fails, done.stdout + done.stderr
        return done.stderr if fails else done.stdout

    run.folder = folder
    yield run
    forked.close()


def drydown(shell, *arguments, **how):
    return shell("from drydown.cli import main; main()", *arguments, **how)


@pytest.mark.slow
def test_it_is_read_written_and_counted(shell):
    told = " ".join(drydown(shell, "run", "wall.toml", "-o", "run.nc").split())
    assert "spray in OSB: threw in " in told and "dripped off again" in told
    got = json.loads(shell(READ))
    assert got["loads"] == ["spray in OSB"] and got["kinds"] == ["estuary_materials.tide"] and got["same"]
    # ten days hold three tides of 2 kg/m2; what found room and what did not are all of it
    assert got["note"] == "3 spring tides"
    assert got["brought"] + got["refused"] == pytest.approx(6.0, rel=1e-9) and got["brought"] > 0.3
    assert got["open"] < 1e-9


@pytest.mark.slow
def test_the_trial_counts_what_it_lets_out(shell):
    told = drydown(shell, "dryout", "wall.toml", "-o", "trial.nc", "--sources")
    assert "3 spring tides" in told
    ways = shell("import xarray as xr; print(*xr.open_dataset('trial.nc')['way'].values, sep='|')")
    assert ways.strip().split("|")[-1] == "spray in OSB"


@pytest.mark.slow
def test_the_page_has_it(shell):
    drydown(shell, "report", "wall.toml", "-o", "wall.html", "--no-changes")
    page = (shell.folder / "wall.html").read_text(encoding="utf-8")
    assert page.count("spray in OSB") >= 2
    assert "3 spring tides" in page


@pytest.mark.slow
def test_variants_change_it(shell):
    drydown(shell, "compare", "wall.toml", "-o", "both.nc")
    remaining = shell("import xarray as xr; print(*xr.open_dataset('both.nc')['remaining'].values)")
    plain, twice = map(float, remaining.split())
    # of the water on trial more is still there where the board is wetter
    assert plain != twice


@pytest.mark.slow
def test_a_study_varies_it(shell):
    drydown(shell, "study", "run", "study.toml", "--workers", "1")
    drydown(shell, "study", "gather", "study.toml", "-o", "gathered.nc")
    read = "import xarray as xr; print(*xr.open_dataset('gathered.nc')['final_water_OSB'].values)"
    little, much = map(float, shell(read).split())
    assert much - little > 0.1


def test_what_is_wrong_with_it_is_one_line(shell):
    (shell.folder / "bad.toml").write_text(CASE + TIDE.replace('"3 days"', '"3 kg"'), encoding="utf-8")
    said = drydown(shell, "dryout", "bad.toml", fails=True)
    assert said.count("\n") == 1 and "bad.toml, spring_tide 1, every" in said
    (shell.folder / "bad.toml").write_text(CASE + TIDE.replace("amount", "amuont"), encoding="utf-8")
    said = drydown(shell, "dryout", "bad.toml", fails=True)
    assert said.count("\n") == 1 and "'amount'" in said
    (shell.folder / "bad.toml").write_text(CASE + TIDE.replace("spring_tide", "spring_tite"), encoding="utf-8")
    said = drydown(shell, "dryout", "bad.toml", fails=True)
    assert said.count("\n") == 1 and "'spring_tide'" in said
