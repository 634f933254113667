"""A study of a plain function, and a small study of a case file, for the tests of the machinery."""

import sys
from collections.abc import Callable
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

#: A study of a function in a file of its own, so that other processes can import it.
SLOW = """
import os, time

def slow(a, b):
    time.sleep(float(os.environ.get("STUDY_SLOW", "0")))
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


@pytest.fixture
def slow_study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A study of a function that may be slow and fails once, and the folder from which processes can make it."""
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
