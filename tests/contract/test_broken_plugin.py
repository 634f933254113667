"""Plugins that are broken on purpose, installed beside ours: warned about, skipped, named, and the rest works."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

GOOD = 'Source("nobody", None, "made up for this test", "demo")'
BROKEN = f"""
import dataclasses
import numpy as np
from drydown import Film, Material, Source
from drydown.materials.curves import Constant, sorption_points

source = ({GOOD},)
film = Film("good film", Constant(1e-10), sources=source)
board = Material("good board", 500.0, 1500.0, Constant(0.1), sorption_points((0.5, 0.9), (30.0, 90.0), 500.0),
                 Constant(1e-12), 500.0, sources=source)


def raises():
    raise OSError("the data file is gone")


def catalogue():
    vary = dataclasses.replace
    return {{
        "good film": film,
        "good board": board,
        "wrong shape": lambda: vary(film, permeance=lambda phi: np.ones(3) * 1e-10),
        "negative permeance": lambda: vary(film, permeance=lambda phi: -1e-10 + 0.0 * phi),
        "falling storage": lambda: vary(board, storage=lambda phi: 500.0 * (1.0 - phi) + 1.0),
        "no source": lambda: vary(film, sources=()),
        "raises when built": raises,
    }}
"""
SAYS = {
    "wrong shape": "permeance does not keep the shape",
    "negative permeance": "permeance is -1e-10 kg/(m2 s Pa)",
    "falling storage": "storage falls with humidity",
    "no source": "no source; give at least one",
    "raises when built": "OSError: the data file is gone",
}
PLUGINS = {
    "half_broken": (BROKEN, "half = half_broken:catalogue"),
    "cannot_load": ("import a_module_that_is_nowhere\n", "cannot = cannot_load:catalogue"),
    "no_function": ("x = 1\n", "none = no_function:catalogue"),
}


@pytest.fixture(scope="module")
def environment(tmp_path_factory) -> dict[str, str]:
    """A folder on the path with three packages as an installer leaves them."""
    home = tmp_path_factory.mktemp("plugins")
    for name, (code, point) in PLUGINS.items():
        (home / f"{name}.py").write_text(code, encoding="utf-8")
        info = home / f"{name}-1.0.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n", encoding="utf-8")
        (info / "entry_points.txt").write_text(f"[drydown.materials]\n{point}\n", encoding="utf-8")
    seen = os.pathsep.join(p for p in (str(home), os.environ.get("PYTHONPATH", "")) if p)
    return {**os.environ, "PYTHONPATH": seen, "HOME_OF_TEST": str(home)}


def drydown(environment: dict[str, str], *arguments: str) -> subprocess.CompletedProcess[str]:
    code = "from drydown.cli import main; main()"
    command = [sys.executable, "-c", code, *arguments]
    return subprocess.run(command, capture_output=True, text=True, env=environment, cwd=environment["HOME_OF_TEST"])


def test_the_list_names_what_is_broken_and_shows_the_rest(environment):
    done = drydown(environment, "materials")
    assert done.returncode == 0
    lines = done.stderr.splitlines()
    assert len(lines) == len(SAYS) + 2 and all(line.startswith("drydown: warning: ") for line in lines)
    for entry, words in SAYS.items():
        (line,) = [x for x in lines if f"'{entry}'" in x]
        assert "plugin 'half'" in line and words in line and "skipped" in line
        assert not re.search(rf"^{entry} ", done.stdout, re.M)
    for plugin, words in (("cannot", "a_module_that_is_nowhere"), ("none", "catalogue")):
        (line,) = [x for x in lines if f"plugin '{plugin}'" in x]
        assert words in line and "skipped" in line
    for entry in ("good film", "good board", "OSB", "polyethylene 0.15 mm"):
        assert re.search(rf"^{re.escape(entry)} ", done.stdout, re.M)


def test_a_broken_entry_that_is_asked_for_is_one_line(environment):
    done = drydown(environment, "materials", "falling storage")
    assert done.returncode == 2 and done.stdout == ""
    assert "'half:falling storage' is broken" in done.stderr and "Traceback" not in done.stderr


def test_a_wall_beside_broken_plugins_runs(environment):
    """Asked for by name, entries are built one by one: nothing broken is touched, and nothing is said."""
    wall = Path(environment["HOME_OF_TEST"]) / "wall.toml"
    assert drydown(environment, "new", "wall.toml").returncode == 0
    text = wall.read_text(encoding="utf-8").replace("years = 2 ", "days = 260 ")
    other = text.replace('film = "polyamide film 0.05 mm"', 'film = "half:good film"')
    assert other != text and "days = 260 " in text
    wall.write_text(other, encoding="utf-8")
    done = drydown(environment, "dryout", "wall.toml")
    assert done.returncode == 0, done.stderr
    assert "got into 'OSB'" in done.stdout
    assert "half" not in done.stderr.replace("half:good film", "")
