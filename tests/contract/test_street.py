"""The street: arrows point one way, no circle of modules, and no import by a string goes round the contract."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import grimp
import pytest

ROOT = Path(__file__).parents[2]
ENGINE = ROOT / "engine" / "drydown"
#: The packages whose public names are imported by a string, through `drydown.lazy`.
LAZY = ("drydown", "drydown.bench", "drydown.report", "drydown.study")


def named(node: ast.AST) -> str:
    """Return the last word of what is called."""
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


def imports_by_a_string(source: str) -> list[int]:
    """Return the lines in which a module is imported by its name as a text."""
    words = {"import_module", "__import__", "find_spec", "find_loader", "resolve_name"}
    return [
        node.lineno for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call) and named(node.func) in words
    ]


def test_only_lazy_imports_by_a_string():
    found = {str(p.relative_to(ENGINE)): imports_by_a_string(p.read_text()) for p in ENGINE.rglob("*.py")}
    found = {name: lines for name, lines in found.items() if lines}
    # a study reads the sources of the plugins that entry points name: those of others, never a room of ours
    assert set(found) <= {"lazy.py", "study/fingerprint.py"} and "lazy.py" in found, found
    lines = (ENGINE / "study/fingerprint.py").read_text().splitlines()
    assert all("point.module" in lines[n - 1] for n in found.get("study/fingerprint.py", ()))
    users = {
        ".".join(("drydown", *p.relative_to(ENGINE).parent.parts))
        for p in ENGINE.rglob("*.py")
        if "public(__name__" in p.read_text()
    }
    assert users == set(LAZY)


def test_the_search_for_string_imports_sees_every_way():
    ways = ("importlib.import_module('drydown.cli')", "import_module(f'{__package__}.cli')", "__import__('drydown')")
    assert [imports_by_a_string(way) for way in ways] == [[1], [1], [1]]


def circles(arrows: dict[str, set[str]]) -> list[set[str]]:
    """Return the groups of modules that reach each other (Tarjan 1972, without recursion: by reachability)."""
    reached: dict[str, set[str]] = {}
    for start in arrows:
        seen: set[str] = set()
        waiting = [start]
        while waiting:
            for there in arrows.get(waiting.pop(), ()):
                if there not in seen:
                    seen.add(there)
                    waiting.append(there)
        reached[start] = seen
    return [{a, *(b for b in reached[a] if a in reached[b])} for a in arrows if a in reached[a]]


def arrows_of_the_engine() -> dict[str, set[str]]:
    graph = grimp.build_graph("drydown", cache_dir=None)
    arrows = {module: set(graph.find_modules_directly_imported_by(module)) for module in graph.modules}
    for package in LAZY:
        arrows[package] |= {f"{package}.{module}" for module in import_module(package)._HOME.values()}
    return arrows


def test_no_circle_of_modules_string_imports_counted():
    arrows = arrows_of_the_engine()
    assert len(arrows) > 150 and "drydown.trial.dryout" in arrows["drydown"]
    assert circles(arrows) == []
    drawn = {**arrows, "drydown.errors": {*arrows["drydown.errors"], "drydown.cli.running"}}
    assert any({"drydown.errors", "drydown.cli.running"} <= found for found in circles(drawn))


@pytest.fixture(scope="module")
def copied(tmp_path_factory):
    """Return a copy of the tree in which arrows can be drawn."""
    tree = tmp_path_factory.mktemp("tree")
    shutil.copy(ROOT / "pyproject.toml", tree)
    for name in ("engine/drydown", "materials/drydown_materials", "climates/drydown_climates"):
        shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
    validation = "benchmarks/validation/drydown_validation"
    shutil.copytree(ROOT / validation, tree / validation, ignore=shutil.ignore_patterns("__pycache__", "*.json"))
    return tree


def lint(tree: Path) -> subprocess.CompletedProcess[str]:
    paths = [tree / p for p in ("engine", "materials", "climates", "benchmarks/validation")]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, paths)), "NO_COLOR": "1", "COLUMNS": "300"}
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    return subprocess.run(command, cwd=tree, env=env, capture_output=True, text=True)


def test_the_copied_tree_is_kept(copied):
    done = lint(copied)
    assert done.returncode == 0 and "5 kept, 0 broken" in done.stdout, done.stdout[-2000:]


@pytest.mark.parametrize(
    ("room", "arrow", "says"),
    [
        ("materials/model.py", "from ..cli.frame import say", "one street"),
        ("case/case.py", "def later():\n    from ..trial.dryout import dryout", "one street"),
        ("kernel/layout.py", "from ..case.case import Case", "one street"),
        ("new_room.py", "", "new_room"),
        ("cli/running.py", "from .starting import new", "commands stand beside"),
        ("plugins.py", "import drydown_materials", "the engine does not import"),
    ],
)
def test_an_arrow_drawn_back_breaks_the_contract(copied, room, arrow, says):
    path = copied / "engine/drydown" / room
    before = path.read_text() if path.exists() else None
    path.write_text(f"{before or ''}\n{arrow}\n")
    try:
        done = lint(copied)
    finally:
        path.unlink() if before is None else path.write_text(before)
    broken = done.stdout.partition("Broken contracts")[2]
    assert done.returncode != 0 and says in broken, done.stdout[-2000:]
