"""Built-in water against two runs of our own and against what a wet board does in air."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, InputError, Layer, simulate
from drydown.criteria import assess
from drydown.lowering.problem import mesh_of
from drydown.plugins import film, material
from drydown.trial.built_in import account, built_in, built_in_runs
from drydown.trial.unknown import Unknown
from drydown.wording.answer import built_in_answer
from drydown.wording.built_in import built_in_words

START = np.datetime64("2022-01-01")


def case(days=60, inside=()):
    return Case(
        Assembly((Layer(material("OSB"), 0.011), Layer(material("mineral wool"), 0.1), *inside)),
        Chamber(288.15, 0.7),
        Chamber(293.15, 0.5),
        START,
        START + np.timedelta64(days, "D"),
        initial=Initial(288.15, 0.7, {"OSB": 0.97}),
    )


def test_it_is_the_difference_of_two_runs():
    wall = case()
    found = built_in(wall)
    wet = simulate(wall)["layer_water"].values
    usual = simulate(replace(wall, initial=Initial(288.15, 0.7)), grid=mesh_of(wall))["layer_water"].values
    assert found.attrs["amount"] == pytest.approx((wet - usual)[0].sum(), rel=1e-9)
    assert found["excess"].values == pytest.approx((wet - usual).sum(axis=1), abs=1e-12)
    assert found.attrs["closure_max"] < 1e-10
    assert found.attrs["days_to_50_percent_dry"] < found.attrs["days_to_90_percent_dry"] < 60.0
    said = " ".join(built_in_words(found))
    assert said.startswith("Dry by when? By ") and "'OSB'" in said


def test_a_sheet_inside_turns_it_outward():
    open_wall, closed = built_in(case(30)), built_in(case(30, (film("polyethylene 0.15 mm"),)))
    assert closed.attrs["share_inward"] < 0.05 < open_wall.attrs["share_inward"]
    assert closed.attrs["remaining"] > open_wall.attrs["remaining"]
    short = built_in(case(1))
    assert np.isnan(short.attrs["days_to_90_percent_dry"])
    assert "Not within this run" in built_in_words(short)[0]


def test_the_answer_says_whether_it_stays_sound_meanwhile():
    wall = replace(case(40), inside=Chamber(288.15, 0.93))
    base, built = built_in_runs(wall)
    findings = [assess(run) for run in (base, built)]
    said = built_in_answer(account(wall, base, built), wall, *findings)
    assert said.splitlines()[3].startswith("Does it stay sound? ")
    value = next(f.value_text for f in findings[1] if f.criterion == "wood moisture")
    assert "longest spell of too wet wood" in said and value in said
    told = [Unknown("no rain", {"climate": "here", "shares": []})]
    first = built_in_answer(account(wall, base, built), wall, *findings, unknown=told).splitlines()[2]
    assert first.startswith("Not known: There is no rain in the weather of here")
    asked_nothing = built_in_answer(account(wall, base, built), wall)
    assert "Does it stay sound?" not in asked_nothing and "limit" not in asked_nothing


def test_a_wall_without_built_in_water_is_refused():
    with pytest.raises(InputError, match="start_water"):
        built_in(replace(case(), initial=Initial(288.15, 0.7)))
