"""Dask workers that are lost: all of them, those that a case ends, and the scheduler itself."""

import os
import subprocess
import sys
import threading
import time
from contextlib import contextmanager

import pytest
from drydown.study import Axis, FunctionModel, Store, Study, gather, on_dask, run, solve

distributed = pytest.importorskip("distributed")

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not there")]


@contextmanager
def process(module, *words):
    """Run a program of dask in a process of its own, to be killed."""
    command = [sys.executable, "-m", f"distributed.cli.{module}", *words]
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield child
    finally:
        child.kill()
        child.wait()


def worker(address):
    return process("dask_worker", address, "--no-nanny", "--nthreads", "1", "--no-dashboard")


@contextmanager
def workers(address, number):
    """Keep so many workers: who is lost is replaced. A nanny gives up where a start takes it longer than its time."""
    over, children = threading.Event(), []

    def keep():
        while not over.is_set():
            with worker(address) as child:
                children.append(child)
                while child.poll() is None and not over.wait(0.05):
                    pass

    keepers = [threading.Thread(target=keep) for _ in range(number)]
    for keeper in keepers:
        keeper.start()
    try:
        yield children
    finally:
        over.set()
        for keeper in keepers:
            keeper.join()


def test_all_workers_are_lost_and_another_one_comes(slow_study, held, tmp_path, monkeypatch):
    """Nobody is left who holds the study: it is sent again, and the run says what it waits for."""
    study, folder = slow_study
    held.after(7)
    monkeypatch.setenv("PYTHONPATH", str(folder))
    monkeypatch.setattr(on_dask, "LOOK", 0.2)
    store, said = tmp_path / "s", []
    later = threading.Event()
    with (
        distributed.LocalCluster(n_workers=0, processes=True, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
        worker(cluster.scheduler_address) as first,
        worker(cluster.scheduler_address) as second,
    ):
        client.wait_for_workers(2, timeout=600)

        def another():
            while not any("waiting" in line for line in said):
                time.sleep(0.05)
            with worker(cluster.scheduler_address):
                later.wait(600)

        coming = threading.Thread(target=another)

        def kill_all(fraction, text):
            if not coming.ident:
                first.kill()  # a block is held, and nobody has the rest
                second.kill()
                held.let_go()
                coming.start()

        done = run(study, store, client=client, tick=kill_all, say=said.append, every=1e9)
        later.set()
        coming.join()
    assert "no worker of dask is there; waiting for one" in said
    assert done.present + done.computed == 24 and not done.held and not done.lost
    assert gather(study, store).load().equals(solve(study))


DEADLY = """
import os

def deadly(a):
    if a == 3.0:
        os._exit(9)
    return 10.0 * a
"""


@pytest.mark.filterwarnings("ignore")
def test_a_case_that_ends_its_worker_is_named_and_the_others_are_kept(tmp_path, monkeypatch):
    (tmp_path / "deadly_model.py").write_text(DEADLY)
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    import deadly_model

    values = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0)
    study = Study((Axis("a", values),), FunctionModel(deadly_model.deadly), block=1)
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=None, silence_logs=50) as cluster,
        distributed.Client(cluster) as client,
        workers(cluster.scheduler_address, 2) as children,
    ):
        done = run(study, tmp_path / "s", client=client, say=print, every=5.0)
    assert len(children) > 4  # its worker has ended more than twice
    assert done.lost == {3: "cases 3 to 3"} and done.present + done.computed == 5
    assert Store(tmp_path / "s", study).status().done == (0, 1, 2, 4, 5)
    assert "1 blocks lost their workers" in (tmp_path / "s" / "log.txt").read_text()


def test_a_scheduler_that_is_gone_is_said(slow_study, held, tmp_path, monkeypatch):
    study, folder = slow_study
    held.after(7)
    monkeypatch.setenv("PYTHONPATH", str(folder))
    store, about = tmp_path / "s", tmp_path / "scheduler.json"
    with process("dask_scheduler", "--port", "0", "--no-dashboard", "--scheduler-file", str(about)) as scheduler:
        end = time.monotonic() + 600  # only a hang takes as long
        while not about.exists() or not about.read_text():
            assert scheduler.poll() is None and time.monotonic() < end
            time.sleep(0.1)
        with (
            distributed.Client(scheduler_file=str(about)) as client,
            worker(client.scheduler.address),
            pytest.raises(ConnectionError, match="the scheduler of dask is gone; what was finished is kept"),
        ):
            run(study, store, client=client, tick=lambda *told: scheduler.kill())
    there = len(Store(store, study).status().done)
    assert there == 1
    held.let_go()
    done = run(study, store, workers=2)
    assert done.present + done.computed == 24 and done.present >= 4 * there
    assert gather(study, store).load().equals(solve(study))
