"""What a function that makes cases reads besides its code: where it has changed, old results do not come back."""

import os
import pickle
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from drydown import Film, InputError, Source
from drydown.casefile import read_case
from drydown.study import Axis, FunctionModel, Output, Store, Study, VariedCase, gather, run, solve
from drydown.study import made as made_module
from drydown.study.blocks import content_hash
from drydown.study.functions import by_value
from drydown.study.identity import of_case, of_object
from drydown.study.running import evaluate

WATER = (Output("final_water"),)


def start(case, humidity):
    return replace(case, initial=replace(case.initial, humidity=humidity))


def from_table(case, k):
    """Start from what stands in a file."""
    return start(case, float(np.loadtxt("table.csv")) + 0.01 * k)


def study_of(vary, values=(1.0, 2.0, 3.0), block=2, outputs=WATER):
    return Study((Axis("k", values),), VariedCase(read_case("wall.toml"), vary, outputs), name="made", block=block)


def content(folder):
    return {p: p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture
def table(folder):
    path = folder / "table.csv"
    path.write_text("0.7\n")
    return path


def test_a_table_that_the_function_reads(folder, table):
    """Changed: refused by store, case and point, nothing is touched; read with a warning; undone: all is there."""
    made = study_of(from_table)
    assert run(made, "s", workers=1).computed == 3
    before, truth = content(folder / "s"), gather(made, "s")["final_water"].values
    before = content(folder / "s")
    table.write_text("0.8\n")
    words = (
        r"^s: case 0 \(k = 1.0\) is not what its results are of: a file, a module or a plugin that 'from_table' reads"
    )
    with pytest.raises(InputError, match=words) as caught:
        run(study_of(from_table), "s", workers=1)
    assert "\n" not in str(caught.value) and "undo the change, or name another store" in str(caught.value)
    assert content(folder / "s") == before
    with pytest.warns(UserWarning, match=r"case 0 \(k = 1.0\) is not what .*; these results are as they were"):
        assert (gather(made, "s")["final_water"].values == truth).all()
    assert run(study_of(from_table), "other", workers=1).computed == 3
    assert (gather(made, "other")["final_water"].values > truth).all()
    table.write_text("0.7\n")
    assert run(study_of(from_table), "s", workers=1).present == 3
    table.unlink()
    with pytest.raises(InputError, match="'from_table' fails: FileNotFoundError"):
        run(study_of(from_table), "s", workers=1)


def each_its_own(case, k):
    return start(case, float(np.loadtxt(f"{k:.0f}.csv")))


def test_the_table_of_one_case_alone(folder):
    for k in (1, 2, 3):
        (folder / f"{k}.csv").write_text("0.7\n")
    run(study_of(each_its_own), "s", workers=1)
    (folder / "3.csv").write_text("0.71\n")
    with pytest.raises(InputError, match=r"case 2 \(k = 3.0\) is not what"):
        run(study_of(each_its_own), "s", workers=1)
    (folder / "3.csv").unlink()
    with pytest.raises(InputError, match=r"case 2 \(k = 3.0\) cannot be made any more \('each_its_own' fails: FileNot"):
        run(study_of(each_its_own), "s", workers=1)


def test_a_part_is_not_added_to_what_others_made_otherwise(folder, table):
    run(study_of(from_table), "s", part=(1, 2), workers=1)
    table.write_text("0.8\n")
    with pytest.raises(InputError, match=r"case 0 .* is not what"):
        run(study_of(from_table), "s", part=(2, 2), workers=1)
    assert not Store("s", study_of(from_table)).has(1)


def test_a_case_that_failed_may_be_mended(folder):
    for k in (1, 2):
        (folder / f"{k}.csv").write_text("0.7\n")
    assert run(study_of(each_its_own), "s", workers=1).failed == 1
    (folder / "3.csv").write_text("0.7\n")
    done = run(study_of(each_its_own), "s", workers=1, again=True)
    assert (done.present, done.computed, done.failed) == (2, 1, 0)


TURN = [0]


def never_the_same(case, k):
    TURN[0] += 1
    return start(case, 0.7 + 1e-6 * np.random.default_rng(TURN[0]).random() + 0.01 * k)


def test_a_function_that_makes_another_case_each_time_is_said(folder, monkeypatch):
    monkeypatch.setattr(never_the_same, "fingerprint", lambda: "one", raising=False)  # its count is no input
    run(study_of(never_the_same), "s", workers=1)
    with pytest.raises(InputError, match=r"case 0 .* is another one whenever 'never_the_same' makes it"):
        run(study_of(never_the_same), "s", workers=1)


def test_a_store_without_hashes_of_cases_is_read_and_goes_on(folder, table, recwarn):
    made = study_of(from_table)
    run(made, "s", workers=1)
    store = Store("s", made)
    assert store.read(0).made.all()
    for block in (0, 1):
        store.write(block, store.read(block)._replace(made=None))
    assert store.read(0).made is None
    table.write_text("0.8\n")
    assert run(made, "s", workers=1).present == 3
    assert gather(made, "s").sizes["case"] == 3 and not recwarn.list


def test_so_many_cases_at_most_are_compared(folder, table, monkeypatch):
    made = study_of(from_table, tuple(float(k) for k in range(8)))
    run(made, "s", workers=1)
    asked = []
    before = made_module.of_point
    monkeypatch.setattr(made_module, "of_point", lambda study, case: (asked.append(case), before(study, case))[1])
    run(made, "s", workers=1)
    assert asked == list(range(8))
    monkeypatch.setattr(made_module, "RUN", 3)
    asked.clear()
    run(made, "s", workers=1)
    assert asked == [0, 3, 7]


def test_a_hash_that_was_altered_is_damage(folder, table):
    made = study_of(from_table)
    run(made, "s", workers=1)
    block = Store("s", made).read(0)
    other = block._replace(made=block.made + 1)
    assert len({content_hash(b) for b in (block, other, block._replace(made=None))}) == 3


def test_values_worked_out_on_a_card_are_kept_with_their_case(folder, table):
    made = study_of(from_table)
    found = evaluate(made, [0, 1], found={0: {"final_water": 1.0}, 1: ValueError("no")})
    assert found.made.tolist() == [of_case(made.model.case({"k": 1.0})), 0] and found.failed.tolist() == [False, True]


def test_a_function_of_numbers_has_no_case(tmp_path):
    made = Study((Axis("a", (1.0,)),), FunctionModel(lambda a: a))
    run(made, tmp_path / "s", workers=1)
    assert Store(tmp_path / "s", made).read(0).made is None


# The hash of a case


def with_film(case, curve):
    parts = [Film("own", curve, sources=(Source("a", 2026, "b", "demo"),)) if isinstance(p, Film) else p
             for p in case.assembly.parts]  # fmt: skip
    return replace(case, assembly=replace(case.assembly, parts=tuple(parts)))


def test_a_case_is_the_same_in_every_process(folder, module):
    """Whatever the seed of hashes; sent by value too, with functions in it that name a module."""
    own = module("KIND = {'a', 'b', 'c'}\nSCALE = 1e-11\ndef shape(p):\n    return SCALE * (1 + ('a' in KIND) + p)\n")

    def vary(case, k):
        return with_film(case, lambda p: own.shape(p) * k)

    model = VariedCase(read_case("wall.toml"), vary, WATER)
    sent = pickle.loads(by_value(model))
    assert sent.made({"k": 1.0}) == model.made({"k": 1.0}) != model.made({"k": 2.0})
    code = (
        "import own_one\nfrom drydown.casefile import read_case\nfrom drydown.study.identity import of_case\n"
        "print(of_case((read_case('wall.toml'), own_one.shape, {'a', 'b'})))"
    )
    said = [
        subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path},
                       capture_output=True, text=True, check=True).stdout
        for path in [os.pathsep.join(p for p in sys.path if p)] for seed in ("1", "2")
    ]  # fmt: skip
    assert said[0] == said[1] == f"{of_case((read_case('wall.toml'), own.shape, {'a', 'b'}))}\n"


def test_equal_parts_need_not_be_one_object():
    a = [1.0]
    assert of_object((a, a)) == of_object(([1.0], [1.0])) != of_object(([1.0], [2.0]))
    a.append(a)
    assert of_object(a) != of_object([1.0, [1.0]])


def test_an_array_that_can_be_written_to_is_read_anew(folder):
    case = read_case("wall.toml")
    values = np.array([1.0, 2.0])
    first = of_case((case, values))
    values[0] = 3.0
    assert of_case((case, values)) != first
    values = np.arange(2000.0)
    view = values[:]
    view.flags.writeable = False
    first = of_case((case, view))
    values[0] = 3.0
    assert of_case((case, view)) != first


def test_a_table_of_pandas_is_the_same_when_it_was_used():
    data = pd.DataFrame({"h": [0.0, 1.0], "v": [1.0, 2.0]})
    before = of_case((data,))
    assert data["h"].iloc[1] == 1.0 and data.describe().size and data.loc[0, "v"] == 1.0 and data.index.is_unique
    assert of_case((data,)) == before
    assert of_case((data.assign(v=[1.0, 2.5]),)) != before


def test_a_case_that_cannot_be_told_from_another_is_refused(folder):
    def vary(case, k):
        stream = (x for x in [k])
        return with_film(case, lambda p: np.full_like(p, 1e-11 if stream else 1e-12))

    with pytest.raises(InputError, match="a generator cannot be told from another one"):
        run(study_of(vary), "s", workers=1)


# What is asked for


@pytest.mark.parametrize(
    ("outputs", "words"),
    [
        (("share_inward",), r"outputs: 'share_inward' is no Output; write Output\(\"share_inward\"\)"),
        ("share_inward", r"outputs: it is no tuple of outputs; write \(Output\(\"share_inward\"\),\)"),
        (Output("share_inward"), r"outputs: it is no tuple of outputs; write \(Output\(..\),\)"),
        (3, "outputs: 3 is no Output"),
        ((), r"study 'made': it has no outputs, such as Output\(\"share_inward\"\)"),
    ],
)
def test_outputs_that_are_none(folder, outputs, words):
    with pytest.raises(InputError, match=words) as caught:
        study_of(start, outputs=outputs)
    assert "\n" not in str(caught.value)


def test_a_list_of_outputs_will_do(folder, table):
    assert solve(study_of(from_table, outputs=list(WATER)), workers=1)["final_water"].shape == (3,)


def test_names_of_a_function_that_are_none():
    with pytest.raises(InputError, match=r"names: it is no tuple of names; write \('value',\)"):
        FunctionModel(max, "value")
    with pytest.raises(InputError, match="it has no outputs"):
        Study((Axis("a", (1.0,)),), FunctionModel(max, ()))
