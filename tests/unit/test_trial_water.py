"""What is due to the water of a trial is told by the run without it: damp of a season, and what a leak left behind."""

from __future__ import annotations

import numpy as np
import pytest
from drydown.criteria import catalogue, of_trial
from drydown.criteria.model import LayerResult, Place, worst_layer
from drydown.wording.findings import sentence

WHEN = np.datetime64("2022-05-01", "s")
FACTS = {
    "wood moisture": {
        "level": (0.2, "fraction"),
        "peak": (0.31, "fraction"),
        "layer_mean": (0.25, "fraction"),
        "how": "on end",
        "end": "and then dries",
        "in_all": "",
    },
    "mould": {"meaning": "visible mould", "class": "sensitive", "dry": (160.0, "d")},
}
VERDICT = {"seasonal": "watch", "stays": "exceeded", "grows": "exceeded", "gains": "exceeded", "below": "fine"}
LIMIT = {"wood moisture": 90.0, "mould": 3.0}


def found(name, *rows):
    """Return a finding of (layer, value, case)."""
    limit = LIMIT[name]
    made = [
        LayerResult(layer, value, VERDICT[case], limit, Place(layer), WHEN, case, FACTS[name])
        for layer, value, case in rows
    ]
    return catalogue()[name].finding(worst_layer(tuple(made)))


@pytest.mark.parametrize(("name", "told", "value"), [("wood moisture", "stays", 182.0), ("mould", "grows", 3.6)])
def test_what_is_so_without_the_water_is_not_put_on_it(name, told, value):
    """A leak of a gram into wood that is wet each winter: the same spell, the same verdict."""
    before, after = found(name, ("board", value, "seasonal")), found(name, ("board", 1.001 * value, told))
    _, (judged,) = of_trial([before], [after], ["board"])
    assert (judged.verdict, judged.case, judged.severity) == ("watch", "seasonal", before.severity)
    assert judged.value == after.value and judged.harm == before.harm
    longer = found(name, ("board", value + 0.1 * after.limit, told))
    _, (judged,) = of_trial([before], [longer], ["board"])
    assert judged == longer


@pytest.mark.parametrize(("name", "told"), [("wood moisture", "stays"), ("mould", "grows")])
def test_what_the_water_adds_is_no_season(name, told):
    """Beside the wetted layer a board gets wet once, from the leak; one run alone takes it for a winter."""
    limit = LIMIT[name]
    before = found(name, ("board", 0.1 * limit, "below"), ("sheathing", 1.5 * limit, "seasonal"))
    after = found(name, ("board", 1.4 * limit, "seasonal"), ("sheathing", 1.6 * limit, "seasonal"))
    _, (judged,) = of_trial([before], [after], ["wool"])
    assert (judged.verdict, judged.case, judged.place.layer) == ("exceeded", told, "board")
    assert "board" in sentence(judged)
    assert [row.case for row in judged.by_layer] == [told, "seasonal"]
    near = found(name, ("board", 0.9 * limit, "below"), ("sheathing", 1.5 * limit, "seasonal"))
    assert of_trial([near], [after], ["wool"])[1] == [after]  # a little more of a winter


def test_other_cases_stay_as_they_are():
    before = found("wood moisture", ("board", 100.0, "seasonal"))
    after = found("wood moisture", ("board", 100.0, "gains"), ("lining", 120.0, "seasonal"))
    assert of_trial([before], [after], ["board"])[1] == [after]
    assert of_trial([], [after], ["board"])[1] == [after]
