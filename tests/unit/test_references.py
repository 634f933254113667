"""The independent references, checked by themselves: convergence, conservation, limiting cases."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2] / "benchmarks" / "validation"
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from drydown_validation.references import halfspace_uptake as half  # noqa: E402
from drydown_validation.references import isothermal_drying as drying  # noqa: E402

DAY = 86400.0
CONSERVATIVE = half.HalfSpace(form="conservative", latent_heat=2.5e6, c_vapour=1860.0)


def test_no_reference_imports_the_engine():
    folder = ROOT / "drydown_validation" / "references"
    files = sorted(folder.glob("*.py"))
    assert len(files) >= 3
    allowed = {"numpy", "scipy"} | set(sys.stdlib_module_names)
    for file in files:
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.Import):
                names = {a.name.split(".")[0] for a in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                names = {(node.module or "").split(".")[0]}
            else:
                continue
            assert names <= allowed, f"{file.name} imports {names - allowed}"


# --- EN 15026 annex A -------------------------------------------------------------------------------


def depths():
    return np.concatenate([np.linspace(0.0, 0.1, 101), np.linspace(0.11, 5.0, 100), [10.0, 30.0]])


@pytest.mark.parametrize("case", [half.HalfSpace(), CONSERVATIVE], ids=["standard", "conservative"])
def test_halfspace_converges(case):
    coarse, fine = half.solve(case, tol=1e-8), half.solve(case, tol=1e-10)
    other = half.solve(case, tol=1e-9, eta0=5e-5, eta_end=0.03)
    for t in (7 * DAY, 30 * DAY, 365 * DAY):
        for profile in (coarse, other):
            assert np.max(np.abs(profile.water_content(depths(), t) - fine.water_content(depths(), t))) < 1e-8
            assert np.max(np.abs(profile.temperature(depths(), t) - fine.temperature(depths(), t))) < 1e-8


@pytest.mark.parametrize("case", [half.HalfSpace(), CONSERVATIVE], ids=["standard", "conservative"])
def test_halfspace_gains_what_enters_through_its_face(case):
    profile, t = half.solve(case, tol=1e-10), 30 * DAY
    s = np.linspace(0.0, np.arcsinh(30.0 / 1e-4), 400_001)
    x = 1e-4 * np.sinh(s)
    w0 = half.water_content(half.suction(0.5, 293.15))
    gain = np.trapezoid((profile.water_content(x, t) - w0) * 1e-4 * np.cosh(s), s)
    assert gain == pytest.approx(float(profile.uptake(t)), rel=1e-7)


def test_halfspace_meets_its_boundary_values():
    profile = half.solve()
    assert float(profile.humidity(0.0, DAY)) == pytest.approx(0.95, rel=1e-9)
    assert float(profile.temperature(0.0, DAY)) == pytest.approx(303.15, abs=1e-9)
    assert float(profile.humidity(200.0, DAY)) == pytest.approx(0.50, rel=1e-8)
    # the step named in the acceptance of the case: 128.3 - 42.9 kg/m3
    assert float(profile.water_content(0.0, DAY)) == pytest.approx(128.3, abs=0.05)
    assert float(profile.water_content(200.0, DAY)) == pytest.approx(42.9, abs=0.05)


def test_halfspace_satisfies_the_partial_differential_equation():
    """d/dt of water and enthalpy against d/dx of the fluxes, by differences of the solution alone."""
    p, c = half.solve(CONSERVATIVE, tol=1e-10), CONSERVATIVE
    t, x = 30 * DAY, np.array([0.005, 0.01, 0.02, 0.03])
    dx, dt = 2e-5, 600.0

    def fluxes(x):
        T, w, s = p.temperature(x, t), p.water_content(x, t), p.suction(x, t)

        def slope(f):
            return (8 * (f(x + dx, t) - f(x - dx, t)) - (f(x + 2 * dx, t) - f(x - 2 * dx, t))) / (12 * dx)

        def pv(x, t):
            return p.humidity(x, t) * c.saturation_pressure(p.temperature(x, t))

        g_v = -half.permeability(w, T) * slope(pv)
        g_l = half.liquid_conductivity(half.water_content(s)) * slope(p.suction)
        theta = T - 273.15
        heat = -half.conductivity(w) * slope(p.temperature)
        return g_v + g_l, heat + (c.latent_heat + c.c_vapour * theta) * g_v + c.c_water * theta * g_l

    def enthalpy(t):
        return (c.dry_capacity + c.c_water * p.water_content(x, t)) * (p.temperature(x, t) - 273.15)

    h = 4e-5
    dG, dQ = ((b - a) / (2 * h) for a, b in zip(fluxes(x - h), fluxes(x + h), strict=True))
    dw = (p.water_content(x, t + dt) - p.water_content(x, t - dt)) / (2 * dt)
    dH = (enthalpy(t + dt) - enthalpy(t - dt)) / (2 * dt)
    assert np.max(np.abs(dw + dG)) < 2e-4 * np.max(np.abs(dw))
    assert np.max(np.abs(dH + dQ)) < 2e-4 * np.max(np.abs(dH))


def test_form_of_the_standard_and_conservative_form_hardly_differ():
    """Measured: 3.7e-5 K and 2.2e-5 kg/m3, far inside the bands the engine is held to."""
    a, b = half.solve(), half.solve(CONSERVATIVE)
    for t in (7 * DAY, 30 * DAY, 365 * DAY):
        assert 1e-6 < np.max(np.abs(a.temperature(depths(), t) - b.temperature(depths(), t))) < 5e-5
        assert 1e-6 < np.max(np.abs(a.water_content(depths(), t) - b.water_content(depths(), t))) < 5e-5


# --- HAMSTAD case 2 ---------------------------------------------------------------------------------


def test_drying_slab_matches_images_at_short_time_and_the_line_at_long_time():
    from scipy.special import erfc

    c = drying.DryingSlab()
    w0, wl, wr = (float(drying.water_content(p)) for p in (c.phi_start, c.phi_left, c.phi_right))
    x, t = np.linspace(0.0, c.thickness, 41), 100 * 3600.0
    reach = 2.0 * np.sqrt(c.diffusivity * t)
    images = w0 + np.zeros_like(x)
    for k in range(4):
        for level, depth in ((wl, x), (wr, c.thickness - x)):
            near, far = 2 * k * c.thickness + depth, 2 * (k + 1) * c.thickness - depth
            images += (level - w0) * (erfc(near / reach) - erfc(far / reach))
    assert np.allclose(drying.water_profile(x, t), images, rtol=1e-12)
    assert np.allclose(drying.water_profile(x, 1e9), wl + (wr - wl) * x / c.thickness, rtol=1e-10)


def test_drying_slab_mean_is_the_integral_of_its_profile():
    nodes, weights = np.polynomial.legendre.leggauss(200)
    for hours in (100, 300, 1000):
        mean = drying.water_profile(0.1 + 0.1 * nodes, hours * 3600.0) @ weights / 2
        assert mean == pytest.approx(drying.mean_water(hours * 3600.0), rel=1e-11)


def test_drying_slab_leaves_out_next_to_no_vapour():
    assert 0.0 < drying.vapour_share() < 1e-4
    phi = np.linspace(0.3, 0.99, 20)
    assert np.allclose(drying.humidity(drying.water_content(phi)), phi, rtol=1e-12)
