"""Pairs of studies that differ in one thing, drawn anew: none is taken for the other, and each is found again.

What may differ: a value, a closure, a default, a global, a partial, an output, the design, a film's curve, a plugin's
sources, a file. Rewording a sentence of the engine changes nothing.
"""

from __future__ import annotations

import functools
import importlib.metadata
import shutil
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from drydown import Film, InputError, read_case
from drydown.study import Axis, Output, Sampled, Store, Study, VariedCase, fingerprint, read_study, run
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

numbers = st.floats(0.3, 0.9, allow_nan=False)


def closure(value):
    return lambda case, humidity: replace(case, initial=replace(case.initial, humidity=humidity * value))


def default(value):
    def vary(case, humidity, more=value):
        return replace(case, initial=replace(case.initial, humidity=humidity * more))

    return vary


def named(value):
    space = {"SCALE": value, "replace": replace}
    exec(
        "def vary(case, humidity):\n    return replace(case, initial=replace(case.initial, humidity=humidity * SCALE))",
        space,
    )
    return space["vary"]


def three(case, humidity, scale):
    return replace(case, initial=replace(case.initial, humidity=humidity * scale))


def plain(value):
    return functools.partial(three, scale=value)


def study_of(kind, value, case):
    """Return a study in which one thing hangs on a value between 0.3 and 0.9."""
    vary, axis, design = closure(0.5), Axis("humidity", (0.6, 0.7)), None
    outputs: tuple[Output, ...] = (Output("final_water"),)
    if kind in ("closure", "default", "global", "partial"):
        vary = {"closure": closure, "default": default, "global": named, "partial": plain}[kind](value)
    elif kind == "value":
        axis = Axis("humidity", (0.6, value))
    elif kind == "base case":
        case = replace(case, initial=replace(case.initial, humidity=value))
    elif kind == "output":
        outputs = (Output("hours_above", layer="OSB", humidity=value, name="hours"),)
    elif kind == "function of the Dataset":
        outputs = (Output(lambda data: float(data["temperature"].max()) * value, name="warmest"),)
    elif kind == "curve of a film":
        sheet = Film("sheet", lambda phi: 1e-10 * value + 0.0 * phi)
        case = replace(case, assembly=case.assembly.replace("polyamide film 0.05 mm", sheet))
    elif kind == "design":
        from drydown.study import Distribution

        axis = Axis("humidity", distribution=Distribution("uniform", {"low": 0.1, "high": 1.0}))
        design = Sampled("random", 2, seed=int(value * 1e9))
    given = {} if design is None else {"design": design}
    return Study((axis,), VariedCase(case, vary, outputs), name="pair", **given)


KINDS = (
    *("closure", "default", "global", "partial", "value", "base case", "output", "function of the Dataset"),
    *("curve of a film", "design"),
)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(a=numbers, b=numbers)
def test_a_pair_that_differs_in_one_thing(kind, a, b, folder):
    case = read_case("wall.toml")
    first, again, other = (Store(folder / "s", study_of(kind, v, case)) for v in (a, a, b))
    assert first.hash == again.hash
    assert (first.hash == other.hash) == (a == b or (kind == "design" and int(a * 1e9) == int(b * 1e9)))
    if kind != "design":
        changed = {k for k in first.inputs if first.inputs[k] != other.inputs.get(k)}
        assert len(changed) == (0 if a == b else 1)


def test_the_store_of_one_is_refused_to_the_other(folder):
    case = read_case("wall.toml")
    run(study_of("closure", 0.5, case), folder / "pair.results", workers=1)
    with pytest.raises(InputError, match=r"begun with other inputs \(function changed\)"):
        run(study_of("closure", 0.6, case), folder / "pair.results", workers=1)


@pytest.mark.parametrize("what", ["weather", "case file", "function in a file", "study file"])
def test_a_file_that_changes(folder, what):
    (folder / "variants.py").write_text("def vary(case, humidity):\n    return case\n")
    (folder / "own.toml").write_text(
        'base = "wall.toml"\noutputs = ["final_water"]\nvary = "variants.py:vary"\n'
        '[[axis]]\nname = "humidity"\nvalues = [0.6]\n'
    )
    before = Store(folder / "s", read_study(folder / "own.toml"))
    assert before.hash == Store(folder / "s", read_study(folder / "own.toml")).hash
    weather = next(p for p in sorted(folder.iterdir()) if p.suffix in (".csv", ".nc"))
    path, old, new = {
        "weather": (weather, None, None),
        "case file": (folder / "wall.toml", "days = 6", "days = 7"),
        "function in a file": (folder / "variants.py", "return case", "return case or None"),
        "study file": (folder / "own.toml", "[0.6]", "[0.61]"),
    }[what]
    if old is None:
        path.write_bytes(path.read_bytes() + b"\n")
    else:
        assert old in path.read_text()
        path.write_text(path.read_text().replace(old, new))
    after = Store(folder / "s", read_study(folder / "own.toml"))
    assert before.hash != after.hash


def test_a_plugin_that_changes(tmp_path, monkeypatch):
    """A criterion of an outside package: other sources, another study."""
    found = {}
    for text in ("LIMIT = 1.0\n", "LIMIT = 2.0\n", "LIMIT = 1.0\n"):
        home = tmp_path / f"site{len(found)}"
        (home / "own_criteria").mkdir(parents=True)
        (home / "own_criteria" / "__init__.py").write_text(text)
        monkeypatch.syspath_prepend(str(home))
        sys.modules.pop("own_criteria", None)
        point = importlib.metadata.EntryPoint("own", "own_criteria:catalogue", "drydown.criteria")
        monkeypatch.setattr(importlib.metadata, "entry_points", lambda group, point=point: [point])
        found[len(found)] = fingerprint.of_plugins("criteria", ["own:strict"])
    assert list(found[0]) == ["plugin own (criteria)"]
    assert found[0] == found[2] != found[1]


def test_a_reworded_sentence_changes_nothing(tmp_path):
    """What only shows results is no input of a study; what computes them is."""
    source = Path(fingerprint.__file__).parents[1]
    hashes = []
    for number, (file, more) in enumerate(
        (("", ""), ("wording/answer.py", "# other"), ("lowering/grid.py", "# other"))
    ):
        copy = tmp_path / str(number) / "drydown"
        shutil.copytree(source, copy, ignore=shutil.ignore_patterns("__pycache__", "assets"))
        if file:
            (copy / file).write_text((copy / file).read_text() + more)
        hashes.append(fingerprint.of_folder(str(copy)))
    assert hashes[0] == hashes[1] != hashes[2]


def test_arrays_that_differ_in_the_last_digit():
    values = np.array([0.6, 0.7])
    held = [values, np.nextafter(values, 1.0)]
    first, other = (study_of("value", 0.5, None) for _ in held)
    pair = [
        replace(s, model=replace(s.model, vary=functools.partial(three, scale=v)))
        for s, v in zip((first, other), held, strict=True)
    ]
    assert pair[0].inputs() != pair[1].inputs()
