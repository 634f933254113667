"""Signals at random moments: nothing is lost, nothing is left half written after the next run, results bit for bit."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from drydown import files

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not there"),
]
#: Rounds of signals on each; 50 in a full round, as the environment says.
ROUNDS = int(os.environ.get("DRYDOWN_ROUNDS", "3"))
MAIN = "from drydown.cli import main; main()"


def started(folder, *words):
    return subprocess.Popen(
        [sys.executable, "-c", MAIN, *words], cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    )


def ended(process, draw, longest):
    """Send a signal at a random moment; return what the process left on stderr."""
    time.sleep(draw.uniform(0.0, longest))
    process.send_signal(draw.choice((signal.SIGKILL, signal.SIGTERM, signal.SIGINT)))
    said = process.communicate()[1]
    assert "Traceback" not in said or process.returncode < 0, said
    return said


def half_written(folder: Path) -> list[str]:
    return [str(p) for p in folder.rglob("*") if f".{files.MARK}" in p.name]


def timed(folder, *words):
    began = time.monotonic()
    process = started(folder, *words)
    said = process.communicate()[1]
    assert process.returncode == 0, said
    return time.monotonic() - began


def values(path):
    import xarray as xr

    with xr.open_dataset(path) as data:
        return {name: data[name].values.copy() for name in data.data_vars}


def same(a, b):
    return a.keys() == b.keys() and all(np.array_equal(a[k], b[k], equal_nan=a[k].dtype.kind == "f") for k in a)


def test_signals_on_a_run_leave_the_file_of_before_or_a_whole_one(folder):
    draw = random.Random(5)
    longest = timed(folder, "run", "wall.toml", "-o", "out.nc")
    truth = values(folder / "out.nc")
    for _ in range(ROUNDS):
        ended(started(folder, "run", "wall.toml", "-o", "out.nc"), draw, 1.2 * longest)
        assert same(values(folder / "out.nc"), truth)
    timed(folder, "run", "wall.toml", "-o", "out.nc")
    assert same(values(folder / "out.nc"), truth) and not half_written(folder)


def test_signals_on_a_page_leave_the_page_of_before_or_a_whole_one(folder):
    draw = random.Random(6)
    longest = timed(folder, "report", "wall.toml", "--no-changes", "-o", "out.html")
    for _ in range(ROUNDS):
        ended(started(folder, "report", "wall.toml", "--no-changes", "-o", "out.html"), draw, 1.2 * longest)
        assert (folder / "out.html").read_text(encoding="utf-8").rstrip().endswith("</html>")
    timed(folder, "report", "wall.toml", "--no-changes", "-o", "out.html")
    assert not half_written(folder)


def test_signals_on_a_study_of_two_processes_lose_nothing(folder):
    draw = random.Random(7)
    longest = timed(folder, "study", "run", "study.toml", "--store", "truth")
    timed(folder, "study", "gather", "study.toml", "--store", "truth", "-o", "truth.nc")
    truth = values(folder / "truth.nc")
    for _ in range(ROUNDS):
        two = [started(folder, "study", "run", "study.toml", "--store", "killed") for _ in range(2)]
        before = {p.name: p.read_bytes() for p in (folder / "killed" / "blocks").glob("block-*.nc")}
        for process in two:
            ended(process, draw, longest / 2)
        for name, content in before.items():
            assert (folder / "killed" / "blocks" / name).read_bytes() == content, "a finished block was lost"
    timed(folder, "study", "run", "study.toml", "--store", "killed")
    timed(folder, "study", "gather", "study.toml", "--store", "killed", "-o", "killed.nc")
    assert same(values(folder / "killed.nc"), truth) and not half_written(folder)


def test_two_runs_at_one_output_leave_a_whole_file(folder):
    two = [started(folder, "run", "wall.toml", "-o", "out.nc") for _ in range(2)]
    for process in two:
        said = process.communicate()[1]
        assert process.returncode == 0, said
    assert values(folder / "out.nc") and not half_written(folder)
