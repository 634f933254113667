"""Variants: changes of a case file, and what is said of those that cannot be made."""

from __future__ import annotations

import pytest
from drydown import InputError
from drydown.casefile.variants import change, read_variants

DATA = {
    "title": "Wall",
    "outside": {"orientation": "north"},
    "layer": [
        {"material": "OSB", "thickness": "11 mm"},
        {"film": "polyamide film 0.05 mm"},
        {"material": "gypsum board", "thickness": "12.5 mm"},
        {"material": "gypsum board", "thickness": "12.5 mm", "name": "second board"},
    ],
    "wetting": [{"layer": "OSB", "amount": "1 kg/m2"}],
}


def changed(**table):
    return change(DATA, {"name": "x", **table}, "f")[0]


def test_set_changes_a_key_an_entry_and_a_section():
    new = changed(set={"layer.2.film": "polyethylene 0.15 mm", "outside.orientation": "south", "title": "Other"})
    assert new["layer"][1] == {"film": "polyethylene 0.15 mm"}
    assert new["outside"] == {"orientation": "south"} and new["title"] == "Other"
    assert changed(set={"layer.OSB.thickness": "18 mm"})["layer"][0]["thickness"] == "18 mm"
    # a name may hold a dot
    assert changed(set={"layer.polyamide film 0.05 mm.film": "latex paint"})["layer"][1] == {"film": "latex paint"}
    assert changed(set={"layer.OSB": {"film": "latex paint"}})["layer"][0] == {"film": "latex paint"}
    # a film that becomes a material, and the reverse, keep nothing of what they were
    assert changed(set={"layer.OSB.film": "latex paint"})["layer"][0] == {"film": "latex paint"}
    assert DATA["layer"][0] == {"material": "OSB", "thickness": "11 mm"}


def test_add_and_remove_count_the_layers_as_the_file_does():
    new = changed(
        remove=["layer.1", "wetting.OSB"],
        add={"layer.3": {"film": "latex paint"}, "layer.5": {"film": "vinyl wallpaper"}, "wetting": {"layer": "x"}},
        set={"layer.3.thickness": "15 mm"},
    )
    assert [e.get("film") or e.get("name") or e["material"] for e in new["layer"]] == [
        "polyamide film 0.05 mm",
        "latex paint",
        "gypsum board",
        "second board",
        "vinyl wallpaper",
    ]
    assert new["layer"][2]["thickness"] == "15 mm" and new["wetting"] == [{"layer": "x"}]


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ({"set": {"layer.9.film": "x"}}, "f, set 'layer.9.film': there is no layer 9; there are 4, counted from 1"),
        ({"set": {"layer.OBS.film": "x"}}, "no layer is called 'OBS'; did you mean 'OSB'"),
        ({"set": {"layer.gypsum board.thickness": "x"}}, "layers 3 and 4 are all 'gypsum board'; use the number"),
        ({"set": {"layr.2.film": "x"}}, "did you mean 'layer'"),
        ({"set": {"layer.2": "x"}}, "name a key of it too"),
        ({"set": ["layer.2"]}, "f, set: write it as"),
        ({"remove": "layer.2"}, "write it as a list"),
        ({"remove": ["outside.tilt"]}, "there is nothing of that name to take away"),
        ({"add": {"layer.2": "x"}}, "write it as add ="),
        ({"remvoe": ["layer.2"]}, "did you mean 'remove'"),
    ],
)
def test_what_cannot_be_changed_is_said_in_one_line(table, message):
    with pytest.raises(InputError) as caught:
        changed(**table)
    assert message in str(caught.value) and "\n" not in str(caught.value)


CASE = """
[outside]
model = "constant"
temperature = "5 degC"
humidity = "80 %"
[inside]
model = "constant"
temperature = "20 degC"
humidity = "45 %"
[period]
start = 2022-01-01
days = 5
[[layer]]
material = "OSB"
thickness = "11 mm"
[[layer]]
material = "gypsum board"
thickness = "12.5 mm"
"""


def test_variants_of_a_file(tmp_path):
    path = tmp_path / "wall.toml"
    path.write_text(CASE + '[[variant]]\nname = "thick"\nset = { "layer.OSB.thickness" = "22 mm" }\n')
    base, thick = read_variants(path)
    assert (base.name, thick.name) == ("as written", "thick")
    assert thick.case.assembly.layers[0].thickness == pytest.approx(0.022)
    assert base.case.assembly.layers[0].thickness == pytest.approx(0.011)
    assert thick.changes == ("layer.OSB.thickness = 22 mm",)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "it has no [[variant]]"),
        ('[variant]\nname = "a"\n', "write [[variant]], with two brackets"),
        ("[[variant]]\nset = {}\n", "variant 1: it needs a name"),
        ('[[variant]]\nname = "a"\n[[variant]]\nname = "a"\n', "variant 'a': two variants have this name"),
        ('[[variant]]\nname = "a"\nset = { "layer.1.material" = "OBS" }\n', "variant 'a', layer 1, material: no"),
    ],
)
def test_a_bad_variant_is_named(tmp_path, text, message):
    path = tmp_path / "wall.toml"
    path.write_text(CASE + text)
    with pytest.raises(InputError) as caught:
        read_variants(path)
    assert message in str(caught.value) and str(path) in str(caught.value)


def test_another_climate_takes_its_indoor_air_along(tmp_path):
    from drydown.sides.indoor import AirConditioned, Constant, FromOutdoor

    text = """
[climate]
name = "fernmoor"
[outside]
orientation = "north"
[inside]
model = "constant"
temperature = "21 degC"
humidity = "40 %"
[period]
start = 2021-10-01
days = 30
[[layer]]
material = "OSB"
thickness = "12 mm"
[[variant]]
name = "hot and humid"
set = { "climate.name" = "saltreed" }
[[variant]]
name = "cold and dry"
set = { "climate.name" = "rimefell" }
[[variant]]
name = "as stated"
set = { "climate.name" = "saltreed", "inside.humidity" = "55 %" }
[[variant]]
name = "another model, whose keys are others"
set = { "inside.model" = "air conditioned" }
"""
    path = tmp_path / "wall.toml"
    path.write_text(text)
    base, hot, cold, stated, other = read_variants(path)
    assert isinstance(base.case.inside.model, Constant) and isinstance(stated.case.inside.model, Constant)
    assert isinstance(hot.case.inside.model, AirConditioned) and isinstance(other.case.inside.model, AirConditioned)
    assert isinstance(cold.case.inside.model, FromOutdoor)
    assert hot.changes[-1] == "inside.model = air conditioned, which goes with that climate"
