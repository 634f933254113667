"""A study of a plain function, and a small study of a case file, for the tests of the machinery."""

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

CASE = """
title = "Small wall"

[climate]
file = "weather.csv"

[outside]
faces = "north"

[inside]
model = "constant"
temperature = "20 degC"
humidity = "45 %"

[period]
start = 2022-01-01
days = 6

[start]
temperature = "10 degC"
humidity = "70 %"

[[layer]]
material = "OSB"
thickness = "11 mm"

[[layer]]
material = "mineral wool"
thickness = "4 in"

[[layer]]
film = "polyamide film 0.05 mm"

[[layer]]
material = "gypsum board"
thickness = "12.5 mm"

[[wetting]]
layer = "OSB"
amount = "0.5 kg/m2"
date = 2022-01-02
duration = "6 h"
"""

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


def weather(days: int = 12) -> str:
    """Twelve demo days, each like the other."""
    head = "# latitude: 59\n# longitude: 21\n# utc_offset: 1\n"
    head += "time,temperature [degC],humidity [%],wind_speed [m/s]\n"
    hours = np.datetime64("2022-01-01T01:00") + np.arange(24 * days) * np.timedelta64(1, "h")
    wave = np.sin(2.0 * np.pi * np.arange(24 * days) / 24.0)
    rows = [f"{str(h).replace('T', ' ')},{3 * w:.2f},{80 - 8 * w:.1f},3" for h, w in zip(hours, wave, strict=True)]
    return head + "\n".join(rows) + "\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with the small case, its weather and the small study."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "wall.toml").write_text(CASE, encoding="utf-8")
    (tmp_path / "weather.csv").write_text(weather(), encoding="utf-8")
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    return tmp_path


@pytest.fixture
def drydown() -> Callable:
    """Run the command with arguments, in this process."""
    from click.testing import CliRunner
    from drydown.cli import main

    def run(*arguments: str):
        return CliRunner().invoke(main, list(arguments), prog_name="drydown")

    return run


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
