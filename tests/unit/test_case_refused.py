"""What no builder can mean is refused by the case, in one line that says what would be right."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, InputError, Layer, Wetting, dryout
from drydown.case.loads import VentilatedGap
from drydown.plugins import material

START = np.datetime64("2022-01-01")


def case(*layers, wet="OSB", loads=()):
    wetting = Wetting(wet, 0.3, START + np.timedelta64(2, "D"))
    sides = Chamber(278.15, 0.8), Chamber(293.15, 0.5)
    return Case(Assembly(layers), *sides, START, START + np.timedelta64(9, "D"), wettings=(wetting,), loads=loads)


BOARD, GAP = Layer(material("OSB"), 0.011), Layer(material("air gap 25 mm"), 0.025)


@pytest.mark.parametrize(("name", "metres"), [("OSB", 11.0), ("mineral wool", 140.0 / 10), ("clay brick", 90.0)])
def test_metres_that_were_millimetres(name, metres):
    with pytest.raises(InputError, match=f"layer '{name}'.*is it {metres:g} mm"):
        case(Layer(material(name), metres), wet=name)


def test_water_in_closed_air():
    with pytest.raises(InputError, match=r"wetting of 'air gap 25 mm'.*closed air.*ventilated_gap"):
        case(GAP, BOARD, wet="air gap 25 mm")
    assert case(GAP, BOARD).wettings
    assert case(GAP, BOARD, wet="air gap 25 mm", loads=(VentilatedGap("air gap 25 mm", 0.01),)).wettings


def test_water_that_does_not_fit_on_its_own_date():
    """A board fills up after the start: one wetting takes the room of the next, which is on trial alone."""
    board = BOARD.material
    room = BOARD.thickness * board.saturation
    first, second = (Wetting("OSB", 0.6 * room, START + np.timedelta64(d, "D")) for d in (1, 2))
    sides = Chamber(278.15, 0.95), Chamber(293.15, 0.9)
    end = START + np.timedelta64(9, "D")
    full = Case(Assembly((BOARD,)), *sides, START, end, wettings=(first, second), initial=Initial(283.15, 0.9))
    with pytest.raises(InputError, match=r"wetting of 'OSB': .* do not fit on 2022-01-03; .* then"):
        dryout(full, trial=[1])
