"""Versions and dependencies stand in one place each: what else names them says the same."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import drydown

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
#: Packages that are called otherwise there.
CONDA = {"netCDF4": "netcdf4", "matplotlib": "matplotlib-base", "pvlib": "pvlib-python"}


def test_one_version():
    assert PROJECT["dynamic"] == ["version"]
    recipe = (ROOT / ".ci/conda/meta.yaml").read_text()
    citation = (ROOT / "docs/CITATION.cff").read_text()
    assert f'set version = "{drydown.__version__}"' in recipe
    assert re.search(rf"^version: {re.escape(drydown.__version__)}$", citation, re.M)
    assert f"license: {PROJECT['license']}" in citation and f"license: {PROJECT['license']}" in recipe


def test_the_recipe_needs_what_the_project_needs():
    recipe = (ROOT / ".ci/conda/meta.yaml").read_text()
    run = recipe.partition("  run:\n")[2].partition("\n\n")[0]
    listed = {line.strip(" -") for line in run.splitlines()}
    wanted = {f"python {PROJECT['requires-python']}"}
    for requirement in PROJECT["dependencies"]:
        name, bounds = re.fullmatch(r"([\w-]+)(.*)", requirement).groups()
        wanted.add(f"{CONDA.get(name, name)} {bounds}")
    assert listed == wanted
    for name, target in PROJECT["scripts"].items():
        assert f"- {name} = {target}" in recipe


def test_the_contract_of_a_catalogue_needs_no_extra():
    """`drydown.testing` works where only what the project depends on is installed."""
    code = (
        "import sys\n"
        "for name in ('hypothesis', 'pytest'): sys.modules[name] = None\n"
        "from drydown.testing import check_film, check_material\n"
        "from drydown import film, material\n"
        "check_film(film('kraft paper facing')); check_material(material('OSB')); print('kept')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout.strip() == "kept", done.stderr
