"""Variants whose worst places are alike and hide what was changed elsewhere."""

from drydown.criteria import catalogue
from drydown.criteria.model import LayerResult, Place, worst_layer
from drydown.trial.compare import apart


def found(**values):
    """Return findings of mould, of a criterion without a column and of a quick look, each with the same layers."""
    rows = tuple(LayerResult(layer, 3.0 * x, "fine", 3.0, Place(layer)) for layer, x in values.items())
    return [catalogue()[name].finding(worst_layer(rows)) for name in ("mould", "condensation", "fibre saturation")]


def test_a_difference_that_the_worst_place_hides_is_found():
    vinyl, paint = found(brick=1.2, drywall=0.18, wool=0.02), found(brick=1.2, drywall=0.0, wool=0.0)
    assert apart([vinyl, paint]) == ("drywall", 0, [0.54, 0.0])


def test_nothing_is_told_where_the_worst_places_tell_it_or_nothing_differs():
    assert apart([found(brick=1.2, drywall=0.3), found(brick=0.9, drywall=0.0)]) is None
    assert apart([found(brick=1.2, drywall=0.3), found(brick=1.2, drywall=0.27)]) is None
    assert apart([found(brick=1.2), found(drywall=0.2)]) is None
    assert apart([found(brick=1.2)]) is None


def test_a_criterion_of_others_may_have_a_limit_of_nothing():
    rows = (LayerResult("brick", 1.0, "fine", 0.0, Place("brick")),)
    assert apart([[catalogue()["mould"].finding(worst_layer(rows))]] * 2) is None
