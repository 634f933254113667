"""Closed forms among the references: limiting cases, conservation, printed values."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import eigh_tridiagonal
from scipy.special import erfc

ROOT = Path(__file__).resolve().parents[2] / "benchmarks" / "validation"
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from drydown_validation.references import (  # noqa: E402
    crank_slab,
    junctions,
    kirchhoff_film,
    moisture_buffer,
    periodic,
    wall_parts,
    water,
)
from drydown_validation.references import glaser_13788 as glaser  # noqa: E402
from drydown_validation.references import method_of_lines as mol  # noqa: E402
from drydown_validation.references import multilayer_steady as layered  # noqa: E402
from drydown_validation.references import neumann_front as frost  # noqa: E402

# --- Crank ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("biot", "root"), [(0.1, 0.3111), (1.0, 0.8603), (10.0, 1.4289), (100.0, 1.5552)])
def test_slab_roots_match_the_printed_table(biot, root):
    """Carslaw and Jaeger 1959, appendix IV, table I (from memory), four decimals."""
    assert crank_slab._roots(biot, 1)[0] == pytest.approx(root, abs=5.1e-5)


@pytest.mark.parametrize("biot", [0.1, 1.0, 10.0, 100.0, np.inf])
def test_slab_matches_finite_volumes(biot):
    """Half the slab in 800 cells, marched exactly by eigenvalues: error of order (1/800)^2."""
    n = 800
    h = 1.0 / n
    face = 1.0 / (h / 2 + (0.0 if np.isinf(biot) else 1.0 / biot))
    main = np.full(n, -2.0 / h**2)
    main[0], main[-1] = -1.0 / h**2, -1.0 / h**2 - face / h
    values, vectors = eigh_tridiagonal(main, np.full(n - 1, 1.0 / h**2))
    X = (np.arange(n) + 0.5) * h
    for tau in (0.02, 0.2, 2.0):
        u = vectors @ (np.exp(values * tau) * vectors.sum(axis=0))
        assert np.max(np.abs(u - crank_slab.remaining(X, tau, biot))) < 5e-6
        assert np.mean(u) == pytest.approx(crank_slab.mean_remaining(tau, biot), abs=2e-6)


def test_slab_mean_is_the_integral_and_short_times_are_a_half_space():
    nodes, weights = np.polynomial.legendre.leggauss(120)
    for biot in (0.1, 3.0, 1e6, np.inf):
        mean = crank_slab.remaining(nodes, 0.05, biot) @ weights / 2
        assert mean == pytest.approx(crank_slab.mean_remaining(0.05, biot), rel=1e-11)
    X, tau = np.linspace(0.0, 1.0, 11), 1e-3
    assert np.allclose(crank_slab.remaining(X, tau, np.inf), 1 - erfc((1 - X) / 2 / np.sqrt(tau)), atol=1e-13)


# --- periodic ---------------------------------------------------------------------------------------


def test_periodic_half_space_solves_the_equation_and_lags_as_it_fades():
    k, c, period = 1.4, 2e6, 86400.0
    depth = periodic.penetration_depth(k, c, period)
    x, t, d, s = np.linspace(0.01, 0.5, 30), 4000.0, 1e-3, 20.0

    def f(x, t):
        return periodic.halfspace(x, t, k, c, period, 0.13)

    bend = (f(x + d, t) - 2 * f(x, t) + f(x - d, t)) / d**2
    assert np.allclose((f(x, t + s) - f(x, t - s)) / (2 * s), k / c * bend, rtol=1e-3, atol=1e-9)
    # the film: (air - surface)/R = -lambda du/dx
    slope = (-3 * f(0.0, t) + 4 * f(1e-5, t) - f(2e-5, t)) / 2e-5
    assert (np.cos(2 * np.pi * t / period) - f(0.0, t)) / 0.13 == pytest.approx(-k * slope, rel=1e-5)
    # one depth in: 1/e in amplitude, one radian late
    assert periodic.halfspace(depth, period / (2 * np.pi), k, c, period) == pytest.approx(np.exp(-1.0))


def test_transfer_matrix_limits():
    thick = [periodic.Slab(5.0, 1.4, 2e6)]
    alone = periodic.dynamic(thick, 0.0, 0.0)
    assert alone.admittance_inside == pytest.approx(periodic.surface_admittance(1.4, 2e6, 86400.0), rel=1e-9)
    light = periodic.dynamic([periodic.Slab(0.1, 0.04, 1e-3)], 0.13, 0.04)
    assert light.decrement == pytest.approx(1.0, rel=1e-9)
    assert abs(light.time_shift) < 1e-2
    whole = periodic.matrix(periodic.Slab(0.2, 0.8, 1.5e6), 86400.0)
    halves = periodic.matrix(periodic.Slab(0.1, 0.8, 1.5e6), 86400.0)
    assert np.allclose(whole, halves @ halves, rtol=1e-12)
    assert np.linalg.det(whole) == pytest.approx(1.0, rel=1e-12)


def test_iso_13786_example():
    """Guideline TSG-1-004:2022, table 8.4, layers listed from inside: f = 0.449; U printed 0.130."""
    parts = [
        periodic.Slab(0.030, 0.13, 700 * 2100.0),
        periodic.Slab(0.250, 0.035, 100 * 840.0),
        periodic.Slab(0.040, 0.21, 900 * 840.0),
    ]
    wall = periodic.dynamic(parts, 0.13, 0.04)
    assert wall.decrement == pytest.approx(0.449, abs=5e-4)
    # the layers as printed give 0.1293; the print says 0.130
    assert wall.transmittance == pytest.approx(0.130, abs=1e-3)
    turned = periodic.dynamic(parts[::-1], 0.04, 0.13)
    assert turned.periodic == pytest.approx(wall.periodic, rel=1e-12)


# --- film -------------------------------------------------------------------------------------------


def steep(phi):
    return 2e-11 + 3e-9 * phi**6


def test_cup_flux_is_the_integral():
    p_sat = float(water.saturation_iso13788(296.15))
    wet = kirchhoff_film.cup_flux(steep, kirchhoff_film.WET_CUP)
    assert wet == pytest.approx(p_sat * (2e-11 * 0.5 + 3e-9 * (1 - 0.5**7) / 7), rel=1e-12)
    dry = kirchhoff_film.cup_flux(steep, kirchhoff_film.DRY_CUP)
    assert dry == pytest.approx(-p_sat * (2e-11 * 0.5 + 3e-9 * 0.5**7 / 7), rel=1e-12)
    mean = kirchhoff_film.apparent_permeance(steep, kirchhoff_film.WET_CUP, "mean")
    assert mean == pytest.approx(steep(0.75), rel=1e-14)


def test_kinked_table_is_integrated_piece_by_piece():
    knots, values = (0.1, 0.3, 0.5, 0.7, 0.9), (1e-11, 2e-11, 9e-11, 4e-10, 2e-9)
    exact = np.trapezoid(values, knots)
    table = kirchhoff_film.integral(lambda x: np.interp(x, knots, values), 0.1, 0.9, knots)
    assert table == pytest.approx(exact, rel=1e-13)


def test_air_layers_in_series_carry_the_same_flux_and_both_codes_agree():
    cup = replace(kirchhoff_film.WET_CUP, resistance_inside=8e7, resistance_outside=4e7)
    p_sat = float(water.saturation_iso13788(cup.temperature))
    for reading in ("integral", "mean"):
        g = kirchhoff_film.cup_flux(steep, cup, reading)
        a, b = 1.0 - g * 8e7 / p_sat, 0.5 + g * 4e7 / p_sat
        over_film = p_sat * (
            kirchhoff_film.integral(steep, b, a) if reading == "integral" else steep((a + b) / 2) * (a - b)
        )
        assert g == pytest.approx(over_film, rel=1e-10)
        film = wall_parts.Film(steep)
        other = junctions.film_flux(film, p_sat, 0.5 * p_sat, 8e7, 4e7, p_sat, cup.temperature, reading)
        assert other == pytest.approx(g, rel=1e-7)


# --- layered wall -----------------------------------------------------------------------------------


def steady_wall(films):
    return layered.SteadyWall(
        (
            layered.Sheet(0.012, 0.13, 2e-12),
            layered.Sheet(0.14, 0.04, 1.6e-10),
            layered.Sheet(0.0125, 0.2, 2e-11),
        ),
        t_out=275.15,
        t_in=294.15,
        p_out=550.0,
        p_in=700.0,
        films=films,
    )


def test_layered_wall_without_vapour_is_the_sum_of_resistances():
    wall = replace(steady_wall({}), latent_heat=0.0, c_vapour=0.0)
    out = layered.solve(wall)
    total = 1 / 25 + 1 / 7.7 + 0.012 / 0.13 + 0.14 / 0.04 + 0.0125 / 0.2
    assert out.heat == pytest.approx(-19.0 / total, rel=1e-12)
    assert out.g == pytest.approx(-150 / (1e7 + 6e9 + 0.14 / 1.6e-10 + 6.25e8 + 4e7), rel=1e-12)


def test_layered_wall_carries_one_flux_and_meets_the_inner_air():
    wall = steady_wall({0: lambda phi: 5e-9, 2: steep})
    out = layered.solve(wall)
    assert out.g < 0 and not out.saturated
    p = out.pressure_inner[2]
    jump = kirchhoff_film.integral(
        steep,
        p / float(water.saturation_iso13788(out.temperature[2])),
        out.pressure_outer[2] / float(water.saturation_iso13788(out.temperature[2])),
    )
    assert out.g == pytest.approx(float(water.saturation_iso13788(out.temperature[2])) * jump, rel=1e-9)
    assert out.pressure_inner[-1] - out.g / wall.beta_in == pytest.approx(700.0, rel=1e-9)
    theta = out.temperature[-1] - 273.15
    carried = (wall.latent_heat + wall.c_vapour * (theta + 21.0) / 2) * out.g
    assert out.heat == pytest.approx(7.7 * (theta - 21.0) + carried, rel=1e-10)


def test_layered_wall_is_where_the_method_of_lines_comes_to_rest():
    """Two codes, films included; the lines' error is that of half cells in the enthalpy carried."""
    wall = steady_wall({0: lambda phi: 5e-9, 2: steep})
    exact = layered.solve(wall)
    layers = []
    for sheet in wall.sheets:
        stuff = wall_parts.Material(
            1e4,
            lambda w, T, s=sheet: s.conductivity,
            lambda phi: 0.1 * phi,
            lambda phi, w, s=sheet: s.permeability,
            permeability_factor=lambda T: 1.0,
        )
        layers.append(wall_parts.Layer(stuff, (sheet.thickness / 6,) * 6))
    one = np.ones(2)
    out = wall_parts.Side(275.15 * one, 550 * one, 25 * one, 1e-7 * one, 0 * one)
    inn = wall_parts.Side(294.15 * one, 700 * one, 7.7 * one, 2.5e-8 * one, 0 * one)
    films = {k: wall_parts.Film(v) for k, v in wall.films.items()}
    run = mol.solve(wall_parts.Wall(tuple(layers), films), out, inn, np.full(18, 285.0), np.full(18, 0.5), interval=3e8)
    p = run.humidity[-1] * water.saturation_iso13788(run.temperature[-1])
    first = exact.pressure_inner[0] - exact.g * 0.001 / 2e-12
    assert p[0] == pytest.approx(first, rel=2e-5)
    last = exact.pressure_outer[3] + exact.g * 0.0125 / 12 / 2e-11
    assert p[-1] == pytest.approx(last, rel=2e-5)
    assert np.interp(0.164, np.cumsum(run.width) - run.width / 2, run.temperature[-1]) < exact.temperature[3]


# --- monthly balance --------------------------------------------------------------------------------


def test_glaser_example_to_its_printed_precision():
    """Guideline TSG-1-004:2022, table 8.3. April is what could dry, not what is there."""
    b = glaser.balance(glaser.EXAMPLE_COURSES, glaser.EXAMPLE_MONTHS)
    wet = np.flatnonzero(b.content.max(axis=0))
    assert wet.size == 1 and b.depth_sd[wet[0]] == 9.0  # outer face of the insulation
    assert b.start == 10
    assert np.max(np.abs(b.potential[:, wet[0]] * 1e3 - np.array(glaser.EXAMPLE_G_C))) < 0.5
    assert np.all(b.content >= 0.0) and b.content[3].sum() == 0.0
    assert b.g_c.sum() == pytest.approx(0.0, abs=1e-15)
    assert np.allclose(glaser.surface_factor(glaser.EXAMPLE_MONTHS), glaser.EXAMPLE_FACTOR, atol=5.1e-4)
    resistance = 0.04 + sum(c.thickness / c.conductivity for c in glaser.EXAMPLE_COURSES)
    assert 1 - 0.25 / (resistance + 0.25) == pytest.approx(0.939, abs=5e-4)


def test_glaser_string_is_taut():
    s, level = np.array([0.0, 1, 2, 3, 4]), np.array([500.0, 450, 700, 800, 1500])
    none = np.zeros(5, bool)
    assert glaser.hull(s, level, none) == [0, 1, 3, 4]
    g = glaser.rates(s, level, none)
    assert np.all(g >= 0.0) and g[1] > 0.0 and g[2] == 0.0
    # what comes in at the inner end goes out at the outer end or stays
    flow_in, flow_out = glaser.DELTA0 * 700.0, glaser.DELTA0 * -50.0
    assert g.sum() == pytest.approx(flow_in - flow_out, rel=1e-12)


# --- freezing ---------------------------------------------------------------------------------------


def test_front_conserves_heat_and_meets_its_own_conditions():
    for case in (frost.Freezing(), frost.one_phase(frost.Freezing()), frost.Freezing(latent=5e6)):
        t = 5 * 86400.0
        s = float(case.position(t))
        assert float(case.temperature(s * (1 - 1e-12), t)) == pytest.approx(273.15, abs=1e-9)
        assert float(case.temperature(s * (1 + 1e-12), t)) == pytest.approx(273.15, abs=1e-9)
        nodes, weights = np.polynomial.legendre.leggauss(200)
        cold = s / 2 * (nodes + 1)
        warm = s + 10.0 / 2 * (nodes + 1)
        lost = case.latent * s
        lost += case.capacity_frozen * (273.15 - case.temperature(cold, t)) @ weights * s / 2
        lost += case.capacity_unfrozen * (case.t_start - case.temperature(warm, t)) @ weights * 5.0
        # water cooled to the freezing point before it froze
        lost += case.capacity_unfrozen * (case.t_start - 273.15) * s
        assert float(case.heat_out(t)) == pytest.approx(lost, rel=1e-9)


def test_slow_front_follows_stefan():
    case = frost.one_phase(frost.Freezing(latent=3.34e11))
    stefan = case.capacity_frozen * 10.0 / case.latent
    assert case.front == pytest.approx(np.sqrt(stefan / 2), rel=1e-4)


# --- buffering --------------------------------------------------------------------------------------


def test_buffer_constant_is_that_of_the_half_space():
    case = moisture_buffer.Buffer(permeability=1e-11, slope=50.0)
    exact = moisture_buffer.exchanged(case) / 42.0
    assert exact == pytest.approx(moisture_buffer.ideal_value(case), rel=1e-3)
    series = sum(np.sin(n * np.pi / 3) ** 2 * n**-1.5 for n in range(1, 200_001)) + 200_000**-0.5
    assert moisture_buffer.wave_factor(1 / 3) == pytest.approx(2 / np.pi * series, rel=1e-6)


def test_buffer_limits():
    base = moisture_buffer.Buffer(permeability=1e-11, slope=50.0)
    free = moisture_buffer.exchanged(base)
    filmed = moisture_buffer.exchanged(replace(base, beta=2e-8))
    assert 0.8 * free < filmed < 0.95 * free
    gaps = [1 - moisture_buffer.exchanged(replace(base, beta=b)) / free for b in (2e-7, 1e-6)]
    assert 4 < gaps[0] / gaps[1] < 6 and gaps[1] < 5e-3  # falls as 1/beta
    with pytest.raises(ValueError, match="as good as none"):
        moisture_buffer.exchanged(replace(base, beta=1e-3))
    thin = moisture_buffer.exchanged(replace(base, thickness=1e-4))
    assert thin == pytest.approx(50.0 * 1e-4 * 0.42, rel=1e-6)
    t = np.array([0.0, 28800.0])
    film = replace(base, beta=2e-8)
    swing = np.diff(moisture_buffer.cycle(film, t, 20_000))[0]
    assert swing == pytest.approx(filmed, rel=1e-3)
