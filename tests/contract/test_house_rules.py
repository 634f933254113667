"""The rules of the house, as tests: arrows, style, types, length of files, independence of the references."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BIN = Path(sys.executable).parent
PACKAGES = ("engine", "materials", "climates", "benchmarks", "tests")


def run(*command: str) -> None:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, env={**os.environ, "NO_COLOR": "1"})
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def test_imports_point_down_and_left():
    run(str(BIN / "lint-imports"))


def test_ruff():
    run(str(BIN / "ruff"), "check", ".")


def test_the_code_is_as_the_formatter_writes_it():
    run(str(BIN / "ruff"), "format", "--check", ".")


@pytest.mark.slow
def test_types():
    run(str(BIN / "mypy"))


@pytest.mark.parametrize("package", PACKAGES)
def test_files_are_short(package):
    lengths = {}
    for path in (ROOT / package).rglob("*.py"):
        lengths[str(path.relative_to(ROOT))] = len(path.read_text().splitlines())
    assert lengths and not {name: n for name, n in lengths.items() if n > 400}


def test_kernel_imports_only_arrays_and_the_compiler():
    """The kernel sees floats and arrays: numpy, numba with its llvmlite, the standard library, and itself."""
    standard = {
        "__future__",
        "collections",
        "enum",
        "functools",
        "hashlib",
        "math",
        "os",
        "pathlib",
        "typing",
        "warnings",
    }
    allowed = standard | {"llvmlite", "numba", "numpy"}
    for path in (ROOT / "engine/drydown/kernel").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                assert {a.name.split(".")[0] for a in node.names} <= allowed, path
            elif isinstance(node, ast.ImportFrom):
                own = node.level == 1 or (node.level == 2 and node.module == "systems")  # of the standard library
                assert own or (node.level == 0 and (node.module or "").split(".")[0] in allowed), path


def test_references_do_not_import_the_engine():
    for path in (ROOT / "benchmarks/validation").rglob("references/*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = []
            if isinstance(node, ast.Import):
                names = [a.name for a in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module or ""]
            assert not any(n.split(".")[0] == "drydown" for n in names), path
