"""Air that leaks through a wall, through the whole engine, against a figure worked out by hand from the handbook."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, simulate
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak
from drydown.plugins import material

R_V, R_A, P = 461.5, 287.055, 101325.0
START = np.datetime64("2022-01-01")
WOOL = material("mineral wool")
# ASHRAE Handbook Fundamentals 2021, ch. 16: 1.346 Pa/m of stack; q50 3 m3/(m2 h), n 0.65: 3 (2.692/50)^0.65 = 0.4495
# m3/(m2 h) of room air go out, and with each the vapour of 20 degC, 40 %, 934.8/(461.5 293.15) = 6.91 g/m3.
LEAKING = 3.106


def film(permeance):
    return Film("of the test", lambda phi: np.full_like(np.asarray(phi, dtype=float), permeance))


def leaking(*parts):
    """Water that leaves the room with the air [g/(m2 h)]: 20 degC, 40 %, against -10 degC, 2 m above neutral."""
    case = Case(
        Assembly(parts),
        Chamber(263.15, 0.5),
        Chamber(293.15, 0.4),
        START,
        START + np.timedelta64(10, "D"),
        initial=Initial(278.15, 0.6),
        loads=(AirLeak(Leakage.from_q(3.0 / 3600.0), LeakPath(height=2.0), "flow"),),
    )
    ds = simulate(case)
    passed = (ds["convected_vapour_passed"] + ds["vapour_passed"]).values[:, -1]
    return -(passed[-1] - passed[-25]) / 24.0 * 1e3


def test_the_leak_by_hand():
    stack = 9.80665 * P / (R_A * 263.15) * 30.0 / 293.15
    out = 3.0 * (2.0 * stack / 50.0) ** 0.65
    vapour = 0.4 * 610.5 * np.exp(17.269 * 20.0 / 257.3) / (R_V * 293.15)  # ISO 13788
    assert (stack, out, vapour * out * 1e3) == pytest.approx((1.346, 0.4495, LEAKING), rel=2e-3)


def test_air_that_leaks_takes_the_vapour_of_the_room_along():
    # A film within the wall stops diffusion; the air that passes it is room air.
    assert leaking(Layer(WOOL, 0.1), film(1e-15), Layer(WOOL, 0.05, "inner wool")) == pytest.approx(LEAKING, rel=3e-3)


def test_air_through_a_film_at_the_surface_is_room_air():
    assert leaking(Layer(WOOL, 0.1), film(1e-15)) == pytest.approx(LEAKING, rel=3e-3)
