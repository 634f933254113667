"""Answers on walls that a reviewer wrote: what stands in the wetted layer, names with commas, warnings, floors."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Chamber, Layer, Wetting, dryout
from drydown.criteria import assess, of_trial, worst_of
from drydown.plugins import material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.text import layers_named
from drydown.trial.built_in import built_in
from drydown.trial.dryout import account, held_twins
from drydown.trial.unknown import unknowns
from drydown.wording.answer import trial_answer
from drydown.wording.built_in import built_in_words
from small_wall import START, small_wall

COMMA = "concrete, water-cement ratio 0.5"


def _cold_store():
    """Return wool between a warm damp side and glass at -10 degC: it gathers ice all the time."""
    parts = (Layer(material("mineral wool"), 0.1), Layer(material("glass pane"), 0.006))
    return small_wall(
        days=120,
        loads=(),
        assembly=Assembly(parts),
        outside=Chamber(303.15, 0.9),
        inside=Chamber(263.15, 0.8),
        wettings=(Wetting("mineral wool", 0.2, START + np.timedelta64(5, "D"), 3600.0),),
    )


def _free(findings):
    return next(f for f in findings if f.criterion == "condensation")


def test_a_layer_that_drowns_without_the_leak_is_told():
    case = _cold_store()
    with held_twins(case) as (reference, wetted):
        trial = account(case, reference, wetted)
        before, after = assess(reference), assess(wetted)
        assert _free(before).without(["mineral wool"]).verdict != "exceeded"  # what was judged before
        before, after = of_trial(before, after, ["mineral wool"])
        text = trial_answer(trial, case, before, after)
    assert _free(before).verdict == _free(after).verdict == "exceeded"
    assert worst_of(after, ["mineral wool"]) == "exceeded"
    assert "Not even without the water" in text


def test_the_water_of_the_trial_is_not_held_against_a_sound_layer():
    """As before: that free water stands where the trial puts it says nothing."""
    case = _cold_store()
    case = replace(case, outside=Chamber(293.15, 0.4), inside=Chamber(293.15, 0.4))
    case = replace(case, wettings=(replace(case.wettings[0], amount=2.0),))
    with held_twins(case) as (reference, wetted):
        before, after = of_trial(assess(reference), assess(wetted), ["mineral wool"])
    assert _free(assess(wetted)).verdict == "exceeded"
    assert _free(before).verdict == _free(after).verdict == "fine"


@pytest.mark.parametrize(
    ("joined", "names"),
    [
        ("OSB", ["OSB"]),
        (f"OSB, {COMMA}", ["OSB", COMMA]),
        (f"{COMMA}, OSB, plaster", [COMMA, "OSB", "plaster"]),
        ("somewhere, OSB", ["somewhere", "OSB"]),
        ("", []),
    ],
)
def test_names_with_commas(joined, names):
    assert layers_named(joined, ["concrete", "OSB", "plaster", COMMA]) == names


def test_a_layer_with_a_comma_in_its_name_dries_like_any_other():
    parts = (Layer(material(COMMA), 0.05), Layer(material("gypsum plaster"), 0.015))
    case = small_wall(
        days=20,
        loads=(),
        assembly=Assembly(parts),
        wettings=(Wetting(COMMA, 0.2, START + np.timedelta64(2, "D"), 3600.0),),
    )
    text = trial_answer(dryout(case), case)
    assert "For a time" not in text  # of the layer that it was put into
    wet = replace(case, wettings=(), initial=replace(case.initial, layers={COMMA: 0.99}))
    assert f"'{COMMA}'" in "\n".join(built_in_words(built_in(wet)))


def test_a_trial_says_the_warnings_of_its_runs():
    case = _cold_store()
    trial = dryout(case)
    told = trial_answer(trial, case)
    warnings = [k for k in trial.attrs if k.endswith("warning")]
    trial.attrs["with_warning"] = "more water gathered than the pores hold"
    assert "Warning: more water gathered than the pores hold." in trial_answer(trial, case)
    assert ("Warning" in told) == bool(warnings)
    for key in [*warnings, "with_warning"]:
        trial.attrs.pop(key, None)
    trial.attrs["without_warning"] = "it stood in water"
    assert "Warning: it stood in water." in trial_answer(trial, case)


@pytest.mark.parametrize(("tilt", "told"), [(90.0, False), (180.0, True)])
def test_wood_on_concrete_is_a_floor_only_where_it_lies(tilt, told):
    from drydown import simulate
    from drydown.plugins import climate

    parts = (Layer(material("concrete"), 0.1), Layer(material("cross-laminated timber"), 0.03))
    weather = climate("fernmoor")
    case = small_wall(
        days=2,
        loads=(),
        assembly=Assembly(parts),
        start=weather.start.astype("datetime64[s]"),
        end=weather.start.astype("datetime64[s]") + np.timedelta64(2, "D"),
        outside=Outdoor(weather, Exposure(tilt=tilt)),
        wettings=(),
    )
    kinds = [u.kind for u in unknowns(case, simulate(case), [])]
    assert ("floor" in kinds) == told
