"""The folder of the compiled kernel: of one user alone, never where others or the folder of the day decide."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from drydown import systems

pytestmark = pytest.mark.skipif(os.name == "nt", reason="rights of this kind are not there")


def told(env, cwd):
    """Return what the kernel says of its cache, in a process with its own surroundings."""
    code = (
        "import warnings\n"
        "with warnings.catch_warnings(record=True) as said:\n"
        "    warnings.simplefilter('always')\n"
        "    from drydown.kernel.jit import cache_folder\n"
        "    print(cache_folder())\n"
        "print(*(w.message for w in said))\n"
    )
    clean = {k: v for k, v in os.environ.items() if k not in ("HOME", "XDG_CACHE_HOME")}
    done = subprocess.run([sys.executable, "-c", code], env={**clean, **env}, cwd=cwd, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    folder, _, words = done.stdout.partition("\n")
    return folder, words.strip()


def test_the_folder_is_made_for_this_user_alone(tmp_path):
    folder, words = told({"HOME": str(tmp_path)}, tmp_path)
    assert folder.startswith(str(tmp_path / ".cache" / "drydown" / "kernel-")) and not words
    for made in (Path(folder), Path(folder).parent):
        about = made.stat()
        assert stat.S_IMODE(about.st_mode) == 0o700 and about.st_uid == os.geteuid()


@pytest.mark.parametrize(
    "env", [{"HOME": ""}, {"HOME": "/"}, {"HOME": "."}, {"HOME": "here"}, {}, {"XDG_CACHE_HOME": "a"}]
)
def test_neither_the_folder_of_the_day_nor_the_root_is_used(tmp_path, env):
    folder, words = told(env, tmp_path)
    assert folder == "" and "each run compiles it anew (no folder for it is named" in words
    assert not os.listdir(tmp_path) and not Path("/.cache/drydown").exists()


def test_a_folder_that_others_may_write_to_is_refused(tmp_path):
    (tmp_path / ".cache" / "drydown").mkdir(parents=True)
    (tmp_path / ".cache" / "drydown").chmod(0o777)
    folder, words = told({"HOME": str(tmp_path)}, tmp_path)
    assert folder == "" and "other users may write to it" in words
    (tmp_path / ".cache" / "drydown").chmod(0o755)
    assert told({"HOME": str(tmp_path)}, tmp_path)[0]
    (tmp_path / ".cache").chmod(0o777)  # anyone could exchange the folder in it
    folder, words = told({"HOME": str(tmp_path)}, tmp_path)
    assert folder == "" and "every user may change" in words


def test_a_home_that_cannot_be_written_to_is_said(tmp_path):
    (tmp_path / "home").write_text("no folder")
    folder, words = told({"HOME": str(tmp_path / "home")}, tmp_path)
    assert folder == "" and "cannot be made" in words


def test_a_cache_home_of_windows(monkeypatch):
    monkeypatch.setattr(os, "name", "nt")
    monkeypatch.setenv("LOCALAPPDATA", "")
    assert systems.cache_home() is None
