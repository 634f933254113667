"""EN 15026 annex A and HAMSTAD case 2 against independent solutions."""

from __future__ import annotations

import numpy as np
import pytest
from benchmark_materials import EN15026, HAMSTAD_2
from drydown import Assembly, Case, Chamber, Initial, Layer, Physics, simulate
from drydown_validation.references import halfspace_uptake, isothermal_drying

START = np.datetime64("2001-01-01T00", "s")
STEP_OF_W = 128.3 - 42.9  # kg/m3, EN 15026 annex A


@pytest.fixture(scope="module")
def uptake():
    """A year of uptake into 40 m of material (the standard's half space)."""
    case = Case(
        Assembly((Layer(EN15026, 40.0, cells=300),)),
        Chamber(303.15, 0.95, surface=True),
        Chamber(293.15, 0.50, sealed=True, convection=0.0),
        START,
        START + np.timedelta64(365, "D"),
        initial=Initial(293.15, 0.50),
        # the constants of the case: heat of evaporation 2.5 MJ/kg and 4187 J/(kg K), no more
        physics=Physics(latent_heat=2.5e6, water_heat_capacity=4187.0, vapour_heat_capacity=0.0),
    )
    return simulate(case)


@pytest.mark.parametrize("days", [7, 30, 365])
def test_en15026_annex_a(uptake, days):
    """w within 0.5 % of the step and T within 0.02 K at every cell (EN 15026:2007 annex A)."""
    exact = halfspace_uptake.solve(halfspace_uptake.HalfSpace(form="standard"))
    x, t = uptake["x"].values, days * 86400.0
    dw = uptake["water_content"].values[24 * days] - exact.water_content(x, t)
    dt = uptake["temperature"].values[24 * days] - exact.temperature(x, t)
    worst_w, worst_t = np.max(np.abs(dw)) / STEP_OF_W, np.max(np.abs(dt[x < 20.0]))
    print(f"EN 15026 annex A, {days} d: w {100 * worst_w:.3f} % of the step, T {worst_t:.4f} K")
    assert worst_w < 0.005
    assert worst_t < 0.02


def test_en15026_step_is_that_of_the_standard():
    """The step quoted, 42.9 to 128.3 kg/m3, follows from the retention curve at 50 % and 95 %."""
    p = -1000.0 * 461.5 * np.array([293.15, 303.15]) * np.log([0.50, 0.95])
    w = EN15026.storage(p)
    assert w == pytest.approx([42.9, 128.3], abs=0.2)


def test_hamstad_case_2():
    """Within 0.3 % of the exact series at 100, 300 and 1000 h, every cell (Hagentoft et al. 2004)."""
    case = Case(
        Assembly((Layer(HAMSTAD_2, 0.2, cells=100),)),
        Chamber(293.15, 0.45, surface=True),
        Chamber(293.15, 0.65, surface=True),
        START,
        START + np.timedelta64(1000, "h"),
        initial=Initial(293.15, 0.95),
    )
    ds = simulate(case)
    for hours in (100, 300, 1000):
        exact = isothermal_drying.water_profile(ds["x"].values, hours * 3600.0)
        worst = np.max(np.abs(ds["water_content"].values[hours] / exact - 1.0))
        print(f"HAMSTAD case 2, {hours} h: {100 * worst:.3f} %")
        assert worst < 0.003
    assert ds.attrs["water_closure_step_max"] < 1e-9
