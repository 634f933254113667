"""The folder of the compiled kernel: of one user alone, never where others or the folder of the day decide."""

import os
import pwd
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


@pytest.fixture
def stranger():
    """A second user of this machine, made for the test and removed after it."""
    if os.geteuid() != 0:
        pytest.skip("only root can make a second user")
    name = f"drydown{os.getpid() % 100_000}"
    made = subprocess.run(
        ["useradd", "--no-create-home", "--shell", "/bin/false", name], capture_output=True, text=True
    )
    if made.returncode:
        pytest.skip(f"no second user can be made here ({made.stderr.strip()})")
    yield pwd.getpwnam(name)
    subprocess.run(["userdel", name], check=True, capture_output=True)


def as_stranger(stranger, code, *words):
    done = subprocess.run(
        ["/usr/bin/env", "python3", "-c", code, *map(str, words)],
        user=stranger.pw_uid,
        group=stranger.pw_gid,
        cwd="/",
        capture_output=True,
        env={"PATH": os.environ["PATH"]},
    )
    return done.returncode


PLANT = """
import os, sys
for path in sys.argv[1:]:
    os.makedirs(path, exist_ok=True)
    open(os.path.join(path, "planted"), "w").write("x")
"""


def test_a_second_user_cannot_plant_code_through_the_cache(stranger):
    open_to_all = Path("/tmp") / f"drydown-test-{os.getpid()}"
    open_to_all.mkdir()
    open_to_all.chmod(0o1777)
    try:
        # what an attacker can guess: the name of the folder below a place where all may write
        ours, words = told({"HOME": str(open_to_all / "home")}, "/")
        assert ours and not words
        name = Path(ours).name
        assert as_stranger(stranger, PLANT, ours) != 0, "the folder of the cache is open to another user"
        theirs = open_to_all / "their"
        assert as_stranger(stranger, PLANT, theirs / "drydown" / name) == 0
        folder, words = told({"XDG_CACHE_HOME": str(theirs)}, "/")
        assert folder == "" and "belongs to another user" in words
        link = open_to_all / "link"
        link.symlink_to(theirs)
        folder, words = told({"XDG_CACHE_HOME": str(link)}, "/")
        assert folder == "" and "belongs to another user" in words
        # a folder planted where the temporary files are is not even looked at
        planted = Path("/tmp") / f"drydown-{name}"
        assert as_stranger(stranger, PLANT, planted) == 0
        try:
            assert told({"HOME": ""}, "/")[0] == ""
        finally:
            subprocess.run(["rm", "-r", str(planted)], check=True)
    finally:
        subprocess.run(["rm", "-r", str(open_to_all)], check=True)


def test_a_second_user_cannot_change_what_is_being_written_or_a_store(stranger):
    """A temporary file beside the target and the folders of a store are no more open than the folder they are in."""
    from drydown import files
    from drydown.study import Axis, FunctionModel, Study, run

    shared = Path("/tmp") / f"drydown-shared-{os.getpid()}"
    shared.mkdir()
    shared.chmod(0o1777)
    write = "import sys; open(sys.argv[1], 'r+' if len(sys.argv) < 3 else 'w').write('x')"
    try:
        part = files.beside(shared / "wall.nc")
        part.write_text("ours")
        assert as_stranger(stranger, write, part) != 0 and part.read_text() == "ours"
        files.settle(part, shared / "wall.nc")
        assert as_stranger(stranger, write, shared / "wall.nc") != 0
        study = Study((Axis("a", (1.0, 2.0)),), FunctionModel(len_of), block=1)
        run(study, shared / "store", workers=1)
        for name in ("manifest.json", "blocks/block-000000.nc", "log.txt"):
            assert as_stranger(stranger, write, shared / "store" / name) != 0, name
        assert as_stranger(stranger, write, shared / "store" / "blocks" / "new", "new") != 0
    finally:
        subprocess.run(["rm", "-r", str(shared)], check=True)


def len_of(a):
    return a


def test_a_cache_home_of_windows(monkeypatch):
    monkeypatch.setattr(os, "name", "nt")
    monkeypatch.setenv("LOCALAPPDATA", "")
    assert systems.cache_home() is None
