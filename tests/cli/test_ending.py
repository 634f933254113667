"""A command that is told to end does so, also where a lock was left taken."""

import os
import signal
import subprocess
import sys
import time

import pytest

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not there")

STUCK = """
import os, signal, sys, threading, time
from pathlib import Path
from drydown import files
from drydown.cli import ending, frame
import click

ending.GRACE = 0.5 if sys.argv[2:] == ["stuck"] else 300.0
lock = threading.Lock()

@click.group(cls=frame.Frame)
def main():
    pass

@main.command()
def work():
    part = files.beside(Path("out.nc"))
    part.write_text("half")
    lock.acquire()
    class Odd:
        def __del__(self):
            time.sleep(0.02)  # an error that is raised here is passed over

    try:
        Path("ready").touch()  # in here: the signal may come before the next line
        odd = time.monotonic() + 1.0  # the signal comes within this, and is lost again and again until it is over
        while True:
            time.sleep(0.0001)
            if sys.argv[2:] == ["lost"] and time.monotonic() < odd:
                Odd()
    except BaseException:
        if sys.argv[2:] == ["made"]:  # a compiler makes an error of its own of it
            raise RuntimeError("no compiled object yet")
        raise
    finally:
        if sys.argv[2:] == ["stuck"]:
            while not lock.acquire(timeout=100):
                pass
        part.unlink()

main(["work"])
"""


@pytest.mark.parametrize("how", ["free", "stuck", "lost", "made"])
@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGINT, 130)])
def test_a_command_ends_when_told(tmp_path, number, code, how):
    process = subprocess.Popen(
        [sys.executable, "-c", STUCK, "x", how], cwd=tmp_path, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    end = time.monotonic() + 600.0
    while not (tmp_path / "ready").exists():
        assert process.poll() is None and time.monotonic() < end
        time.sleep(0.02)
    process.send_signal(number)
    said = process.communicate(timeout=600)[1]
    assert process.returncode == code, said
    said = said.strip()  # click begins a new line behind ^C
    assert len(said.splitlines()) == 1 and ("ended at once" in said) == (how == "stuck"), said
    assert os.listdir(tmp_path) == ["ready"]
