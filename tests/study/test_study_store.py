"""The store of a study and its faults: killed processes, full disks, damage, two runs at once, changed inputs."""

import errno
import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from drydown import InputError
from drydown.study import Axis, FunctionModel, Listed, Store, Study, gather, run, solve
from drydown.study.locks import Heartbeat, Lock, read_holder, stale
from drydown.study.store import Damaged

#: Runs a part of the study of `slow_study` in a process of its own.
SCRIPT = """
import sys
sys.path.insert(0, sys.argv[1])
import slow_model
from drydown.study import run
done = run(slow_model.study(), sys.argv[2], part=(int(sys.argv[3]), int(sys.argv[4])), workers=int(sys.argv[5]))
print(done.present, done.computed, done.failed, len(done.held), "|".join(done.held.values()))
"""


def started(folder: Path, store: Path, part: str = "1/1", workers: int = 1) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-c", SCRIPT, str(folder), str(store), *part.split("/"), str(workers)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def wait_for(condition) -> None:
    end = time.monotonic() + 600.0  # only a hang takes as long
    while not condition():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.02)


def blocks_in(store: Path) -> list[str]:
    return sorted(p.name for p in (store / "blocks").glob("block-*.nc"))


def same(a, b) -> bool:
    """Every variable and coordinate bit for bit; failed cases are NaN in both."""
    names = [*a.data_vars, *a.coords]
    return names == [*b.data_vars, *b.coords] and all(
        a[n].values.dtype.kind == b[n].values.dtype.kind
        and (
            a[n].values.tobytes() == b[n].values.tobytes()
            if a[n].dtype.kind == "f"
            else (a[n].values == b[n].values).all()
        )
        for n in names
    )


def test_a_failing_case_is_recorded_and_the_rest_goes_on(slow_study, tmp_path):
    study, _ = slow_study
    done = run(study, tmp_path / "s", workers=2)
    assert (done.computed, done.failed) == (24, 1)
    assert done.reasons == ["case 10: 'slow' fails: ValueError: three and one do not go together"]
    data = gather(study, tmp_path / "s").load()
    assert data["failed"].values.sum() == 1 and np.isnan(data["value"].values[10])
    assert data["reason"].values[10] == "'slow' fails: ValueError: three and one do not go together"
    sound = np.delete(np.arange(24), 10)
    a, b = data["a"].values[sound], data["b"].values[sound]
    np.testing.assert_array_equal(data["value"].values[sound], a * 10.0 + b + 0.1 * a * b)
    again = run(study, tmp_path / "s", workers=2)
    assert (again.present, again.computed) == (24, 0)
    retried = run(study, tmp_path / "s", workers=2, again=True)
    assert (retried.present, retried.computed, retried.failed) == (20, 4, 1)


def test_threads_parts_and_order_give_the_same_bits(slow_study, tmp_path):
    study, _ = slow_study
    whole = solve(study, workers=1)
    for name, plan in {"two": [(1, 1, 2)], "four": [(1, 1, 4)], "parts": [(3, 3, 1), (1, 3, 2), (2, 3, 1)]}.items():
        for part, parts, workers in plan:
            run(study, tmp_path / name, part=(part, parts), workers=workers)
        assert same(whole, gather(study, tmp_path / name).load())


def test_killed_in_mid_part_loses_that_part_alone(slow_study, held, tmp_path):
    """kill -9 of a worker: what it had written stays, its lock is seen to be dead, the rest is run once."""
    study, folder = slow_study
    store = tmp_path / "s"
    held.after(9)  # two blocks and a case
    process = started(folder, store)
    wait_for(lambda: store.joinpath("blocks").is_dir() and len(blocks_in(store)) == 2)
    wait_for(lambda: Store(store, study).lock_file(2).exists())
    process.send_signal(signal.SIGKILL)
    process.wait()
    held.let_go()
    kept = blocks_in(store)
    times = {name: (store / "blocks" / name).stat().st_mtime_ns for name in kept}
    status = Store(store, study).status()
    assert len(status.done) == len(kept) == 2 and len(status.stale) == 1 and not status.held
    with pytest.raises(InputError, match=rf"{study.blocks - len(kept)} of {study.blocks} blocks are missing"):
        gather(study, store)
    done = run(study, store, workers=2)
    assert done.present == 4 * len(kept) and done.present + done.computed == 24
    assert {name: (store / "blocks" / name).stat().st_mtime_ns for name in kept} == times
    assert same(solve(study), gather(study, store).load())
    assert not list((store / "locks").iterdir()) and not list((store / "blocks").glob(".*"))


def test_what_was_half_written_is_swept_unless_somebody_writes_it(slow_study, tmp_path):
    study, _ = slow_study
    store = Store(tmp_path / "s", study)
    store.begin()
    left, live = (store.path / "blocks" / f".block-00000{i}.nc.ab12cd34.writing" for i in (1, 2))
    left.write_bytes(b"half")
    live.write_bytes(b"half")
    lock = Lock(store.lock_file(2))
    assert lock.take()
    store.sweep()
    assert not left.exists() and live.exists()
    lock.release()
    store.sweep()
    assert not live.exists()


def test_killed_coordinator_of_several_threads(slow_study, held, tmp_path):
    study, folder = slow_study
    store = tmp_path / "s"
    held.after(7)
    process = started(folder, store, workers=2)
    wait_for(lambda: store.joinpath("blocks").is_dir() and len(blocks_in(store)) >= 1)
    process.send_signal(signal.SIGKILL)
    process.wait()
    held.let_go()
    assert len(blocks_in(store)) == 1
    run(study, store, workers=2)
    assert same(solve(study), gather(study, store).load())


def test_two_runs_at_once_do_nothing_twice(slow_study, held, tmp_path):
    """Two whole runs: every case is computed by one of them, and who finds a block taken says by whom."""
    study, folder = slow_study
    store = tmp_path / "s"
    held.after(0)
    first, second = (started(folder, store) for _ in range(2))
    locks = [Store(store, study).lock_file(block) for block in range(study.blocks)]
    wait_for(lambda: sum(lock.exists() for lock in locks) == 2)  # both are at work
    held.let_go()
    told = [p.communicate(timeout=600)[0].split() for p in (first, second)]
    assert first.returncode == second.returncode == 0
    assert sum(int(t[1]) for t in told) == 24
    assert same(solve(study), gather(study, store).load())


def test_a_part_in_work_elsewhere_is_left_alone(slow_study, held, tmp_path):
    study, folder = slow_study
    store = tmp_path / "s"
    held.after(0)
    process = started(folder, store)
    wait_for(lambda: Store(store, study).lock_file(0).exists())
    done = run(study, store, part=(1, study.blocks), workers=1)
    process.kill()
    process.wait()
    assert done.computed == 0 and list(done.held) == [0]
    assert re.fullmatch(rf"process {process.pid} on .+", done.held[0])


def test_what_another_process_finished_meanwhile_counts_as_there(slow_study, tmp_path, monkeypatch):
    import drydown.study.running as running

    study, _ = slow_study
    real = running.run_block

    def taken(study, store, block, *rest):
        if block == 1:
            return "held", "process 1 on elsewhere"
        found = real(study, store, block, *rest)
        return ("held", "process 2 on elsewhere") if block == 0 else found

    monkeypatch.setattr(running, "run_block", taken)
    done = run(study, tmp_path / "s", workers=1)
    there = len(study) - len(study.cases_of(1))
    assert list(done.held) == [1] and done.present == len(study.cases_of(0))
    assert done.present + done.computed == there
    assert f"finished, {there} of {len(study)} cases" in (tmp_path / "s" / "log.txt").read_text().splitlines()[-1]


def test_the_store_tells_the_machine_and_does_not_ask_for_it(slow_study, tmp_path, monkeypatch):
    """What bits depend on besides the inputs stands in every block; another machine may go on and read."""
    import netCDF4
    from drydown.study import fingerprint, store

    study, _ = slow_study
    path = tmp_path / "s"
    run(study, path, part=(1, 2), workers=1)
    there = set(blocks_in(path))
    monkeypatch.setattr(store, "machine", lambda: {"processor": "another one"})
    done = run(study, path, workers=1)
    assert done.present and done.computed and done.present + done.computed == len(study)
    told = {}
    for name in blocks_in(path):
        with netCDF4.Dataset(path / "blocks" / name) as file:
            told[name] = file.machine
    assert all((text == "processor: another one") != (name in there) for name, text in told.items())
    assert all("numba " in told[name] and "processor: " in told[name] for name in there)
    manifest = json.loads((path / "manifest.json").read_text())
    assert fingerprint.machine() in manifest.values()


def test_a_damaged_block_is_found_set_aside_and_run_anew(slow_study, tmp_path):
    study, _ = slow_study
    path = tmp_path / "s"
    run(study, path, workers=1)
    whole = gather(study, path).load()
    store = Store(path, study)
    good = store.block_file(1).read_bytes()
    value = np.float64(gather(study, path)["value"].values[5]).tobytes()
    assert good.count(value) == 1
    flipped = bytearray(good)
    flipped[good.index(value)] ^= 1
    for wrong, said in ((good[:500], "cannot be read"), (bytes(flipped), "not those that were written"), (b"", "read")):
        store.block_file(1).write_bytes(wrong)
        with pytest.raises(Damaged, match=said):
            store.read(1)
        with pytest.raises(InputError, match="runs it anew"):
            gather(study, path)
        done = run(study, path, workers=1)
        assert (done.present, done.computed, len(done.damaged)) == (20, 4, 1)
        assert (path / "blocks" / "block-000001.nc.damaged").read_bytes() == wrong
        assert same(whole, gather(study, path).load())
    store.block_file(1).write_bytes(store.block_file(2).read_bytes())
    with pytest.raises(Damaged, match="another study or block"):
        store.read(1)


def tripled(a):
    return 3.0 * a


def test_a_changed_study_is_not_mixed_with_what_is_there(tmp_path):
    path = tmp_path / "s"
    before = Study((Axis("a", (1.0, 2.0)),), FunctionModel(tripled))
    run(before, path, workers=1)
    after = Study((Axis("a", (1.0, 2.5)),), FunctionModel(tripled))
    for act in (run, gather):
        with pytest.raises(InputError, match="axes changed"):
            act(after, path)
    other = Study((Axis("a", (1.0, 2.0)),), FunctionModel(lambda a: 4.0 * a))
    with pytest.raises(InputError, match="function changed"):
        run(other, path)
    with pytest.warns(UserWarning, match="function changed; they are as they were"):
        assert gather(other, path)["value"].values.tolist() == [3.0, 6.0]
    (path / "manifest.json").write_text("{")
    with pytest.raises(InputError, match="manifest is damaged"):
        run(before, path)


def small_disk(path: Path) -> Path:
    """Mount a file system of 256 kB; skip, outside of continuous integration, where that is not allowed."""
    path.mkdir()
    got = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(path)], capture_output=True, text=True, check=False
    )
    if got.returncode:
        why = f"no small file system can be mounted here: {got.stderr.strip() or got.returncode}"
        if os.environ.get("DRYDOWN_CI") == "1":
            pytest.fail(why)
        pytest.skip(why)
    return path


@pytest.fixture
def disk(tmp_path):
    try:
        path = small_disk(tmp_path / "disk")
    except FileNotFoundError:
        if os.environ.get("DRYDOWN_CI") == "1":
            pytest.fail("there is no mount command here")
        pytest.skip("there is no mount command here")
    yield path
    subprocess.run(["umount", "-l", str(path)], check=True)


def test_a_full_disk_stops_the_run_and_loses_nothing(disk):
    """Blocks are written until the disk is full; with room again the same command goes on from there."""
    study = Study((Axis("a", tuple(float(i) for i in range(40))),), FunctionModel(tripled), block=1)
    store = disk / "s"
    with pytest.raises(OSError, match="the disk is full") as caught:
        run(study, store, workers=2)
    assert caught.value.errno == errno.ENOSPC and "block-0" in Path(caught.value.filename).name
    there = blocks_in(store)
    assert 1 <= len(there) < 40
    found = Store(store, study)
    for name in there:
        found.read(int(name[6:12]))
    assert not list(store.glob("*/.*")) and not list((store / "locks").iterdir())
    subprocess.run(["mount", "-o", "remount,size=16m", str(disk)], check=True)
    done = run(study, store, workers=2)
    assert (done.present, done.computed) == (len(there), 40 - len(there))
    assert gather(study, store)["value"].values.tolist() == [3.0 * i for i in range(40)]


def test_locks_are_exclusive_and_outlive_nobody(tmp_path):
    path = tmp_path / "a.lock"
    one, two = Lock(path), Lock(path)
    assert one.take() and not two.take() and one.mine() and not two.mine()
    two.release()
    assert one.mine()
    one.release()
    assert two.take()
    two.release()
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    holder = {"host": os.uname().nodename, "pid": gone.pid, "born": "1", "token": "x"}
    path.write_text(json.dumps(holder))
    assert stale(path) and one.take() and one.mine()
    one.release()
    path.write_text(json.dumps({**holder, "pid": os.getpid()}))  # the number was given to another process
    assert stale(path)


def test_a_lock_of_another_machine_is_stale_when_it_was_not_renewed(tmp_path):
    path = tmp_path / "a.lock"
    path.write_text(json.dumps({"host": "elsewhere", "pid": 1, "born": "1", "token": "x"}))
    assert not stale(path) and not Lock(path).take()
    assert str(read_holder(path)) == "process 1 on elsewhere"
    past = time.time() - 121.0
    os.utime(path, (past, past))
    assert stale(path) and Lock(path).take()


def test_a_lock_without_a_holder_is_stale_soon(tmp_path):
    """Made where files cannot be linked, by a process that was killed before it wrote its name."""
    path = tmp_path / "a.lock"
    path.touch()
    assert not stale(path)
    past = time.time() - 11.0
    os.utime(path, (past, past))
    assert stale(path) and Lock(path).take()


def test_a_file_system_without_links_has_locks_too(tmp_path, monkeypatch):
    def no_links(*names):
        raise OSError(errno.EOPNOTSUPP, "no links")

    monkeypatch.setattr(os, "link", no_links)
    one, two = (Lock(tmp_path / "a.lock") for _ in range(2))
    assert one.take() and not two.take() and one.mine()


def test_the_heartbeat_renews_a_lock(tmp_path):
    lock = Lock(tmp_path / "a.lock")
    with Heartbeat(every=0.05) as heart, heart.holding(lock) as mine:
        assert mine
        os.utime(lock.path, (1.0, 1.0))
        wait_for(lambda: lock.path.stat().st_mtime > 1e9)
    assert not lock.path.exists()


def test_of_many_that_want_a_stale_lock_one_gets_it(tmp_path):
    path = tmp_path / "a.lock"
    for _ in range(30):
        path.write_text(json.dumps({"host": os.uname().nodename, "pid": 2**22 - 3, "born": "1", "token": "x"}))
        locks = [Lock(path) for _ in range(8)]
        got: list[Lock] = []
        gate = threading.Barrier(8)

        def take(lock, got=got, gate=gate):
            gate.wait()
            if lock.take():
                got.append(lock)

        threads = [threading.Thread(target=take, args=(lock,)) for lock in locks]
        [t.start() for t in threads]
        [t.join() for t in threads]
        assert sum(lock.mine() for lock in got) <= 1
        path.unlink(missing_ok=True)


def test_the_log_has_plain_lines(slow_study, tmp_path):
    study, _ = slow_study
    said: list[str] = []
    run(study, tmp_path / "s", workers=1, say=said.append, every=0.0)
    text = (tmp_path / "s" / "log.txt").read_text()
    assert text.isprintable() or all(line.isprintable() for line in text.splitlines())
    assert re.search(r"10 of 24 cases, [\d.]+ per second, \d+ s left", text) and "1 failed" in text
    assert len(said) == 24 and text.count("\n") == 26


def test_values_of_other_shapes_and_kinds_are_reasons(tmp_path):
    study = Study((Axis("a", (1, 2)),), FunctionModel(lambda a: [1.0, 2.0] if a == 1 else "x"), Listed())
    data = solve(study)
    assert data["failed"].values.all()
    assert "shape" in str(data["reason"].values[0]) and "ValueError" in str(data["reason"].values[1])
