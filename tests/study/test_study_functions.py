"""Functions of the user in a study: of the Dataset, failing ones, those of a script on dask; nothing runs unasked."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from drydown import InputError
from drydown.casefile import read_case
from drydown.study import (
    Axis,
    Distribution,
    FunctionModel,
    Grid,
    Output,
    Sampled,
    Store,
    Study,
    VariedCase,
    gather,
    read_study,
    run,
    solve,
)
from drydown.study.functions import by_value

HUMIDITY = Axis("humidity", (0.6, 0.7, 0.8))


def damper(case, humidity):
    return replace(case, initial=replace(case.initial, humidity=humidity))


def warmest(data):
    return data["temperature"].max()


def test_an_output_is_any_function_of_the_dataset(folder):
    case = read_case("wall.toml")
    wanted = (
        Output(warmest, unit="K", about="highest temperature anywhere"),
        Output(lambda data: data.drydown.at("OSB", "inner")["relative_humidity"][-1], name="last"),
        Output("final_humidity", layer="OSB", place="inner"),
        Output("remaining"),
    )
    found = solve(Study((HUMIDITY,), VariedCase(case, damper, wanted), Grid(), "functions"), workers=1)
    assert found["warmest"].attrs == {"long_name": "highest temperature anywhere", "units": "K"}
    assert np.all(found["warmest"] > 280.0) and not found["failed"].any()
    assert np.array_equal(found["last"], found["final_humidity_OSB_inner"])


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (dict(of=3.0), "of is 3.0; a name, or a function"),
        (dict(of=lambda data: 1.0), "'<lambda>' is no name; give the output a name"),
        (dict(of=warmest, layer="OSB"), "a function takes no layer"),
    ],
)
def test_an_output_that_cannot_be(given, words):
    with pytest.raises(InputError, match=words):
        Output(**given)


def test_what_a_function_raises_is_the_fault_of_its_case(folder):
    """Whatever it raises, and where: in the variation, in an output; a missing file too. The rest goes on."""
    case = read_case("wall.toml")

    def odd(case, humidity):
        if humidity == 0.7:
            raise FileNotFoundError("notes.csv")
        return damper(case, humidity)

    def picky(data):
        if float(data["relative_humidity"][0, 0]) > 0.75:
            raise ZeroDivisionError
        return 1.0

    made = Study((HUMIDITY,), VariedCase(case, odd, (Output(picky),)), Grid(), "odd")
    summary = run(made, folder / "odd.results", workers=1)
    found = gather(made, folder / "odd.results").load()
    assert summary.failed == 2 and found["failed"].values.tolist() == [0, 1, 1]
    assert found["reason"].values[1] == "'odd' fails: FileNotFoundError: notes.csv"
    assert found["reason"].values[2].startswith("'picky' fails: ZeroDivisionError")
    numbers = solve(Study((Axis("a", (1.0, 2.0)),), FunctionModel(opened)), workers=1)
    assert numbers["failed"].values.tolist() == [0, 1]
    with pytest.raises(InputError, match=r"case 0 .*'never' fails: KeyError"):
        run(Study((HUMIDITY,), VariedCase(case, never, (Output(picky),)), Grid(), "n"), folder / "n.results", workers=1)


def opened(a):
    with open("none.csv" if a > 1.0 else __file__):
        return a


def never(case, humidity):
    raise KeyError("x")


def test_a_variation_that_returns_no_case_is_said(folder):
    made = Study((HUMIDITY,), VariedCase(read_case("wall.toml"), lambda case, humidity: 3, (Output("final_water"),)))
    with pytest.raises(InputError, match="returned int, not a Case"):
        run(made, folder / "none.results", workers=1)


NOTEBOOK = """
import json, sys
from dataclasses import replace
from drydown import Initial, read_case
from drydown.study import *
from drydown.study import identity
import helper_of_script
START = 283.15
counted = 0

def vary(case, humidity):
    return replace(case, initial=Initial(START, helper_of_script.shifted(humidity)))

def own(data):
    return float(data["temperature"].max())

if __name__ == "__main__":
    from distributed import Client, LocalCluster
    case = read_case("wall.toml")
    model = VariedCase(case, vary, (Output(own), Output("final_water")))
    made = Study((Axis("humidity", (0.6, 0.65, 0.7, 0.75)),), model, name="notebook", block=1)
    calls = []
    before = VariedCase.inputs
    VariedCase.inputs = lambda self: (calls.append(1), before(self))[1]
    with LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster) as client:
        first = run(made, "notebook.results", client=client)
        again = run(made, "notebook.results", client=client)
    on_dask = gather(made, "notebook.results").load()
    identities = len(calls)
    here = solve(made, workers=1)
    print(json.dumps([first.computed, first.failed, again.present, bool(on_dask.own.equals(here.own)),
                      bool(on_dask.final_water.equals(here.final_water)), identities]))
"""


@pytest.mark.slow
def test_functions_of_a_script_run_on_dask(folder):
    """By value, with the module beside the script, which the worker does not find; known once, not for every block."""
    (folder / "hidden").mkdir()
    (folder / "hidden" / "helper_of_script.py").write_text("def shifted(x):\n    return x + 0.01\n")
    script = NOTEBOOK.replace("import helper_of_script", "sys.path.insert(0, 'hidden')\nimport helper_of_script")
    (folder / "notebook.py").write_text(script)
    done = subprocess.run([sys.executable, "notebook.py"], capture_output=True, text=True, timeout=900)
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.splitlines()[-1] == "[4, 0, 4, true, true, 3]", done.stdout  # two runs and a gathering


def test_what_cannot_be_sent_is_refused_at_once():
    import threading

    lock = threading.Lock()
    with pytest.raises(InputError, match="cannot be sent to other processes"):
        by_value(FunctionModel(lambda a: lock))


def test_a_climate_is_sent_once(folder):
    """Not with every case: a study of a thousand cases is as large as its case and a list of numbers."""
    model = VariedCase(read_case("wall.toml"), damper, (Output("final_water"),))
    few, many = (len(by_value(Study((Axis("humidity", tuple(np.linspace(0.5, 0.9, n))),), model))) for n in (2, 1000))
    assert many - few < 30_000


MARKING = "from pathlib import Path\nPath('ran.txt').write_text('x')\n\ndef vary(case, humidity):\n    return case\n"


def test_no_command_but_run_runs_the_python_of_a_study(folder, drydown):
    (folder / "variants.py").write_text(MARKING)
    (folder / "own.toml").write_text(
        'base = "wall.toml"\noutputs = ["final_water"]\nvary = "variants.py:vary"\n'
        '[[axis]]\nname = "humidity"\nvalues = [0.6, 0.7]\n'
    )
    for command in ("status", "gather", "mend"):
        drydown("study", command, "own.toml")
        assert not (folder / "ran.txt").exists(), command
    read_study(folder / "own.toml")
    assert not (folder / "ran.txt").exists()
    done = drydown("study", "run", "own.toml")
    assert done.exit_code == 0 and (folder / "ran.txt").exists()
    assert "own.toml names variants.py, which is run as Python: read it before you run a study of others" in done.stderr


def test_a_file_without_the_function_is_told_without_running_it(folder):
    for text, words in ((MARKING, "it has no function 'other'"), ("def other(:\n", "cannot be read as Python")):
        (folder / "variants.py").write_text(text)
        (folder / "own.toml").write_text(
            'base = "wall.toml"\noutputs = ["final_water"]\nvary = "variants.py:other"\n'
            '[[axis]]\nname = "humidity"\nvalues = [0.6]\n'
        )
        with pytest.raises(InputError, match=words):
            read_study(folder / "own.toml")
    assert not (folder / "ran.txt").exists()


def test_the_store_shows_what_it_hangs_on(tmp_path):
    made = Study((Axis("a", (1.0,)),), FunctionModel(lambda a: a))
    store = Store(tmp_path / "s", made)
    assert store.inputs == made.inputs() and {"axes", "design", "function"} <= set(store.inputs)
    assert Store(tmp_path / "s", made, store.inputs).hash == store.hash


def test_axes_that_go_together():
    """Rank correlations of a normal copula, 6/pi asin(rho/2); each axis keeps its own values, stratified as before."""
    from scipy import stats

    axes = (
        Axis("a", distribution=Distribution("uniform", {"low": 0.0, "high": 1.0})),
        Axis("b", distribution=Distribution("log-normal", {"median": 2.0, "factor": 3.0})),
        Axis("c", distribution=Distribution("uniform", {"low": 0.0, "high": 1.0})),
    )
    free = Sampled("latin hypercube", 2000, seed=3)
    tied = replace(free, correlations=(("a", "b", 0.8), ("b", "c", -0.5)))
    before, after = free.points(axes), tied.points(axes)
    for name in "abc":
        assert sorted(before[name]) == sorted(after[name])
    for (x, y), rho in {("a", "b"): 0.8, ("b", "c"): -0.5, ("a", "c"): 0.0}.items():
        want = 6.0 / np.pi * np.arcsin(rho / 2.0)
        assert stats.spearmanr(after[x], after[y])[0] == pytest.approx(want, abs=0.04)
    assert (
        Study(axes, FunctionModel(max), free).inputs()["design"]
        != Study(axes, FunctionModel(max), tied).inputs()["design"]
    )


TIED = """base = "wall.toml"
design = "{design}"
samples = 32
outputs = ["days_to_90_percent_dry"]
[[axis]]
name = "indoors"
path = "inside.humidity"
distribution = "uniform"
low = "40 %"
high = "60 %"
[[axis]]
name = "amount"
path = "wetting.1.amount"
distribution = "uniform"
low = "0.1 kg/m2"
high = "0.3 kg/m2"
[[correlation]]
axes = {axes}
value = {value}
"""


def test_axes_of_a_study_file_go_together(folder):
    (folder / "tied.toml").write_text(TIED.format(design="random", axes='["indoors", "amount"]', value=0.9))
    study = read_study(folder / "tied.toml")
    assert study.design.correlations == (("indoors", "amount", 0.9),)
    order = [np.argsort(np.argsort([float(str(v).split()[0]) for v in study.points[n]])) for n in ("indoors", "amount")]
    assert np.corrcoef(*order)[0, 1] > 0.7


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (
            {"axes": '["indoors", "amout"]'},
            "tied.toml, correlation 1: no axis is called 'amout'; did you mean 'amount'",
        ),
        ({"axes": '["indoors"]'}, "correlation 1: it needs the names of two axes"),
        ({"value": "1.5"}, "correlation 1: value is 1.5; a number between -1 and 1"),
        ({"value": "true"}, "correlation 1: value is True"),
        ({"design": "sobol indices"}, "'sobol indices' needs independent axes"),
    ],
)
def test_correlations_of_a_study_file_that_cannot_be(folder, changed, words):
    given = {"design": "random", "axes": '["indoors", "amount"]', "value": 0.9} | changed
    (folder / "tied.toml").write_text(TIED.format(**given))
    with pytest.raises(InputError, match=words):
        read_study(folder / "tied.toml")


@pytest.mark.parametrize(
    ("pairs", "method", "words"),
    [
        ((("a", "a", 0.5),), "random", "two axes and a number"),
        ((("a", "b", 1.0),), "random", "two axes and a number"),
        ((("a", "b", "high"),), "random", "two axes and a number"),
        ((("a", "d", 0.5),), "random", "no axis is called 'd'"),
        ((("a", "b", 0.9), ("b", "c", 0.9), ("a", "c", -0.9)), "random", "contradict each other"),
        ((("a", "b", 0.5),), "sobol indices", "needs independent axes"),
    ],
)
def test_correlations_that_cannot_be(pairs, method, words):
    axes = tuple(Axis(n, distribution=Distribution("uniform", {"low": 0.0, "high": 1.0})) for n in "abc")
    with pytest.raises(InputError, match=words):
        Sampled(method, 8, correlations=pairs).points(axes)
