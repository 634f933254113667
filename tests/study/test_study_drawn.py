"""A study whose axis draws from what a fit left open."""

import json
from pathlib import Path

import numpy as np
import pytest
from drydown import InputError
from drydown.casefile import read_case
from drydown.inverse.free import put_all
from drydown.inverse.posterior import read_posterior
from drydown.study import read_study, solve
from drydown.study.evaluating import evaluate_case

AXIS = '\n[[axis]]\nposterior = "fit.json"\ndraws = 3\n'
HEAD = 'base = "wall.toml"\noutputs = ["remaining"]\n'


def posterior(**changes) -> str:
    given = {
        "kind": "drydown posterior",
        "form": 1,
        "case": "wall",
        "inputs": [
            {"path": "wetting.1.amount", "median": 0.4, "sd": 0.3, "transform": "log", "name": "water"},
            {"path": "layer.OSB.permeability_factor", "median": 1.0, "sd": 0.3, "transform": "log", "name": "openness"},
            {"path": "sensor.box.offset", "median": 0.0, "sd": 0.01, "transform": "linear", "name": "offset"},
        ],
        "z": [0.5, -0.5, 0.0],
        "covariance": [[0.2, 0.1, 0.0], [0.1, 0.3, 0.0], [0.0, 0.0, 1.0]],
        "draws": [],
    }
    return json.dumps({**given, **changes})


@pytest.fixture
def drawn(folder: Path) -> Path:
    (folder / "fit.json").write_text(posterior(), encoding="utf-8")
    (folder / "draws.toml").write_text(HEAD + AXIS, encoding="utf-8")
    return folder


def test_every_draw_is_the_case_with_its_inputs_drawn(drawn):
    study = read_study("draws.toml")
    assert list(study.points["draw"]) == [1, 2, 3]
    found = solve(study)["remaining"].values
    assert len(set(found)) == 3
    known = read_posterior(Path("fit.json"))
    z = known.drawn(3)[1]
    case = put_all(read_case("wall.toml"), known.free[:2], z[:2])
    assert found[1] == evaluate_case(case, study.model.outputs)["remaining"]


def test_another_posterior_or_another_seed_is_another_study(drawn):
    before = read_study("draws.toml").inputs()
    assert read_study("draws.toml").inputs() == before
    (drawn / "draws.toml").write_text(HEAD + AXIS + "seed = 1\n", encoding="utf-8")
    assert read_study("draws.toml").inputs() != before
    (drawn / "draws.toml").write_text(HEAD + AXIS, encoding="utf-8")
    (drawn / "fit.json").write_text(posterior(z=[0.5, -0.4, 0.0]), encoding="utf-8")
    assert read_study("draws.toml").inputs() != before


def test_draws_of_the_sampler_serve_where_there_are_some(drawn):
    draws = np.random.default_rng(5).normal(size=(50, 3))
    (drawn / "fit.json").write_text(posterior(draws=draws.tolist()), encoding="utf-8")
    z = read_study("draws.toml").model.drawn["draw"].z
    assert z.shape == (3, 2)
    assert all(any(np.array_equal(row, d[:2]) for d in draws) for row in z)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[axis]]\nposterior = "other.json"\n', "there is no such file"),
        ('[[axis]]\nposterior = "fit.json"\npath = "inside.humidity"\n', "does not take 'path'"),
        ('[[axis]]\nposterior = "fit.json"\ndraws = 0\n', "a whole number from 1"),
        ('[[axis]]\nname = "n"\npath = "wetting.1.amount"\nvalues = ["1 kg/m2"]\n' + AXIS, "in every draw already"),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_one_line(drawn, text, said):
    (drawn / "draws.toml").write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(InputError, match=said) as caught:
        read_study("draws.toml")
    assert "\n" not in str(caught.value)


def test_a_case_that_lacks_an_input_is_refused_before_anything_runs(drawn):
    wall = (drawn / "wall.toml").read_text(encoding="utf-8")
    (drawn / "wall.toml").write_text(wall.replace('material = "OSB"', 'material = "plywood"'), encoding="utf-8")
    study = read_study("draws.toml")
    with pytest.raises(InputError, match="OSB"):
        study.check()
