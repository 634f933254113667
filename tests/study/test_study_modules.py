"""Modules of one's own are what they do now: beside a script, beside a study file, or a plugin's."""

import subprocess
import sys

import pytest
from drydown import InputError
from drydown.study import gather, read_study, run
from drydown.study.identity import of_case, of_object

# One's own modules


def of_uses(module, code):
    space = {"own_one": module}
    exec(code, space)
    return of_object(space["f"])


GET = "import own_two\nX = 1\ndef get():\n    return own_two.X\n"
LOCAL = "def f():\n    import own_one\n    return own_one.X"
FROM = "def f():\n    from own_one import X\n    return X"


@pytest.mark.parametrize(
    ("code", "one", "two"),
    [
        ("def f():\n    return own_one.X", (GET, GET.replace("X = 1", "X = 2")), ("X = 1", "X = 1")),
        ("def f():\n    return own_one.get()", (GET, GET.replace(".X", ".X + 1")), ("X = 1", "X = 1")),
        ("def f():\n    return own_one.get()", (GET, GET), ("X = 1", "X = 2")),
        ("def f():\n    return getattr(own_one, 'X')", (GET, GET.replace("X = 1", "X = 2")), ("X = 1", "X = 1")),
        (LOCAL, (GET, GET.replace("X = 1", "X = 2")), ("X = 1", "X = 1")),
        (FROM, (GET, GET), ("X = 1", "X = 2")),
    ],
)
def test_a_module_of_ones_own(module, code, one, two):
    """Its code and that of what it imports, wherever it is imported; a comment does not matter."""
    found = [of_uses(module(a, b), code) for a, b in zip(one, two, strict=True)]
    assert found[0] != found[1]
    assert of_uses(module(f"# a comment\n\n{one[0]}", f"{two[0]}  # another\n"), code) == found[0]


def test_an_attribute_that_is_set_at_run_time(module):
    own, code = module(GET, "X = 1"), "def f():\n    return own_one.get() + own_one.X"
    before = of_uses(own, code)
    own.X = 5
    changed = of_uses(own, code)
    own.own_two.X = 5
    assert len({before, changed, of_uses(own, code)}) == 3
    own.X = own.own_two.X = 1
    own.unused = 3
    assert of_uses(own, code) == before


def test_functions_of_plugins_hang_on_their_globals(module, monkeypatch):
    """The source of a plugin is edited without a new version; that of another installed package is not looked at."""
    from drydown.study import identity, sources

    def hashes():
        found = []
        for value in (1, 2):
            own = module(f"S = {value}\ndef curve(p):\n    return S * p\n")
            found.append(of_case((own.curve,)))
        return len(set(found))

    monkeypatch.setattr(identity, "version_of", lambda name: "1.0")
    monkeypatch.setattr(sources, "version_of", lambda name: "1.0")
    assert hashes() == 1
    monkeypatch.setattr(sources, "_plugins", lambda: frozenset({"own_one"}))
    assert hashes() == 2


class Curve:
    SCALE = 1.0

    @staticmethod
    def shape(p):
        return p

    def __call__(self, p):
        return self.SCALE * self.shape(p)


def test_what_stands_in_a_class_of_ones_own(monkeypatch):
    class Own(Curve):
        pass

    before = of_object(Own())
    with monkeypatch.context() as m:
        m.setattr(Curve, "SCALE", 2.0)
        assert of_object(Own()) != before
    with monkeypatch.context() as m:
        m.setattr(Curve, "shape", staticmethod(lambda p: p * p))
        assert of_object(Own()) != before
    assert of_object(Own()) == before


# A file beside the study file

STUDY = (
    'base = "wall.toml"\noutputs = ["final_water"]\nvary = "variants.py:vary"\n[[axis]]\nname = "k"\nvalues = [1.0]\n'
)
VARIANTS = """from __future__ import annotations
from dataclasses import dataclass, replace
import beside_it


@dataclass
class Start:
    humidity: beside_it.Number


def vary(case, k):
    return replace(case, initial=replace(case.initial, humidity=Start(beside_it.humidity()).humidity))
"""


def test_a_file_imports_modules_beside_it(folder):
    """Each study its own, though they have one name; changed: told at once, and run as it is now."""
    for name in ("a", "b"):
        (folder / name).mkdir()
        for file in ("wall.toml", "weather.csv"):
            (folder / name / file).write_bytes((folder / file).read_bytes())
        (folder / name / "study.toml").write_text(STUDY)
        (folder / name / "variants.py").write_text(VARIANTS)
        (folder / name / "deeper.py").write_text("VALUE = 0.7\n" if name == "a" else "VALUE = 0.8\n")
        (folder / name / "beside_it.py").write_text(
            "import deeper\nNumber = float\ndef humidity():\n    return deeper.VALUE\n"
        )

    def water(name, store):
        made = read_study(f"{name}/study.toml")
        done = run(made, store, workers=1)
        assert not done.failed, done.reasons
        return float(gather(made, store)["final_water"][0])

    first = water("a", "sa")
    assert first < water("b", "sb") and first == water("a", "sa")
    assert "beside_it" not in sys.modules
    (folder / "a" / "deeper.py").write_text("VALUE = 0.7  # a comment\n")
    assert first == water("a", "sa")
    (folder / "a" / "deeper.py").write_text("VALUE = 0.75\n")
    with pytest.raises(InputError, match=r"begun with other inputs \(function changed\)"):
        water("a", "sa")
    assert first < water("a", "sc")


def test_a_file_is_not_run_to_be_gathered(folder, recwarn):
    (folder / "own.toml").write_text(STUDY)
    (folder / "variants.py").write_text(
        "from dataclasses import replace\nfrom pathlib import Path\ndef vary(case, k):\n    Path('ran.txt').touch()\n"
        "    return replace(case, initial=replace(case.initial, humidity=float(Path('t').read_text())))\n"
    )
    (folder / "t").write_text("0.7")
    code = "from drydown.study import *; run(read_study('own.toml'), 's', workers=1)"
    subprocess.run([sys.executable, "-c", code], check=True)
    (folder / "ran.txt").unlink()
    (folder / "t").write_text("0.8")
    gather(read_study("own.toml"), "s")
    assert not (folder / "ran.txt").exists() and not recwarn.list
    with pytest.raises(InputError, match=r"case 0 \(k = 1.0\) is not what its results are of: .* 'vary' reads"):
        run(read_study("own.toml"), "s", workers=1)
    with pytest.warns(UserWarning, match="case 0"):  # it was run here now
        gather(read_study("own.toml"), "s")
