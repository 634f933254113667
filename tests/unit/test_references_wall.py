"""The method-of-lines reference, checked by itself: conservation, agreement of solvers, limiting cases."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

ROOT = Path(__file__).resolve().parents[2] / "benchmarks" / "validation"
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from drydown_validation.references import halfspace_uptake as half  # noqa: E402
from drydown_validation.references import hamstad5, junctions, wall_parts, water  # noqa: E402
from drydown_validation.references import isothermal_drying as drying  # noqa: E402
from drydown_validation.references import method_of_lines as mol  # noqa: E402

# demo curves, chosen to be smooth and strongly curved; they stand for no product
BOARD = wall_parts.Material(
    dry_capacity=500 * 1600.0,
    conductivity=lambda w, T: 0.12 + 2e-4 * w,
    storage=lambda phi: 60 * phi / (4 - 3 * phi) + 300 * phi**30,
    permeability=lambda phi, w: 2e-12 * (1 + 20 * phi**4),
    liquid=lambda p, w: 1e-14 * np.exp(0.02 * w) / (1 + p / 1e6),
)
WOOL = wall_parts.Material(
    dry_capacity=30 * 850.0,
    conductivity=lambda w, T: 0.038 * (1 + 0.003 * (T - 283.15)),
    storage=lambda phi: 0.5 * phi + 2 * phi**20,
    permeability=lambda phi, w: 1.5e-10,
)
PLASTER = wall_parts.Material(
    dry_capacity=800 * 1000.0,
    conductivity=lambda w, T: 0.2,
    storage=lambda p: 25 * (1 + (1e-6 * p) ** 1.5) ** -0.4,
    permeability=lambda phi, w: 2.5e-11,
    storage_of="suction",
    liquid=lambda p, w: 1e-13 / (1 + p / 1e6) ** 1.5,
)


def graded(thickness, cells):
    edges = (np.sin(np.pi / 2 * np.linspace(-1, 1, cells + 1)) + 1) / 2 * thickness
    return tuple(np.diff(edges))


def frame_wall():
    return wall_parts.Wall(
        layers=(
            wall_parts.Layer(BOARD, graded(0.012, 6)),
            wall_parts.Layer(WOOL, graded(0.14, 8)),
            wall_parts.Layer(PLASTER, graded(0.0125, 6)),
        ),
        films={0: wall_parts.Film(lambda phi: 5e-9), 2: wall_parts.Film(lambda phi: 3e-11 + 1e-9 * phi**5)},
    )


def weather(hours):
    h, one = np.arange(hours + 1), np.ones(hours + 1)
    rng = np.random.default_rng(1)
    T = 275.15 + 6 * np.sin(2 * np.pi * h / 24) + rng.normal(0, 0.5, hours + 1)
    sun = 300 + 200 * np.maximum(0, np.sin(2 * np.pi * (h + 3) / 24))
    outside = wall_parts.Side(
        T, 0.85 * water.saturation_iso13788(T), 10 + 5 * rng.random(hours + 1), 8e-8 * one, sun, 0.9
    )
    return outside, wall_parts.Side(294.15 * one, 1100 * one, 8 * one, 2.5e-8 * one, 0 * one)


def steady(temperature, pressure, kind="air", heat_transfer=8.0, transfer=2.5e-8, marks=2):
    one = np.ones(marks)
    return wall_parts.Side(temperature * one, pressure * one, heat_transfer * one, transfer * one, 0 * one, kind=kind)


@pytest.mark.slow
def test_three_solvers_agree_and_the_budget_closes():
    """Measured over six hours: 4e-7 K and 1.1e-8 of humidity between solvers of three kinds."""
    wall, n = frame_wall(), 20
    start = np.full(n, 283.15), np.full(n, 0.8)
    runs = {
        method: mol.solve(wall, *weather(6), *start, tolerance=mol.Tolerance(method))
        for method in ("LSODA", "BDF", "Radau")
    }
    for run in runs.values():
        assert np.max(np.abs(run.temperature - runs["Radau"].temperature)) < 2e-6
        assert np.max(np.abs(run.humidity - runs["Radau"].humidity)) < 1e-7
        gain = (run.water - run.water[0]) @ run.width
        assert np.max(np.abs(gain - run.entered.sum(axis=1))) < 1e-9
        assert np.max(np.abs(run.entered)) > 1e-3


def test_sealed_and_insulated_wall_keeps_its_water_and_enthalpy():
    wall = frame_wall()
    T = np.concatenate([np.full(6, 300.15), np.full(8, 275.15), np.full(6, 290.15)])
    phi = np.concatenate([np.full(6, 0.95), np.full(8, 0.5), np.full(6, 0.7)])
    shut = steady(290.0, 1000.0, "sealed", heat_transfer=0.0, marks=4)
    run = mol.solve(wall, shut, shut, T, phi)
    dry = np.concatenate([np.full(len(x.widths), x.material.dry_capacity) for x in wall.layers])
    enthalpy = ((dry + 4182.0 * run.water) * (run.temperature - 273.15)) @ run.width
    mass = run.water @ run.width
    moved = np.abs(run.water[-1] - run.water[0]) @ run.width
    assert moved > 1e-2
    assert np.max(np.abs(mass - mass[0])) < 1e-8 * mass[0]
    assert np.max(np.abs(enthalpy - enthalpy[0])) < 1e-7 * enthalpy[0]


def test_equilibrium_stays():
    p = 0.7 * float(water.saturation_iso13788(288.15))
    side = steady(288.15, p)
    layers = (wall_parts.Layer(BOARD, graded(0.012, 4)), wall_parts.Layer(PLASTER, graded(0.0125, 4)))
    run = mol.solve(wall_parts.Wall(layers), side, side, np.full(8, 288.15), np.full(8, 0.7))
    assert np.max(np.abs(run.humidity[-1] - 0.7)) < 1e-9
    assert np.max(np.abs(run.temperature[-1] - 288.15)) < 1e-6


@pytest.mark.parametrize("split", [True, False], ids=["two layers", "one layer"])
def test_halfspace_is_met_with_second_order(split):
    """The similarity solution knows nothing of cells: the error falls fourfold as they halve."""
    case = half.HalfSpace(form="conservative", latent_heat=2.5008e6, c_vapour=1860.0, c_water=4182.0)
    exact, seconds = half.solve(case, tol=1e-9), 7 * 86400.0
    stuff = wall_parts.Material(
        dry_capacity=case.dry_capacity,
        conductivity=lambda w, T: half.conductivity(w),
        storage=half.water_content,
        permeability=lambda phi, w: half.permeability(w, wall_parts.T_REF),
        storage_of="suction",
        liquid=lambda p, w: half.liquid_conductivity(w),
        permeability_factor=lambda T: wall_parts.T_REF / T,
    )
    face = steady(303.15, 0.95 * float(water.saturation_iso13788(303.15)), "surface")
    far = steady(293.15, 0.0, "sealed", heat_transfer=0.0)
    errors = []
    for n in (40, 80):
        edges = np.sinh(np.linspace(0, 1, n + 1) * 9.2)
        edges *= 6.0 / edges[-1]
        width = tuple(np.diff(edges))
        cut = n // 3
        layers = (
            (wall_parts.Layer(stuff, width[:cut]), wall_parts.Layer(stuff, width[cut:]))
            if split
            else (wall_parts.Layer(stuff, width),)
        )
        run = mol.solve(
            wall_parts.Wall(layers),
            face,
            far,
            np.full(n, 293.15),
            np.full(n, 0.5),
            interval=seconds,
            tolerance=mol.Tolerance("BDF", 1e-7, 1e-5, 1e-6, 1e-9),
        )
        x = (edges[1:] + edges[:-1]) / 2
        errors.append(
            (
                np.max(np.abs(run.water[-1] - exact.water_content(x, seconds))),
                np.max(np.abs(run.temperature[-1] - exact.temperature(x, seconds))),
            )
        )
    assert errors[1][0] < 0.05 and errors[1][1] < 0.005
    order = np.log2(np.array(errors[0]) / np.array(errors[1]))
    assert np.min(order) > 1.9  # measured 1.96 and 2.00


def test_film_between_cups_is_the_integral_of_its_permeance():
    film = wall_parts.Film(lambda phi: 2e-11 + 3e-9 * phi**6)
    psat = float(water.saturation_iso13788(296.15))
    g = junctions.film_flux(film, 0.5 * psat, 1e-9 * psat, 0.0, 0.0, psat, 296.15)
    assert g == pytest.approx(psat * quad(film.permeance, 1e-9, 0.5, epsabs=0, epsrel=1e-13)[0], rel=1e-8)
    mean = junctions.film_flux(film, 0.9 * psat, 0.5 * psat, 0.0, 0.0, psat, 296.15, "mean")
    assert mean == pytest.approx(film.permeance(0.7) * 0.4 * psat, rel=1e-9)


def test_film_in_series_carries_one_flux_through_all_three():
    film = wall_parts.Film(lambda phi: 2e-11 + 3e-9 * phi**6, reverse=lambda phi: 1e-11 + 0 * phi)
    psat, ra, rb = float(water.saturation_iso13788(285.0)), 3e8, 8e8
    pa, pb = 0.95 * psat, 0.3 * psat
    g = junctions.film_flux(film, pa, pb, ra, rb, psat, 285.0)
    fa, fb = (pa - g * ra) / psat, (pb + g * rb) / psat
    assert g == pytest.approx(psat * quad(film.permeance, fb, fa, epsrel=1e-12)[0], rel=1e-8)
    back = junctions.film_flux(film, pa, pb, ra, rb, psat, 285.0, outside_first=False)
    assert back == pytest.approx((pa - pb) / (ra + rb + 1e11), rel=1e-9)
    assert junctions.film_flux(film, pb, pa, rb, ra, psat, 285.0, outside_first=False) == pytest.approx(-g)


def half_cell(m, T, phi, half, T_s):
    """Half a cell whose permeability does not change with temperature."""
    u = np.array([np.log(-np.log(phi))])
    z = u + m.kappa * np.log(T / wall_parts.T_REF)
    psat = water.saturation_iso13788(np.array([T]))
    r_w = water.RHO_WATER * water.R_VAPOUR
    cell = junctions.state(m, np.array([T]), u, m.table(z), np.array([1.0]), psat, r_w)
    return junctions.HalfCell(m, junctions.pick(cell, 0), half, T_s, 1.0, float(water.saturation_iso13788(T_s)), r_w)


def outflow(m, T, phi, half, phi_s):
    """Isothermal moisture flux from a cell to its face, by quadrature of the curves themselves."""
    rho_r = water.RHO_WATER * water.R_VAPOUR
    psat = float(water.saturation_iso13788(T))
    p, p_s = (-rho_r * T * np.log(x) for x in (phi, phi_s))

    def k(s):
        # a function of humidity is read at the temperature it is stated at
        same = np.exp(-s / (rho_r * T))
        of = s if m.storage_of == "suction" else -rho_r * wall_parts.T_REF * np.log(same)
        return m.liquid(of, m.storage(of if m.storage_of == "suction" else same))

    liquid = quad(lambda y: k(np.exp(y)) * np.exp(y), np.log(p), np.log(p_s), epsrel=1e-12, epsabs=0)[0]
    vapour = psat * quad(lambda x: m.permeability(x, None), phi_s, phi, epsrel=1e-12, epsabs=0)[0]
    return (vapour + liquid) / half


def test_two_media_meet_in_one_state_of_their_face():
    T = 285.0
    a, b = half_cell(PLASTER, T, 0.995, 1e-3, T), half_cell(BOARD, T, 0.90, 5e-4, T)
    g_v, g_l, u = junctions.meet(a, b, -2.0)

    def excess(phi):
        return outflow(PLASTER, T, 0.995, 1e-3, phi) + outflow(BOARD, T, 0.90, 5e-4, phi)

    face = brentq(excess, 0.90, 0.995, rtol=1e-14)
    assert np.exp(-np.exp(u)) == pytest.approx(face, rel=1e-8)
    assert g_v + g_l == pytest.approx(outflow(PLASTER, T, 0.995, 1e-3, face), rel=1e-6)
    assert g_v > 0.0 and g_l > 0.0
    back = junctions.meet(b, a, 0.5)
    assert back[:2] == pytest.approx((-g_v, -g_l), rel=1e-9)


def test_media_on_both_sides_of_a_film_see_one_flux():
    T = 285.0
    film = wall_parts.Film(lambda phi: 2e-11 + 3e-9 * phi**6, reverse=lambda phi: 1e-11 + 0 * phi)
    a, b = half_cell(PLASTER, T, 0.98, 1e-3, T), half_cell(BOARD, T, 0.60, 5e-4, T)
    g, ua, ub = junctions.meet_at_film(a, b, film, "integral", (0.0, 0.0))
    phi_a, phi_b = np.exp(-np.exp([ua, ub]))
    assert 0.60 < phi_b < phi_a < 0.98
    assert g == pytest.approx(outflow(PLASTER, T, 0.98, 1e-3, phi_a), rel=1e-6)
    assert g == pytest.approx(-outflow(BOARD, T, 0.60, 5e-4, phi_b), rel=1e-6)
    assert g == pytest.approx(a.psat * quad(film.permeance, phi_b, phi_a, epsrel=1e-12)[0], rel=1e-7)
    against = junctions.meet_at_film(b, a, film, "integral", (0.0, 0.0))
    assert 0.0 < -against[0] < g / 10  # the reverse permeance


def test_a_medium_before_a_film_and_air():
    T, film = 285.0, wall_parts.Film(lambda phi: 2e-11 + 3e-9 * phi**6)
    a = half_cell(PLASTER, T, 0.98, 1e-3, T)
    other = junctions.Passage(film, 4e7, 0.3 * a.psat, 1)
    g, u = junctions.leave(a, other, "integral", 0.0)
    phi, beyond = np.exp(-np.exp(u)), 0.3 + g * 4e7 / a.psat
    assert g == pytest.approx(outflow(PLASTER, T, 0.98, 1e-3, phi), rel=1e-6)
    assert g == pytest.approx(a.psat * quad(film.permeance, beyond, phi, epsrel=1e-12)[0], rel=1e-7)


def test_rain_is_taken_up_as_far_as_the_pores_draw_it():
    T, r_air = 285.0, 1e7
    cell = half_cell(PLASTER, T, 0.95, 1e-3, T)
    p_air = 0.8 * cell.psat
    full = np.exp(-np.exp(junctions.U_WET))
    most = -outflow(PLASTER, T, 0.95, 1e-3, full)  # drawn through a saturated face
    dry = junctions.rained_on(cell, r_air, p_air, 0.0, 0.0)
    assert dry[1] == pytest.approx(0.0, abs=1e-18)
    some = junctions.rained_on(cell, r_air, p_air, 0.5 * most, 0.0)
    assert some[1] == pytest.approx(0.5 * most, rel=1e-9) and some[2] < dry[2]
    downpour = junctions.rained_on(cell, r_air, p_air, 10 * most, 0.0)
    assert downpour[2] == junctions.U_WET
    assert sum(downpour[:2]) == pytest.approx(most, rel=1e-6)
    assert downpour[0] == pytest.approx((p_air - full * cell.psat) / r_air, rel=1e-9)
    # dew beyond what the pores draw runs off as well
    dew = junctions.rained_on(cell, 1e-3 * cell.psat / most, 2 * cell.psat, 1.0, 0.0)
    assert dew[0] == pytest.approx(most, rel=1e-6) and dew[1] == 0.0


def test_the_law_at_a_face_is_the_law_between_cells():
    """Floats and arrays, two temperatures, all three kinds of storage and permeability."""
    vapour = wall_parts.Material(
        1e6,
        lambda w, T: 0.5,
        half.water_content,
        lambda phi, w: half.permeability(w, wall_parts.T_REF),
        storage_of="suction",
    )
    for m in (BOARD, PLASTER, vapour):
        h, u_s = half_cell(m, 288.0, 0.9, 1e-3, 284.0), -0.8
        s = half_cell(m, 284.0, np.exp(-np.exp(u_s)), 1e-3, 284.0)
        lifted = [junctions.State(*(np.array([x]) for x in y.cell)) for y in (h, s)]
        law = [float(x[0]) for x in junctions.within(m, *lifted, 1e-3)]
        assert h.out(u_s) == pytest.approx(law, rel=1e-12)


def test_steady_wall_obeys_ohm():
    """Constant properties, no storage to speak of: series resistances, by hand."""
    plain = wall_parts.Material(1e5, lambda w, T: 0.04, lambda phi: 0.05 * phi, lambda phi, w: 2e-10)
    slab = wall_parts.Layer(plain, graded(0.1, 6))
    film = wall_parts.Film(lambda phi: 1e-9)
    warm, cold = steady(296.15, 1400.0), steady(296.15, 600.0, transfer=1e-7)
    run = mol.solve(
        wall_parts.Wall((slab,), {1: film}),
        cold,
        warm,
        np.full(6, 296.15),
        np.full(6, 0.35),
        interval=3e6,
        constants=mol.Constants(latent_heat=0.0, c_vapour=0.0),
    )
    series = 1 / 1e-7 + 0.1 / 2e-10 + 1e9 + 1 / 2.5e-8
    pressure = run.humidity[-1] * water.saturation_iso13788(296.15)
    x = np.cumsum(run.width) - run.width / 2
    g = 800.0 / series
    assert np.allclose(pressure, 600.0 + g * (1e7 + x / 2e-10), rtol=1e-6)


@pytest.mark.slow
def test_brick_wall_with_inner_insulation_converges():
    """HAMSTAD case 5 after 60 days. Measured between 60 and 120 cells: 3.9e-4 of humidity, 0.0021 K."""
    x, coarse = hamstad5.solve(cells=(30, 10, 20))
    y, fine = hamstad5.solve()
    phi = np.interp(x, y, fine.humidity[-1])
    assert np.max(np.abs(coarse.humidity[-1] - phi)) < 2e-3
    assert np.max(np.abs(coarse.temperature[-1] - np.interp(x, y, fine.temperature[-1]))) < 0.01
    gain = (fine.water[-1] - fine.water[0]) @ fine.width
    assert gain == pytest.approx(fine.entered[-1].sum(), abs=1e-5)
    # the water gathers behind the insulation, on its cold side, and nowhere condenses
    assert 0.380 < y[np.argmax(fine.humidity[-1])] < 0.384
    assert 0.93 < fine.humidity[-1].max() < 0.97


def test_drying_slab_of_given_diffusivity_meets_its_fourier_series():
    """HAMSTAD case 2 in 120 cells; measured 1.9e-4 of the range, four times that in 60."""
    case, seconds = drying.DryingSlab(), 100 * 3600.0
    stuff = wall_parts.Material(
        525 * 800.0,
        lambda w, T: 0.15,
        drying.water_content,
        lambda phi, w: 1e-15,
        diffusivity=lambda w: 6e-10 + 0 * w,
    )
    psat, width = float(water.saturation_iso13788(293.15)), graded(0.2, 120)
    left, right = (steady(293.15, phi * psat, "surface") for phi in (0.45, 0.65))
    run = mol.solve(
        wall_parts.Wall((wall_parts.Layer(stuff, width),)),
        left,
        right,
        np.full(120, 293.15),
        np.full(120, 0.95),
        interval=seconds,
        constants=mol.Constants(latent_heat=0.0, c_vapour=0.0),
    )
    x = np.cumsum(width) - np.asarray(width) / 2
    error = np.abs(run.water[-1] - drying.water_profile(x, seconds, case))
    assert np.max(error) < 3e-4 * 65.0


def test_permeability_of_humidity_and_of_water_content_part_when_it_is_cold():
    """With storage of suction, one suction is another humidity at another temperature."""
    both = [
        wall_parts.Material(
            1e6,
            lambda w, T: 0.5,
            half.water_content,
            lambda phi, w: 1e-12 * (1 + 50 * phi**8),
            storage_of="suction",
            permeability_of=of,
        )
        for of in ("humidity", "storage")
    ]
    flows = []
    for stuff in both:
        layer = wall_parts.Layer(stuff, (0.01,) * 4)
        one = steady(263.15, 0.9 * float(water.saturation_iso13788(263.15)))
        other = steady(263.15, 0.5 * float(water.saturation_iso13788(263.15)))
        run = mol.solve(wall_parts.Wall((layer,)), one, other, np.full(4, 263.15), np.full(4, 0.7), interval=3e5)
        flows.append(run.entered[-1, 0])
    assert 0.01 < abs(flows[1] / flows[0] - 1) < 0.3
