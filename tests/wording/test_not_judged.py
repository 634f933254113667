"""Where no criterion judges what is asked, no plain yes is given: wood in the rain that a trial wets, a floor."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, InputError, Layer, Wetting, simulate
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from drydown.trial.reserve import drying_reserve
from drydown.trial.unknown import Unknown, unknowns, wet_weathered
from drydown.wording.unknown import unjudged, unknown_words
from drydown.wording.verdict import does_it_stay_sound, is_it_sound
from small_wall import START, small_wall

WET = START + np.timedelta64(2, "D")


def log_wall(**wetting):
    """Return forty days of a wall of logs in the rain."""
    return small_wall(
        days=40,
        loads=(),
        assembly=Assembly((Layer(material("spruce"), 0.2),)),
        outside=Outdoor(climate("kelpwick"), Exposure(azimuth=225.0)),
        inside=Indoor(FromOutdoor()),
        wettings=(Wetting("spruce", 2.0, WET, **wetting),),
    )


@pytest.fixture(scope="module")
def rained_on():
    return simulate(replace(log_wall(), wettings=()))


@pytest.mark.parametrize(
    ("wetting", "told"),
    [
        ({"place": "outer", "depth": 0.03}, True),
        ({"place": "outer", "depth": 0.05}, True),
        ({"place": "outer", "depth": 0.08}, False),
        ({"place": "inner", "depth": 0.03}, False),
        ({"place": "inner", "depth": 0.3}, False),
        ({}, False),
    ],
)
def test_water_put_where_rain_comes_is_not_judged(rained_on, wetting, told):
    place = wet_weathered(log_wall(**wetting), rained_on)
    assert (str(place) == "the outer 30 mm of 'spruce'") if told else place is None


def test_no_yes_and_no_reserve_for_what_is_not_judged(rained_on):
    case = log_wall(place="outer", depth=0.03)
    found = unknowns(case, rained_on)
    assert unknown_words(found)[0].startswith("What the water does in the outer 30 mm of 'spruce'")
    fine = does_it_stay_sound([], [], unjudged=unjudged(found))
    assert fine.startswith("Does it stay sound? Not judged: what the water does in the outer 30 mm of 'spruce'.")
    assert "Yes" not in fine
    with pytest.raises(InputError, match=r"reserve: the water gets into the outer 30 mm of 'spruce'.*layer behind it"):
        drying_reserve(case, years=3)


def test_a_floor_gets_no_yes():
    floor = Unknown("floor", {"layer": "oak", "first": 0.09, "most": 0.17})
    assert is_it_sound([], unjudged=unjudged([floor])).startswith(
        "Does it stay sound? Not judged: whether the floor of 'oak' swells. Otherwise: "
    )
