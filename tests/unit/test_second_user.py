"""A second user of this machine cannot make us run code: through cache, temporary files, store or settings."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import small_case

pytestmark = pytest.mark.skipif(os.name == "nt", reason="rights of this kind are not there")
#: What a planted file does where it is run.
CODE = "import pathlib; pathlib.Path({!r}).write_text('run')\n"


@pytest.fixture
def stranger():
    """A second user of this machine, made for the test and removed after it: the number of the user."""
    if os.geteuid() != 0:
        pytest.skip("only root can make a second user")
    name = f"drydown{os.getpid() % 100_000}"
    made = subprocess.run(
        ["useradd", "--no-create-home", "--shell", "/bin/false", name], capture_output=True, text=True
    )
    if made.returncode:
        why = f"no second user can be made here ({made.stderr.strip()})"
        if os.environ.get("DRYDOWN_CI") == "1":
            pytest.fail(why)
        pytest.skip(why)
    import pwd

    yield pwd.getpwnam(name)
    subprocess.run(["userdel", name], check=True, capture_output=True)


@pytest.fixture
def shared():
    """A folder where every user may write, as that of temporary files is."""
    folder = Path("/tmp") / f"drydown-test-{os.getpid()}"
    folder.mkdir()
    folder.chmod(0o1777)
    yield folder
    shutil.rmtree(folder)


def as_stranger(stranger, code, *words):
    """Return the exit code of a script that the stranger runs: 0 where it could do it, 7 where it was refused."""
    python = shutil.which("python3", path="/usr/bin:/bin:/usr/local/bin") or sys.executable
    script = f"import sys\ntry:\n{''.join(f'    {line}' for line in code.strip().splitlines(True))}\n"
    script += "except OSError:\n    sys.exit(7)\n"
    done = subprocess.run(
        [python, "-c", script, *map(str, words)],
        user=stranger.pw_uid,
        group=stranger.pw_gid,
        extra_groups=[],
        cwd="/",
        capture_output=True,
        text=True,
        env={},
    )
    assert done.returncode in (0, 7), done.stderr
    return done.returncode


PLANT = """
import os
for path in sys.argv[1:]:
    os.makedirs(path, exist_ok=True)
    open(os.path.join(path, "planted"), "w").write("x")
"""
WRITE = "open(sys.argv[1], 'w').write(sys.argv[2])"
CHANGE = "open(sys.argv[1], 'r+').write('x')"
REMOVE = "import os; os.remove(sys.argv[1])"
LINK = "import os; os.symlink(sys.argv[1], sys.argv[2])"


def told(env, cwd):
    """Return where the kernel keeps its cache and what it says, in a process with its own surroundings."""
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


def drydown(*words, cwd, **env):
    """Run the command as the program that pip installs does: the current folder is not on Python's path."""
    code = "import sys; sys.path = [p for p in sys.path if p]; from drydown.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *words], cwd=cwd, capture_output=True, text=True, env={**os.environ, **env}
    )


def test_nothing_is_planted_through_the_cache(stranger, shared):
    # what an attacker can guess: the name of the folder below a place where all may write
    ours, words = told({"HOME": str(shared / "home")}, "/")
    assert ours and not words
    name = Path(ours).name
    assert as_stranger(stranger, PLANT, ours) == 7, "the folder of the cache is open to another user"
    theirs = shared / "their"
    assert as_stranger(stranger, PLANT, theirs / "drydown" / name) == 0
    folder, words = told({"XDG_CACHE_HOME": str(theirs)}, "/")
    assert folder == "" and "belongs to another user" in words
    link = shared / "link"
    link.symlink_to(theirs)
    folder, words = told({"XDG_CACHE_HOME": str(link)}, "/")
    assert folder == "" and "belongs to another user" in words
    # a folder planted where the temporary files are is not even looked at
    planted = Path("/tmp") / f"drydown-{name}"
    assert as_stranger(stranger, PLANT, planted) == 0
    try:
        assert told({"HOME": ""}, "/")[0] == ""
    finally:
        shutil.rmtree(planted)


def test_temporary_files_are_ours_alone(stranger, shared, monkeypatch):
    """Half files beside the target, and the folders for what is only needed meanwhile; a stranger's are not removed."""
    import tempfile

    from drydown import files

    assert as_stranger(stranger, WRITE, shared / "their", "theirs") == 0  # the folder is open to that user
    part = files.beside(shared / "wall.nc")
    part.write_text("ours")
    for code in (CHANGE, REMOVE):
        assert as_stranger(stranger, code, part) == 7
    files.settle(part, shared / "wall.nc")
    assert as_stranger(stranger, CHANGE, shared / "wall.nc") == 7
    # A link in place of the target is replaced, what it points to is not written.
    (shared / "precious").write_text("ours")
    assert as_stranger(stranger, LINK, shared / "precious", shared / "page.html") == 0
    (shared / "page.html").unlink()
    os.symlink(shared / "precious", shared / "page.html")
    files.write_text(shared / "page.html", "page")
    assert (shared / "precious").read_text() == "ours" and not (shared / "page.html").is_symlink()
    monkeypatch.setattr(tempfile, "tempdir", str(shared))
    with files.work_folder() as made:
        (made / "run.nc").write_text("ours")
        assert as_stranger(stranger, "import os; os.listdir(sys.argv[1])", made) == 7
        assert as_stranger(stranger, CHANGE, made / "run.nc") == 7
        left = made.name.replace(f"-{os.getpid()}-", "-4194301-")
    assert not made.exists()
    (shared / left).mkdir(mode=0o700)
    theirs = shared / f"{left[:-2]}zz"
    assert as_stranger(stranger, PLANT, theirs) == 0
    os.symlink(shared / "precious", shared / f"{left[:-2]}yy")
    with files.work_folder():
        assert not (shared / left).exists(), "what a process that is gone left is swept"
        assert (theirs / "planted").exists() and (shared / f"{left[:-2]}yy").is_symlink()


def test_a_store_is_changed_by_nobody_else_and_no_link_is_followed(stranger, shared):
    from drydown.study import Axis, FunctionModel, Study, run

    study = Study((Axis("a", (1.0, 2.0)),), FunctionModel(twice), block=1)
    run(study, shared / "store", workers=1)
    for name in ("manifest.json", "blocks/block-000000.nc", "log.txt"):
        assert as_stranger(stranger, CHANGE, shared / "store" / name) == 7, name
        assert as_stranger(stranger, REMOVE, shared / "store" / name) == 7, name
    for folder in ("", "blocks", "locks"):
        assert as_stranger(stranger, WRITE, shared / "store" / folder / "new", "x") == 7
    # A store that the stranger laid out, its files links to ours, is written to without touching what they point to.
    precious = shared / "precious.py"
    precious.write_text("ours")
    trap = shared / "trap"
    assert as_stranger(stranger, PLANT, trap / "blocks", trap / "locks") == 0
    for name in ("log.txt", "blocks/block-000000.nc.damaged", "locks/block-000000.lock", "result.nc"):
        assert as_stranger(stranger, LINK, precious, trap / name) == 0
    run(study, trap, workers=1)
    assert precious.read_text() == "ours"


def twice(a):
    return 2.0 * a


def test_a_store_of_a_stranger_runs_nothing(stranger, shared):
    """Every file of a store replaced by a pickle that would leave a mark, and by a manifest of odd texts."""
    import pickle

    from drydown import InputError
    from drydown.study import Axis, FunctionModel, Study, gather, run

    mark = shared / "mark"

    class Trap:
        def __reduce__(self):
            return os.system, (f"touch {mark}",)

    study = Study((Axis("a", (1.0, 2.0)),), FunctionModel(twice), block=1)
    odd = f"$(touch {mark}); `touch {mark}`"
    manifest = json.dumps({"format": 1, "hash": odd, "inputs": {odd: odd}, "name": odd})
    for name in ("manifest.json", "blocks/block-000000.nc", "locks/block-000001.lock"):
        for data in (pickle.dumps(Trap()), manifest.encode()):
            store = shared / "store"
            run(study, store, workers=1)
            (store / name).write_bytes(data)
            try:
                run(study, store, workers=1)
                gather(study, store).close()
            except InputError as error:
                assert "\n" not in str(error)
            shutil.rmtree(store)
    assert not mark.exists()


@pytest.mark.parametrize("name", [".numba_config.yaml", "matplotlibrc"])
def test_settings_that_a_stranger_put_into_the_current_folder_are_not_followed(stranger, shared, name):
    mark = shared / "mark"
    settings = {
        ".numba_config.yaml": "disable_jit: 1\ncache_dir: /tmp\n",
        "matplotlibrc": "backend: module://planted\n",
    }
    small_case.write_case(shared)
    for module in ("planted", "numba", "numpy", "sitecustomize"):
        assert as_stranger(stranger, WRITE, shared / f"{module}.py", CODE.format(str(mark))) == 0
    assert drydown("climates", cwd=shared).returncode == 0 and not mark.exists()
    assert as_stranger(stranger, WRITE, shared / name, settings[name]) == 0
    for words in (("run", "wall.toml", "--figure", "a.png"), ("dryout", "wall.toml"), ("climates",)):
        done = drydown(*words, cwd=shared)
        assert done.returncode == 2 and len(done.stderr.splitlines()) == 1
        assert done.stderr.startswith(f"drydown: {name}: another user put it into this folder")
    assert not mark.exists() and not (shared / "a.png").exists()
