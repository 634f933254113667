"""Every film of the library through the virtual cup at the points that its catalogue prints, read from the text."""

import re
import tomllib
from pathlib import Path

import drydown_materials
import numpy as np
import pytest
from drydown import plugins
from drydown.bench import DRY_CUP, WET_CUP, CupTest, virtual_cup

FOLDER = Path(drydown_materials.__file__).parent / "catalogue"
#: 1 perm [kg/(m2 s Pa)], and still air [kg/(m s Pa)] at 23 degC by DIN 52615: 2.0e-7 T^0.81/P.
PERM, AIR = 57.2135e-12, 2.0e-7 * 296.15**0.81 / 101325.0
HALF = 0.0025
UNIT = {"ng/(Pa s m2)": 1e-12, "perm": PERM, "kg/(m2 s Pa)": 1.0}


def permeances(text):
    """Return the values of '53 240 ng/(Pa s m2)', '0.1 perm' or 'sd 3 m' [kg/(m2 s Pa)]."""
    if match := re.fullmatch(r"sd\s+([\d.e+-]+)\s*(m|mm)", text):
        return [AIR / (float(match[1]) * (1e-3 if match[2] == "mm" else 1.0))]
    match = re.fullmatch(r"([\d.e+\s-]+?)\s*(ng/\(Pa s m2\)|perm|kg/\(m2 s Pa\))", text)
    assert match, text
    return [float(v) * UNIT[match[2]] for v in match[1].split()]


def printed(given):
    """Return (cup, printed permeance) of a permeance as it stands in the catalogue; empty for a family of a formula."""
    if isinstance(given, str):
        (value,) = permeances(given)
        return [(DRY_CUP, value), (WET_CUP, value)]
    if "humidity" in given:
        at = [float(v) / 100.0 for v in given["humidity"].removesuffix("%").split()]
        values = permeances(given["permeance"])
        assert len(at) == len(values)
        return [
            (CupTest(h + HALF, h - HALF), v) for h, v in zip(at, values, strict=True) if h > HALF and h < 1.0 - HALF
        ]
    if given.get("family") == "cups":
        return [(DRY_CUP, permeances(given["dry"])[0]), (WET_CUP, permeances(given["wet"])[0])]
    if given.get("family") == "two-level":
        ends = [float(given[key].removesuffix("%")) / 100.0 for key in ("start", "end")]
        low, high = permeances(given["closed"])[0], permeances(given["open"])[0]
        return [(CupTest(0.5 * ends[0], 0.4 * ends[0]), low), (CupTest(0.97, 0.96), high)]
    return []


def library():
    films, formulas = {}, []
    for path in sorted(FOLDER.glob("*.toml")):
        for name, entry in tomllib.loads(path.read_text(encoding="utf-8")).get("film", {}).items():
            points = printed(entry["permeance"]) if "permeance" in entry else []
            if points:
                films[name] = points
            else:
                formulas.append(name)
    return films, formulas


FILMS, FORMULAS = library()


@pytest.mark.parametrize("name", FILMS)
def test_a_cup_test_in_the_engine_gives_the_printed_values_back(name):
    film = plugins.film(name)
    for cup, want in FILMS[name]:
        got = virtual_cup(film, cup)
        assert got.steady and got.closure < 1e-9
        assert got.apparent == pytest.approx(want, rel=2e-3), (cup, want)


def test_hardly_any_film_is_left_out():
    """Those of a formula have tests of their own, `test_variable_films.py`; laminates have two curves."""
    assert len(FILMS) >= 85, FORMULAS
    text = (Path(__file__).parent / "test_variable_films.py").read_text(encoding="utf-8")
    assert [name for name in FORMULAS if name not in text] == []


def test_the_permeance_of_still_air_is_written_out():
    assert pytest.approx(1.98e-10, rel=2e-3) == AIR
    assert np.isclose(permeances("sd 1 m")[0], AIR) and np.isclose(permeances("1 perm")[0], PERM)
