"""Cup tests of a film whose permeance varies with humidity, against the integral of its permeance."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Film, Initial, Layer, Material, Numerics, simulate
from drydown.plugins import film as registered
from drydown_validation.references import kirchhoff_film as reference
from scipy.integrate import quad

START = np.datetime64("2001-01-01T00", "s")
T = 296.15
STILL_AIR = Material(
    name="still air",
    density=1.2,
    heat_capacity=1006.0,
    conductivity=lambda phi: 0.025 + 0.0 * phi,
    storage=lambda phi: 0.02 * phi + 0.01 / (1.0 - 1e3 * np.log(phi)),
    permeability=lambda phi: 1.95e-10 + 0.0 * phi,
    saturation=1.0,
)
DEPTH, BETA = 0.015, 5.0e-8


def logistic(phi):
    """A demo film: 0.05 to 2 ng/(s m2 Pa) times 1000, switching at 65 % humidity."""
    return 1e-12 * (50.0 + 1950.0 / (1.0 + np.exp(-14.0 * (phi - 0.65))))


def engine_flux(film: Film, inside: float, outside: float, reading: str) -> float:
    """Steady flux out of the cup [kg/(m2 s)] from a run of the whole engine."""
    case = Case(
        Assembly((film, Layer(STILL_AIR, DEPTH))),
        Chamber(T, outside, vapour_transfer=BETA),
        Chamber(T, inside, surface=True),
        START,
        START + np.timedelta64(20, "D"),
        initial=Initial(T, 0.5),
        numerics=Numerics(film_reading=reading, tolerance=1e-3),
    )
    ds = simulate(case)
    passed = ds["vapour_passed"].values[:, 0]
    assert ds.attrs["water_closure_step_max"] < 1e-9
    return -(passed[-1] - passed[-25]) / 86400.0


@pytest.mark.parametrize("reading", ["integral", "mean"])
@pytest.mark.parametrize(("inside", "outside"), [(1e-4, 0.5), (1.0 - 1e-8, 0.5), (1e-4, 0.9), (0.93, 0.5)])
def test_cup_equals_kirchhoff(inside, outside, reading):
    """Air layer, film and surface in series: the engine's steady flux is the reference's to 1e-6."""
    cup = reference.Cup(inside, outside, T, DEPTH / 1.95e-10, 1.0 / BETA)
    expected = reference.cup_flux(logistic, cup, reading)
    got = engine_flux(Film("demo film", logistic), inside, outside, reading)
    print(f"cup {inside:.4f}/{outside} {reading}: {got:.9e} against {expected:.9e}, {got / expected - 1:+.1e}")
    assert got == pytest.approx(expected, rel=1e-6)


def test_cup_without_air_layers_is_the_integral():
    """With resistances a ten-thousandth of the film's, what is left is p_sat times the integral of P."""
    p_sat = 610.5 * np.exp(17.269 * 23.0 / (237.3 + 23.0))  # ISO 13788:2012, annex E
    cup = reference.Cup(0.93, 0.5, T, DEPTH / 1.95e-10, 1.0 / BETA)
    g = engine_flux(Film("demo film", logistic), 0.93, 0.5, "integral")
    # humidities of the film's own faces follow from the flux through the two air layers
    a = 0.93 - g * cup.resistance_inside / p_sat
    b = 0.5 + g * cup.resistance_outside / p_sat
    assert g == pytest.approx(p_sat * quad(logistic, b, a, epsrel=1e-12)[0], rel=1e-6)


def test_both_readings_differ_across_a_wet_cup():
    """The published remark that both readings differ by 15 to 35 % across a cup holds for the polyamide film."""
    film = registered("polyamide film 0.05 mm")
    g = [engine_flux(film, 1.0 - 1e-8, 0.5, reading) for reading in ("integral", "mean")]
    assert 0.10 < abs(g[0] / g[1] - 1.0) < 0.40


def test_direction_of_flow():
    """A film with a reverse curve lets more through one way than the other; each equals its own integral."""
    one_way = Film("demo valve", logistic, permeance_outward=lambda phi: 3.0 * logistic(phi))
    out = engine_flux(one_way, 0.93, 0.5, "integral")
    into = -engine_flux(one_way, 0.5, 0.93, "integral")
    cup_out = reference.Cup(0.93, 0.5, T, DEPTH / 1.95e-10, 1.0 / BETA)
    cup_in = reference.Cup(0.5, 0.93, T, DEPTH / 1.95e-10, 1.0 / BETA)
    # the film is outermost: flow out of the cup runs from inside to outside, the reverse curve
    assert out == pytest.approx(reference.cup_flux(lambda p: 3.0 * logistic(p), cup_out), rel=1e-6)
    assert into == pytest.approx(-reference.cup_flux(logistic, cup_in), rel=1e-6)
