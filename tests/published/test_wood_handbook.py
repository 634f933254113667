"""Wood Handbook (USDA Forest Products Laboratory, FPL-GTR-282, 2021), chapter 4."""

import numpy as np
import pytest
from drydown import plugins
from drydown.materials import curves
from scipy.optimize import minimize_scalar

# Table 4-2, moisture content of wood in equilibrium with air: (degF, humidity [%], printed value [%])
TABLE_4_2 = [
    (70, 5, 1.3),
    (70, 30, 6.2),
    (70, 50, 9.2),
    (70, 75, 14.4),
    (70, 85, 17.9),
    (70, 95, 23.9),
    (30, 75, 14.9),
    (30, 95, 24.3),
    (100, 50, 8.7),
    (100, 90, 19.5),
]


@pytest.mark.parametrize(("fahrenheit", "humidity", "printed"), TABLE_4_2)
def test_sorption_table_4_2_to_the_printed_digit(fahrenheit, humidity, printed):
    kelvin = (fahrenheit - 32.0) / 1.8 + 273.15
    mc = float(curves.equilibrium_moisture_content(humidity / 100.0, kelvin))
    assert 100.0 * mc == pytest.approx(printed, abs=0.055)  # half a digit, and 0.005 for the rounded coefficients


def test_metric_and_fahrenheit_forms_of_equation_4_5_agree():
    """The book prints the coefficients twice; the Fahrenheit set is typed here."""
    f, h = np.meshgrid(np.linspace(30.0, 120.0, 10), np.linspace(0.05, 0.95, 10))
    w = 330.0 + 0.452 * f + 0.00415 * f**2
    k = 0.791 + 0.000463 * f - 0.000000844 * f**2
    k1 = 6.34 + 0.000775 * f - 0.0000935 * f**2
    k2 = 1.09 + 0.0284 * f - 0.0000904 * f**2
    mono = k * h / (1.0 - k * h)
    multi = (k1 * k * h + 2.0 * k1 * k2 * (k * h) ** 2) / (1.0 + k1 * k * h + k1 * k2 * (k * h) ** 2)
    by_fahrenheit = 18.0 / w * (mono + multi)
    by_celsius = curves.equilibrium_moisture_content(h, (f - 32.0) / 1.8 + 273.15)
    assert by_celsius == pytest.approx(by_fahrenheit, rel=2e-3)


def test_heat_capacity_example():
    """The worked example: 12 % moisture content at 340 K gives 1.91 kJ/(kg K)."""
    assert float(curves.wood_heat_capacity(0.12, 340.0)) / 1000.0 == pytest.approx(1.91, abs=0.005)


def test_heat_capacity_of_moist_wood_against_wood_plus_water():
    """The engine adds the heat of dry wood and of water; the book has up to 8 % more for bound water."""
    mc, kelvin = np.meshgrid([0.0, 0.05, 0.12, 0.2, 0.28], [283.15, 293.15, 303.15])
    book = curves.wood_heat_capacity(mc, kelvin) * (1.0 + mc)
    added = curves.wood_heat_capacity(0.0, kelvin) + 4182.0 * mc
    assert np.all(added / book > 0.92) and np.all(added / book < 1.001)


def test_dry_wood_heat_capacity_of_the_library():
    for name in ("spruce", "western red cedar", "hardwood"):
        dry = float(curves.wood_heat_capacity(0.0))
        assert plugins.material(name).heat_capacity == pytest.approx(dry, rel=2e-3)


def test_conductivity_of_the_library_is_equation_4_15():
    spruce = plugins.material("spruce")
    for mc in (0.0, 0.12, 0.20):
        by_book = 0.4 * (0.1941 + 0.004064 * 100.0 * mc) + 0.01864
        assert float(spruce.conductivity(np.array([400.0 * mc]))[0]) == pytest.approx(by_book, rel=1e-12)


@pytest.mark.parametrize("name", ["spruce", "eastern white pine", "hardwood"])
def test_storage_of_the_library_is_equation_4_5_below_98_percent(name):
    """The capillary tail adds less than 0.2 % up to 95 %, and fills the cell cavities at 100 %."""
    wood = plugins.material(name)
    h = np.linspace(0.05, 0.95, 19)
    mc = wood.storage(h) / wood.density
    assert mc == pytest.approx(curves.equilibrium_moisture_content(h, 296.15), abs=0.002)
    gravity = wood.density / 1000.0
    assert wood.saturation / wood.density == pytest.approx((1.54 - gravity) / (1.54 * gravity), abs=0.006)


def shifted(humidity, kelvin, kappa):
    z = np.log(-np.log(humidity)) + kappa * np.log(kelvin / 296.15)
    return curves.equilibrium_moisture_content(np.exp(-np.exp(z)), 296.15)


def test_temperature_shift_of_wood():
    """w(phi, T) = W(z + kappa ln(T/296.15)): kappa is the least-squares fit; this is what it leaves over."""
    humidities = [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95]
    h, t = np.meshgrid(humidities, np.linspace(273.15, 313.15, 9))
    book = curves.equilibrium_moisture_content(h, t)

    def cost(kappa):
        return float(np.sum((shifted(h, t, kappa) - book) ** 2))

    best = minimize_scalar(cost, bounds=(0.0, 5.0), method="bounded")
    kappa = curves.WOOD_TEMPERATURE_SHIFT
    assert kappa == pytest.approx(best.x, abs=0.01)
    left = 100.0 * (shifted(h, t, kappa) - book)
    without = 100.0 * (curves.equilibrium_moisture_content(h, 296.15) - book)
    assert np.sqrt(np.mean(left**2)) < 0.22 < 0.35 < np.sqrt(np.mean(without**2))
    assert np.abs(left).max() < 0.80
    usual = (t <= 303.15) & (h >= 0.3) & (h <= 0.9)
    assert np.abs(left[usual]).max() < 0.45
    assert plugins.material("spruce").sorption_temperature_exponent == kappa
