"""Files are written in one place, and what differs between systems stands in one place."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
#: Calls that write a file or change a name, and where they may stand besides `files`, with the reason.
WRITING = {"write_text", "write_bytes", "savefig", "to_netcdf", "mkstemp", "mktemp", "NamedTemporaryFile", "touch"}
ALLOWED = {
    "study/locks.py": {"write_text", "touch", "open", "rename", "write"},  # locks are files of their own kind
    "study/store.py": {"open", "write", "replace"},  # the log is added to; a damaged block gets another name
    "cli/frame.py": {"savefig", "to_netcdf"},  # handed to the one writer
    "climate/weather/own.py": {"to_netcdf"},  # handed to the one writer
    "report/document.py": {"savefig"},  # into memory
}
#: What another system does not have, or does otherwise: `systems` alone asks for it.
FOREIGN = {
    "os": {"kill", "fork", "getuid", "geteuid", "getgid", "link", "fsync", "umask", "sched_getaffinity", "uname",
           "chmod", "getloadavg", "setsid", "killpg", "mkfifo", "symlink", "statvfs"},
    "signal": {"SIGKILL", "SIGHUP", "SIGALRM", "setitimer", "signal"},
    "tempfile": {"gettempdir", "mktemp"},
    "socket": {"gethostname"},
    "platform": {"libc_ver"},
}  # fmt: skip
MODULES = {"fcntl", "resource", "pwd", "grp", "termios", "msvcrt", "winreg", "psutil"}
PLACES = ("/proc", "/dev/", "/tmp", "/sys/", "/etc/", "C:\\")


def sources():
    for path in sorted((ROOT / "engine/drydown").rglob("*.py")):
        name = path.relative_to(ROOT / "engine/drydown").as_posix()
        if name not in ("systems.py", "files.py"):
            yield name, ast.parse(path.read_text(encoding="utf-8"))


def writing(tree: ast.AST):
    """Yield the calls that write: methods by name, `open` for writing, `os.replace` and the like."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        call = node.func
        name = call.attr if isinstance(call, ast.Attribute) else call.id if isinstance(call, ast.Name) else ""
        of_os = isinstance(call, ast.Attribute) and isinstance(call.value, ast.Name) and call.value.id == "os"
        by_method = name in WRITING and not of_os and not isinstance(call, ast.Name)
        opened = name == "open" and (of_os or any(map(writes, (*node.args, *(k.value for k in node.keywords)))))
        if by_method or opened or (of_os and name in ("replace", "rename", "renames", "write")):
            yield name


def writes(argument: ast.expr) -> bool:
    """Return whether an argument of `open` is a mode of writing."""
    mode = argument.value if isinstance(argument, ast.Constant) else None
    return isinstance(mode, str) and 0 < len(mode) < 4 and set(mode) <= set("rwxabt+") and bool(set(mode) & set("wxa+"))


def test_files_are_written_by_one_writer():
    found = {}
    for name, tree in sources():
        beyond = set(writing(tree)) - ALLOWED.get(name, set())
        if beyond:
            found[name] = beyond
    assert not found, f"use drydown.files: {found}"


@pytest.mark.parametrize(
    "code",
    [
        "p.write_text('x')",
        "open(p, 'w')",
        "p.open('xb')",
        "import os\nos.replace(a, b)",
        "tempfile.mkstemp()",
        "f.savefig(p)",
    ],
)
def test_another_writer_would_be_found(code):
    assert set(writing(ast.parse(code)))


def foreign(tree: ast.AST):
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in FOREIGN.get(node.value.id, ()):
                yield f"{node.value.id}.{node.attr}"
        elif isinstance(node, ast.Import):
            yield from (a.name for a in node.names if a.name.partition(".")[0] in MODULES)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            module = (node.module or "").partition(".")[0]
            yield from (module for _ in range(module in MODULES))
            yield from (f"{module}.{a.name}" for a in node.names if a.name in FOREIGN.get(module, ()))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith(PLACES):
            yield node.value


def test_what_differs_between_systems_stands_in_one_module():
    found = {name: set(foreign(tree)) for name, tree in sources()}
    assert not {name: calls for name, calls in found.items() if calls}


@pytest.mark.parametrize(
    "code", ["import os\nos.kill(1, 0)", "import fcntl", "from psutil import Process", "open('/proc/1/stat')"]
)
def test_a_call_of_one_system_would_be_found(code):
    assert set(foreign(ast.parse(code)))
