"""A layer in the rain that takes no liquid up says so: by its nature, or for want of data."""

import dataclasses

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, Layer
from drydown.lowering.problem import lower
from drydown.plugins import material

START = np.datetime64("2001-01-01T00", "s")


def note(outer, rain):
    parts = (Layer(outer, 0.01, "outer"), Layer(material("mineral wool"), 0.05))
    outside, inside = Chamber(280.0, 0.8, rain=rain), Chamber(294.0, 0.5)
    case = Case(Assembly(parts), outside, inside, START, START + np.timedelta64(24, "h"), (), Initial(283.15, 0.6))
    return lower(case).notes.get("outside rain surface", "")


@pytest.mark.parametrize(
    ("name", "changes", "words"),
    [
        ("steel sheet", {}, "'steel sheet' sheds the rain"),
        ("clay brick", {}, ""),
        ("clay brick", {"diffusivity": None}, "no liquid transport of 'clay brick' is known"),
    ],
)
def test_who_sheds_rain_says_so(name, changes, words):
    outer = dataclasses.replace(material(name), **changes)
    said = note(outer, 1e-4)
    assert words in said and bool(words) == bool(said)
    assert note(outer, 0.0) == ""
