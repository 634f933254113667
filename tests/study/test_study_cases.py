"""Studies of walls: the file, the outputs against a run of each case by itself, threads, parts and dask bit for bit."""

import json
import os
import signal
import subprocess
import sys
import time

import distributed
import numpy as np
import pytest
from drydown import Case, InputError, dryout, simulate
from drydown.casefile import read_case
from drydown.study import (
    Axis,
    Grid,
    Output,
    Store,
    Study,
    VariedCase,
    gather,
    on_grid,
    read_study,
    run,
    solve,
    write_cases,
)
from drydown.study.evaluating import marched
from drydown.study.observe import Labelled, remembering
from drydown.study.outputs import KINDS, read


def same(a, b) -> bool:
    return set(a.variables) == set(b.variables) and all(
        a[n].values.tobytes() == b[n].values.tobytes() if a[n].dtype.kind == "f" else (a[n].values == b[n].values).all()
        for n in a.variables
    )


def test_outputs_are_those_of_each_case_run_by_itself(folder):
    study = read_study("study.toml")
    data = solve(study, workers=2)
    assert dict(data.sizes) == {"case": 12, "month": 1} and not data["failed"].values.any()
    for i in (0, 7, 11):
        (path,) = write_cases(study, [i], "cases")
        case = read_case(path)
        trial, wet = dryout(case), simulate(case)
        assert data["remaining"].values[i] == trial.attrs["remaining"]
        assert data["share_inward"].values[i] == trial.attrs["share_inward"]
        cell = np.flatnonzero(wet["layer_of_cell"].values == "OSB")[-1]
        assert data["maximum_humidity_OSB_inner"].values[i] == wet["relative_humidity"].values[:, cell].max()
        water = wet["layer_water"].sel(layer="OSB").values
        mean = np.mean(0.5 * (water[1:] + water[:-1]))
        np.testing.assert_allclose(data["monthly_water_OSB"].values[i, 0], mean, rtol=1e-12)
    grid = on_grid(data)
    assert grid["remaining"].dims == ("film", "inside_humidity", "amount")
    assert grid["inside_humidity"].values.tolist() == [35.0, 45.0, 55.0] and grid["amount"].attrs["units"] == "kg/m2"
    assert grid["remaining"].values[1, 0, 1] == data["remaining"].values[7]


def test_the_run_without_water_lies_on_the_mesh_of_the_wall_with_it(folder, monkeypatch):
    from drydown.run import simulation

    runs = []
    simulate_one = simulation.simulate

    def counted(case, *a, **k):
        runs.append((case.wettings, k["grid"].dx.tobytes()))
        return simulate_one(case, *a, **k)

    monkeypatch.setattr(simulation, "simulate", counted)
    solve(read_study("study.toml"), workers=1)
    dry, wet = ([mesh for water, mesh in runs if bool(water) is is_wet] for is_wet in (False, True))
    assert len(wet) == 12 and set(wet) == set(dry) and len(dry) <= 12


def test_the_walls_differ_as_they_should(folder):
    """A closed film keeps the water in; through it a drier room draws more. The other film opens in a humid room."""
    grid = on_grid(solve(read_study("study.toml")))
    inward = grid["share_inward"].values
    assert (inward[0] > inward[1]).all() and (np.diff(inward[1], axis=0) < 0.0).all()
    assert (np.diff(inward[0], axis=0) > 0.0).all()


def test_threads_parts_and_dask_processes_give_the_same_bits(folder):
    study = read_study("study.toml")
    run(study, "threads", workers=2)
    for part in (2, 1, 3):
        run(study, "parts", part=(part, 3), workers=1)
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        done = run(study, "dask", client=client)
        assert (done.computed, done.failed) == (12, 0)
        assert run(study, "dask", client=client).present == 12
    whole = gather(study, "threads").load()
    assert same(whole, gather(study, "parts").load()) and same(whole, gather(study, "dask").load())
    assert same(whole, solve(study, workers=1))


def test_a_killed_dask_worker_loses_its_block_alone(slow_study, held, tmp_path, monkeypatch):
    """kill -9 of a worker in mid part: another takes the block over, its lock being seen to be dead."""
    study, folder = slow_study
    held.after(7)
    monkeypatch.setenv("PYTHONPATH", str(folder))
    store = tmp_path / "s"
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        killed = []

        def kill_one(fraction, text):
            """Kill who holds a block that waits, and let the others go on."""
            if not killed:
                locks = [Store(store, study).lock_file(block) for block in range(study.blocks)]
                while not (there := [lock for lock in locks if lock.exists()]):
                    time.sleep(0.002)
                killed.append(json.loads(there[0].read_text())["pid"])
                os.kill(killed[0], signal.SIGKILL)
                held.let_go()

        done = run(study, store, client=client, tick=kill_one)
    assert killed and done.present + done.computed == 24 and not done.held
    assert same(gather(study, store).load(), solve(study))


COORDINATOR = """
import sys

def main():
    import distributed
    import slow_model
    from drydown.study import run

    cluster = distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None)
    with cluster, distributed.Client(cluster) as client:
        run(slow_model.study(), sys.argv[1], client=client)

if __name__ == "__main__":
    main()
"""


def test_a_killed_dask_coordinator_loses_nothing_that_was_written(slow_study, held, tmp_path, monkeypatch):
    """Its workers may finish the block in hand; a run in threads does the rest, and waits for none that is gone."""
    study, folder = slow_study
    store = tmp_path / "s"
    (folder / "coordinator.py").write_text(COORDINATOR)
    held.after(7)
    monkeypatch.setenv("PYTHONPATH", str(folder))
    process = subprocess.Popen([sys.executable, str(folder / "coordinator.py"), str(store)])
    end = time.monotonic() + 600.0  # only a hang takes as long
    while not list(store.glob("blocks/block-*.nc")):
        assert process.poll() is None and time.monotonic() < end
        time.sleep(0.02)
    process.kill()
    process.wait()
    assert len(list(store.glob("blocks/block-*.nc"))) == 1
    held.let_go()
    while not Store(store, study).status().complete:
        run(study, store, workers=2)
        assert time.monotonic() < end
    assert same(gather(study, store).load(), solve(study))
    assert not list(store.glob("blocks/.*"))


def test_remembered_exposure_is_the_exposure(folder):
    text = (folder / "wall.toml").read_text()
    (folder / "wall.toml").write_text(text.replace('file = "weather.csv"', 'name = "fernmoor"'))
    case = read_case("wall.toml")
    kept = remembering(case)
    for _ in range(2):
        a = case.outside.forcing(case.marks, case.physics, case.inside)
        b = kept.outside.forcing(case.marks, case.physics, None)
        for x, y in zip(a, b, strict=True):
            assert np.array_equal(x, y) if isinstance(x, np.ndarray) else x == y


def test_every_kind_of_output_reads_the_same_from_records_and_from_a_dataset(folder):
    case = read_case("wall.toml")
    wanted = []
    for of, kind in KINDS.items():
        if kind.source == "run":
            for place in ("whole", "outer", "inner") if "place" in kind.keys else ("whole",):
                wanted.append(Output(of, layer="OSB", place=place, humidity=0.7, above=275.15, every=3))
    lean = read(wanted, marched(case, wanted), None, {})
    full = read(wanted, Labelled(simulate(case)), None, {})
    assert list(lean) == list(full) and len(lean) == len(wanted)
    for name in lean:
        np.testing.assert_allclose(lean[name], full[name], rtol=1e-13, err_msg=name)


def test_degrees_celsius_are_no_kelvin():
    with pytest.raises(InputError, match=r"output 'hours_above': above is 5 K; 5 degC is 278.15, and 0 counts at any"):
        Output("hours_above", layer="OSB", above=5.0)


def test_hours_above_are_counted_as_by_hand(folder):
    case = read_case("wall.toml")
    data = simulate(case)
    cells = np.flatnonzero(data["layer_of_cell"].values == "OSB")
    phi, t = (data[v].values[1:, cells] for v in ("relative_humidity", "temperature"))
    threshold = float(np.median(phi.max(axis=1)))
    warm = float(np.median(t[phi > threshold]))
    by_hand = int(((phi > threshold) & (t >= warm)).any(axis=1).sum())
    wanted = [Output("hours_above", layer="OSB", humidity=threshold, above=warm)]
    got = read(wanted, marched(case, wanted), None, {})
    assert 0 < by_hand < (phi > threshold).any(axis=1).sum() and list(got.values()) == [by_hand]


def thicker(case: Case, thickness: float) -> Case:
    from dataclasses import replace

    from drydown import Assembly, Layer

    parts = tuple(
        Layer(p.material, thickness, p.name) if isinstance(p, Layer) and p.name == "OSB" else p
        for p in case.assembly.parts
    )
    return replace(case, assembly=Assembly(parts, case.assembly.name))


def test_a_function_varies_a_case_in_python_and_from_a_file(folder):
    outputs = (Output("remaining"), Output("final_water", layer="OSB"))
    axes = (Axis("thickness", (0.009, 0.018)),)
    by_code = solve(Study(axes, VariedCase(read_case("wall.toml"), thicker, outputs), Grid()))
    (folder / "thick.toml").write_text(
        'base = "wall.toml"\nvary = "variants.py:thicker"\noutputs = ["remaining"]\n[[output]]\nof = "final_water"\n'
        'layer = "OSB"\n[[axis]]\nname = "thickness"\nvalues = [0.009, 0.018]\n'
    )
    (folder / "variants.py").write_text(
        "from dataclasses import replace\nfrom drydown import Assembly, Layer\n\n"
        "def thicker(case, thickness):\n"
        "    parts = tuple(Layer(p.material, thickness, p.name) if isinstance(p, Layer) and p.name == 'OSB' else p\n"
        "                  for p in case.assembly.parts)\n"
        "    return replace(case, assembly=Assembly(parts, case.assembly.name))\n"
    )
    study = read_study("thick.toml")
    from_file = solve(study)
    for name in ("remaining", "final_water_OSB"):
        np.testing.assert_array_equal(by_code[name].values, from_file[name].values)
    assert by_code["remaining"].values[0] != by_code["remaining"].values[1]
    with pytest.raises(InputError, match="made by a function"):
        write_cases(study, [0], "cases")


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("wall.toml", '"45 %"', '"46 %"', "base case changed"),
        ("weather.csv", "80.0", "81.0", "file weather.csv changed"),
        ("study.toml", '"35 %"', '"36 %"', "axes changed"),
        ("study.toml", 'place = "inner"', 'place = "outer"', "outputs changed"),
    ],
)
def test_a_file_changed_between_runs_is_named(folder, file, old, new, said):
    run(read_study("study.toml"), "store", part=(1, 6), workers=1)
    path = folder / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))
    with pytest.raises(InputError, match=said):
        run(read_study("study.toml"), "store")
    path.write_text(text)
    assert run(read_study("study.toml"), "store", part=(1, 6)).present == 2


def test_the_inputs_name_the_plugins_that_are_used(folder):
    text = (folder / "wall.toml").read_text()
    (folder / "wall.toml").write_text(text.replace('file = "weather.csv"', 'name = "fernmoor"'))
    inputs = read_study("study.toml").inputs()
    assert {"plugin drydown (materials)", "plugin drydown (climates)", "base case", "axes", "design", "drydown"} <= set(
        inputs
    )
    assert "file weather.csv" not in inputs


def test_a_case_that_fails_has_its_reason(folder):
    text = (folder / "study.toml").read_text()
    (folder / "study.toml").write_text(text.replace('"0.6 kg/m2"]', '"90 kg/m2"]'))
    data = solve(read_study("study.toml"))
    failed = data["failed"].values.astype(bool)
    assert failed.tolist() == [False, True] * 6
    assert all("do not fit" in str(r) for r in data["reason"].values[failed])
    assert np.isnan(data["remaining"].values[failed]).all() and np.isfinite(data["remaining"].values[~failed]).all()


def test_criteria_are_asked_and_unknown_ones_answered_with_the_nearest(folder):
    from drydown.criteria import assess

    study = folder / "study.toml"
    text = study.read_text().replace('outputs = ["remaining", "share_inward"]', "")
    add = '\n[[output]]\nof = "criterion"\ncriterion = "{}"\n'
    study.write_text(text + add.format("moulds"))
    with pytest.raises(InputError, match="mould"):
        read_study("study.toml").check()
    study.write_text(text + add.format("mould"))
    data = solve(read_study("study.toml"))
    (path,) = write_cases(read_study("study.toml"), [3], "cases")
    (found,) = assess(simulate(read_case(path)), only=["mould"])
    assert data["mould"].values[3] == found.value
    words = data["mould_verdict"].attrs["flag_meanings"].split()
    assert words[int(data["mould_verdict"].values[3])] == found.verdict.replace(" ", "_")


def test_limits_of_the_case_file_count_and_may_be_an_axis(folder):
    wall = folder / "wall.toml"
    wall.write_text(wall.read_text() + '\n[limits]\nhumidity_24_hours = "99 %"\nhumidity_coldest = "-20 degC"\n')
    (folder / "limits.toml").write_text(
        'base = "wall.toml"\n[[output]]\nof = "criterion"\ncriterion = "humidity 24 hours"\nname = "day"\n'
        '[[axis]]\npath = "limits.humidity_24_hours"\nvalues = ["50 %", "99.9 %"]\n'
    )
    data = solve(read_study("limits.toml"))
    assert not data["failed"].any(), data["reason"].values
    assert data["day_verdict"].values.tolist() == [3, 1]  # exceeded, fine


def test_a_gathered_history_is_lazy_and_labelled(folder):
    study = folder / "study.toml"
    study.write_text(study.read_text() + '\n[[output]]\nof = "history_humidity"\nlayer = "OSB"\nevery = "6 h"\n')
    made = read_study("study.toml")
    run(made, "store", workers=2)
    data = gather(made, "store")
    series = data["history_humidity_OSB"]
    assert series.dims == ("case", "time_6h") and series.shape == (12, 25)
    assert not series.variable._in_memory and data.attrs["Conventions"].startswith("CF-")
    assert str(data["time_6h"].values[1])[:13] == "2022-01-01T06"
    whole = simulate(read_case("wall.toml"))
    assert series.attrs["units"] == "1" and len(whole["time"]) == 24 * 6 + 1
    assert Store("store", made).status().complete
