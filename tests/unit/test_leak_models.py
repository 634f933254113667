"""Two leak models in one answer; a leak of a described joint; air changes by the cladding."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, InputError, Layer
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import CAVITY, AirLeak, VentilatedGap
from drydown.plugins import material
from drydown.trial.leaks import leak_bounds
from drydown.wording.leaks import leak_words

START = np.datetime64("2022-01-01")
GAS, G = 461.5, 9.80665
BOARD, GAP = Layer(material("OSB"), 0.011), Layer(material("air gap 25 mm"), 0.025)
OUT, IN = Chamber(268.15, 0.8), Chamber(293.15, 0.5)


def case(*loads):
    return Case(Assembly((GAP, BOARD)), OUT, IN, START, START + np.timedelta64(9, "D"), loads=loads)


@pytest.mark.parametrize(("q50", "k"), [(0.9, 0.004), (3.0, 0.007), (5.0, 0.010)])
def test_both_bounds_by_hand(q50, k):
    """Constant airs, 2 m above the neutral level: 401.8 Pa is saturation over ice at -5 degC (ISO 13788)."""
    (found,) = leak_bounds(case(AirLeak(Leakage.from_q(q50 / 3600.0), LeakPath(height=2.0), layer="OSB")))
    surplus = 0.5 * 2337.0 / (GAS * 293.15) - 401.8 / (GAS * 268.15)
    stack = G * 101325.0 / (287.055 * 268.15) * 25.0 / 293.15
    assert found.screening == pytest.approx(8766.0 * k * 2.5 * stack * surplus, rel=0.01)
    even = 8766.0 * q50 * (2.0 * stack / 50.0) ** 0.65 * surplus
    assert found.flow == pytest.approx(tuple(even * share / 0.5 for share in (0.18, 0.35, 0.5)), rel=0.01)
    assert found.screening < found.flow[0]


def test_the_words_say_both_and_which_was_run():
    leak = AirLeak(Leakage.from_q(9.0 / 3600.0), way="flow")
    (said,) = leak_words(leak_bounds(case(leak)))
    said = " ".join(said.split())
    assert "too leaky for the screening model" in said and "upper bound" in said and "18 to 50 %" in said
    assert leak_bounds(case()) == []


def test_a_flow_takes_the_walls_part_of_what_the_house_leaks():
    """35 % of the leakage on half of the envelope; a described joint, and what is measured here, count whole."""
    house = {"q50": 3.0 / 3600.0, "way": "flow"}
    usual, here = (AirLeak.from_keys(house | more, case().assembly, OUT) for more in ({}, {"portion": 1.0}))
    assert usual.portion == pytest.approx(0.35 / 0.5) and here.portion == 1.0
    joint = {"joint": "bare", "joint_length": 10.0, "area": 25.0, "way": "flow"}
    sill = AirLeak.from_keys(joint, case().assembly, OUT)
    assert sill.portion == 1.0 and sill.of_joint
    (bounds,) = leak_bounds(case(sill))
    assert bounds.flow[0] == bounds.flow[1] == bounds.flow[2]
    said = [" ".join(leak_words(leak_bounds(case(x)))[0].split()) for x in (usual, here, sill)]
    assert "an even flow of 70 % of it" in said[0] and "an even flow of all of it" in said[1]
    assert "all of the joint's air" in said[2] and "18 to 50 %" not in said[2]
    with pytest.raises(InputError, match="portion"):
        AirLeak.from_keys(house | {"portion": -1.0}, case().assembly, OUT)


def test_the_air_of_a_flow_goes_with_its_portion():
    def brought(portion):
        from drydown import simulate

        leak = AirLeak(Leakage.from_q(1.0 / 3600.0), LeakPath(mechanical=-4.0), "flow", portion=portion)
        passed = simulate(case(leak))["convected_vapour_passed"]
        return float(np.abs(passed.isel(time=-1, interface=-1)))

    assert brought(0.7) == pytest.approx(0.7 * brought(1.0), rel=0.01) and brought(0.0) == 0.0


def test_a_leak_of_a_joint_and_a_cladding():
    given = {"joint": "bare", "joint_length": 10.0, "area": 25.0, "layer": "OSB"}
    leak = AirLeak.from_keys(dict(given) | {"way": "flow"}, case().assembly, OUT)
    assert leak.leakage.flow(50.0) * 3600.0 == pytest.approx(17.0 * 10.0 / 25.0)
    sealed = AirLeak.from_keys(given | {"joint": "cellular rubber"}, case().assembly, OUT)
    assert sealed.leakage.flow(50.0) * 3600.0 == pytest.approx(0.2 * 10.0 / 25.0)
    with pytest.raises(InputError, match="joint_length"):
        AirLeak.from_keys({"joint": "bare", "layer": "OSB"}, case().assembly, OUT)
    gap = VentilatedGap.from_keys({"layer": GAP.name, "cladding": "brick"}, case().assembly, OUT)
    assert gap.air_changes == CAVITY["brick"] == 5.0 / 3600.0
    with pytest.raises(InputError, match="give one"):
        VentilatedGap.from_keys({"layer": GAP.name, "cladding": "brick", "air_changes": 0.01}, case().assembly, OUT)
