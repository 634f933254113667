"""A store on another machine, under another version of the package, and where the clock was set back."""

import json
import os
import shutil
import sys
import time
import warnings
from pathlib import Path

import pytest
from drydown import InputError, files
from drydown.study import Axis, FunctionModel, Store, Study, gather, read_study, run
from drydown.study import locks as locks_module
from drydown.study.locks import BEAT, STALE, Heartbeat, Lock, stale

OLD = Path(__file__).parent / "old_store"
YEAR = 365.25 * 86400.0


def all_in(folder):
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def tenfold(a):
    return 10.0 * a


def test_a_store_goes_on_on_another_machine(folder, monkeypatch, tmp_path_factory):
    """Begun here, copied with its case to a machine of another name and kind, in the middle of a block."""
    study = read_study("study.toml")
    run(study, "truth", workers=2)
    truth = gather(study, "truth").load()
    run(study, "s", part=(1, 2), workers=2)
    begun = Store("s", study)
    there = len(begun.status().done)
    wanting = begun.status().missing[0]
    assert Lock(begun.lock_file(wanting)).take()  # its process goes on, or was killed: the copy cannot know
    half = begun.path / "blocks" / f".block-{wanting:06d}.nc.abcdef-1-1-123456.{files.MARK}.nc"
    half.write_bytes(b"half")
    other = tmp_path_factory.mktemp("other") / "deep" / "place"
    shutil.copytree(folder, other)
    shutil.rmtree(folder / "s")
    monkeypatch.chdir(other)
    monkeypatch.setattr(locks_module, "host", lambda: "other-machine")
    monkeypatch.setattr("drydown.study.store.machine", lambda: {"processor": "of another kind"})
    study = read_study("study.toml")
    done = run(study, "s", workers=2)
    assert (done.present, done.computed) == (2 * there, 10 - 2 * there)
    assert list(done.held) == [wanting] and not done.failed
    with pytest.raises(InputError, match="1 of 6 blocks are missing, 1 of them in work: process"):
        gather(study, "s")
    past = time.time() - STALE - 1.0
    os.utime(Store("s", study).lock_file(wanting), (past, past))
    assert run(study, "s", workers=2).computed == 2
    assert gather(study, "s").load().identical(truth)
    assert not list((other / "s").glob("*/.*")) and not list((other / "s" / "locks").iterdir())


def test_a_new_version_reads_an_old_store_and_adds_nothing_to_it(folder, drydown, monkeypatch):
    assert drydown("study", "run", "study.toml", "--store", "old").exit_code == 0
    truth = gather(read_study("study.toml"), "old", "truth.nc").load()
    before = all_in(folder / "old")
    monkeypatch.setattr("drydown.version.__version__", "99.0.0")
    done = drydown("study", "run", "study.toml", "--store", "old")
    assert done.exit_code == 2 and len(done.stderr.splitlines()) == 1
    assert "begun with other inputs (drydown changed)" in done.stderr and "--store" in done.stderr
    assert all_in(folder / "old") == before
    status = drydown("study", "status", "study.toml", "--store", "old")
    assert status.exit_code == 0 and "12 of 12 cases" in status.stdout
    assert "drydown changed; they are as they were" in status.stderr
    with pytest.warns(UserWarning, match="drydown changed; they are as they were"):
        found = gather(read_study("study.toml"), "old", "new.nc").load()
    assert found.drop_attrs().equals(truth.drop_attrs())
    assert found.attrs["source"] == "drydown 99.0.0" and all_in(folder / "old") == before
    (folder / "old" / "manifest.json").write_text("{")
    with pytest.raises(InputError, match="made with other inputs"):
        Store("old", read_study("study.toml")).mend()
    assert drydown("study", "run", "study.toml", "--store", "new").exit_code == 0


def test_a_store_of_the_first_version_is_read(tmp_path, monkeypatch):
    """Made by version 0.1.0 and kept as it was; what later versions write may differ, what they read may not."""
    monkeypatch.syspath_prepend(str(OLD))
    sys.modules.pop("old_model", None)
    import old_model

    shutil.copytree(OLD / "store", tmp_path / "store")
    before = all_in(tmp_path / "store")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # another Python makes other code of the function, and that is told
        found = gather(old_model.study(), tmp_path / "store", tmp_path / "out.nc").load()
    a, b = (found[name].values for name in "ab")
    assert found["failed"].values.tolist() == [0, 0, 0, 0, 0, 1]
    assert found["value"].values[:5].tolist() == (a * 10.0 + b + 0.1 * a * b)[:5].tolist()
    assert str(found["reason"].values[5]) == "ValueError: three and one do not go together"
    assert all_in(tmp_path / "store") == before


def test_a_clock_set_back_loses_and_doubles_nothing(tmp_path, monkeypatch):
    """The time of day goes an hour back at every look, and what is there lies a year ahead."""
    study = Study((Axis("a", tuple(float(i) for i in range(6))),), FunctionModel(tenfold), block=1)
    store = tmp_path / "s"
    run(study, store, part=(1, 2), workers=1)
    ahead = time.time() + YEAR
    for path in [*store.rglob("*"), store]:
        os.utime(path, (ahead, ahead))
    (store / "result.nc").write_bytes(b"of another year")
    os.utime(store / "result.nc", (ahead, ahead))
    now = [time.time()]

    def back():
        now[0] -= 3600.0
        return now[0]

    monkeypatch.setattr(time, "time", back)
    monkeypatch.setattr(time, "strftime", lambda form, *rest: f"clock {back():.0f}")
    done = run(study, store, workers=2, say=lambda line: None, every=0.0)
    assert (done.present, done.computed) == (3, 3) and 0.0 <= done.seconds < 60.0 and not done.held
    assert gather(study, store)["value"].values.tolist() == [10.0 * i for i in range(6)]
    assert all("-" not in line.partition("per second")[0][-12:] for line in (store / "log.txt").open())


def test_the_lock_of_another_machine_whose_clock_was_ahead_is_stale_too(tmp_path):
    path = tmp_path / "a.lock"
    path.write_text(json.dumps({"host": "elsewhere", "pid": 1, "born": "1", "token": "x"}))
    for seconds in (-YEAR, -STALE - 2.0, 2.0 * STALE, YEAR):  # what is ahead comes nearer meanwhile
        when = time.time() + seconds
        os.utime(path, (when, when))
        assert stale(path)
    for seconds in (-STALE / 2, -BEAT, 0.0, BEAT, STALE / 2):
        when = time.time() + seconds
        os.utime(path, (when, when))
        assert not stale(path)
    path.unlink()
    lock = Lock(path)
    with Heartbeat(every=0.05) as heart, heart.holding(lock):
        os.utime(path, (time.time() + YEAR, time.time() + YEAR))
        end = time.monotonic() + 600.0
        while path.stat().st_mtime > time.time() + 60.0:  # who lives renews it by the clock as it is now
            assert time.monotonic() < end
            time.sleep(0.02)


def test_an_output_from_the_future_is_written_over_and_its_half_file_swept(folder, drydown):
    assert drydown("run", "wall.toml", "-o", "out.nc").exit_code == 0
    half = files.beside(folder / "out.nc")
    half = half.with_name(half.name.replace(f"-{os.getpid()}-", "-4194301-"))
    half.write_bytes(b"half")
    ahead = time.time() + YEAR
    (folder / "out.nc").write_bytes(b"old")
    for path in (half, folder / "out.nc", folder / "wall.toml", folder / "weather.csv"):
        os.utime(path, (ahead, ahead))
    assert drydown("run", "wall.toml", "-o", "out.nc").exit_code == 0
    assert (folder / "out.nc").read_bytes()[1:4] == b"HDF" and not half.exists()


def test_the_lock_of_a_finished_block_does_not_outlive_its_holder(tmp_path):
    """A process was killed after its block was written, before it gave the lock back; another one still has its own."""
    study = Study((Axis("a", (0.0, 1.0, 2.0)),), FunctionModel(tenfold), block=1)
    run(study, tmp_path / "s", workers=1)
    store = Store(tmp_path / "s", study)
    held = Lock(store.lock_file(2))
    assert held.take()
    store.lock_file(0).write_text(
        json.dumps({"host": locks_module.host(), "pid": 2**22 + 1, "born": "1", "token": "x"})
    )
    assert run(study, tmp_path / "s", workers=1).present == 3
    assert [p.name for p in (store.path / "locks").iterdir()] == [held.path.name] and held.mine()
