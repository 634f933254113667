"""The script of a user, kept as a test: it runs, names nothing that is private, and its types are right."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

TOUR = Path(__file__).parents[1] / "support" / "tour.py"


def test_the_tour_runs(tmp_path, monkeypatch, capsys):
    import tour

    monkeypatch.chdir(tmp_path)
    found = tour.main()
    assert found["same case"] == 1.0 and found["walls"] == 2.0 and found["days"] >= 10.0
    assert found["left open"] < 1e-9 and found["permeance"] == pytest.approx(4e-10)
    assert 0.5 < found["wettest"] <= 1.0 and 273.0 < found["deep"] < 294.0
    said = capsys.readouterr().out
    assert len(said.split("no layer or film is called 'vapour control'")[0].splitlines()) <= 21  # the case in 20 lines


def test_no_private_name():
    for node in ast.walk(ast.parse(TOUR.read_text())):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("drydown"):
            assert node.module == "drydown"
        if isinstance(node, ast.Attribute):
            assert not node.attr.startswith("_"), node.attr


@pytest.mark.slow
def test_its_types_are_right(tmp_path):
    """All but those of pandas, which brings none."""
    command = [
        "-m",
        "mypy",
        "--strict",
        "--follow-imports=silent",
        "--ignore-missing-imports",
        "--cache-dir",
        str(tmp_path),
        str(TOUR),
    ]
    done = subprocess.run([sys.executable, *command], capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("kind", ["Film", "Material"])
def test_what_checkers_see_of_an_entry_is_what_it_takes(kind):
    """The signature for type checkers, where a number may stand for a curve, names the fields in their order."""
    import dataclasses

    from drydown.materials import model

    tree = ast.parse(Path(model.__file__).read_text())
    (made,) = [n for n in ast.walk(tree) if isinstance(n, ast.ClassDef) and n.name == kind]
    (init,) = [n for n in ast.walk(made) if isinstance(n, ast.FunctionDef) and n.name == "__init__"]
    fields = dataclasses.fields(getattr(model, kind))
    assert [a.arg for a in init.args.args[1:]] == [f.name for f in fields]
    assert len(init.args.defaults) == sum(f.default is not dataclasses.MISSING for f in fields)
