"""A small demo wall as a case file with its weather, and a way to run the command without a new process."""

from pathlib import Path
from unittest import mock

import numpy as np
from click.testing import CliRunner, Result

CASE = """
title = "Small wall"

[climate]
file = "weather.csv"

[outside]
orientation = "north"

[inside]
model = "constant"
temperature = "20 degC"
humidity = "45 %"

[period]
start = 2022-01-01
days = 10

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
date = 2022-01-03
duration = "6 h"
"""


def weather(days: int = 12) -> str:
    """Demo days, each like the other."""
    head = "# latitude: 59\n# longitude: 21\n# utc_offset: 1\n"
    head += "time,temperature [degC],humidity [%],wind_speed [m/s]\n"
    hours = np.datetime64("2022-01-01T01:00") + np.arange(24 * days) * np.timedelta64(1, "h")
    wave = np.sin(2.0 * np.pi * np.arange(24 * days) / 24.0)
    rows = [f"{str(h).replace('T', ' ')},{3 * w:.2f},{80 - 8 * w:.1f},3" for h, w in zip(hours, wave, strict=True)]
    return head + "\n".join(rows) + "\n"


def write_case(folder: Path, case: str = CASE) -> None:
    """Write wall.toml and its weather."""
    (folder / "wall.toml").write_text(case, encoding="utf-8")
    (folder / "weather.csv").write_text(weather(), encoding="utf-8")


def run_command(*arguments: str) -> Result:
    """Run the command with arguments, in this process; on a slow machine too without a word on progress."""
    from drydown.cli import frame, main

    with mock.patch.object(frame, "SILENCE", float("inf")):
        return CliRunner().invoke(main, list(arguments), prog_name="drydown")
