"""Air gaps against the table of ISO 6946 and against the ASHRAE Handbook - Fundamentals (2021), chapter 26, table 3."""

import dataclasses

import pytest
from drydown import Layer, Material, Source
from drydown.errors import InputError
from drydown.materials.curves import Constant, Points
from drydown.materials.gaps import AirGap

#: ISO 6946, unventilated air layers (from memory): thickness [mm], R [m2 K/W] up, horizontal, down.
ISO = {
    5: (0.11, 0.11, 0.11), 7: (0.13, 0.13, 0.13), 10: (0.15, 0.15, 0.15), 15: (0.16, 0.17, 0.17),
    25: (0.16, 0.18, 0.19), 50: (0.16, 0.18, 0.21), 100: (0.16, 0.18, 0.22), 300: (0.16, 0.18, 0.23),
}  # fmt: skip
#: ASHRAE table 3, horizontal flow, 10 degC, 5.6 K: thickness [mm], R at an effective emittance of 0.05 and of 0.82.
ASHRAE = {13: (0.45, 0.16), 20: (0.61, 0.18), 40: (0.62, 0.18), 90: (0.60, 0.18)}


@pytest.mark.parametrize("millimetres", ISO)
def test_the_formula_gives_the_printed_table(millimetres):
    for flow, printed in zip(("up", "horizontal", "down"), ISO[millimetres], strict=True):
        assert round(AirGap(flow).resistance(millimetres / 1000.0), 2) == printed


@pytest.mark.parametrize("millimetres", ASHRAE)
def test_a_second_table_agrees_also_for_foil(millimetres):
    foil, bare = ASHRAE[millimetres]
    assert AirGap("horizontal", (1.0, 0.05)).resistance(millimetres / 1000.0) == pytest.approx(foil, rel=0.11)
    assert AirGap("horizontal").resistance(millimetres / 1000.0) == pytest.approx(bare, rel=0.03)


def gap():
    source = (Source("nobody", None, "made up", "demo"),)
    storage = Points((0.0, 1.0), (0.0, 1000.0))
    law = AirGap()
    start = Material("gap", 1.2, 1006.0, Constant(1.0), storage, Constant(1.9e-10), 1000.0, sources=source)
    return dataclasses.replace(start, at_thickness=law)


@pytest.mark.parametrize("thickness", [0.01, 0.025, 0.075, 0.3])
def test_a_layer_of_any_thickness_resists_as_the_law_says(thickness):
    layer = Layer(gap(), thickness)
    conductivity = float(layer.material.conductivity(0.0))
    assert thickness / conductivity == pytest.approx(AirGap().resistance(thickness), rel=1e-12)
    wider = dataclasses.replace(layer, thickness=0.2)
    assert 0.2 / float(wider.material.conductivity(0.0)) == pytest.approx(AirGap().resistance(0.2), rel=1e-12)


def test_what_is_no_gap_is_refused():
    for wrong in ({"flow": "sideways"}, {"emissivity": (0.0, 0.9)}):
        with pytest.raises(InputError):
            AirGap(**wrong)
