"""Signals at random moments: nothing is lost, nothing is left half written after the next run, results bit for bit."""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import xarray as xr
from drydown import files

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not there"),
]
#: Rounds of signals on each; 50 in a full round, as the environment says.
ROUNDS = int(os.environ.get("DRYDOWN_ROUNDS", "3"))
#: Where the moments are drawn from; printed, so that a round can be had again.
SEED = int(os.environ.get("DRYDOWN_SEED", "5"))
MAIN = "from drydown.cli import main; main()"
#: Rounds with processes that start from nothing; later ones are forked from one that has run the command already, so
#: that signals meet the run and the writing, and not the loading of libraries.
FROM_NOTHING = 3
FORKS = """
import json, os, signal, sys
from drydown.cli import main

def command(words):
    try:
        main(words)
    except SystemExit as end:
        return end.code or 0
    except KeyboardInterrupt:
        return 130
    return 0

for line in sys.stdin:
    order = json.loads(line)
    if "wait" in order:
        print(os.waitstatus_to_exitcode(os.waitpid(order["wait"], 0)[1]), flush=True)
    elif "warm" in order:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        out = os.dup(1)
        os.dup2(2, 1)
        code = command(order["warm"])
        os.dup2(out, 1)
        print(code, flush=True)
    elif pid := os.fork():
        print(pid, flush=True)
    else:
        said = os.open(order["said"], os.O_CREAT | os.O_TRUNC | os.O_WRONLY)
        os.dup2(said, 1), os.dup2(said, 2)
        code = 130
        try:
            code = command(order["words"])
        finally:
            sys.stdout.flush(), sys.stderr.flush()
            os._exit(code)
"""
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)
#: What writes a file of its own: the words of the command, and the file.
WRITING = {
    "run": (("run", "wall.toml", "-o", "out.nc"), "out.nc"),
    "dryout": (("dryout", "wall.toml", "-o", "out.nc"), "out.nc"),
    "report": (("report", "wall.toml", "--no-changes", "-o", "out.html"), "out.html"),
}


@pytest.fixture
def folder(folder, monkeypatch):
    """The folder of the other tests of studies, and beside the case a place for temporary files."""
    (folder / "temporary").mkdir()
    monkeypatch.setenv("TMPDIR", str(folder / "temporary"))
    return folder


def listening():
    """Hear SIGINT, also where the tests run in the background, which is told not to."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def started(folder, *words):
    return subprocess.Popen(
        [sys.executable, "-c", MAIN, *words],
        preexec_fn=listening,
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )


class Forked:
    """A process forked from one that has run the command already."""

    def __init__(self, mother, folder, words):
        self.mother, self.said = mother, folder / "temporary" / f"said-{os.urandom(4).hex()}"
        self.pid = mother.asked(words=words, said=str(self.said))
        self.returncode = None

    def send_signal(self, number):
        os.kill(self.pid, number)

    def communicate(self):
        self.returncode = self.mother.asked(wait=self.pid)
        said = self.said.read_text() if self.said.exists() else ""
        self.said.unlink(missing_ok=True)
        return "", said


class Mother:
    """A process that has run a command and forks others that run it, without loading all again."""

    def __init__(self, folder, words):
        self.process = subprocess.Popen(
            [sys.executable, "-c", FORKS],
            preexec_fn=listening,
            cwd=folder,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.asked(warm=words) == 0

    def asked(self, **order):
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        return int(self.process.stdout.readline())


@pytest.fixture
def started_later(folder):
    """Return a way to start a process in a round: from nothing at first, later forked; and how long one takes."""
    mothers = {}

    def start(turn, *words):
        if turn < FROM_NOTHING:
            return started(folder, *words)
        if words not in mothers:
            mothers[words] = Mother(folder, words)
        return Forked(mothers[words], folder, words)

    yield start
    for mother in mothers.values():
        mother.process.kill()
        mother.process.communicate()


def time_of(process):
    began = time.monotonic()
    said = process.communicate()[1]
    assert process.returncode == 0, said
    return time.monotonic() - began


def ended(process, number):
    """Send a signal; what is said is no traceback, the exit code one that is documented."""
    process.send_signal(number)
    said = process.communicate()[1]
    assert process.returncode in (0, 130, 143, -signal.SIGKILL, -number), (process.returncode, said)
    # Before the first line of the command is reached, Python itself answers.
    assert "Traceback" not in said or process.returncode == -signal.SIGINT, said


def left_over(folder: Path) -> list[str]:
    return [str(p) for p in folder.rglob("*") if f".{files.MARK}" in p.name or p.parent.name == "temporary"]


def timed(folder, *words):
    return time_of(started(folder, *words))


def content(path):
    """Return all that is in a file, bit for bit: every variable and attribute of a Dataset, the text of a page."""
    if path.suffix == ".html":
        return path.read_text(encoding="utf-8")
    with xr.open_dataset(path, decode_times=False) as data:
        found = {
            name: (v.dims, v.dtype.str, v.values.tobytes() if v.dtype.kind != "O" else v.values.tolist(), str(v.attrs))
            for name, v in data.variables.items()
        }
        return found | {"attributes": {k: str(v) for k, v in data.attrs.items()}}


@pytest.mark.parametrize("name", WRITING)
def test_signals_leave_the_file_of_before_or_a_whole_one(folder, started_later, name):
    """In turn over an old file and where none is, by one process and by two at one output."""
    draw = random.Random(f"{SEED}:{name}")
    words, output = WRITING[name]
    timed(folder, *words)  # compiles, where nobody has yet
    longest = timed(folder, *words)
    truth = content(folder / output)
    shutil.copy(folder / output, folder / f"kept-{output}")
    stopped = 0
    for turn in range(ROUNDS):
        old = turn % 4 < 2
        if turn == FROM_NOTHING:
            longest = time_of(started_later(turn, *words))
        if old:
            shutil.copy(folder / f"kept-{output}", folder / output)
        else:
            (folder / output).unlink(missing_ok=True)
        processes = [started_later(turn, *words) for _ in range(1 + turn % 2)]
        for process in processes:
            time.sleep(draw.uniform(0.0, 1.2 * longest / len(processes)))
            ended(process, SIGNALS[turn % 3])
            stopped += process.returncode != 0
        assert (folder / output).exists() or not old
        assert not (folder / output).exists() or content(folder / output) == truth
    timed(folder, *words)
    assert content(folder / output) == truth and not left_over(folder)
    assert stopped, "no signal met a process at work"
    print(f"{name}: {ROUNDS} rounds of seed {SEED}, {stopped} processes stopped at work, nothing lost")


def test_signals_on_a_study_of_two_processes_lose_nothing(folder, started_later):
    draw = random.Random(f"{SEED}:study")
    timed(folder, "study", "run", "study.toml", "--store", "first")  # compiles, where nobody has yet
    longest = timed(folder, "study", "run", "study.toml", "--store", "truth")
    timed(folder, "study", "gather", "study.toml", "--store", "truth", "-o", "truth.nc")
    truth = content(folder / "truth.nc")
    store, stopped, whole = folder / "killed", 0, 0
    words = ("study", "run", "study.toml", "--store", "killed")
    for turn in range(ROUNDS):
        before = {p.name: p.read_bytes() for p in store.glob("blocks/block-*.nc")}
        if len(before) == 6:  # all are there: look at them, and begin again
            timed(folder, "study", "gather", "study.toml", "--store", "killed", "-o", "killed.nc")
            assert content(folder / "killed.nc") == truth
            shutil.rmtree(store)
            before, whole = {}, whole + 1
        if turn == FROM_NOTHING:
            shutil.rmtree(store, ignore_errors=True)
            time_of(started_later(turn, *words))
            shutil.rmtree(store)
            longest, before = time_of(started_later(turn, *words)), {}
            shutil.rmtree(store)
        for process in [started_later(turn, *words) for _ in range(2)]:
            time.sleep(draw.uniform(0.0, longest / 2))
            ended(process, SIGNALS[turn % 3])
            stopped += process.returncode != 0
        for name, data in before.items():
            assert (store / "blocks" / name).read_bytes() == data, "a finished block was lost"
    timed(folder, "study", "run", "study.toml", "--store", "killed")
    timed(folder, "study", "gather", "study.toml", "--store", "killed", "-o", "killed.nc")
    assert content(folder / "killed.nc") == truth and not left_over(folder)
    assert not list((store / "locks").iterdir()) and stopped, "no signal met a process at work"
    print(f"study: {ROUNDS} rounds of seed {SEED}, {stopped} processes stopped at work, {whole + 1} stores whole")


@pytest.mark.parametrize("name", WRITING)
def test_two_processes_at_one_output_leave_a_whole_file(folder, name):
    words, output = WRITING[name]
    two = [started(folder, *words) for _ in range(2)]
    for process in two:
        said = process.communicate()[1]
        assert process.returncode == 0, said
    both = content(folder / output)
    timed(folder, *words)
    assert content(folder / output) == both and not left_over(folder)
