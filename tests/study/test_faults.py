"""Signals at random moments: nothing is lost, nothing is left half written after the next run, results bit for bit.

A moment is the number of an event that Python tells of itself (a file opened, renamed or removed, a module found), in
half of the cases with some milliseconds more: no clock decides whether a process is still at work. Processes are forked
from one that has run the commands already, so that signals meet the run and the writing, and not the loading of
libraries; one in each test starts from nothing.
"""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
import xarray as xr
from drydown import files

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not there"),
]
#: Rounds of signals on each; 50 in a full round, as the environment says.
ROUNDS = int(os.environ.get("DRYDOWN_ROUNDS", "6"))
#: Where the moments are drawn from; printed, so that a round can be had again.
SEED = int(os.environ.get("DRYDOWN_SEED", "5"))
#: Counts the events of a process, and at one of them sends it a signal, at once or later.
STRUCK = """
import json, os, sys, threading

WRITES = ("os.rename", "os.remove", "os.link", "os.mkdir", "os.rmdir", "os.truncate")
seen, writes, strike = 0, [], {}

def hook(event, arguments):
    global seen
    if event in ("object.__getattr__", "sys._getframe"):
        return
    seen += 1
    if event in WRITES or (event == "open" and arguments[2] & (os.O_WRONLY | os.O_RDWR)):
        writes.append(seen)
    if seen == strike.get("at"):
        if strike["late"]:
            threading.Timer(strike["late"], os.kill, (os.getpid(), strike["number"])).start()
        else:
            os.kill(os.getpid(), strike["number"])

sys.addaudithook(hook)
"""
FROM_NOTHING = STRUCK + "strike = json.loads(sys.argv.pop(1))\nfrom drydown.cli import main; main()\n"
FORKS = (
    STRUCK
    + """
import tempfile
from drydown.cli import main

def command(order):
    os.chdir(order["folder"])
    os.environ["TMPDIR"], tempfile.tempdir = order["folder"] + "/temporary", None
    try:
        main(order["words"])
    except SystemExit as end:
        return end.code or 0
    except KeyboardInterrupt:
        return 130
    return 0

for line in sys.stdin:
    order = json.loads(line)
    if "wait" in order:
        print(os.waitstatus_to_exitcode(os.waitpid(order["wait"], 0)[1]), flush=True)
    elif order.get("here"):  # what is loaded and compiled here, those that are forked have
        out = os.dup(1)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        code = command(order)
        sys.stdout.flush()
        os.dup2(out, 1)
        print(code, flush=True)
    elif pid := os.fork():
        print(pid, flush=True)
    else:
        said = os.open(order["said"], os.O_CREAT | os.O_TRUNC | os.O_WRONLY)
        os.dup2(said, 1), os.dup2(said, 2)
        code, seen, strike = 130, 0, order["strike"]
        writes.clear()
        try:
            code = command(order)
            with open(order["said"] + "-told", "w") as told:
                json.dump([seen, writes], told)
        finally:
            sys.stdout.flush(), sys.stderr.flush()
            os._exit(code)
"""
)
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)
#: What writes a file of its own: the words of the command, and the file.
WRITING = {
    "run": (("run", "wall.toml", "-o", "out.nc"), "out.nc"),
    "dryout": (("dryout", "wall.toml", "-o", "out.nc"), "out.nc"),
    "report": (("report", "wall.toml", "--no-changes", "-o", "out.html"), "out.html"),
}
STUDY = ("study", "run", "study.toml", "--workers", "2", "--store")
#: About the events of a process that loads the engine and runs a command.
MANY = 40_000


@pytest.fixture
def folder(folder, monkeypatch):
    """The folder of the other tests of studies, and beside the case a place for temporary files."""
    (folder / "temporary").mkdir()
    monkeypatch.setenv("TMPDIR", str(folder / "temporary"))
    return folder


def listening():
    """Hear SIGINT, also where the tests run in the background, which is told not to."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class FromNothing:
    """A process that loads all that it needs."""

    def __init__(self, folder, words, strike):
        self.process = subprocess.Popen(
            [sys.executable, "-c", FROM_NOTHING, json.dumps(strike), *words],
            preexec_fn=listening,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )

    def ended(self):
        """Return its exit code and what it said, once it has ended."""
        said = self.process.communicate()[1]
        return self.process.returncode, said


class Forked:
    """A process forked from one that has run the command already."""

    def __init__(self, mother, folder, words, strike):
        self.mother, self.said = mother, folder / "temporary" / f"said-{os.urandom(4).hex()}"
        self.pid = mother.asked(words=words, folder=str(folder), said=str(self.said), strike=strike)
        self.events, self.writes = 0, []

    def ended(self):
        """Return its exit code and what it said, once it has ended; keep the events of one that ran to its end."""
        code = self.mother.asked(wait=self.pid)
        said = self.said.read_text() if self.said.exists() else ""
        self.said.unlink(missing_ok=True)
        told = self.said.with_name(f"{self.said.name}-told")
        if told.exists():
            self.events, self.writes = json.loads(told.read_text()) if code == 0 else (0, [])
            told.unlink()
        return code, said


class Mother:
    """A process that has run the commands and forks others that run them, without loading all again."""

    def __init__(self):
        self.process = subprocess.Popen(
            [sys.executable, "-c", FORKS],
            preexec_fn=listening,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.knows = set()

    def asked(self, **order):
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        return int(self.process.stdout.readline())

    def learns(self, folder, words):
        """Run a command in this process, unless it has done so already."""
        if words[:2] not in self.knows:
            assert self.asked(here=True, words=words, folder=str(folder)) == 0
        self.knows.add(words[:2])

    def whole(self, folder, *words):
        """Return a process that ran to its end."""
        process = Forked(self, folder, words, {})
        code, said = process.ended()
        assert code == 0, said
        return process


@pytest.fixture(scope="module")
def mother():
    one = Mother()
    yield one
    one.process.kill()
    one.process.communicate()


def drawn(draw, number, process=None):
    """Return a moment for a signal: of all events of a whole run, every other one of those that write."""
    writes = process is not None and draw.random() < 0.5
    at = draw.choice(process.writes) if writes else draw.randrange(1, process.events if process else MANY)
    # Out of the middle of loading libraries a signal comes as one from outside does: between any two lines.
    return {
        "at": at,
        "number": number,
        "late": draw.uniform(0.0, 0.03) if process is None or draw.random() < 0.5 else 0,
    }


def struck(process, number):
    """Return whether a process was stopped; what is said is no traceback, the exit code one that is documented."""
    code, said = process.ended()
    assert code in (0, 130, 143, -signal.SIGKILL, -number), (code, said)
    # Before the first line of the command is reached, Python itself answers.
    assert "Traceback" not in said or code == -signal.SIGINT, said
    return code != 0


def left_over(folder: Path) -> list[str]:
    return [str(p) for p in folder.rglob("*") if f".{files.MARK}" in p.name or p.parent.name == "temporary"]


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
def test_signals_leave_the_file_of_before_or_a_whole_one(folder, mother, name):
    """In turn over an old file and where none is, by one process and by two at one output."""
    draw = random.Random(f"{SEED}:{name}")
    words, output = WRITING[name]
    mother.learns(folder, words)
    usual = mother.whole(folder, *words)
    truth = content(folder / output)
    shutil.copy(folder / output, folder / f"kept-{output}")
    stopped = 0
    for turn in range(ROUNDS):
        old, number = turn % 4 < 2, SIGNALS[turn % 3]
        if old:
            shutil.copy(folder / f"kept-{output}", folder / output)
        else:
            (folder / output).unlink(missing_ok=True)
        if turn == 0:
            processes = [FromNothing(folder, words, drawn(draw, number))]
        else:
            processes = [Forked(mother, folder, words, drawn(draw, number, usual)) for _ in range(1 + turn % 2)]
        stopped += sum([struck(process, number) for process in processes])
        assert (folder / output).exists() or not old
        assert not (folder / output).exists() or content(folder / output) == truth
    mother.whole(folder, *words)
    assert content(folder / output) == truth and not left_over(folder)
    assert stopped, "no signal met a process at work"
    print(f"{name}: {ROUNDS} rounds of seed {SEED}, {stopped} processes stopped at work, nothing lost")


def test_signals_on_a_study_of_two_processes_lose_nothing(folder, mother):
    draw = random.Random(f"{SEED}:study")
    mother.learns(folder, (*STUDY, "first"))
    usual = mother.whole(folder, *STUDY, "truth")
    mother.whole(folder, "study", "gather", "study.toml", "--store", "truth", "-o", "truth.nc")
    truth = content(folder / "truth.nc")
    store, stopped, whole = folder / "killed", 0, 0
    words = (*STUDY, "killed")
    for turn in range(ROUNDS):
        number = SIGNALS[turn % 3]
        before = {p.name: p.read_bytes() for p in store.glob("blocks/block-*.nc")}
        if len(before) == 6:  # all are there: look at them, and begin again
            mother.whole(folder, "study", "gather", "study.toml", "--store", "killed", "-o", "killed.nc")
            assert content(folder / "killed.nc") == truth
            shutil.rmtree(store)
            before, whole = {}, whole + 1
        if turn == 0:
            processes = [FromNothing(folder, words, drawn(draw, number)) for _ in range(2)]
        else:
            processes = [Forked(mother, folder, words, drawn(draw, number, usual)) for _ in range(2)]
        stopped += sum([struck(process, number) for process in processes])
        for name, data in before.items():
            assert (store / "blocks" / name).read_bytes() == data, "a finished block was lost"
    mother.whole(folder, *words)
    mother.whole(folder, "study", "gather", "study.toml", "--store", "killed", "-o", "killed.nc")
    assert content(folder / "killed.nc") == truth and not left_over(folder)
    assert not list((store / "locks").iterdir()) and stopped, "no signal met a process at work"
    print(f"study: {ROUNDS} rounds of seed {SEED}, {stopped} processes stopped at work, {whole + 1} stores whole")


@pytest.mark.parametrize("name", WRITING)
def test_two_processes_at_one_output_leave_a_whole_file(folder, mother, name):
    words, output = WRITING[name]
    mother.learns(folder, words)
    for process in [Forked(mother, folder, words, {}) for _ in range(2)]:
        code, said = process.ended()
        assert code == 0, said
    both = content(folder / output)
    mother.whole(folder, *words)
    assert content(folder / output) == both and not left_over(folder)
