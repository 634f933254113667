"""A property function of a plugin may be as slow as it likes: it is sampled before the run, never during it."""

import time
from collections.abc import Callable

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, Material, Wetting
from drydown.lowering.problem import lower
from drydown.run.simulation import chunks

START = np.datetime64("2001-01-01T00", "s")


class Counted:
    """A function of humidity that counts its calls and may take its time over each."""

    def __init__(self, function: Callable, pause: float = 0.0) -> None:
        self.function, self.pause, self.calls = function, pause, 0

    def __call__(self, phi):
        self.calls += 1
        if self.pause:
            time.sleep(self.pause)
        return self.function(phi)


def functions(pause: float = 0.0) -> dict[str, Counted]:
    return {
        "conductivity": Counted(lambda phi: 0.1 + 0.02 * phi, pause),
        "storage": Counted(lambda phi: 40.0 * phi + 60.0 / (1.0 - 1e3 * np.log(phi)), pause),
        "permeability": Counted(lambda phi: 1e-11 + 1e-10 * phi**4, pause),
        "liquid": Counted(lambda phi: 1e-15 * np.exp(8.0 * phi), pause),
        "permeance": Counted(lambda phi: 1e-11 + 1e-9 * phi**6, pause),
    }


def case(f: dict[str, Counted], days: int) -> Case:
    of = {k: v for k, v in f.items() if k != "permeance"}
    board = Material("demo board", 500.0, 1500.0, saturation=100.0, **of)
    film = Film("demo film", f["permeance"])
    return Case(
        Assembly((Layer(board, 0.02), film, Layer(board, 0.03, "inner"))),
        Chamber(278.15, 0.9),
        Chamber(294.15, 0.4),
        START,
        START + np.timedelta64(days, "D"),
        (Wetting("inner", 0.3, START + np.timedelta64(5, "h"), 7200.0),),
        Initial(285.15, 0.6),
    )


def march(problem) -> float:
    """Return how long the march itself takes [s]."""
    start = time.perf_counter()
    for _ in chunks(problem):
        pass
    return time.perf_counter() - start


def test_the_march_never_calls_a_property_function():
    f = functions()
    problem = lower(case(f, 30))
    before = {k: v.calls for k, v in f.items()}
    assert all(n > 0 for n in before.values())
    march(problem)
    assert {k: v.calls for k, v in f.items()} == before


def test_the_number_of_calls_does_not_grow_with_the_run():
    counts = []
    for days in (40, 90):
        f = functions()
        march(lower(case(f, days)))
        counts.append({k: v.calls for k, v in f.items()})
    assert counts[0] == counts[1]
    assert max(counts[0].values()) < 400  # a vectorised call each, not one for every cell and step


def test_a_slow_function_leaves_the_march_as_fast():
    """5 ms a call, more than 100 times what the plain function takes: a year's march takes as long, within half."""
    plain, slow = functions(), functions(pause=0.005)
    phi = np.linspace(0.01, 0.99, 500)
    start = time.perf_counter()
    for _ in range(20):
        plain["permeability"](phi)
    assert slow["permeability"].pause > 100.0 * (time.perf_counter() - start) / 20.0
    fast_one, slow_one = (lower(case(f, 365)) for f in (plain, slow))
    assert march(slow_one) == pytest.approx(march(fast_one), rel=0.5, abs=0.1)
    assert np.array_equal(fast_one.state.u, slow_one.state.u)
