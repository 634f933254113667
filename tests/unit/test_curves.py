"""Property curves: their equations, their ends, their shapes."""

import numpy as np
import pytest
from drydown.errors import InputError
from drydown.materials import curves
from drydown.materials.model import argument_of
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy.integrate import quad
from scipy.optimize import brentq

NG = 1e-12
Z = np.linspace(2.5, -20.0, 4501)
PHI = np.exp(-np.exp(Z))

STORAGE = {
    "GAB": curves.GAB(30.0, 8.0, 0.75),
    "Hansen": curves.Hansen(200.0, 2e-3, 1.8),
    "Oswin": curves.Oswin(40.0, 0.45),
    "wood": curves.WoodSorption(450.0),
    "points": curves.sorption_points((0.5, 0.7, 0.9), (35.0, 53.0, 95.0), 570.0, 2.5e5, 2.0),
    "wood with tail": curves.WithTail(curves.WoodSorption(400.0), 740.0, 1.7e5, 3.0),
}
VAPOUR = {
    "two-level": curves.TwoLevel(5 * NG, 900 * NG),
    "logistic": curves.Logistic(5 * NG, 900 * NG),
    "exponential": curves.Exponential(20 * NG, 3 * NG, 5.0),
    "cups": curves.from_cups(17 * NG, 103 * NG),
    "points": curves.permeance_points((0.1, 0.5, 0.9), (3 * NG, 50 * NG, 800 * NG)),
}


@pytest.mark.parametrize("name", STORAGE)
def test_storage_rises_strictly_and_is_smooth(name):
    w = STORAGE[name](PHI)
    slope = np.diff(w)
    assert np.all(np.isfinite(w)) and np.all(w > 0.0)
    assert np.all(slope >= 0.0)
    if "tail" in name or name == "points":
        assert np.all(slope > 0.0), "a plateau would leave the engine without capacity"
    assert np.abs(np.diff(slope)).max() < 0.03 * slope.max(), "a jump of the capacity"


@pytest.mark.parametrize("name", VAPOUR)
def test_permeance_never_falls_and_is_smooth(name):
    phi = np.linspace(0.0, 1.0, 2001)
    p = VAPOUR[name](phi)
    assert np.all(p > 0.0) and np.all(np.diff(p) >= -1e-12 * p[1:])
    slope = np.diff(np.log(p))
    assert np.abs(np.diff(slope)).max() < 0.02 * np.abs(slope).max() + 1e-9


@given(arrays(float, array_shapes(max_dims=3, max_side=4), elements=st.floats(0.0, 1.0)))
def test_curves_of_humidity_keep_the_shape_up_to_both_ends(phi):
    for curve in (*STORAGE.values(), *VAPOUR.values(), curves.Constant(3.0)):
        y = curve(phi)
        assert y.shape == phi.shape and np.all(np.isfinite(y))


def test_equations():
    phi = np.array([0.2, 0.6, 0.93])
    assert curves.Hansen(100.0, 0.01, 2.0)(phi) == pytest.approx(100.0 / np.sqrt(1.0 - np.log(phi) / 0.01))
    x = 0.8 * phi
    assert curves.GAB(30.0, 8.0, 0.8)(phi) == pytest.approx(30.0 * 8.0 * x / ((1 - x) * (1 - x + 8.0 * x)))
    assert curves.Oswin(40.0, 0.5)(np.array([0.5])) == pytest.approx([40.0])
    middle = curves.Logistic(4 * NG, 400 * NG, 0.6, 0.1)(np.array([0.6]))
    assert middle == pytest.approx([40 * NG])
    assert curves.TwoLevel(1 * NG, 100 * NG, 0.5, 0.7)(np.array([0.0, 0.6, 1.0])) == pytest.approx(
        [1 * NG, 10 * NG, 100 * NG]
    )
    line = curves.Linear(0.1, 0.002)
    assert argument_of(line) == "water content" and line(np.array([50.0])) == pytest.approx([0.2])


def test_retention_is_that_of_en_15026():
    """EN 15026:2007 annex A: w = 146/(1 + (8e-8 p)^1.6)^0.375."""
    curve = curves.Retention(146.0, (8e-8,), (1.6,))
    p = np.array([0.0, 1e6, 1e8])
    assert argument_of(curve) == "suction"
    assert curve(p) == pytest.approx(146.0 / (1.0 + (8e-8 * p) ** 1.6) ** 0.375, rel=1e-12)


def test_retention_with_two_pore_systems():
    """HAMSTAD case 5, brick: heights in m of water, a = 0.47 and 0.2 per m."""
    per_metre = 1.0 / (1000.0 * 9.81)
    curve = curves.Retention(373.5, (0.47 * per_metre, 0.2 * per_metre), (1.5, 3.8), (0.46, 0.54))
    h = 3.0
    wanted = 373.5 * (
        0.46 * (1 + (0.47 * h) ** 1.5) ** -(1 - 1 / 1.5) + 0.54 * (1 + (0.2 * h) ** 3.8) ** -(1 - 1 / 3.8)
    )
    assert curve(np.array([h / per_metre])) == pytest.approx([wanted], rel=1e-12)


def test_sorption_points_go_through_the_points_and_end_at_saturation():
    phi, w = (0.489, 0.691, 0.886), (35.1, 53.3, 95.55)
    curve = curves.sorption_points(phi, w, 570.0, 2.5e5, 2.0)
    assert curve(np.array(phi)) == pytest.approx(w, rel=1e-12)
    assert curve(np.array([1.0])) == pytest.approx([570.0], rel=1e-9)


def test_permeance_points_go_through_the_points():
    phi, p = (0.1, 0.3, 0.5, 0.7, 0.9), (0.65e-12, 18e-12, 49e-12, 140e-12, 390e-12)
    assert curves.permeance_points(phi, p)(np.array(phi)) == pytest.approx(p, rel=1e-12)


def test_cups_return_what_they_gave():
    curve = curves.from_cups(17 * NG, 103 * NG)
    assert curves.mean_permeance(curve, 0.0, 0.5) == pytest.approx(17 * NG, rel=1e-9)
    assert curves.mean_permeance(curve, 0.5, 1.0) == pytest.approx(103 * NG, rel=1e-9)
    flat = curves.from_cups(5 * NG, 5 * NG)
    assert flat(np.array([0.0, 1.0])) == pytest.approx([5 * NG, 5 * NG], rel=1e-6)


@pytest.mark.parametrize("name", VAPOUR)
def test_mean_permeance_is_the_integral(name):
    curve = VAPOUR[name]
    reference = quad(lambda x: float(curve(np.array([x]))[0]) / NG, 0.2, 0.85, epsrel=1e-11, limit=200)[0] / 0.65
    assert curves.mean_permeance(curve, 0.2, 0.85) / NG == pytest.approx(reference, rel=1e-6)


@pytest.mark.parametrize(
    ("saturation", "above", "initial"),
    [(190.0, 0.0, 1.0), (190.0, 90.0, 45.0), (300.0, 20.0, 10.0), (190.0, 5.0, 60.0)],
)
def test_absorption_diffusivity_takes_up_what_the_coefficient_says(saturation, above, initial):
    """Integrate the uptake of a half space: m = A sqrt(t) must come back within 2.5 %."""
    a, top = 0.17, saturation
    d = curves.AbsorptionDiffusivity(a, 190.0, above=above, saturation=saturation, initial=initial)
    assert np.all(d(np.linspace(0.0, above, 5)) == 0.0) or above == 0.0
    n, length = 400, 0.05
    dx = length / n
    w, taken, t = np.full(n, initial), 0.0, 0.0
    from scipy.linalg import solve_banded

    while t < 200.0:
        dt = min(0.05 + 0.01 * t, 200.0 - t)
        at = np.concatenate([[top], w])
        faces = np.concatenate([[2.0], np.ones(n - 1)]) / dx
        # integral mean of an exponential diffusivity between neighbours
        fine = at[:-1, None] + (at[1:] - at[:-1])[:, None] * np.linspace(0.0, 1.0, 21)
        g = faces * d(fine).mean(axis=1)
        bands = np.zeros((3, n))
        bands[1] = dx / dt + g
        bands[1, :-1] += g[1:]
        bands[0, 1:] = bands[2, :-1] = -g[1:]
        right = dx / dt * w
        right[0] += g[0] * top
        new = solve_banded((1, 1), bands, right)
        taken += dt * g[0] * (top - new[0])
        w, t = new, t + dt
    assert taken / np.sqrt(t) == pytest.approx(a, rel=0.025)


OUTER, INNER = curves.Constant(8e-10), curves.Logistic(5e-12, 4e-9, 0.7, 0.07)


@pytest.mark.parametrize("dry", [0.2, 0.5])
@pytest.mark.parametrize(("near", "far"), [(OUTER, INNER), (INNER, OUTER)])
def test_a_laminate_passes_what_its_plies_pass(near, far, dry):
    """The humidity between both by bisection on integrals by quadrature, nothing of the curve itself."""

    def total(ply, low, high):
        return quad(lambda x: float(ply(np.array([x]))[0]) / 1e-12, low, high, epsrel=1e-10, limit=200)[0]

    curve = curves.Laminate(near, far, dry)
    for wet in (0.6, 0.8, 0.95):
        m = brentq(lambda x, wet=wet: total(near, x, wet) - total(far, dry, x), dry, wet, xtol=1e-13)
        assert total(curve, dry, wet) == pytest.approx(total(far, dry, m), rel=1e-6)
        assert float(curve.between(np.array([wet]))[0]) == pytest.approx(m, abs=1e-7)


def test_a_laminate_knows_its_sides():
    """Vapour that meets the swelling ply first opens it; one curve for both plies alike has no sides."""
    phi = np.linspace(0.55, 0.95, 9)
    assert np.all(curves.Laminate(INNER, OUTER)(phi) > curves.Laminate(OUTER, INNER)(phi))
    steady = curves.Laminate(curves.Constant(2e-10), curves.Constant(6e-10))(phi)
    assert steady == pytest.approx(np.full(9, 1.5e-10), rel=1e-12)
    with pytest.raises(InputError, match="functions of humidity"):
        curves.Laminate(curves.of_water(np.sqrt), OUTER)


def test_liquid_curves():
    d = curves.ExponentialDiffusivity(1e-10, 5.0, 200.0)
    assert d(np.array([0.0, 200.0])) == pytest.approx([1e-10, 1e-10 * np.exp(5.0)])
    k = curves.PolynomialConductivity((-39.2619, 0.0704), 0.0, 146.0, centre=73.0)
    assert k(np.array([73.0, 146.0, 500.0])) == pytest.approx(
        np.exp([-39.2619, -39.2619 + 73 * 0.0704, -39.2619 + 73 * 0.0704])
    )
    # without its smooth turn the shape would give 3.75 (A/w_f)^2 at w_f, where Künzel has 3.8; the turn adds 6 %
    beyond = curves.AbsorptionDiffusivity(0.17, 190.0)(np.array([400.0, 800.0]))
    assert beyond == pytest.approx(np.full(2, 3.8 * (0.17 / 190.0) ** 2), rel=0.07)
    with pytest.raises(InputError, match="below the 190 kg/m3"):
        curves.AbsorptionDiffusivity(0.17, 190.0, above=200.0)


def test_wrappers_say_what_they_are_of():
    assert argument_of(curves.of_suction(np.sqrt)) == "suction"
    assert argument_of(curves.of_water(np.sqrt)) == "water content"
    assert argument_of(curves.of_humidity(np.sqrt)) == argument_of(np.sqrt) == "humidity"
    assert curves.of_water(np.sqrt)(np.array([4.0])) == pytest.approx([2.0])


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: curves.Points((0.5, 0.3), (1.0, 2.0)), "must be two or more finite numbers that rise"),
        (lambda: curves.Points((0.1, 0.3), (1.0,)), "2 points"),
        (lambda: curves.Points((0.1, 0.3), (1.0, 0.0), log_y=True), "positive"),
        (lambda: curves.sorption_points((0.5, 0.7), (3.0, 2.0), 100.0), "rise"),
        (lambda: curves.sorption_points((0.5, 1.0), (3.0, 5.0), 100.0), "leave 0 and 100 % out"),
        (lambda: curves.sorption_points((0.5, 0.7), (3.0, 5.0), 6.0), "below the"),
        (lambda: curves.sorption_points((0.5, 0.7), (0.3, 0.31), 900.0, 1e7), "smaller `pores`"),
        (lambda: curves.WithTail(curves.Retention(5.0, (1e-6,), (2.0,)), 10.0), "function of humidity"),
        (lambda: curves.Retention(100.0, (1e-6, 1e-5), (2.0, 2.0), (0.5, 0.4)), "add up to 1"),
        (lambda: curves.Logistic(0.0, 1e-10), "'closed' of Logistic"),
        (lambda: curves.TwoLevel(1e-12, 1e-10, 0.8, 0.6), "start < end"),
        (lambda: curves.from_cups(5e-12, 1e-12), "0 < dry <= wet"),
    ],
)
def test_bad_parameters_are_refused(make, says):
    with pytest.raises(InputError, match=says):
        make()
