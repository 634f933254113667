"""Mould past its limit: the damp of winter on a face that dries out each summer is told from all other."""

import numpy as np
import pytest
from drydown.criteria import Severity, catalogue
from drydown.materials.kinds import decline_of
from drydown.wording.findings import sentence
from synthetic_results import results

LAYERS, KINDS = ("brick", "OSB", "batt", "lining"), ("mineral", "panel", "insulation", "other")
HOURS = 3 * 8766


def wall(damp, layers=LAYERS, kinds=KINDS):
    """Three years; the OSB is damp at 8 degC in the hours `damp`, else dry at 18 degC."""
    t = np.where(damp, 8.0, 18.0)
    h = np.full((HOURS, len(layers)), 0.5)
    h[:, layers.index("OSB")] = np.where(damp, 0.98, 0.6)
    return results(np.repeat(t[:, None], len(layers), axis=1), h, layers=layers, kinds=kinds)


def months(first, count):
    """Hours of the years from a month after the start on, for some months."""
    month = (np.arange(HOURS) // 730.5) % 12
    return (month >= first) & (month < first + count)


def test_damp_of_winter_on_a_closed_face_is_watched():
    found = catalogue()["mould"].judge(wall(months(1, 6)))
    assert found.value > 3.0 and found.place.layer == "OSB"
    assert (found.verdict, found.case, found.graveness(found.case)) == ("watch", "seasonal", Severity.CAUTIOUS)
    assert found.facts["dry"][0] == pytest.approx(6 * 30.4, abs=2.0)
    assert "cold months alone" in sentence(found) and "found sound" in found.harm


def test_eight_months_of_damp_are_no_season():
    assert catalogue()["mould"].judge(wall(months(1, 8))).verdict == "exceeded"


def test_frost_is_no_drying():
    """Dry months too cold for mould do not count."""
    data = wall(months(1, 6))
    cold = np.where(months(1, 6), 8.0, 3.0)[:, None]
    data["temperature"] = (("time", "cell"), np.repeat(cold, 4, axis=1) + 273.15)
    assert catalogue()["mould"].judge(data).verdict == "exceeded"


@pytest.mark.parametrize("beside", ["air", "room"])
def test_a_face_at_air_is_not_let_off(beside):
    if beside == "air":
        data = wall(months(1, 6), ("brick", "OSB", "gap", "lining"), ("mineral", "panel", "air", "other"))
    else:
        data = wall(months(1, 6), ("brick", "OSB"), ("mineral", "panel"))
    assert catalogue()["mould"].judge(data).verdict == "exceeded"


def test_water_that_got_in_is_not_let_off():
    data = wall(months(1, 6)).assign_coords(wetting=["1: OSB"])
    data["water_added"] = (("time", "wetting"), np.ones((HOURS, 1)))
    assert catalogue()["mould"].judge(data).verdict == "exceeded"


@pytest.mark.parametrize(("density", "said"), [(160.0, True), (30.0, False)])
def test_a_board_on_masonry_is_judged_the_same_and_told_of_its_bed(density, said):
    layers, kinds = ("brick", "board", "lining"), ("mineral", "insulation", "other")
    h = np.full((HOURS, 3), 0.5)
    h[:, 1] = 0.97
    data = results(np.full((HOURS, 3), 15.0), h, layers=layers, kinds=kinds)
    data["density_of_layer"] = ("layer", [1700.0, density, 700.0])
    data = data.assign_coords(mould_class_of_layer=("layer", ["medium resistant", "sensitive", "sensitive"]))
    found = catalogue()["mould"].judge(data)
    assert found.verdict == "exceeded" and found.place.layer == "board"
    assert ("full bed of mortar" in sentence(found)) is (said and found.place.what == "outer face")


@pytest.mark.parametrize(
    ("words", "group", "found"),
    [
        ("spruce", "wood", "wood"),
        ("OSB, panel", "panel", "paper"),
        ("gypsum board", "other", "paper"),
        ("dense cellulose", "insulation", "paper"),
        ("mineral wool", "insulation", ""),
        ("lime plaster", "mineral", ""),
        ("what nobody knows", "other", ""),
    ],
)
def test_mould_declines_as_its_ground_does(words, group, found):
    """Ojanen et al. (2010): wood more than paper and panels, those more than mineral (from memory)."""
    assert decline_of(words, group) == found


def test_each_decline_can_be_set():
    mould, data = catalogue()["mould"], wall(months(1, 3))
    kept = mould.judge(data, {"mould_decline_paper": 0.0}).value
    lost = mould.judge(data, {"mould_decline_paper": 1.0}).value
    assert kept > mould.judge(data).value > lost
    assert mould.judge(data, {"mould_decline": 1.0, "mould_decline_wood": 1.0}).value == mould.judge(data).value
