"""A gap of less than a millimetre at 90 % beside wool at 5 %: the face between them moves far in the first step."""

import secrets

import pytest
from drydown import simulate
from drydown.casefile import read_case

CASE = """
[climate]
name = "kelpwick"
[outside]
orientation = "south"
tilt = "5 deg"
[inside]
model = "normal occupancy"
[period]
start = 2023-11-18
days = 1
[start]
temperature = "26 degC"
humidity = "58.6 %"
[[layer]]
material = "air gap 100 mm"
thickness = "{:.3f} mm"
start_humidity = "90 %"
[[layer]]
material = "mineral wool board"
thickness = "125 mm"
start_humidity = "5 %"
"""


WIDTHS = [0.5, 0.8, 1.0, 0.5 + 0.5 * secrets.randbelow(1000) / 1000.0]


@pytest.mark.parametrize("width", WIDTHS, ids=["thin", "as found", "wide", "drawn"])
def test_the_first_steps_converge(tmp_path, width):
    path = tmp_path / "gap.toml"
    path.write_text(CASE.format(width), encoding="utf-8")
    result = simulate(read_case(path))
    assert result.attrs["steps_failed"] == 0
    assert result.attrs["water_closure_step_max"] < 1e-9
