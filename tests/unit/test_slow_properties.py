"""A property function of a plugin may be as slow as it likes: it is sampled before the run, never during it."""

from collections.abc import Callable

import numpy as np
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, Material, Wetting
from drydown.lowering.problem import lower
from drydown.run.simulation import chunks

START = np.datetime64("2001-01-01T00", "s")


class Counted:
    """A function of humidity that counts its calls, and would never come back from one once it is asleep."""

    def __init__(self, function: Callable) -> None:
        self.function, self.calls, self.asleep = function, 0, False

    def __call__(self, phi):
        assert not self.asleep, "a call that takes for ever"
        self.calls += 1
        return self.function(phi)


def functions() -> dict[str, Counted]:
    return {
        "conductivity": Counted(lambda phi: 0.1 + 0.02 * phi),
        "storage": Counted(lambda phi: 40.0 * phi + 60.0 / (1.0 - 1e3 * np.log(phi))),
        "permeability": Counted(lambda phi: 1e-11 + 1e-10 * phi**4),
        "liquid": Counted(lambda phi: 1e-15 * np.exp(8.0 * phi)),
        "permeance": Counted(lambda phi: 1e-11 + 1e-9 * phi**6),
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


def march(problem) -> None:
    for _ in chunks(problem):
        pass


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


def test_functions_that_would_take_for_ever_leave_the_march_as_it_is():
    """However slow they are: what marches has all of them in its tables. The same state to the bit."""
    quick, slow = functions(), functions()
    one, other = (lower(case(f, 365)) for f in (quick, slow))
    for function in slow.values():
        function.asleep = True
    march(one)
    march(other)
    assert np.array_equal(one.state.u, other.state.u)
