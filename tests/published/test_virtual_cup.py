"""Permeances of the ASHRAE Handbook - Fundamentals 2021 (SI), chapter 26, found again by cup tests in the engine.

Every value is the result of a whole run: humidities 0.25 % below and above the printed one on the two faces, no
air layer, until the weight changes steadily.
"""

import numpy as np
import pytest
from ashrae_tables import BOARDS, CUPS, FILMS, PAINTED, POLYAMIDE_CUPS, POLYETHYLENE, RH, numbers
from drydown import Layer, plugins
from drydown.bench import DRY_CUP, WET_CUP, CupTest, virtual_cup
from drydown.quantities import PERM, parse

NG = 1e-12
HALF = 0.0025


def tolerances(printed: str) -> np.ndarray:
    """Return how far a relative deviation may go.

    Half a unit of the last printed digit, and what the mean over 0.5 % of humidity differs from the value in its
    middle: (m h)^2 to second order, with m the steepest slope of ln P between neighbouring points.
    """
    value = np.array(printed.split(), dtype=float)
    unit = np.array([10.0 ** -len(text.partition(".")[2]) for text in printed.split()])
    steepest = np.max(np.abs(np.diff(np.log(value)))) / 0.2
    return 0.5 * unit / value + (steepest * HALF) ** 2


def at(specimen, humidity: float) -> float:
    got = virtual_cup(specimen, CupTest(humidity + HALF, humidity - HALF))
    assert got.steady and got.closure < 1e-9
    return got.apparent / NG


@pytest.mark.parametrize("name", BOARDS)
def test_board(name):
    """Vapour and liquid together: a real cup weighs all that passes."""
    thickness, printed = BOARDS[name]
    layer = Layer(plugins.material(name), thickness / 1000.0)
    got = np.array([at(layer, h) for h in RH])
    off = got / numbers(printed) - 1.0
    print(f"{name}: {off} within {tolerances(printed)}")
    assert np.all(np.abs(off) <= tolerances(printed))


@pytest.mark.parametrize("name", FILMS)
def test_film(name):
    got = np.array([at(plugins.film(name), h) for h in RH])
    off = got / numbers(FILMS[name]) - 1.0
    print(f"{name}: {off} within {tolerances(FILMS[name])}")
    assert np.all(np.abs(off) <= tolerances(FILMS[name]))


def test_painted_board():
    """Table 5: gypsum board 12.5 mm with primer and latex paint, 110 to 1650: the paint in a cup of its own."""
    board = Layer(plugins.material("gypsum board"), 0.0125)
    paint = np.array([at(plugins.film("latex paint"), h) for h in RH])
    bare = np.array([at(board, h) for h in RH])
    assert 1.0 / (1.0 / paint + 1.0 / bare) == pytest.approx(numbers(PAINTED["latex paint"]), rel=2e-3)


def test_polyamide_film_dry_and_wet_cup():
    """Table 6: 62.9 in a dry, 1174 in a wet cup; the curve of the film comes from table 5, not from these two."""
    film = plugins.film("polyamide film")
    dry, wet = POLYAMIDE_CUPS
    assert virtual_cup(film, DRY_CUP).apparent / NG == pytest.approx(dry, rel=0.02)
    assert virtual_cup(film, WET_CUP).apparent / NG == pytest.approx(wet, rel=0.02)


@pytest.mark.parametrize("name", CUPS)
def test_papers_dry_and_wet_cup(name):
    """Table 6, dry and wet cup."""
    film = plugins.film(name)
    dry, wet = CUPS[name]
    assert virtual_cup(film, DRY_CUP).apparent / NG == pytest.approx(dry, rel=1e-3)
    assert virtual_cup(film, WET_CUP).apparent / NG == pytest.approx(wet, rel=1e-3)


def test_one_perm_is_one_grain():
    """A sheet of 1 perm lets through one grain (64.79891 mg) per hour, square foot and inch of mercury (0 degC).

    ASTM E96: 1 perm = 57.2135 ng/(Pa s m2); from the definition 57.2145, 2e-5 more.
    """
    assert parse("1 perm", "permeance") == pytest.approx(57.2135e-12, rel=1e-9)
    from drydown import Film

    got = virtual_cup(Film("1 perm", lambda phi: PERM + 0.0 * phi), DRY_CUP)
    p_sat = 610.5 * np.exp(17.269 * 23.0 / (237.3 + 23.0))  # ISO 13788:2012, annex E
    inches = p_sat * (0.5 - 1e-4) / (13595.1 * 9.80665 * 0.0254)  # the engine takes a desiccant as 0.01 %
    grains = -got.flux * 3600.0 * 0.3048**2 / 64.79891e-6
    assert grains / inches == pytest.approx(1.0, rel=3e-5)


@pytest.mark.parametrize("thickness", POLYETHYLENE)
def test_polyethylene(thickness):
    """Table 6: polyethylene by thickness [mm], in both units; with 15 mm of air in the cup as without."""
    film = plugins.film(f"polyethylene {thickness} mm")
    ng, perm = POLYETHYLENE[thickness]
    for test in (DRY_CUP, CupTest(0.0, 0.5, air_layer=0.015)):
        got = virtual_cup(film, test)
        assert got.corrected / NG == pytest.approx(ng, rel=1e-5)
        assert round(got.apparent / PERM, 2) == perm
