"""What a run costs, counted: steps and sweeps, without a clock."""

import numpy as np
import pytest
from drydown import Assembly, Case, Layer, simulate
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor


@pytest.fixture(scope="module")
def result():
    """Run two weeks of a rendered brick wall in driving rain and sun."""
    c = climate("fernmoor")
    start = c.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273, "D")
    parts = (("clay brick", 0.115), ("mineral wool", 0.1), ("gypsum board", 0.0125))
    layers = tuple(Layer(material(name), thickness) for name, thickness in parts)
    outside = Outdoor(c, Exposure(azimuth=270.0))
    return simulate(Case(Assembly(layers), outside, Indoor(FromOutdoor()), start, start + np.timedelta64(14, "D")))


def test_effort_stands_in_the_result_per_year(result):
    a = result.attrs
    years = 14.0 / 365.25
    assert a["steps_per_year"] == pytest.approx(a["steps"] / years)
    assert a["sweeps_per_year"] == pytest.approx(a["sweeps"] / years)


def test_effort_is_bounded(result):
    """Steps of half an hour at most make 2 an hour; sun, rain and dew ask for more; a sweep and a half a stage."""
    a = result.attrs
    print({k: a[k] for k in ("steps", "steps_rejected", "steps_failed", "sweeps")})
    assert 2 * 14 * 24 <= a["steps"] < 7 * 14 * 24
    assert a["steps_failed"] == 0
    assert a["steps_rejected"] < 0.2 * a["steps"]
    assert a["sweeps"] < 4.5 * (a["steps"] + a["steps_rejected"])
    assert a["faces_short_of_tolerance"] == 0


def test_budget_closes(result):
    assert result.attrs["water_closure_step_max"] < 1e-9
