"""The example plugin under docs/: installed with pip into a folder of its own, found, checked, simulated."""

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

PLUGIN = Path(__file__).parents[2] / "docs" / "example_plugin"

SCRIPT = """
import json, sys, warnings
import numpy as np
warnings.simplefilter("error")
import drydown
from drydown import Assembly, Case, Chamber, Initial, Layer, plugins, simulate
from drydown.materials.curves import mean_permeance

assert "estuary_materials" not in sys.modules, "imported before it was asked for"
film, board = plugins.film("estuary laminate"), plugins.material("reed board")
start = np.datetime64("2001-01-01T00", "s")


def steady_flux(outside, inside):
    case = Case(
        Assembly((film, Layer(board, 0.02))),
        Chamber(296.15, outside, vapour_transfer=1e-6),
        Chamber(296.15, inside, surface=True),
        start,
        start + np.timedelta64(60, "D"),
        initial=Initial(296.15, 0.6),
    )
    passed = simulate(case)["vapour_passed"].values[:, 0]
    return float(passed[-1] - passed[-25]) / 86400.0


print(json.dumps({
    "home": plugins.materials().home("reed board"),
    "broken": plugins.materials().broken,
    "ours": plugins.materials().home("OSB"),
    "inward": steady_flux(0.9, 0.5),
    "outward": -steady_flux(0.5, 0.9),
    "P inward": mean_permeance(film.permeance, 0.5, 0.9),
    "P outward": mean_permeance(film.permeance_outward, 0.5, 0.9),
}))
"""


@pytest.fixture(scope="module")
def environment(tmp_path_factory):
    """Install the plugin into a folder of its own and return the environment that sees it."""
    target = tmp_path_factory.mktemp("outside")
    ready = ["--no-build-isolation"] if importlib.util.find_spec("hatchling") else []
    command = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--no-deps",
        "--quiet",
        "--disable-pip-version-check",
        *ready,
    ]
    done = subprocess.run([*command, "--target", str(target), str(PLUGIN)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    paths = [str(target), os.environ.get("PYTHONPATH", "")]
    seen = os.pathsep.join(p for p in paths if p)
    return {**os.environ, "PYTHONPATH": seen, "PYTHONDONTWRITEBYTECODE": "1", "HOME_OF_RUN": str(target)}


def run(arguments, environment):
    where = environment["HOME_OF_RUN"]
    command = [sys.executable, *arguments]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, cwd=where)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_its_own_test_passes(environment):
    quiet = ["-q", "-p", "no:cacheprovider", f"--rootdir={environment['HOME_OF_RUN']}"]
    assert "1 passed" in run(["-m", "pytest", *quiet, str(PLUGIN / "tests")], environment)
    assert sorted(p.name for p in PLUGIN.iterdir()) == ["README.md", "pyproject.toml", "src", "tests"]


def test_its_film_and_board_run_in_the_engine(environment):
    got = json.loads(run(["-c", SCRIPT], environment))
    assert got["home"] == "estuary" and got["ours"] == "drydown" and got["broken"] == {}
    # the film rules the resistance, so the two directions differ about as its two curves do
    assert got["outward"] > 1.5 * got["inward"] > 0.0
    assert got["P outward"] > 1.5 * got["P inward"]


def test_the_engine_never_names_it():
    for source in (PLUGIN.parents[1] / "engine").rglob("*.py"):
        assert "estuary" not in source.read_text(encoding="utf-8")
