"""What the case file says of a layer for the criteria alone: left out, its mould class, its critical saturation."""

import numpy as np
import pytest
from drydown import InputError, Layer, simulate
from drydown.casefile import case_of, read_case, write_case
from drydown.criteria import assess
from drydown.criteria.reading import read_wall
from drydown.plugins import material
from drydown.trial.unknown import unknowns
from drydown.wording.unknown import unknown_words

WALL = {
    "title": "damp box",
    "outside": {"model": "constant", "temperature": "12 degC", "humidity": "97 %"},
    "inside": {"model": "constant", "temperature": "12 degC", "humidity": "97 %"},
    "period": {"start": "2021-10-01", "days": 200},
    "start": {"temperature": "12 degC", "humidity": "96 %"},
}


def found(tmp_path, *layers):
    case = case_of({**WALL, "layer": list(layers)}, tmp_path / "case.toml")
    results = simulate(case)
    return case, results, {f.criterion: f for f in assess(results)}


def test_a_layer_that_is_not_judged_is_in_no_finding_and_is_said(tmp_path):
    spruce = {"material": "spruce", "thickness": "20 mm"}
    osb = {"material": "OSB", "thickness": "11 mm"}
    _, _, both = found(tmp_path, spruce, osb)
    case, results, one = found(tmp_path, {**spruce, "judged": False}, osb)
    assert {r.layer for r in both["mould"].by_layer} == {"spruce", "OSB"}
    judged = {r.layer for f in one.values() for r in f.by_layer}
    assert "spruce" not in judged and "OSB" in judged
    assert one["mould"].value == pytest.approx({r.layer: r.value for r in both["mould"].by_layer}["OSB"])
    said = [w for w in unknown_words(unknowns(case, results, list(one.values()))) if "unjudged" in w]
    assert said == ["The case leaves 'spruce' unjudged: whether it stays sound."]


def test_nothing_left_to_judge_is_no_finding(tmp_path):
    _, _, one = found(tmp_path, {"material": "spruce", "thickness": "20 mm", "judged": False})
    assert {f.verdict for f in one.values() if f.criterion != "accumulation"} == {"not applicable"}


def test_mould_class_and_critical_saturation_of_a_layer(tmp_path):
    plain = {"material": "OSB", "thickness": "11 mm"}
    _, _, one = found(tmp_path, plain)
    case, results, other = found(tmp_path, {**plain, "mould_class": "resistant", "critical_saturation": 0.4})
    assert other["mould"].value < 0.5 * one["mould"].value
    wall = read_wall(results)
    assert wall.mould_classes == ("resistant",) and wall.critical == pytest.approx([0.4])
    assert read_case(write_case(case, tmp_path / "again.toml")).assembly == case.assembly
    assert np.isnan(read_wall(simulate(case_of({**WALL, "layer": [plain]}, tmp_path / "c.toml"))).critical[0])


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("mould_class", "tough", "none of very sensitive"),
        ("judged", "no", "true or false"),
        ("critical_saturation", 0.0, "above 0"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path, key, value, said):
    with pytest.raises(InputError, match=said):
        found(tmp_path, {"material": "OSB", "thickness": "11 mm", key: value})


def test_a_layer_checks_its_own():
    with pytest.raises(InputError, match="mould_class"):
        Layer(material("OSB"), 0.011, mould_class="tough")
    with pytest.raises(InputError, match="critical_saturation"):
        Layer(material("OSB"), 0.011, critical_saturation=1.5)
