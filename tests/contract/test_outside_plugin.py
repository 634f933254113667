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


EVERYWHERE = """
import json, warnings
from pathlib import Path
import numpy as np
warnings.simplefilter("error")
from drydown import dryout, simulate
from drydown.casefile import read_case
from drydown.casefile.variants import read_variants
from drydown.criteria import assess, deciding
from drydown.figures.courses import follow
from drydown.report import page
from drydown.study.outputs import Output, check_criteria, fields
from drydown.trial.calendar import wetting_calendar
from drydown.trial.compare import compare
from drydown.trial.dryout import account, twins
from drydown.trial.reserve import drying_reserve
from drydown.wording.answer import trial_answer
from drydown.wording.calendar import calendar_answer
from drydown.wording.comparison import comparison_table
from drydown.wording.reserve import gave_way
from drydown.trial import calendar as months

WALL = '''
title = "Small wall"
[outside]
model = "constant"
temperature = "8 degC"
humidity = "85 %"
[inside]
model = "constant"
temperature = "21 degC"
humidity = "40 %"
[period]
start = 2021-10-01
days = 20
[start]
temperature = "10 degC"
humidity = "70 %"
[limits]
salt_cycles = 0
[[layer]]
material = "OSB"
thickness = "11 mm"
[[layer]]
film = "latex paint"
[[wetting]]
layer = "OSB"
amount = "0.5 kg/m2"
date = 2021-10-03
duration = "6 h"
[[variant]]
name = "no leak"
remove = ["wetting.1"]
'''
Path("salt.toml").write_text(WALL)
asked = (Output("criterion", criterion="salt"),)
check_criteria(asked)
case = read_case("salt.toml")
limits = {"salt_cycles": 0.0, "salt_humidity": 0.80}
dry, wet = twins(case)
found = {f.criterion: f for f in assess(wet, limits)}["salt"]
before = assess(dry, limits)
months._starts = lambda case: [case.start + np.timedelta64(k, "D") for k in range(12)]
table = wetting_calendar(case, layers=["OSB"], follow=20, limits=limits)
print(json.dumps({
    "verdict": found.verdict,
    "place": str(found.place),
    "answer": trial_answer(account(case, dry, wet), case, before, assess(wet, limits)),
    "page": page(wet, account(case, dry, wet), case, follow(wet, limits), before),
    "comparison": comparison_table(compare(read_variants(Path("salt.toml")), limits)),
    "calendar": calendar_answer(table),
    "followed": [c.name for c in deciding("calendar")],
    "reserve": gave_way(drying_reserve(case, limits, only=["salt"], tolerance=0.5)),
    "study": list(fields(asked)),
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


def test_its_criterion_stands_wherever_ours_do(environment):
    """Verdict, page, comparison, calendar, reserve and study, without a change in the engine."""
    got = json.loads(run(["-c", EVERYWHERE], environment))
    assert got["verdict"] == "exceeded" and "face of 'OSB'" in got["place"]
    answer = " ".join(got["answer"].split())
    assert "salt crumbles a face" in answer and "salt would crystallise" in answer
    assert "salt crystallises, times a year" in got["answer"]  # its line in the table
    assert "salt crumbles a face" in got["page"] and "Salt crystallises, times a year" in got["page"]
    assert "salt" in got["comparison"].splitlines()[0] and "*" in got["comparison"]
    assert "salt" in got["followed"] and "salt crystallises" in " ".join(got["calendar"].split())
    assert "the crystals of salt" in got["reserve"]
    assert got["study"] == ["salt", "salt_verdict"]


def test_the_engine_never_names_it():
    for source in (PLUGIN.parents[1] / "engine").rglob("*.py"):
        assert "estuary" not in source.read_text(encoding="utf-8")
