"""A gap aired by its own warmth: the air change is that of the temperatures that a stage finds, not of its guess."""

from __future__ import annotations

import pytest
from drydown.lowering.problem import lower
from drydown_validation.accuracy import TIGHT, march, rms
from drydown_validation.practice_walls import drawn

#: Drawn with a ventilated gap behind a sheet of metal, on which dew comes and goes: seed and number.
METAL_ROOFS = (27114033, 28), (28138015, 6)


@pytest.mark.parametrize(("seed", "number"), METAL_ROOFS)
def test_dew_in_a_driven_gap_is_gone_when_it_is_gone_in_short_steps(seed, number):
    """The steps alone: with the air change of the guess 0.38 and 0.28 % off, for dew was 1 % too much."""
    case = drawn(seed, number, 30)
    run = march(case)
    truth = march(case, grid=lower(case).grid, **TIGHT)
    error = float(rms(run.humidity, truth.humidity).max())
    print(f"{seed}/{number}: {100 * error:.3f} % RH by the steps")
    assert error < 1.5e-3
