"""The virtual cup against the integral of the permeance, solved by a reference that shares no code with it."""

import numpy as np
import pytest
from drydown import Film, InputError, Layer, Material, plugins
from drydown.bench import DRY_CUP, WET_CUP, CupTest, cup, virtual_cup
from drydown.kernel.layout import STEPS, SWEEPS
from drydown.run.simulation import chunks
from drydown_validation.references import kirchhoff_film as reference

AIR_AT_23 = 2.0e-7 * 296.15**0.81 / 101325.0  # DIN 52615 [kg/(m s Pa)]
SURFACE = 1.0 / 2.5e-8


def logistic(phi):
    """A demo membrane, 5 to 2000 ng/(Pa s m2)."""
    return 1e-12 * (5.0 + 1995.0 / (1.0 + np.exp(-(np.asarray(phi) - 0.65) / 0.07)))


MEMBRANE = Film("demo membrane", logistic)


def expected(test: CupTest, permeance=logistic, reading="integral") -> float:
    humidity = [min(max(h, 1e-4), 1.0 - 1e-8) for h in (test.cup, test.room)]
    cup = reference.Cup(*humidity, test.temperature, test.air_layer / AIR_AT_23, test.surface_resistance)
    return reference.apparent_permeance(permeance, cup, reading)


@pytest.mark.parametrize("reading", ["integral", "mean"])
@pytest.mark.parametrize(("air", "surface"), [(0.0, 0.0), (0.015, 0.0), (0.015, SURFACE), (0.0, SURFACE)])
@pytest.mark.parametrize(("cup", "room"), [(0.0, 0.5), (1.0, 0.5), (0.93, 0.5), (0.5, 0.93), (0.502, 0.498)])
def test_film_with_air_on_both_sides(cup, room, air, surface, reading):
    """To 2e-6: without an air layer the engine has a filling of 1000 m2 s Pa/kg in the cup."""
    test = CupTest(cup, room, air_layer=air, surface_resistance=surface)
    got = virtual_cup(MEMBRANE, test, reading=reading)
    assert got.apparent == pytest.approx(expected(test, reading=reading), rel=2e-6)
    assert got.steady and got.drift < 1e-9 and got.closure < 1e-9


def test_the_correction_takes_the_air_off():
    """A film that does not vary keeps its permeance behind any air; one that varies is read between its faces."""
    air = {"air_layer": 0.02, "surface_resistance": SURFACE}
    got = virtual_cup(Film("even", lambda phi: 1e-9 + 0.0 * phi), CupTest(1.0, 0.5, **air))
    assert got.apparent == pytest.approx(1.0 / (1e9 + 0.02 / AIR_AT_23 + SURFACE), rel=1e-6)
    assert got.corrected == pytest.approx(1e-9, rel=1e-6)
    got = virtual_cup(MEMBRANE, CupTest(1.0, 0.5, **air))
    high, low = got.faces
    assert 0.5 < low < high < 1.0
    assert got.corrected == pytest.approx(reference.integral(logistic, low, high) / (high - low), rel=1e-6)


def test_the_flux_has_the_sign_of_the_loss():
    """Dry cup and wet cup: a cup with desiccant gains, a cup with water loses."""
    p_sat = 610.5 * np.exp(17.269 * 23.0 / (237.3 + 23.0))  # ISO 13788:2012, annex E
    assert virtual_cup(MEMBRANE, DRY_CUP).flux < 0.0
    got = virtual_cup(MEMBRANE, WET_CUP)
    assert got.flux == pytest.approx(p_sat * 0.5 * expected(WET_CUP), rel=1e-5)


def test_direction_and_turned_specimen():
    """Listed first, the film's outer face looks into the room; what leaves the cup takes its reverse curve."""
    valve = Film("demo valve", logistic, permeance_outward=lambda phi: 3.0 * logistic(phi))
    out, into = CupTest(0.93, 0.5), CupTest(0.5, 0.93)
    assert virtual_cup(valve, out).apparent == pytest.approx(3.0 * expected(out), rel=2e-6)
    assert virtual_cup(valve, into).apparent == pytest.approx(expected(into), rel=2e-6)
    turned = CupTest(0.93, 0.5, turned=True)
    assert virtual_cup(valve, turned).apparent == pytest.approx(expected(out), rel=2e-6)


def test_temperature_of_the_film_and_of_the_air():
    """At 38 degC: the film by its own factor, the air layer by the law of air."""
    warm = Film("warm", lambda phi: 1e-9 + 0.0 * phi, permeance_temperature=lambda t: np.exp(0.02 * (t - 296.15)))
    got = virtual_cup(warm, CupTest(0.0, 0.9, 311.15, air_layer=0.01))
    air = 2.0e-7 * 311.15**0.81 / 101325.0
    assert got.apparent == pytest.approx(1.0 / (1.0 / (1e-9 * np.exp(0.3)) + 0.01 / air), rel=1e-5)


def slab(permeability: float) -> Material:
    def storage(phi):
        return 40.0 * phi + 60.0 / (1.0 - 1e3 * np.log(phi))

    def even(phi):
        return permeability + 0.0 * phi

    return Material("slab", 500.0, 1500.0, lambda phi: 0.1 + 0.0 * phi, storage, even, 100.0)


def test_a_layer_without_variation():
    """delta/d, and the time of a slab: the slowest wave falls as exp(-pi^2 D t/d^2), to 1 % of the flux."""
    thickness, delta = 0.02, 2e-12
    got = virtual_cup(Layer(slab(delta), thickness), CupTest(0.4, 0.6), start=0.5)
    assert got.apparent == pytest.approx(delta / thickness, rel=1e-6)
    p_sat = 610.5 * np.exp(17.269 * 23.0 / (237.3 + 23.0))
    phi = 0.5
    capacity = 40.0 + 60.0 * 1e3 / phi / (1.0 - 1e3 * np.log(phi)) ** 2
    # both faces change at once by as much in opposite directions: only even waves, pi -> 2 pi, height 2
    slowest = thickness**2 * capacity / (p_sat * delta) / (2.0 * np.pi) ** 2
    # weighings are a factor of 1.41 apart
    assert got.days_to_steady * 86400.0 == pytest.approx(slowest * np.log(200.0), rel=0.25)


def test_liquid_can_be_left_out():
    """A material that also conducts liquid passes more; without it, its vapour permeance alone."""
    board = plugins.material("clay brick")
    test = CupTest(0.98, 0.94)  # above the cups behind its permeance, where its liquid begins
    whole, vapour = (virtual_cup(Layer(board, 0.0124), test, liquid=k) for k in (True, False))
    permeance = reference.integral(lambda phi: board.permeability(np.array([phi]))[0] / 0.0124, 0.94, 0.98)
    assert vapour.apparent == pytest.approx(permeance / 0.04, rel=1e-4)
    assert whole.apparent > 2.0 * vapour.apparent


def test_effort():
    """A run takes some hundred steps (a few hundredths of a second), also where a board would stay for years."""
    for specimen in (MEMBRANE, Layer(plugins.material("OSB"), 0.0099)):
        for test in (DRY_CUP, CupTest(0.2, 0.1)):
            *_, (_, record) = chunks(cup._lower(specimen, test, 0.5, "integral", True)[0])
            steps, sweeps = (int(record.counters[i]) for i in (STEPS, SWEEPS))
            print(f"{specimen.name}: {steps} steps, {sweeps} sweeps")
            assert steps < 150 and sweeps < 600
    assert virtual_cup(specimen, CupTest(0.12, 0.08), start=0.5).days_to_steady > 100.0


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"cup": 50.0, "room": 0.5}, "between 0 and 1"),
        ({"cup": 0.5, "room": 0.5}, "a difference of 0.1 %"),
        ({"cup": 0.0, "room": 0.5, "temperature": 23.0}, "degC"),
        ({"cup": 0.0, "room": 0.5, "permeance": -1.0}, "it must lie between 1e-16 and 1e-06"),
        ({"cup": 0.0, "room": 0.5, "uncertainty": 5.0}, "such as 0.05"),
        ({"cup": 0.0, "room": 0.5, "air_layer": 15.0}, "0.5 m"),
        ({"cup": 0.0, "room": 0.5, "surface_resistance": -1.0}, "0 or more"),
    ],
)
def test_what_is_no_cup_test(fields, words):
    with pytest.raises(InputError, match=words):
        CupTest(**fields)


def test_what_is_no_specimen():
    with pytest.raises(InputError, match="Film or a Layer"):
        virtual_cup(plugins.material("OSB"), DRY_CUP)
