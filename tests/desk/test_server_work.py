"""One thread works out what was wished last; what is tried behind gives way."""

import os
import sys
import threading
import time

import pytest
from drydown.desk.known import Known, identity
from drydown.desk.working import Dropped, Work
from drydown.systems import calm_thread


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere threads of a process are alike")
def test_a_calm_thread_gives_way_and_the_others_do_not():
    seen = []

    def look():
        seen.append(os.getpriority(os.PRIO_PROCESS, threading.get_native_id()))

    def calm():
        calm_thread()
        look()
        below = threading.Thread(target=look)
        below.start()
        below.join()

    before = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())
    thread = threading.Thread(target=calm)
    thread.start()
    thread.join()
    look()
    assert seen[0] == seen[1] == max(10, before) and seen[2] == before


def test_the_last_wish_wins_and_the_one_before_is_let_go():
    begun, done, let_go, gate = [], [], [], threading.Event()

    def act(wish):
        begun.append(wish.what)
        if wish.what == 0:
            gate.set()
        try:
            while wish.what < 9:
                wish.halt()
                time.sleep(0.001)
        except Dropped:
            let_go.append(wish.what)
            raise
        done.append(wish.what)

    work = Work(act)
    work.want(0)
    assert gate.wait(600)
    for i in range(1, 10):
        work.want(i)
    end = time.monotonic() + 600
    while not done and time.monotonic() < end:
        time.sleep(0.001)
    work.close()
    assert done == [9] and begun[0] == 0 == let_go[0] and len(begun) == len(let_go) + 1
    assert work.at_work == 0


def test_who_wants_to_be_alone_is_alone_and_the_work_goes_on_after():
    at_work, begun, end = [], [], threading.Event()

    def act(wish):
        begun.append(wish.what)
        at_work.append(1)
        try:
            while not end.is_set():
                wish.halt()
                time.sleep(0.001)
        finally:
            at_work.pop()

    work = Work(act)
    work.want("x")
    while not begun:
        time.sleep(0.001)
    with work.alone():
        assert not at_work
        time.sleep(0.02)
        assert not at_work and begun == ["x"]
    limit = time.monotonic() + 600
    while len(begun) < 2 and time.monotonic() < limit:
        time.sleep(0.001)
    end.set()
    work.close()
    assert begun == ["x", "x"]


def test_what_was_not_asked_for_the_longest_is_let_go():
    known = Known(most=2)
    known.put("a", 1)
    known.put("b", 2)
    assert known.get("a") == 1
    known.put("c", 3)
    assert known.get("b") is None and known.get("a") == 1 and len(known) == 2


def test_an_answer_hangs_on_all_that_is_said_and_on_the_files(tmp_path):
    (tmp_path / "weather.csv").write_text("one")
    document = {"climate": {"file": "weather.csv"}, "title": "x"}
    path = tmp_path / "wall.toml"
    first = identity(document, path)
    assert identity({**document}, path) == first
    assert identity({**document, "title": "y"}, path) != first
    (tmp_path / "weather.csv").write_text("another")
    assert identity(document, path) != first
