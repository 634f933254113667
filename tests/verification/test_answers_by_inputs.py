"""Answers of a trial, their derivatives, and which further sensor tells most."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from drydown import read_case, simulate
from drydown.errors import InputError
from drydown.examples import template
from drydown.inverse.answers import answers
from drydown.inverse.free import Free, free, put_all
from drydown.inverse.next_sensor import NOISE, STAYS, next_sensor
from drydown.inverse.sensors import Sensor
from drydown.lowering.problem import mesh_of
from drydown.trial.dryout import account


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    """The example, wetted in April and followed for 100 days on a coarse mesh, and three inputs."""
    file = tmp_path_factory.mktemp("answers") / "wall.toml"
    Path(file).write_text(template("wall"))
    case = read_case(file)
    start = np.datetime64("2022-04-01T00:00:00")
    wetting = replace(case.wettings[0], start=start + np.timedelta64(2, "D"), amount=0.6)
    case = replace(case, start=start, end=start + np.timedelta64(100, "D"), wettings=(wetting,))
    case = replace(case, numerics=replace(case.numerics, refine=0.4))
    inputs = [
        free(case, "layer.OSB.permeability_factor"),
        free(case, "layer.polyamide film 0.05 mm.permeance_factor"),
        Free("wetting.1.amount", 0.6, 0.3),
    ]
    return case, inputs, mesh_of(case)


@pytest.fixture(scope="module")
def found(trial):
    case, inputs, grid = trial
    return answers(case, inputs, grid=grid)


def test_they_are_those_of_the_trial(trial, found):
    """Beside the median of its prior an input may have another value in the case: the trial is run at the median."""
    case, inputs, grid = trial
    middle = put_all(case, inputs, np.zeros(3))
    dry, wet = (simulate(c, grid=grid) for c in (replace(middle, wettings=()), middle))
    a = account(middle, dry, wet).attrs
    value = dict(zip(found.names, found.value, strict=True))
    for name in ("share_inward", "remaining"):
        assert value[name] == pytest.approx(a[name], abs=1e-3), name
    assert np.isnan(value["days_to_90_percent_dry"]) and np.isnan(a["days_to_90_percent_dry"])


def test_derivatives_against_runs(trial, found):
    """Central differences of whole trials, for all that is reached; the mould index has kinks."""
    case, inputs, grid = trial
    h = 0.005
    for j in range(len(inputs)):
        e = h * np.eye(len(inputs))[j]
        up, down = (answers(put_all(case, inputs, s * e), [], grid=grid) for s in (1.0, -1.0))
        slope = (up.value - down.value) / (2.0 * h)
        for name, size, a, b in zip(found.names, found.value, found.by[:, j], slope, strict=True):
            if name != "days_to_90_percent_dry":
                close = 2e-3 if name == "mould_index" else 1e-4
                assert a == pytest.approx(b, rel=close, abs=1e-5 * size), (j, name)


def test_the_next_sensor(trial):
    case, inputs, grid = trial
    sensors = [
        Sensor("in the cladding", "temperature", "spruce cladding"),
        Sensor("in the board", "moisture_content", "OSB"),
    ]
    got = next_sensor(case, inputs, "share_inward", sensors, grid=grid)
    assert list(got["sensor"].values) == ["in the board", "in the cladding"]
    assert float(got["shrinks"][0]) > 0.05 and float(got["shrinks"][1]) < 0.005
    assert np.all(got["left"].values <= got.attrs["doubt"] * (1 + 1e-12))


def test_one_input_is_learned_as_the_formula_says(trial):
    """One input, one reading that counts: s' = 1/sqrt(1 + n (J/s)^2), told apart from the matrices."""
    from drydown.inverse.derivatives import observed

    case, inputs, grid = trial
    sensor = Sensor("in the board", "moisture_content", "OSB")
    got = next_sensor(case, inputs[2:], "remaining", [sensor], grid=grid)
    by = observed(case, inputs[2:], [sensor], grid=grid).by[:, 0, 0]
    count = np.sum(by**2) / (2.0 * STAYS * 24.0) / NOISE["moisture_content"] ** 2
    assert float(got["learned"][0, 0]) == pytest.approx(1.0 - 1.0 / np.sqrt(1.0 + count), rel=1e-6)


def test_refusals(trial):
    case, inputs, grid = trial
    with pytest.raises(InputError, match="no answer is called 'days'"):
        next_sensor(case, inputs, "days", grid=grid)
    with pytest.raises(InputError, match="nothing is free"):
        next_sensor(case, [], grid=grid)
    with pytest.raises(InputError, match="nothing gets wet"):
        answers(replace(case, wettings=()), inputs[:2])
