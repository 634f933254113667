"""The library against the ASHRAE Handbook - Fundamentals 2021 (SI), chapter 26: curves through every printed value."""

import numpy as np
import pytest
from ashrae_tables import (
    BOARDS,
    CUPS,
    DESORPTION,
    FILMS,
    PAINTED,
    POLYAMIDE,
    POLYAMIDE_CUPS,
    POLYETHYLENE,
    SORPTION,
    STEADY,
    numbers,
)
from ashrae_tables import RH as HUMIDITIES
from drydown import plugins
from drydown.materials import curves

RH = np.array(HUMIDITIES)
NG = 1e-12


@pytest.mark.parametrize("name", BOARDS)
def test_permeance_of_a_board_against_humidity(name):
    thickness, printed = BOARDS[name]
    permeance = plugins.material(name).permeability(RH) / (thickness / 1000.0)
    assert permeance / NG == pytest.approx(numbers(printed), rel=1e-9)


@pytest.mark.parametrize("name", FILMS)
def test_permeance_of_a_film_against_humidity(name):
    assert plugins.film(name).permeance(RH) / NG == pytest.approx(numbers(FILMS[name]), rel=1e-9)


@pytest.mark.parametrize("name", PAINTED)
def test_a_paint_on_the_bare_board_gives_the_painted_board(name):
    board = plugins.material("gypsum board").permeability(RH) / 0.0125
    both = 1.0 / (1.0 / board + 1.0 / plugins.film(name).permeance(RH))
    assert both / NG == pytest.approx(numbers(PAINTED[name]), rel=1e-3)


@pytest.mark.parametrize("name", CUPS)
def test_dry_and_wet_cup_of_a_paper(name):
    curve = plugins.film(name).permeance
    dry, wet = CUPS[name]
    assert curves.mean_permeance(curve, 0.0, 0.5) / NG == pytest.approx(dry, rel=1e-6)
    assert curves.mean_permeance(curve, 0.5, 1.0) / NG == pytest.approx(wet, rel=1e-6)


def test_polyamide_film_is_confirmed_by_cups_that_were_not_used():
    """Table 5 has 53, 240, 610, 2000 at 30 to 90 %; table 6 has 62.9 dry and 1174 wet for the same film."""
    curve = plugins.film("polyamide film").permeance
    assert curve(RH[1:]) / NG == pytest.approx(POLYAMIDE, rel=1e-9)
    dry, wet = POLYAMIDE_CUPS
    assert curves.mean_permeance(curve, 0.0, 0.5) / NG == pytest.approx(dry, rel=0.02)
    assert curves.mean_permeance(curve, 0.5, 1.0) / NG == pytest.approx(wet, rel=0.02)


def test_humidity_dependent_retarder_is_what_the_text_says():
    """Below 57 under 50 %, 2050 at 90 %."""
    curve = plugins.film("humidity-dependent vapour retarder").permeance
    assert np.all(curve(np.linspace(0.0, 0.5, 51)) < 57 * NG)
    assert float(curve(np.array([0.9]))[0]) / NG == pytest.approx(2050, abs=5.0)  # printed to ten


@pytest.mark.parametrize("name", [*STEADY, *(f"polyethylene {t} mm" for t in POLYETHYLENE)])
def test_permeance_that_does_not_vary(name):
    ng = STEADY[name] if name in STEADY else POLYETHYLENE[name.split()[1]][0]
    assert plugins.film(name).permeance(RH) / NG == pytest.approx(np.full(5, ng), rel=1e-9)


@pytest.mark.parametrize("name", SORPTION)
def test_sorption(name):
    density, humidity, printed = SORPTION[name]
    material = plugins.material(name)
    assert material.density == density
    mc = 100.0 * material.storage(np.array(humidity) / 100.0) / density
    assert mc == pytest.approx(printed, rel=1e-9)


#: How far the assumed capillary tails are from desorption near saturation, in per cent of dry mass.
WITHIN = (5.0, 5.0, 7.0, 7.0, 1.0, 1.5, 1.0, 0.1, 0.3, 15.0, 30.0)


@pytest.mark.parametrize(
    ("name", "humidity", "printed", "within"),
    [(*row, within) for row, within in zip(DESORPTION, WITHIN, strict=True)],
)
def test_capillary_tail_near_saturation(name, humidity, printed, within):
    material = plugins.material(name)
    mc = 100.0 * float(material.storage(np.array([humidity]))[0]) / material.density
    assert mc == pytest.approx(printed, abs=within)
