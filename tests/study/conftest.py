"""A study of a plain function, and a small study of a case file, for the tests of the machinery."""

import importlib
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import small_case

#: The small case, shorter and wet a day earlier.
CASE = small_case.CASE.replace("days = 10", "days = 6").replace("2022-01-03", "2022-01-02")

STUDY = """
title = "Small study"
base = "wall.toml"
outputs = ["remaining", "share_inward"]
block = 2

[[output]]
of = "maximum_humidity"
layer = "OSB"
place = "inner"

[[output]]
of = "monthly_water"
layer = "OSB"

[[axis]]
name = "film"
path = 'layer."polyamide film 0.05 mm".film'
values = ["polyamide film 0.05 mm", "polyethylene 0.15 mm"]

[[axis]]
path = "inside.humidity"
values = ["35 %", "45 %", "55 %"]

[[axis]]
name = "amount"
path = "wetting.1.amount"
values = ["0.2 kg/m2", "0.6 kg/m2"]
"""

#: A study of a function in a file of its own, so that other processes can import it. Where its cases are held, so many
#: of them pass and the others wait while the folder of the passes is there: who is to be stopped at work is at work
#: until then, however slow the machine.
SLOW = """
import os, time

def passes(held, number):
    if not os.path.isdir(held):
        return True
    for i in range(number):
        try:
            os.close(os.open(os.path.join(held, str(i)), os.O_CREAT | os.O_EXCL))
        except FileExistsError:
            continue
        except FileNotFoundError:
            pass
        return True
    return False

def slow(a, b):
    held, _, number = os.environ.get("STUDY_HELD", "").rpartition(":")
    while held and not passes(held, int(number)):
        time.sleep(0.005)
    if a == 3.0 and b == 1.0:
        raise ValueError("three and one do not go together")
    return a * 10.0 + b + 0.1 * a * b
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with the small case, its weather and the small study."""
    monkeypatch.chdir(tmp_path)
    small_case.write_case(tmp_path, CASE)
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    return tmp_path


@pytest.fixture
def drydown() -> Callable:
    """Run the command with arguments, in this process."""
    return small_case.run_command


class Held:
    """Holds the cases of `slow_study` in all processes that are started meanwhile, until they are let go."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
        self.monkeypatch, self.folder = monkeypatch, folder

    def after(self, cases: int) -> None:
        """Let so many cases pass; of seven, with blocks of four, two workers finish one block and hold another."""
        self.folder.mkdir()
        self.monkeypatch.setenv("STUDY_HELD", f"{self.folder}:{cases}")

    def let_go(self) -> None:
        shutil.rmtree(self.folder.rename(self.folder.with_name("let-go")))
        self.monkeypatch.delenv("STUDY_HELD")


@pytest.fixture
def held(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Held]:
    """Hold cases of the slow study; none waits longer than its test."""
    hold = Held(monkeypatch, tmp_path / "held")
    yield hold
    if hold.folder.exists():
        hold.let_go()


@pytest.fixture
def slow_study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A study of a function that may be held and fails once, and the folder from which processes can make it."""
    (tmp_path / "slow_model.py").write_text(
        SLOW
        + """

def study():
    from drydown.study import Axis, FunctionModel, Study

    axes = (Axis("a", tuple(float(i) for i in range(8))), Axis("b", (0.0, 1.0, 2.0)))
    return Study(axes, FunctionModel(slow, ("value",)), block=4)
"""
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    sys.modules.pop("slow_model", None)
    import slow_model

    yield slow_model.study(), tmp_path
    sys.modules.pop("slow_model", None)


@pytest.fixture
def module(tmp_path, monkeypatch):
    """Write modules of one's own and import the first anew."""
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    names = ("own_one", "own_two")

    def write(one, two=""):
        for name, text in zip(names, (one, two), strict=True):
            (tmp_path / f"{name}.py").write_text(text)
            sys.modules.pop(name, None)
        importlib.invalidate_caches()
        return importlib.import_module("own_one")

    yield write
    for name in names:
        sys.modules.pop(name, None)
