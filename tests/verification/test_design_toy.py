"""A film between two constant climates: the curve that protects best has a closed form.

A thin open layer lies between the film and a sheet of known permeance. In steady, isothermal diffusion its humidity is
that of a chain of resistances. In the dry climate the room is the damp side and a tight film keeps the layer dry; in
the damp one the outside is, and an open film does. How far apart the two permeances may be is bounded, so that one
number is left, the permeance of the closed film, and it is where the two loads are equal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from drydown import Assembly, Case, Film, Layer, Material, simulate
from drydown.bench.curve_search import Designed, Pool, search
from drydown.bench.designing import best_of
from drydown.bench.families import FAMILIES
from drydown.bench.makeable import Makeable
from drydown.bench.protection import Guarded
from drydown.case.sides import Chamber
from drydown.materials.curves import Constant
from scipy.optimize import brentq, minimize_scalar

#: Permeance of the outer sheet [kg/(m2 s Pa)], permeability [kg/(m s Pa)] and thickness [m] of the layer; invented.
SHEET, PERMEABILITY, THICKNESS = 2e-10, 1e-10, 0.01
#: Of each climate: humidity outside and inside, and the humidity that counts as a load of one.
CLIMATES = {"dry": (0.10, 0.55, 0.30), "damp": (0.98, 0.78, 0.90)}
RATIO = 6.0
MADE = Makeable(1e-12, 1e-8, RATIO, 60.0)


def humidity(climate: str, permeance: float) -> float:
    """Humidity in the middle of the layer in steady diffusion."""
    outside, inside, _ = CLIMATES[climate]
    outer = 1.0 / SHEET + 0.5 * THICKNESS / PERMEABILITY
    inner = 1.0 / permeance + 0.5 * THICKNESS / PERMEABILITY
    return (outside / outer + inside / inner) / (1.0 / outer + 1.0 / inner)


def load(climate: str, permeance: float) -> float:
    return humidity(climate, permeance) / CLIMATES[climate][2]


def closed_form() -> tuple[float, float]:
    """Permeance of the closed film, and the load that both climates then have."""
    apart = lambda closed: load("dry", closed) - load("damp", RATIO * closed)  # noqa: E731
    closed = brentq(apart, 1e-12, 1e-9, xtol=1e-16, rtol=1e-12)
    return closed, load("dry", closed)


@dataclass(frozen=True)
class Laboratory:
    """The wall in one of the climates, run through the whole engine until it is steady."""

    name: str

    def measured(self, film: Film) -> Guarded:
        outside, inside, one = CLIMATES[self.name]
        layer = Material(
            "demo layer",
            density=200.0,
            heat_capacity=1000.0,
            conductivity=0.1,
            storage=lambda phi: 0.2 * np.asarray(phi),
            saturation=500.0,
            permeability=Constant(PERMEABILITY),
        )
        wall = Assembly((Film("sheet", Constant(SHEET)), Layer(layer, THICKNESS, "layer", cells=4), film))
        start = np.datetime64("2021-01-01T00:00:00")
        case = Case(
            wall,
            Chamber(293.15, outside, surface=True),
            Chamber(293.15, inside, surface=True),
            start,
            start + np.timedelta64(24, "h"),
        )
        phi = float(simulate(case)["relative_humidity"].values[-1].mean())
        return Guarded({("dry", "toy", "layer"): phi / one}, phi, float("nan"), float("nan"), float("nan"), ())


def test_two_level_film_between_two_climates() -> None:
    walls = [Laboratory(name) for name in CLIMATES]
    pools = [Pool(walls, FAMILIES["two-level"], 1, lambda: None) for _ in range(2)]
    found = search(pools[0], pools[1], "margin", MADE, starts=2)
    closed, least = closed_form()
    assert 1.5e-12 < closed < 1e-9 and 0.5 < least < 2.0  # a bound of the box is no optimum
    assert found.measure == pytest.approx(least, rel=0.01)
    assert found.values["closed"] == pytest.approx(closed, rel=0.05)
    assert found.values["open"] / found.values["closed"] == pytest.approx(RATIO, rel=0.02)


def test_another_optimiser_agrees() -> None:
    """A curve of one parameter: what the search finds against a bounded scalar search that knows no derivatives."""
    walls = [Laboratory(name) for name in CLIMATES]
    family = FAMILIES["constant"]
    pool = Pool(walls, family, 1, lambda: None)
    found = search(pool, pool, "margin", MADE, starts=2)
    other = minimize_scalar(
        lambda x: max(g.load for g in pool.curves([np.array([x])])[0]),
        bounds=(np.log(MADE.least), np.log(MADE.greatest)),
        method="bounded",
        options={"xatol": 1e-3},
    )
    assert found.measure == pytest.approx(other.fun, rel=0.02)
    assert found.values["value"] == pytest.approx(np.exp(other.x), rel=0.05)


@dataclass(frozen=True)
class Told:
    """A wall of which load and stay are told for every film."""

    name: str
    rows: dict[str, tuple[float, float]]

    def measured(self, film: Film) -> Guarded:
        load, stay = self.rows[film.name]
        return Guarded({("wetted", "wood moisture", "OSB"): load}, 0.1, stay, 100.0, 0.5, ())


def test_a_film_that_passes_a_limit_further_than_the_design_is_no_better_for_drying_faster() -> None:
    rows = {"fast": (1.6, 90.0), "slow": (0.9, 130.0), "next": (1.2, 120.0)}
    pool = Pool([Told("wall", rows)], FAMILIES["constant"], 1, lambda: None)
    library = {name: Film(name, Constant(1e-10)) for name in rows}

    def design(load: float) -> Designed:
        own = Guarded({("wetted", "wood moisture", "OSB"): load}, 0.1, 100.0, 90.0, 0.5, ())
        return Designed(FAMILIES["constant"], np.array([-23.0]), "drying", 100.0, ("wall",), (own,), np.array([100.0]))

    assert best_of(library, pool, design(1.2))[::2] == ("next", 3.0)
    assert best_of(library, pool, design(1.6))[::2] == ("fast", 2.0)
    assert best_of({"fast": library["fast"]}, pool, design(1.2)) == ("", [], 1.0)
