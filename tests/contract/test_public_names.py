"""What is public: listed name by name, there, typed, and without side effects at import."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import warnings
from importlib import import_module
from pathlib import Path
from types import ModuleType

import pytest
from drydown.lazy import public

ROOT = Path(__file__).parents[2]
LISTED = Path(__file__).with_name("public_names.txt")
#: The rooms whose names docs/stability.md calls public.
ROOMS = (
    "drydown",
    "drydown.bench",
    "drydown.case",
    "drydown.climate",
    "drydown.criteria",
    "drydown.figures",
    "drydown.materials",
    "drydown.materials.curves",
    "drydown.report",
    "drydown.sides",
    "drydown.study",
    "drydown.testing",
)
LAZY = ("drydown", "drydown.bench", "drydown.report", "drydown.study")


def python(code: str, env: dict[str, str] | None = None, cwd: Path = ROOT) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**os.environ, **(env or {})}, cwd=cwd
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_the_public_names_are_those_of_the_list():
    """A name that comes, goes or moves changes this list too, and with it docs/stability.md and the changelog."""
    here = [f"{room}.{name}" for room in ROOMS for name in import_module(room).__all__]
    assert sorted(here) == LISTED.read_text().split(), "write the list anew only where the change is meant"


@pytest.mark.parametrize("room", ROOMS)
def test_every_name_is_there_and_seen_by_dir(room):
    package = import_module(room)
    assert len(set(package.__all__)) == len(package.__all__)
    assert set(package.__all__) <= set(dir(package))
    for name in package.__all__:
        value = getattr(package, name)
        assert not isinstance(value, ModuleType) and (not callable(value) or value.__doc__), name


@pytest.mark.parametrize("room", LAZY)
def test_dir_is_complete_before_anything_is_imported(room):
    code = f"import {room} as p; print(*dir(p)); print(*p.__all__)"
    seen, listed = (set(line.split()) for line in python(code).splitlines())
    assert listed <= seen and "__name__" in seen
    modules = {p.stem for p in Path(import_module(room).__file__).parent.iterdir() if not p.name.startswith("_")}
    assert modules - {"assets", "templates", "py"} <= seen | {p for p in modules if not p.isidentifier()}


@pytest.mark.parametrize("room", LAZY)
def test_lazy_names_and_their_types_say_the_same(room):
    package = import_module(room)
    typed = {}
    for node in ast.parse(Path(package.__file__).read_text()).body:
        if isinstance(node, ast.If):
            for line in node.body:
                if isinstance(line, ast.ImportFrom):
                    typed |= {alias.asname or alias.name: line.module for alias in line.names}
    assert typed == package._HOME


def test_a_retired_name_works_with_a_word_of_the_new_one():
    get, _ = public("drydown", {"Layer": "case.assembly"}, {"Course": ("Layer", "0.3")})
    from drydown import Layer

    with pytest.warns(DeprecationWarning, match=r"drydown.Course is called Layer now; .* goes in version 0.3"):
        assert get("Course") is Layer
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert get("Layer") is Layer
    with pytest.raises(AttributeError, match="no attribute 'Coarse'"):
        get("Coarse")


GOOD = """
import numpy as np
import drydown as dd

wall = dd.Assembly(
    (
        dd.Layer(dd.material("spruce"), 0.02),
        dd.Layer(dd.material("OSB"), 0.011, name="sheathing"),
        dd.film("polyamide film 0.05 mm"),
    ),
    "a wall",
)
place = dd.weather("fernmoor")
start = np.datetime64("2022-10-01T00", "s")
case = dd.Case(
    wall,
    dd.Outdoor(place, dd.Exposure(azimuth=225.0)),
    dd.Indoor(dd.FromOutdoor()),
    start,
    start + np.timedelta64(90, "D"),
    wettings=(dd.Wetting("sheathing", 0.5, start),),
    initial=dd.Initial(283.15, 0.8, {"sheathing": 0.9}),
)
trial = dd.dryout(case)
days: float = float(trial.attrs["days_to_90_percent_dry"])
findings = dd.assess(dd.simulate(case))
names: list[str] = [f.title for f in findings]
both = dd.compare([dd.Variant("as written", case)])
dd.write_case(case, "wall.toml")
again: dd.Case = dd.read_case("wall.toml")
"""


@pytest.fixture(scope="module")
def check(tmp_path_factory):
    """Return what mypy --strict says about a script of a user."""
    folder = tmp_path_factory.mktemp("typed")

    def run(text: str) -> str:
        script = folder / "script.py"
        script.write_text(text)
        command = [
            "-m",
            "mypy",
            "--strict",
            "--follow-imports=silent",
            "--cache-dir",
            str(folder / "cache"),
            str(script),
        ]
        done = subprocess.run([sys.executable, *command], capture_output=True, text=True, cwd=folder)
        return done.stdout + done.stderr

    return run


@pytest.mark.slow
def test_a_script_with_the_public_names_passes_mypy_strict(check):
    assert "Success" in check(GOOD), check(GOOD)


#: What a user may get wrong, a line each, and what the type checker says of it.
WRONG = [
    ('dd.Layer("OSB", "11 mm", bogus=3)', 'Unexpected keyword argument "bogus" for "Layer"'),
    ('dd.Layer("OSB", 0.011)', 'Argument 1 to "Layer" has incompatible type "str"; expected "Material"'),
    (
        'dd.Layer(dd.material("OSB"), "11 mm")',
        'Argument 2 to "Layer" has incompatible type "str"; expected "float"',
    ),
    ('dd.Wetting("wool", 0.5, np.datetime64("2022-01-01"), place="middle")', 'Argument "place" to "Wetting"'),
    ('dd.simulate("wall.toml")', 'Argument 1 to "simulate" has incompatible type "str"; expected "Case"'),
    ("dd.Lair", 'Module has no attribute "Lair"'),
    ("dd.assess(3.0)", 'Argument 1 to "assess"'),
]


@pytest.fixture(scope="module")
def complaints(check):
    """Return what is said of each line of `WRONG`, all in one script."""
    said = check("import numpy as np\nimport drydown as dd\n" + "\n".join(line for line, _ in WRONG) + "\n")
    return [[s for s in said.splitlines() if s.startswith(f"script.py:{n}: error:")] for n in range(3, 3 + len(WRONG))]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(WRONG)))
def test_what_is_wrong_is_an_error_of_the_type_checker(complaints, number):
    assert any(WRONG[number][1] in said for said in complaints[number]), complaints[number]


@pytest.mark.slow
def test_no_public_name_is_any(check):
    import drydown

    lines = [f"reveal_type(drydown.{name})" for name in drydown.__all__]
    said = [line for line in check("\n".join(["import drydown", *lines, ""])).splitlines() if "Revealed type" in line]
    assert len(said) == len(lines)
    assert not [line for line in said if '"Any"' in line or "def (*" in line]


QUIET = """
import sys, types, os, pathlib, pkgutil, importlib, warnings
warnings.simplefilter("ignore")

class Touched(Exception): ...
class Shell:
    def __getattr__(self, name): raise Touched(name)

python = types.ModuleType("IPython")
python.get_ipython = lambda: Shell()
sys.modules["IPython"] = python
sys.argv = None  # whoever reads it fails
import numpy, xarray, numba, matplotlib
before = numba.config.CACHE_DIR, dict(os.environ), matplotlib.get_backend(), dict(matplotlib.rcParams), numpy.geterr()
html = xarray.Dataset._repr_html_
import drydown
for found in pkgutil.walk_packages(drydown.__path__, "drydown."):
    importlib.import_module(found.name)
for name in drydown.__all__:
    getattr(drydown, name)
after = numba.config.CACHE_DIR, dict(os.environ), matplotlib.get_backend(), dict(matplotlib.rcParams), numpy.geterr()
assert before == after and xarray.Dataset._repr_html_ is html
home = pathlib.Path(os.environ["HOME"])
print(sorted(str(p.relative_to(home)) for p in home.rglob("*")))
"""


def test_an_import_leaves_no_folder_and_no_foreign_formatter_changed(tmp_path):
    import matplotlib  # its own folder of settings is made elsewhere

    settings = matplotlib.get_configdir()
    home = tmp_path / "home"
    home.mkdir()
    places = {"HOME": str(home), "XDG_CACHE_HOME": str(home / "cache"), "MPLCONFIGDIR": settings}
    places |= {"TMPDIR": str(home / "tmp"), "MPLBACKEND": "Agg"}
    assert python(QUIET, places, tmp_path) == "[]\n"


def test_a_notebook_shows_results_when_it_is_asked_to():
    code = """
import types, drydown, xarray
kept = {}
html = types.SimpleNamespace(for_type=lambda kind, how: kept.update({kind: how}))
shell = types.SimpleNamespace(display_formatter=types.SimpleNamespace(formatters={"text/html": html}))
drydown.load_ipython_extension(shell)
print(list(kept) == [xarray.Dataset], "<pre>" in kept[xarray.Dataset](xarray.Dataset()))
"""
    assert python(code).split()[0] == "True"
