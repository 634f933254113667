"""Assemblies edited by name, and how a case prints."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import Assembly, Case, Film, Initial, InputError, Layer, Wetting, film, material
from drydown.case.case import MOST_ROWS
from drydown_validation.assemblies import ASSEMBLIES

OSB = Layer(material("OSB"), 0.011, name="sheathing")
WOOL = Layer(material("mineral wool"), 0.14)
RETARDER = film("polyamide film 0.05 mm")
BOARD = Layer(material("gypsum board"), 0.0125)
WALL = Assembly((OSB, WOOL, RETARDER, BOARD), "wall")


def test_parts_are_edited_by_name_and_the_first_wall_stays():
    kraft = film("kraft paper")
    assert WALL.replace(RETARDER.name, kraft).parts == (OSB, WOOL, kraft, BOARD)
    assert WALL.replace("sheathing", WOOL.__class__(WOOL.material, 0.05, "outer wool")).layers[0].thickness == 0.05
    assert WALL.insert(kraft, before="sheathing").parts == (kraft, OSB, WOOL, RETARDER, BOARD)
    assert WALL.insert(kraft, after=RETARDER.name).parts == (OSB, WOOL, RETARDER, kraft, BOARD)
    assert WALL.insert(kraft, after=BOARD.name).parts[-1] == kraft
    assert WALL.remove(RETARDER.name).parts == (OSB, WOOL, BOARD)
    thicker = WALL.with_thickness("mineral wool", 0.2)
    assert thicker.thickness == pytest.approx(WALL.thickness + 0.06) and thicker.name == "wall"
    assert Assembly((OSB, WOOL, RETARDER, BOARD), "wall") == WALL


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (lambda: WALL.replace("sheating", BOARD), "no layer or film is called 'sheating'; .*sheathing"),
        (lambda: WALL.replace("sheathing", BOARD), "two layers are called 'gypsum board'"),
        (lambda: WALL.replace("sheathing", "OSB"), "parts must be Layer or Film, not str"),
        (lambda: WALL.insert(RETARDER), "say where"),
        (lambda: WALL.insert(RETARDER, before="sheathing", after="sheathing"), "say where"),
        (lambda: WALL.insert(RETARDER, after="sheathing").remove(RETARDER.name), "two parts are called"),
        (lambda: Assembly((OSB,)).remove("sheathing"), "at least one layer"),
        (lambda: WALL.with_thickness(RETARDER.name, 0.1), "no layer is called"),
        (lambda: WALL.with_thickness("sheathing", -0.1), "layer 'sheathing': thickness is -0.1"),
        (lambda: Layer(material("OSB"), 1e-33), "layer 'OSB': thickness is 1e-33 m; it must be at least 1e-06 m"),
        (
            lambda: WALL.with_thickness("sheathing", "11 mm"),
            "layer 'sheathing': thickness is '11 mm'; a number in metres",
        ),
        (lambda: Layer(material("OSB"), None), "layer 'OSB': thickness is None"),
        (lambda: Layer(material("OSB"), True), "layer 'OSB': thickness is True"),
    ],
)
def test_what_cannot_be_is_one_line(edit, says):
    with pytest.raises(InputError, match=says) as caught:
        edit()
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ASSEMBLIES)
def test_a_case_prints_in_twenty_lines(name):
    case = ASSEMBLIES[name]()
    lines = str(case).splitlines()
    assert 6 <= len(lines) <= 20 and max(map(len, lines)) < 400
    assert case.name in lines[0] and str(case.start) in lines[1]
    shown, parts = "\n".join(lines), case.assembly.parts
    more = len(parts) + 1 - MOST_ROWS
    assert all(part.name in shown for part in parts[: MOST_ROWS - 1]) and (more <= 0 or f"and {more} more" in shown)


def test_a_long_case_prints_in_twenty_lines_too():
    layers = [Layer(material("OSB"), 0.01, f"board {i}") for i in range(30)]
    air = ASSEMBLIES["masonry"]()
    start = np.datetime64("2022-01-01T00", "s")
    events = [Wetting(f"board {i}", 0.1, start + np.timedelta64(24, "h")) for i in range(9)]
    case = Case(
        Assembly(layers), air.outside, air.inside, start, start + np.timedelta64(9, "D"), events, Initial(280.0, 0.7)
    )
    lines = str(case).splitlines()
    assert len(lines) <= 20 and "and 21 more" in str(case) and "and 6 more" in str(case)
    assert isinstance(RETARDER, Film)
