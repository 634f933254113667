"""Registries of plugins: lazy, forgiving of broken ones, helpful about names."""

import dataclasses
import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from drydown import (
    Assembly,
    Case,
    Exposure,
    FromOutdoor,
    Indoor,
    Layer,
    Outdoor,
    plugins,
    read_case,
    weather,
    write_case,
)
from drydown.errors import InputError
from drydown.materials import curves
from drydown.materials.contract import problems
from drydown.materials.model import Film, Material, Source
from drydown.plugins import PluginWarning, Registry

SOURCE = (Source("nobody", None, "made up for this test", "demo"),)
BOARD = Material(
    "board",
    500.0,
    1500.0,
    curves.Constant(0.1),
    curves.sorption_points((0.5, 0.9), (30.0, 90.0), 500.0),
    curves.Constant(1e-12),
    500.0,
    sources=SOURCE,
)
SHEET = Film("sheet", curves.Constant(1e-10), sources=SOURCE, aliases=("the usual sheet",))


@dataclass
class Point:
    """Stands in for an installed entry point."""

    name: str
    catalogue: Any
    loads: int = 0

    def load(self):
        self.loads += 1
        if isinstance(self.catalogue, Exception):
            raise self.catalogue
        return self.catalogue


def registry(*points: Point) -> Registry:
    return Registry("drydown.materials", "material", problems, points=points)


def explode():
    raise RuntimeError("no data\nhere")


BREACHES = {
    "raises": explode,
    "wrong type": "a text",
    "wrong shape": lambda: dataclasses.replace(SHEET, permeance=lambda phi: 1e-10),
    "negative permeance": lambda: dataclasses.replace(SHEET, permeance=curves.Constant(-1e-10)),
    "percent": lambda: dataclasses.replace(SHEET, permeance=lambda phi: 1e-10 * np.log(100.0 * phi)),
    "falling storage": lambda: dataclasses.replace(BOARD, storage=lambda phi: 500.0 * (1.0 - phi) + 1.0),
    "no source": lambda: dataclasses.replace(SHEET, sources=()),
    "kind of source": lambda: dataclasses.replace(SHEET, sources=(Source("nobody", 1, "x", "hearsay"),)),  # type: ignore
    "not finite": lambda: dataclasses.replace(SHEET, permeance=lambda phi: 1e-10 / (1.0 - (phi > 0.5))),
    "permeance in ng": lambda: dataclasses.replace(SHEET, permeance=curves.Constant(60.0)),
    "density in g": lambda: dataclasses.replace(BOARD, density=0.45),
    "density as text": lambda: dataclasses.replace(BOARD, density="450"),
    "ends too low": lambda: dataclasses.replace(BOARD, saturation=800.0),
    "two liquids": lambda: dataclasses.replace(BOARD, liquid=curves.Constant(1e-9), diffusivity=curves.Constant(1e-9)),
    "spread": lambda: dataclasses.replace(SHEET, spread={"permeance": (2.0, 3.0)}),
    "spread of nothing": lambda: dataclasses.replace(SHEET, spread={"permeability": (0.5, 2.0)}),
    "film of water": lambda: dataclasses.replace(SHEET, permeance=curves.of_water(lambda w: 1e-10 + 0.0 * w)),
    "number for storage": lambda: dataclasses.replace(BOARD, storage=90.0),
}


def test_sound_entries_have_no_problems():
    assert problems(BOARD) == [] and problems(SHEET) == []


@pytest.mark.parametrize("name", BREACHES)
def test_a_broken_entry_is_named_and_skipped_once_and_the_rest_works(name):
    reg = registry(Point("theirs", {name: BREACHES[name], "board": BOARD, "sheet": lambda: SHEET}))
    with pytest.warns(PluginWarning, match=f"material '{name}' of plugin 'theirs' is broken and was skipped") as caught:
        built = reg.entries()
    assert len(caught) == 1 and "\n" not in str(caught[0].message)
    assert sorted(built) == ["board", "sheet"]
    assert list(reg.broken) == [f"theirs:{name}"]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert sorted(reg.entries()) == ["board", "sheet"]
        with pytest.raises(InputError, match=f"'theirs:{name}' is broken"):
            reg.get_entry(name)


@pytest.mark.parametrize(
    ("catalogue", "says"),
    [
        (ImportError("no module named 'gone'"), "ImportError: no module named 'gone'"),
        (explode, "RuntimeError: no data here"),
        (lambda: ["board"], "is list, not a mapping"),
        (lambda: {1: BOARD}, "not a mapping of names"),
        (None, "NoneType"),
    ],
)
def test_a_broken_plugin_is_named_and_skipped_once(catalogue, says):
    reg = registry(Point("bad", catalogue), Point("good", {"board": BOARD}))
    with pytest.warns(PluginWarning, match=f"plugin 'bad' .* {says}") as caught:
        assert (list(reg), reg["board"]) == (["board"], BOARD)
    assert len(caught) == 1
    assert list(reg.broken) == ["bad"]


def test_nothing_is_loaded_or_built_before_it_is_asked_for():
    built = []
    point = Point("lazy", lambda: {"a": lambda: built.append("a") or BOARD, "b": lambda: built.append("b") or BOARD})
    reg = registry(point)
    assert point.loads == 0
    assert list(reg) == ["a", "b"] and built == []
    assert reg.get_entry("a") is BOARD and reg.get_entry("a") is BOARD
    assert built == ["a"] and point.loads == 1


def test_of_two_plugins_with_one_name_the_first_has_it_and_both_can_be_reached():
    other = dataclasses.replace(BOARD, density=600.0)
    reg = registry(Point("first", {"board": BOARD}), Point("second", {"board": other, "sheet": SHEET}))
    assert reg.get_entry("board") is BOARD
    assert reg.get_entry("second:board") is other and reg.get_entry("first:board") is BOARD
    assert (reg.home("board"), reg.home("second:board"), reg.home("sheet")) == ("first", "second", "second")
    assert list(reg) == ["board", "sheet"]


def test_where_the_first_is_broken_the_second_answers():
    reg = registry(Point("first", {"board": explode}), Point("second", {"board": BOARD}))
    with pytest.warns(PluginWarning, match="of plugin 'first'"):
        assert reg.get_entry("board") is BOARD


def test_names_are_found_by_alias_and_in_any_case():
    reg = registry(Point("p", {"Board": BOARD, "sheet": SHEET}))
    assert reg.get_entry("bOARD") is BOARD
    assert reg.get_entry("The Usual Sheet") is SHEET


def test_an_unknown_name_answers_with_the_nearest_and_what_is_installed():
    reg = registry(Point("p", {"board": BOARD, "sheet": SHEET}))
    with pytest.raises(InputError, match=r"wall.toml: no material is called 'bord'; did you mean 'board'.*'p' \(2\)"):
        reg.get_entry("bord", "wall.toml")
    with pytest.raises(KeyError):
        reg["bord"]
    with pytest.raises(InputError, match="plugins installed: none"):
        registry().get_entry("board")


def test_entries_that_are_functions_themselves_are_left_alone_where_asked():
    reg = Registry("drydown.criteria", "criterion", build=False, points=[Point("p", {"rule": explode})])
    assert reg.get_entry("rule") is explode


def test_an_entry_found_again_is_still_as_installed(tmp_path):
    """What was taken before the registry was filled anew equals what it holds now: a case file may name it."""
    spruce, felt = plugins.material("spruce"), plugins.film("kraft paper facing")
    wall = (Layer(spruce, 0.02), felt, Layer(plugins.material("OSB"), 0.011))
    start = np.datetime64("2022-01-10")
    outdoor = Outdoor(weather("fernmoor"), Exposure(azimuth=0.0))
    case = Case(Assembly(wall, "a wall"), outdoor, Indoor(FromOutdoor()), start, start + np.timedelta64(6, "D"))
    plugins.forget()
    assert read_case(write_case(case, tmp_path / "wall.toml")).assembly.layers == case.assembly.layers


def test_our_own_library_is_installed_as_a_plugin():
    plugins.forget()
    assert plugins.materials().home("OSB") == "drydown"
    assert plugins.material("oriented strand board").name == "OSB"
    assert plugins.film("6 mil polyethylene").name == "polyethylene 0.15 mm"
    with pytest.raises(InputError, match="layer 3: 'latex paint' is a film, not a material; list it without a thick"):
        plugins.material("latex paint", "layer 3")
    with pytest.raises(InputError, match="'OSB' is a material, not a film; give it a thickness"):
        plugins.film("OSB")
