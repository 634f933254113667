"""Python in processes of their own that begin with the engine loaded: forked from one that has run a small wall."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from small_case import write_case

SERVE = """
import json, os, sys, traceback
from drydown.cli import main

def ran(code, words):
    sys.argv = ["-c", *words]
    try:
        exec(compile(code, "<string>", "exec"), {"__name__": "__main__"})
    except SystemExit as end:
        if isinstance(end.code, str):
            print(end.code, file=sys.stderr)
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
        return 1
    return 0

def forked(order):
    out, err = (os.open(order[name], os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600) for name in ("out", "err"))
    child = os.fork()
    if not child:
        os.dup2(out, 1), os.dup2(err, 2)
        code = 1
        try:
            os.chdir(order["folder"])
            code = ran(order["code"], order["words"])
            sys.stdout.flush(), sys.stderr.flush()
        finally:
            os._exit(code)
    os.close(out), os.close(err)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])

answers = os.dup(1)
os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
if ran("from drydown.cli import main; main()", ["run", "wall.toml", "-o", "out.nc"]):
    sys.exit(1)
for line in sys.stdin:
    os.write(answers, f"{forked(json.loads(line))}\\n".encode())
"""


class Forked:
    """Runs code as `python -c` does, with an environment of its own, without loading the engine each time.

    Parameters
    ----------
    environment : dict
    folder : Path
        For what is only needed meanwhile.
    """

    def __init__(self, environment: dict[str, str], folder: Path) -> None:
        self.folder = folder
        write_case(folder)
        self.process = subprocess.Popen(
            [sys.executable, "-c", SERVE], env=environment, cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            text=True,
        )  # fmt: skip

    def run(self, folder: Path, code: str, *words: str) -> subprocess.CompletedProcess[str]:
        """Run code in a folder, with words in `sys.argv`."""
        out, err = self.folder / "out.txt", self.folder / "err.txt"
        order = {"folder": str(folder), "code": code, "words": words, "out": str(out), "err": str(err)}
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        code = int(self.process.stdout.readline())
        return subprocess.CompletedProcess(words, code, out.read_text("utf-8"), err.read_text("utf-8"))

    def close(self) -> None:
        """End the process."""
        self.process.communicate()
