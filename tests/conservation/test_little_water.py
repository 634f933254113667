"""A trial of little water: in proportion as far as two runs can tell it apart, and said where they cannot."""

import numpy as np
import pytest
from drydown import Assembly, Case, Layer, Wetting, dryout
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor


def trial(amount: float):
    """Wet the wool behind bare brick on the fifth of October, and look for three weeks."""
    c = climate("fernmoor")
    start = c.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273, "D")
    parts = (("clay brick", 0.115), ("mineral wool", 0.1), ("gypsum board", 0.0125))
    layers = tuple(Layer(material(name), thickness, cells=12) for name, thickness in parts)
    wetting = Wetting("mineral wool", amount, start + np.timedelta64(5, "D"), 86400.0)
    outside = Outdoor(c, Exposure(azimuth=270.0))
    end = start + np.timedelta64(21, "D")
    return dryout(Case(Assembly(layers), outside, Indoor(FromOutdoor()), start, end, (wetting,)))


def test_little_water_answers_in_proportion_or_says_that_it_drowns():
    usual, little, least = trial(1e-2), trial(1e-4), trial(1e-6)
    for name in ("share_outward", "remaining"):
        print(name, [t.attrs[name] for t in (usual, little, least)])
        assert little.attrs[name] == pytest.approx(usual.attrs[name], abs=0.02)
    assert "warning" not in usual.attrs and "warning" not in little.attrs
    assert "drown" in least.attrs["warning"]
    assert abs(least.attrs["closure_max"]) < 1e-12
