"""Steps begin anew where rain sets in or ends only if the outer surface takes rain up."""

import numpy as np
import pytest
from drydown import Assembly, Case, Layer
from drydown.lowering.problem import lower
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor


def restarts(*parts) -> tuple[int, int]:
    """Return how often steps begin anew in ten October days, and how often rain sets in or ends."""
    c = climate("fernmoor")
    start = c.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273, "D")
    outside = Outdoor(c, Exposure(azimuth=270.0))
    case = Case(Assembly(parts), outside, Indoor(FromOutdoor()), start, start + np.timedelta64(10, "D"))
    forcing = lower(case).forcing
    wet = forcing.outside[1:, -1] > 0.0
    return int(forcing.jump.sum()), int(np.sum(wet[1:] != wet[:-1]))


@pytest.mark.parametrize("outer", ["film", "glass pane"])
def test_a_surface_that_takes_no_rain_does_not_begin_anew(outer):
    bare = Layer(material("clay brick"), 0.115, cells=6)
    parts = (film("polyethylene 0.1 mm"), bare) if outer == "film" else (Layer(material(outer), 0.004, cells=4), bare)
    assert restarts(*parts)[0] == 0


def test_a_surface_that_drinks_begins_anew_with_the_rain():
    jumps, changes = restarts(Layer(material("clay brick"), 0.115, cells=6))
    print(jumps, changes)
    assert changes > 3 and changes <= jumps <= changes + 1
