"""Parts of a design: what can be made, the minimax search, sets of walls."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from drydown.bench.families import FAMILIES
from drydown.bench.least_worst import Numbers, least_worst
from drydown.bench.makeable import HUMIDITIES, Makeable
from drydown.casefile.crossed import crossed
from drydown.errors import InputError
from drydown.examples import template
from scipy.optimize import linprog

SEED = 26112611


@pytest.mark.parametrize("family", ["logistic", "two-level", "exponential", "constant"])
def test_starts_can_be_made(family: str) -> None:
    made = Makeable()
    points = made.starts(FAMILIES[family], 8, seed=3)
    for p in points:
        curve = FAMILIES[family].curve(p)(HUMIDITIES)
        log = np.log(curve)
        assert curve.min() >= made.least * (1 - 1e-6) and curve.max() <= made.greatest * (1 + 1e-6)
        assert np.exp(np.ptp(log)) <= made.ratio * (1 + 1e-6)
        slope = np.diff(log) / np.diff(HUMIDITIES)
        assert slope.min() >= -1e-6 and slope.max() <= made.steepness * (1 + 1e-6)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"least": -1.0}, "'least' is -1; it must be greater than 0"),
        ({"least": 1e-9, "greatest": 1e-10}, "is not below the greatest"),
        ({"ratio": 0.5}, "'ratio' is 0.5; it must be greater than 1"),
    ],
)
def test_bounds_that_cannot_be(given: dict[str, float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        Makeable(**given)


def test_least_worst_of_planes_is_that_of_a_linear_programme() -> None:
    """The greatest of drawn planes over a box: linear programming gives the least exactly."""
    rng = np.random.default_rng(SEED)
    for _ in range(10):
        n, k = int(rng.integers(1, 5)), int(rng.integers(3, 12))
        slope, level = rng.normal(size=(k, n)), rng.normal(size=k)
        problem = Numbers(
            lambda p, s=slope, c=level: s @ p + c,
            lambda p, s=slope: s,
            np.ones(k, dtype=bool),
            np.full(k, 1e9),
            lambda p: np.ones(1),
            np.array([(-1.0, 1.0)] * n),
        )
        found = least_worst(problem, np.zeros(n))
        exact = linprog(
            np.append(np.zeros(n), 1.0),
            A_ub=np.column_stack([slope, -np.ones(k)]),
            b_ub=-level,
            bounds=[(-1.0, 1.0)] * n + [(None, None)],
        )
        assert found.kept
        assert found.greatest == pytest.approx(exact.fun, abs=2e-3)


def test_what_is_only_kept_is_kept() -> None:
    """Least of x squared with x kept at 0.5 or more."""
    problem = Numbers(
        lambda p: np.array([p[0] ** 2, -p[0]]),
        lambda p: np.array([[2.0 * p[0]], [-1.0]]),
        np.array([True, False]),
        np.array([1e9, -0.5]),
        lambda p: np.ones(1),
        np.array([(-1.0, 1.0)]),
    )
    found = least_worst(problem, np.array([0.9]))
    assert found.kept and found.parameters[0] == pytest.approx(0.5, abs=2e-3)


def test_a_set_of_walls(tmp_path: Path) -> None:
    file = tmp_path / "wall.toml"
    text = template("wall") + '\n[[variant]]\nname = "bare"\nremove = ["layer.8"]\n'
    file.write_text(text)
    found = crossed(file, {"climate.name": ["fernmoor", "saltreed"], "outside.orientation": ["north", "south"]})
    assert len(found) == 8 and len({w.name for w in found}) == 8
    assert [w.name for w in found][:2] == ["fernmoor, north", "fernmoor, south"]
    assert {w.case.outside.climate.name for w in found} == {"fernmoor", "saltreed"}
    assert len(found[-1].case.assembly.films) == len(found[0].case.assembly.films) - 1
    with pytest.raises(InputError, match="no climate is called 'nowhere'"):
        crossed(file, {"climate.name": ["nowhere"]})
