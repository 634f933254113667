"""Where no criterion judges what is asked, no plain yes is given; wood in the rain is judged where a trial wets it."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Layer, Wetting, simulate
from drydown.criteria import assess, exposed
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from drydown.trial.dryout import twins
from drydown.trial.judging import in_rain, judge_trial
from drydown.trial.unknown import Unknown, unknowns, wet_weathered
from drydown.wording.unknown import unjudged, unknown_words
from drydown.wording.verdict import does_it_stay_sound, is_it_sound
from small_wall import START, small_wall

WET = START + np.timedelta64(2, "D")
OUTER = {"place": "outer", "depth": 0.03}


def log_wall(days=40, coat=(), **wetting):
    """Return a wall of logs in the rain."""
    return small_wall(
        days=days,
        loads=(),
        assembly=Assembly((*coat, Layer(material("spruce"), 0.2))),
        outside=Outdoor(climate("kelpwick"), Exposure(azimuth=225.0)),
        inside=Indoor(FromOutdoor()),
        wettings=(Wetting("spruce", 6.0, WET, **wetting),),
    )


@pytest.fixture(scope="module")
def rained_on():
    return simulate(replace(log_wall(), wettings=()))


@pytest.mark.parametrize(
    ("wetting", "told"),
    [
        (OUTER, True),
        ({"place": "outer", "depth": 0.05}, True),
        ({"place": "outer", "depth": 0.08}, False),
        ({"place": "inner", "depth": 0.03}, False),
        ({"place": "inner", "depth": 0.3}, False),
        ({}, False),
    ],
)
def test_which_water_gets_in_where_rain_comes(rained_on, wetting, told):
    place = wet_weathered(log_wall(**wetting), rained_on)
    assert (str(place) == "the outer 30 mm of 'spruce'") if told else place is None
    assert in_rain(log_wall(**wetting), rained_on).place == place


def test_logs_that_a_trial_wets_from_outside_are_judged_there():
    """As under a coat of paint, which keeps rain out; by itself a run leaves them to the weather."""
    found = {}
    for coat in ((), (film("silicate paint"),)):
        case = log_wall(110, coat, **OUTER)
        reference, wetted = twins(case)
        alone = {f.criterion: f for f in assess(wetted)}
        before, after = judge_trial(case, (reference, wetted), assess(reference), assess(wetted))
        found[coat] = alone, {f.criterion: f for f in before}, {f.criterion: f for f in after}
        if not coat:
            assert exposed(reference) and not exposed(wetted)
            assert "Not judged" not in does_it_stay_sound(before, after, unjudged=unjudged(unknowns(case, wetted)))
    (alone, dry, wet), (_, _, painted) = found.values()
    assert alone["decay"].value == 0.0  # what was told before, though half of it is done
    assert dry["decay"].value < 0.1 < wet["decay"].value
    assert wet["decay"].value > 0.8 * painted["decay"].value > 0.0


def test_what_rain_alone_passes_is_told_as_not_judged(rained_on):
    case = log_wall(**OUTER)
    left = rained_on.assign_attrs(left_to_the_weather="mould index")
    (found,) = unknowns(case, left)[:1]
    assert unknown_words([found]) == [
        "What the water adds to the mould index in the outer 30 mm of 'spruce', where it gets in: rain alone passes "
        "that limit there."
    ]
    fine = does_it_stay_sound([], [], unjudged=unjudged([found]))
    assert fine.startswith(
        "Does it stay sound? Not judged: the mould index in the outer 30 mm of 'spruce'. Otherwise: "
    )
    single = unknowns(case, rained_on)[0]  # of one run nobody judged it
    assert "judged for frost alone" in unknown_words([single])[0]
    assert unjudged([single]) == ["what the water does in the outer 30 mm of 'spruce'"]


def test_a_floor_gets_no_yes():
    floor = Unknown("floor", {"layer": "oak", "first": 0.09, "most": 0.17})
    assert is_it_sound([], unjudged=unjudged([floor])).startswith(
        "Does it stay sound? Not judged: whether the floor of 'oak' swells. Otherwise: "
    )
