"""Files written whole or not at all: full disks, killed writers, outputs that would be inputs, names."""

import errno
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from drydown import InputError, files, systems


def leftovers(folder: Path) -> list[str]:
    return [p.name for p in folder.iterdir() if files.MARK in p.name]


@pytest.fixture
def small_disk(tmp_path):
    """A disk of a megabyte; only root may make one."""
    place = tmp_path / "disk"
    place.mkdir()
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only root can mount a small disk")
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place)], capture_output=True)
    if made.returncode:
        pytest.skip("this machine mounts no small disk")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_file_is_written_with_the_rights_of_a_new_file_and_replaces_the_old_one(tmp_path):
    target = tmp_path / "wall.html"
    files.write_text(target, "one\r\ntwo\n")
    files.write_text(target, "three\n")
    assert target.read_bytes() == b"three\n" and not leftovers(tmp_path)
    (tmp_path / "usual").write_text("")
    assert target.stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_a_writer_that_fails_leaves_what_was_there(tmp_path):
    target = tmp_path / "a.nc"
    target.write_text("old")

    def half(part):
        part.write_text("half")
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        files.write_whole(target, half)
    assert target.read_text() == "old" and not leftovers(tmp_path)


def test_a_full_disk_is_said_in_one_line_and_leaves_nothing(small_disk):
    target = small_disk / "a.bin"
    target.write_bytes(b"old")
    with pytest.raises(OSError, match="the disk is full; it was not written, what is there stays") as caught:
        files.write_bytes(target, b"x" * 5_000_000)
    assert caught.value.filename == str(target) and target.read_bytes() == b"old" and not leftovers(small_disk)
    with pytest.raises(OSError, match="the disk is full"):
        files.new_text(small_disk / "new.toml", "x" * 5_000_000)
    assert sorted(os.listdir(small_disk)) == ["a.bin"]
    (small_disk / "filler").write_bytes(b"x" * (900_000))
    with pytest.raises(OSError, match="No space left"):
        (small_disk / "more").write_bytes(b"x" * 900_000)
    assert files.can_write(small_disk / "b.nc") == "the disk is full; make room"


def test_netcdf_on_a_full_disk_is_called_full(small_disk):
    import numpy as np
    import xarray as xr

    data = xr.Dataset({"a": ("x", np.random.default_rng(1).random(500_000))})
    with pytest.raises(OSError, match="the disk is full"):
        files.write_whole(small_disk / "a.nc", lambda part: data.to_netcdf(part, engine="netcdf4"))
    assert not os.listdir(small_disk)


KILLED = """
import os, signal, sys
from pathlib import Path
from drydown.files import write_whole
def half(part):
    part.write_text("half")
    os.kill(os.getpid(), signal.SIGKILL)
write_whole(Path(sys.argv[1]), half)
"""


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
def test_what_a_killed_writer_left_is_swept_by_the_next(tmp_path):
    target = tmp_path / "wall.nc"
    subprocess.run([sys.executable, "-c", KILLED, str(target)], check=False)
    assert len(leftovers(tmp_path)) == 1 and not target.exists()
    mine = files.beside(tmp_path / "other.nc")  # another target of a living process: neither is touched
    mine.write_text("living")
    files.write_text(target, "whole")
    assert leftovers(tmp_path) == [mine.name] and target.read_text() == "whole"
    files.sweep(tmp_path / "other.nc")
    assert mine.exists()


def test_a_writer_on_another_machine_is_left_alone(tmp_path):
    theirs = tmp_path / ".wall.nc.abcdef-1-1-123456.writing.nc"
    theirs.write_text("theirs")
    files.write_text(tmp_path / "wall.nc", "ours")
    assert theirs.exists()


def test_a_new_file_never_replaces_one(tmp_path):
    files.new_text(tmp_path / "a.toml", "first")
    for _ in range(2):
        with pytest.raises(InputError, match="is there already and stays as it is"):
            files.new_text(tmp_path / "a.toml", "second")
    (tmp_path / "loop.toml").symlink_to(tmp_path / "loop.toml")
    with pytest.raises(InputError, match="is there already"):
        files.new_text(tmp_path / "loop.toml", "x")
    assert (tmp_path / "a.toml").read_text() == "first" and not leftovers(tmp_path)


def test_an_output_that_is_an_input_is_refused_by_any_name_it_has(tmp_path):
    weather = tmp_path / "own.nc"
    weather.write_text("weather")
    (tmp_path / "link.nc").symlink_to(weather)
    os.link(weather, tmp_path / "second.nc")
    (tmp_path / "in").mkdir()
    for name in ("own.nc", "in/../own.nc", "link.nc", "second.nc"):
        with pytest.raises(InputError, match="that is the weather, and would be lost"):
            files.keep_apart(tmp_path / name, [("the weather", weather)], "--output")
    with pytest.raises(InputError, match="a block"):
        files.keep_apart(tmp_path / "in" / "new.nc", [("a block", tmp_path / "in")], "--output")
    files.keep_apart(tmp_path / "other.nc", [("the weather", weather)], "--output")


@pytest.mark.parametrize(
    "name", ["a:b.nc", "wall.", "wall ", "CON", "nul.toml", "Lpt1.nc", "a\nb.toml", "a\x7f", "what?.nc", "x" * 300]
)
def test_names_that_some_system_cannot_keep_are_refused(name, tmp_path):
    assert systems.name_trouble(name)
    with pytest.raises(InputError):
        files.new_text(tmp_path / name, "x")
    assert not os.listdir(tmp_path)


@pytest.mark.parametrize("name", ["wall.toml", "Wand süd 2.nc", "console.nc", "com.toml", ".hidden", "a.b.c.nc"])
def test_usual_names_are_kept(name):
    assert not systems.name_trouble(name)


def test_processes_are_told_apart():
    me = os.getpid()
    assert systems.alive(me) and systems.born(me) and systems.born(me) == systems.born(me)
    child = subprocess.Popen([sys.executable, "-c", ""])
    child.wait()
    assert not systems.alive(child.pid) or systems.born(child.pid) != ""
    for odd in (-5, 2**31 - 1, 2**40):
        assert not systems.alive(odd)


def test_a_linked_name_says_what_the_system_cannot(tmp_path, monkeypatch):
    def refused(*names):
        raise OSError(errno.EPERM, "no links")

    monkeypatch.setattr(os, "link", refused)
    files.new_text(tmp_path / "a.toml", "whole")
    assert (tmp_path / "a.toml").read_text() == "whole" and not leftovers(tmp_path)


@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_while_a_file_is_written_waits_until_it_is(tmp_path, number):
    """What writes may hold a lock at that moment, and would wait for itself for ever."""
    lock, seen = threading.Lock(), []

    def end(*about):
        seen.append((tmp_path / "a.nc").exists())
        raise KeyboardInterrupt

    def write(part):
        lock.acquire()
        os.kill(os.getpid(), number)
        time.sleep(0.05)
        part.write_text("whole")
        lock.release()

    before = signal.signal(number, end)
    try:
        with pytest.raises(KeyboardInterrupt):
            files.write_whole(tmp_path / "a.nc", write)
        assert signal.getsignal(number) is end
    finally:
        signal.signal(number, before)
    assert seen == [True] and (tmp_path / "a.nc").read_text() == "whole" and not lock.locked()
    assert not leftovers(tmp_path)
