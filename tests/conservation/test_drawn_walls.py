"""A hundred of the drawn walls, and every wall on which the engine once failed (see `benchmarks/robustness.py`)."""

from __future__ import annotations

import pytest
from drydown_validation.drawn_walls import run

CHUNK = 10
#: Walls without loads that once failed, and at what.
KEPT = {
    20: "full pores passing the freezing point",
    122: "full pores passing the freezing point",
    204: "full pores passing the freezing point",
    210: "full pores passing the freezing point",
    485: "full pores passing the freezing point",
    511: "full pores passing the freezing point",
    588: "full pores passing the freezing point",
    608: "full pores passing the freezing point",
    689: "full pores passing the freezing point",
    721: "full pores passing the freezing point",
    727: "full pores passing the freezing point",
    757: "full pores passing the freezing point",
    844: "full pores passing the freezing point",
    915: "full pores passing the freezing point",
    411: "an impulsive start beside building paper, first step",
    1115: "an air layer in thin cells beside full, frozen pores",
    1236: "full mortar between air layers, first step",
}


def failed(numbers, loads=True) -> list[str]:
    outcomes = [run(number, loads) for number in numbers]
    return [f"wall {o.number}: {o.wrong}" for o in outcomes if o.wrong]


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 100, CHUNK))
def test_drawn_walls_hold_for_a_month(first):
    assert not failed(range(first, first + CHUNK))


@pytest.mark.slow
@pytest.mark.parametrize("number", KEPT)
def test_wall_that_once_failed(number):
    assert not failed([number], loads=False)


def test_a_number_draws_the_same_wall_again():
    from drydown_validation.drawn_walls import drawn

    a, b = drawn(7), drawn(7)
    assert a.assembly == b.assembly and a.wettings == b.wettings and a.initial == b.initial
    assert a.start == b.start
    assert drawn(8).assembly != a.assembly
    assert drawn(16).loads == drawn(16).loads


def test_half_of_the_walls_carry_loads_of_every_kind_and_the_plain_wall_stays():
    from drydown.case.loads import AirLeak, AirStream, RainShare, VentilatedGap
    from drydown_validation.drawn_walls import drawn

    walls = [drawn(n) for n in range(100)]
    loads = [load for wall in walls for load in wall.loads]
    assert 35 <= sum(bool(wall.loads) for wall in walls) <= 65
    for kind in (VentilatedGap, AirStream, RainShare):
        assert sum(isinstance(load, kind) for load in loads) >= 8
    assert {load.way for load in loads if isinstance(load, AirLeak)} == {"flow", "screening"}
    for n, wall in enumerate(walls):
        plain = drawn(n, loads=False)
        assert not plain.loads and plain.wettings == wall.wettings and plain.start == wall.start
        assert [p for p in wall.assembly.parts if getattr(p, "name", "") != "gap"] == list(plain.assembly.parts)
