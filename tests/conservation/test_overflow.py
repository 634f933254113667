"""Water led into what holds next to nothing: the neighbour drinks it, on every mesh and at every step alike."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, Layer, Numerics, Wetting, simulate
from drydown.case.loads import RainShare
from drydown.plugins import film, material
from drydown.wording.loads import brought

START = np.datetime64("2001-01-01T00", "s")
RAIN, SHARE, DAYS = 2.0e-5, 0.05, 4
OFFERED = RAIN * SHARE * 86400.0 * DAYS


def wall(*between, share=SHARE, place="outer", holder="cellular glass", **changes) -> Case:
    parts = (
        Layer(material("OSB"), 0.012, "board"),
        *between,
        Layer(material(holder), 0.05, "foam"),
        Layer(material("gypsum board"), 0.0125, "lining"),
    )
    given = dict(
        assembly=Assembly(parts),
        outside=Chamber(278.15, 0.8, rain=RAIN),
        inside=Chamber(293.15, 0.5),
        start=START,
        end=START + np.timedelta64(DAYS, "D"),
        initial=Initial(283.15, 0.6),
        loads=(RainShare("foam", share, place),),
    )
    return Case(**{**given, **changes})


def last(data, name, at=0):
    return float(data[name].values[-1, at])


def closed(data):
    passed = (data["vapour_passed"] + data["liquid_passed"] + data["convected_vapour_passed"]).values
    put = data["load_water"].sum("load_term").values + data["water_added"].sum("wetting").values
    stored = data["layer_water"].sum("layer").values
    gap = stored - stored[0] - (passed[:, 0] - passed[:, -1]) - put
    return np.abs(gap).max() < 1e-9 and data.attrs["water_closure_step_max"] < 1e-9


def test_meshes_and_steps_agree_on_what_the_wall_takes():
    runs = [
        simulate(wall(numerics=Numerics(**n)))
        for n in ({}, {"refine": 2.0}, {"refine": 4.0}, {"tolerance": 0.1, "max_step": 450.0})
    ]
    for data in runs:
        assert closed(data)
        assert last(data, "load_water") + last(data, "load_refused") == pytest.approx(OFFERED, rel=1e-9)
        assert last(data, "load_refused") == 0.0
        print(
            [(x, float(data["layer_water"].sel(layer=x)[-1])) for x in ("board", "foam")], last(data, "load_passed_on")
        )
    boards = [last(data, "layer_water") for data in runs]
    assert boards == pytest.approx([boards[-1]] * len(runs), abs=2e-3 * OFFERED)
    # what the board dries out of the narrowest cell beside it comes to it that way
    passed = [last(data, "load_passed_on") for data in runs]
    assert passed == pytest.approx([passed[-1]] * len(runs), abs=1e-2 * OFFERED)
    said = " ".join("\n".join(brought(runs[0])).split())
    assert "found no room there and went on into 'board'" in said and "ran off" not in said


def test_what_the_neighbour_has_no_room_for_is_refused():
    data = simulate(wall(share=1.0))
    assert closed(data)
    assert last(data, "load_water") + last(data, "load_refused") == pytest.approx(OFFERED / SHARE, rel=1e-9)
    assert last(data, "load_refused") > 0.0 and last(data, "load_passed_on") > 0.0
    assert float((data["water_content"] / data["saturation"]).max()) < 1.05
    assert np.all(np.diff(data["load_refused"].values[:, 0]) >= 0.0)


@pytest.mark.parametrize(
    "between", [(film("polyethylene 0.15 mm"),), (Layer(material("air gap 25 mm"), 0.02, "gap"),)], ids=["film", "gap"]
)
def test_nothing_goes_through_a_film_or_into_what_draws_no_water(between):
    data = simulate(wall(*between))
    assert closed(data)
    assert last(data, "load_passed_on") == 0.0
    assert last(data, "load_refused") > 0.5 * OFFERED


def test_the_place_must_reach_the_neighbour():
    # the inner edge of the foam stands against the lining, not against the board
    data = simulate(wall(place="inner"))
    assert str(data["load_neighbour"].values[0]) == "lining"
    whole = simulate(wall(place="whole"))
    assert str(whole["load_neighbour"].values[0]) == "board and lining"


def test_water_in_a_gap_runs_down_and_none_goes_into_the_boards_beside_it():
    gap = Layer(material("air gap 25 mm"), 0.02, "gap")
    data = simulate(wall(gap, loads=(RainShare("gap", 1.0, "whole"),)))
    assert str(data["load_neighbour"].values[0]) == "" and last(data, "load_passed_on") == 0.0


def test_a_wetting_that_finds_a_leak_in_its_place_goes_on_and_says_so():
    event = Wetting("foam", 0.02, START + np.timedelta64(3, "D"), 3600.0, "outer", 0.005)
    data = simulate(wall(wettings=(event,)))
    assert closed(data)
    assert float(data["water_added"].values[-1, 0]) == pytest.approx(0.02, rel=1e-6)
    assert "went on into 'board'" in data.attrs["warning"]


def test_what_holds_the_water_takes_it_and_the_neighbour_nothing():
    data = simulate(wall(holder="clay brick"))
    assert last(data, "load_water") == pytest.approx(OFFERED, rel=1e-9) and last(data, "load_passed_on") == 0.0
