"""Observed order of convergence on manufactured smooth solutions: at least 1.9 in time and in space."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drydown_validation.references.manufactured import Manufactured, Medium
from manufactured_runs import end_state, order, problem

CASES = {
    "coupled": Manufactured(),
    "heat alone": Manufactured(moisture=False),
    "moisture alone": Manufactured(heat=False),
}
HOUR = 3600.0


def rms(a: np.ndarray) -> float:
    return float(np.sqrt(np.mean(a**2)))


@pytest.mark.parametrize("name", CASES)
def test_order_in_time(name):
    """Halving the step, on one mesh, against a step 32 times finer than the coarsest (15 min)."""
    exact = replace(CASES[name], period=2 * 86400.0)
    ends = {}
    for pieces in (4, 8, 16, 128):
        marks = np.linspace(0.0, 24 * HOUR, 24 * pieces + 1)
        ends[pieces] = end_state(problem(exact, 20, marks, newton=1e-6))
    for k, label in ((0, "T"), (1, "phi")):
        errors = [rms(ends[p][k] - ends[128][k]) for p in (4, 8, 16)]
        if errors[0] < 1e-9:
            continue  # the field is held constant in this case
        seen = order(errors)
        print(f"order in time, {name}, {label}: {seen:.2f}  errors {errors}")
        assert seen >= 1.9


@pytest.mark.parametrize("name", CASES)
def test_order_in_space(name):
    """Halving the cells against the exact fields; slow fields and short steps keep the time error away."""
    exact = replace(CASES[name], period=40 * 86400.0)
    marks = np.linspace(0.0, 240 * HOUR, 961)
    errors_t, errors_phi = [], []
    for cells in (12, 24, 48):
        p = problem(exact, cells, marks)
        temperature, phi = end_state(p)
        t_exact, phi_exact = exact.state(p.grid.x, marks[-1])
        errors_t.append(rms(temperature - t_exact))
        errors_phi.append(rms(phi - phi_exact))
    for errors, label in ((errors_t, "T"), (errors_phi, "phi")):
        if errors[0] < 1e-9:
            continue
        print(f"order in space, {name}, {label}: {order(errors):.2f}  errors {errors}")
        assert order(errors) >= 1.9


def test_order_in_space_across_layers():
    """Two layers whose permeability differs a thousandfold."""
    tight = Medium(permeability_dry=1e-13, liquid=2e-18, linear=20.0, steep=30.0)
    open_ = Medium(permeability_dry=1e-10, permeability_wet=0.5, conductivity_dry=0.6)
    exact = Manufactured(media=(tight, open_), thickness=(0.03, 0.05), period=40 * 86400.0, swing_phi=0.05, swing_T=3.0)
    marks = np.linspace(0.0, 240 * HOUR, 961)
    errors_t, errors_phi = [], []
    for cells in (12, 24, 48):
        p = problem(exact, cells, marks)
        temperature, phi = end_state(p)
        t_exact, phi_exact = exact.state(p.grid.x, marks[-1])
        errors_t.append(rms(temperature - t_exact))
        errors_phi.append(rms(phi - phi_exact))
    print(f"order in space, two layers: T {order(errors_t):.2f} {errors_t}, phi {order(errors_phi):.2f} {errors_phi}")
    assert order(errors_t) >= 1.9
    assert order(errors_phi) >= 1.9
