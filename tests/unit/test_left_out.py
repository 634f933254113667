"""What the case file says of a layer for the criteria alone: left out, its mould class, its critical saturation."""

import numpy as np
import pytest
from drydown import InputError, Layer, simulate
from drydown.casefile import case_of, read_case, write_case
from drydown.criteria import assess, catalogue
from drydown.criteria.reading import read_wall
from drydown.plugins import material
from drydown.trial.unknown import unknowns
from drydown.wording.unknown import unknown_words
from synthetic_results import results

WALL = {
    "title": "damp box",
    "outside": {"model": "constant", "temperature": "12 degC", "humidity": "97 %"},
    "inside": {"model": "constant", "temperature": "12 degC", "humidity": "97 %"},
    "period": {"start": "2021-10-01", "days": 200},
    "start": {"temperature": "12 degC", "humidity": "96 %"},
}


def found(tmp_path, *layers):
    case = case_of({**WALL, "layer": list(layers)}, tmp_path / "case.toml")
    ran = simulate(case)
    return case, ran, {f.criterion: f for f in assess(ran)}


def test_a_layer_that_is_not_judged_is_in_no_finding_and_is_said(tmp_path):
    spruce = {"material": "spruce", "thickness": "20 mm"}
    osb = {"material": "OSB", "thickness": "11 mm"}
    _, _, both = found(tmp_path, spruce, osb)
    case, ran, one = found(tmp_path, {**spruce, "judged": False}, osb)
    assert {r.layer for r in both["mould"].by_layer} == {"spruce", "OSB"}
    judged = {r.layer for f in one.values() for r in f.by_layer}
    assert "spruce" not in judged and "OSB" in judged
    assert one["mould"].value == pytest.approx({r.layer: r.value for r in both["mould"].by_layer}["OSB"])
    said = [w for w in unknown_words(unknowns(case, ran, list(one.values()))) if "unjudged" in w]
    assert said == ["The case leaves 'spruce' unjudged: whether it stays sound."]


@pytest.mark.parametrize(("humidity", "told"), [("99 %", True), ("99.98 %", False), (None, False)])
def test_soil_that_is_too_dry_is_said_first(tmp_path, humidity, told):
    ground = {"model": "ground", "mean": "9 degC", "amplitude": "5 K", "coldest_day": 30}
    given = {**WALL, "outside": {**ground, **({"humidity": humidity} if humidity else {})}}
    given["period"] = {"start": "2021-10-01", "days": 2}
    case = case_of({**given, "layer": [{"material": "gravel", "thickness": "100 mm"}]}, tmp_path / "case.toml")
    said = [w for w in unknown_words(unknowns(case, simulate(case))) if w.startswith("How wet the soil is")]
    assert bool(said) is told and all("'gravel', which touches it" in w for w in said)


@pytest.mark.parametrize("in_ground", [True, False])
def test_what_lies_in_the_ground_is_no_surface_for_mould(tmp_path, in_ground):
    """Foam below a slab and the face that the slab turns to it: behind a wall of rooms they count, in soil not."""
    ground = {"model": "ground", "mean": "12 degC", "amplitude": "1 K", "coldest_day": 30}
    given = {**WALL, "inside": {"model": "constant", "temperature": "20 degC", "humidity": "40 %"}}
    given |= {"outside": ground} if in_ground else {}
    layers = [{"material": "XPS", "thickness": "50 mm"}, {"material": "concrete", "thickness": "100 mm"}]
    results = simulate(case_of({**given, "layer": layers}, tmp_path / "case.toml"))
    mould = next(f for f in assess(results) if f.criterion == "mould")
    judged = {r.layer: r.place.what for r in mould.by_layer}
    assert ("extruded polystyrene" in judged) is not in_ground
    assert judged["concrete"] == ("inner face" if in_ground else "outer face")


def test_a_slab_that_gets_as_moist_as_its_ground_gathers_nothing():
    """The slab gains 1 kg/m2 a year, the wood on it nothing; in a wall of rooms the same slab would be told."""
    marks = np.arange(3 * 8766)
    water = np.stack([90.0 + marks * 100.0 / 8766.0, np.full(len(marks), 50.0)], axis=1)
    layers = {"layers": ("concrete", "hardwood"), "kinds": ("mineral", "wood")}
    data = results(np.full((len(marks), 2), 15.0), np.full((len(marks), 2), 0.7), water, **layers)
    gains = catalogue()["accumulation"]
    assert gains.judge(data).verdict == "exceeded"
    data.attrs["note_outside_ground"] = "ground reflects 0.2"  # what a wall in the weather says
    assert gains.judge(data).verdict == "exceeded"
    data.attrs["note_outside_soil"] = "99.98 % humidity in its pores"
    found = gains.judge(data)
    assert found.verdict == "fine" and {r.layer for r in found.by_layer} == {"hardwood"}


def test_plaster_on_masonry_is_no_surface_for_mould():
    layers = {"layers": ("brick", "lime plaster", "board"), "kinds": ("mineral", "mineral", "insulation")}
    data = results(np.full((3000, 3), 15.0), np.full((3000, 3), 0.97), **layers)
    judged = {r.layer: r.place.what for r in catalogue()["mould"].judge(data).by_layer}
    assert judged["brick"] == "outer face" and judged["lime plaster"] == "inner face"


@pytest.mark.parametrize(("sucks", "limit"), [(1.0, 1.0), (0.0, 0.5), (None, 0.5)])
def test_free_water_in_boards_that_suck_has_the_limit_of_what_takes_up_water(sucks, limit):
    data = results(np.full(3000, 10.0), 0.99, np.where(np.arange(3000) < 100, 150.0, 280.0), kinds=("insulation",))
    if sucks is not None:
        data = data.assign_coords(takes_up_water_of_layer=("layer", [sucks]))
    found = catalogue()["condensation"].judge(data)
    assert (found.value, found.limit) == (pytest.approx(0.8), limit)


def test_the_results_say_what_takes_up_water(tmp_path):
    _, data, _ = found(
        tmp_path, {"material": "XPS", "thickness": "50 mm"}, {"material": "spruce", "thickness": "20 mm"}
    )
    assert data["takes_up_water_of_layer"].values.tolist() == [0.0, 1.0]


@pytest.mark.parametrize(("green", "told"), [("97 %", True), ("50 %", False)])
def test_wood_on_green_concrete_is_told_to_swell(tmp_path, green, told):
    room = {"model": "constant", "temperature": "20 degC", "humidity": "50 %"}
    given = {**WALL, "outside": room, "inside": room, "start": {"temperature": "20 degC", "humidity": "50 %"}}
    slab = {"material": "concrete", "thickness": "100 mm", "start_humidity": green}
    layers = [slab, {"material": "hardwood", "thickness": "15 mm"}]
    case = case_of({**given, "layer": layers}, tmp_path / "case.toml")
    results = simulate(case)
    said = [w for w in unknown_words(unknowns(case, results)) if w.startswith("Whether 'hardwood' swells")]
    assert bool(said) is told
    if told:
        wood = case.assembly.layers[-1]
        most = 100.0 * results["layer_water"].values[:, -1].max() / (wood.material.density * wood.thickness)
        assert f"gets to {most:.0f} %" in said[0] and most > 11.0


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
