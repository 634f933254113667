"""Criteria against published numbers, and against their equations solved by a general-purpose solver.

The equations of the models are written out here again from their sources; nothing of drydown's models is used to
check drydown's models.
"""

from __future__ import annotations

import numpy as np
import pytest
from drydown.criteria import decay_model, mould_model
from scipy.integrate import solve_ivp

WEEK = 168.0
#: Ojanen et al. (2010), tables 4 and 6: k1 below and from M = 1, A, B, C, RH_min.
OJANEN_2010 = {
    "very sensitive": (1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    "sensitive": (0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    "medium resistant": (0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    "resistant": (0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}


def critical(t, lowest=80.0):
    """RH_crit [%], Hukka & Viitanen (1999)."""
    return max(-0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100.0, lowest) if t <= 20.0 else lowest


def growth(m, t, rh, k):
    """dM/dt per hour; k as in OJANEN_2010, or None for the model of 1999 on pine."""
    early, late, a, b, c, lowest = k or (1.0, None, 1.0, 7.0, 2.0, 80.0)
    t_m = np.exp(-0.68 * np.log(t) - 13.9 * np.log(rh) + 66.02)
    if late is None:
        late = 2.0 / (np.exp(-0.74 * np.log(t) - 12.72 * np.log(rh) + 61.50) / t_m - 1.0)
    x = (critical(t, lowest) - rh) / (critical(t, lowest) - 100.0)
    top = a + b * x - c * x * x
    return (early if m < 1.0 else late) * max(1.0 - np.exp(2.3 * (m - top)), 0.0) / (WEEK * t_m)


@pytest.mark.parametrize(("t", "rh"), [(1, 97.03), (5, 88.02), (10, 82.03), (15, 80.04), (20, 80.04)])
def test_critical_humidity(t, rh):
    """Hukka & Viitanen (1999), the polynomial at round temperatures."""
    assert mould_model.critical_humidity(float(t), 80.0) == pytest.approx(rh, abs=0.006)


def test_critical_humidity_has_a_floor():
    """80 % is the floor (85 % for the resistant classes); nothing grows at and below 0 degC."""
    assert mould_model.critical_humidity(17.0, 80.0) == 80.0  # the bare polynomial gives 79.9
    assert mould_model.critical_humidity(25.0, 80.0) == 80.0
    assert mould_model.critical_humidity(25.0, 85.0) == 85.0
    assert mould_model.critical_humidity(0.0, 80.0) == mould_model.critical_humidity(-5.0, 80.0) == 100.0


def test_class_table():
    """Ojanen et al. (2010), tables 4 and 6."""
    for name, row in OJANEN_2010.items():
        assert mould_model.CLASSES[name][:6] == row
        assert mould_model.CLASSES[name][6:] == (0.0, 0.0)


#: T [degC], RH [%], class, M after 4, 8, 12, 26, 52 weeks: the equations stepped hour by hour, from M = 0.
WEEKS = [
    (22, 97, "very sensitive", 4.682, 5.505, 5.505, 5.505, 5.505),
    (22, 97, "sensitive", 1.443, 2.551, 3.624, 4.677, 4.677),
    (22, 97, "medium resistant", 0.207, 0.414, 0.620, 1.454, 2.842),
    (22, 97, "resistant", 0.093, 0.186, 0.278, 0.594, 1.055),
    (22, 97, "original pine", 4.685, 5.505, 5.505),
    (20, 95, "very sensitive", 3.033, 5.118, 5.123),
    (20, 95, "sensitive", 1.112, 1.889, 2.658, 4.206, 4.235),
    (20, 95, "medium resistant", 0.145, 0.290, 0.434, 0.937, 2.069),
    (20, 90, "very sensitive", 0.952, 2.779, 3.919, 3.995, 3.995),
    (20, 90, "sensitive", 0.549, 1.064, 1.426, 2.553, 3.041),
    (20, 90, "original pine", 0.952, 3.091, 3.979),
    (10, 97, "very sensitive", 2.364, 5.263, 5.443),
    (10, 97, "sensitive", 0.973, 1.631, 2.279, 4.278, 4.604),
    (5, 97, "very sensitive", 1.100, 3.196, 4.903, 5.124),
    (5, 97, "sensitive", 0.607, 1.143, 1.548, 2.945, 4.218),
    (22, 85, "medium resistant", 0, 0, 0, 0, 0),
    (22, 85, "resistant", 0, 0, 0, 0, 0),
]


@pytest.mark.parametrize("row", WEEKS, ids=lambda r: f"{r[0]}-{r[1]}-{r[2]}")
def test_growth_at_constant_conditions(row):
    t, rh, name, *expected = row
    for weeks, m in zip((4, 8, 12, 26, 52), expected, strict=False):
        n = int(weeks * WEEK)
        got = mould_model.mould_index(np.full(n + 1, float(t)), np.full(n + 1, float(rh)), 1.0, name)
        # the table was stepped explicitly by the hour: its last digit, and the error of that step
        assert got[-1] == pytest.approx(m, abs=0.0006 + 0.002 * m)
        # exact for constant conditions: one step of all weeks ends where hours do
        leap = mould_model.mould_index(np.full(2, float(t)), np.full(2, float(rh)), n * 1.0, name)
        assert leap[-1] == pytest.approx(got[-1], rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", [*OJANEN_2010, "original pine"])
def test_growth_against_a_solver(name):
    """One week of hours at 18 degC and 94 % for two years, against LSODA on the equations written out above."""
    k = OJANEN_2010.get(name)
    end = 104 * WEEK
    solved = solve_ivp(
        lambda _, y: [growth(y[0], 18.0, 94.0, k)], (0, end), [0.0], "LSODA", rtol=1e-9, atol=1e-11, max_step=24.0
    )
    got = mould_model.mould_index(np.full(2, 18.0), np.full(2, 94.0), end, name)[-1]
    assert got == pytest.approx(solved.y[0, -1], rel=2e-5)


def test_first_growth_is_linear_and_takes_t_m():
    """On pine M = 1 after t_m, here 1.390 weeks at 22 degC and 97 %; below M = 1 it is linear to 1 part in 1000."""
    assert mould_model.weeks_to_first(22.0, 97.0, 0.0, 0.0) == pytest.approx(1.390, abs=5e-4)
    assert mould_model.weeks_to_visible(22.0, 97.0, 0.0) == pytest.approx(2.780, abs=5e-4)
    half = mould_model.mould_index(np.full(2, 22.0), np.full(2, 97.0), 0.5 * 1.390 * WEEK, "very sensitive")[-1]
    assert half == pytest.approx(0.5, rel=1e-3)


def test_decline_table():
    """0.00133 per hour for 6 hours, nothing up to a day, then 0.000667 per hour (Hukka & Viitanen 1999)."""
    n = 10 * 24
    m = mould_model.mould_index(np.full(n + 1, 20.0), np.full(n + 1, 50.0), 1.0, "very sensitive", 1.0, 2.0)
    fall = 2.0 - m
    assert fall[6] == pytest.approx(6 * 0.00133, rel=4e-3)
    assert fall[24] == fall[6]
    assert fall[48] - fall[24] == pytest.approx(24 * 0.000667, rel=1e-3)
    assert fall[-1] == pytest.approx(0.008 + 9 * 0.016, rel=1e-9)
    tenth = mould_model.mould_index(np.full(n + 1, 20.0), np.full(n + 1, 50.0), 1.0, "very sensitive", 0.1, 2.0)
    assert 2.0 - tenth == pytest.approx(0.1 * fall)


def test_decline_begins_anew_after_growth():
    rh = np.array([50.0] * 48 + [97.0] * 24 + [50.0] * 48)
    m = mould_model.mould_index(np.full(len(rh), 20.0), rh, 1.0, "very sensitive", 1.0, 2.0)
    assert m[73] > m[70] > m[50]
    # the six fast hours come again after the day of growth: they begin within an hour, as humidity falls, and end so
    top = int(np.argmax(m[60:])) + 60
    fall = -np.diff(m[top : top + 9])
    assert fall[1:6] == pytest.approx(np.full(5, 0.032 / 24), rel=1e-9)
    assert 0.0 < fall[6] < 0.032 / 24 and fall[7] == 0.0


def test_no_growth_in_frost_and_heat():
    for t in (-5.0, 0.0, 50.0, 60.0):
        assert mould_model.mould_index(np.full(100, t), np.full(100, 100.0), 24.0, "very sensitive")[-1] == 0.0


def test_growth_in_changing_conditions_is_of_second_order():
    """Half the interval, a quarter of the error: waves of temperature and humidity that cross RH_crit."""

    def state(hour):
        return 14.0 + 6.0 * np.sin(hour / 61.0), 87.0 + 9.0 * np.sin(hour / 37.0 + 1.0)

    def index(step):
        hour = np.arange(0.0, 1440.0 + step / 2, step)
        t, rh = state(hour)
        return mould_model.mould_index(t, rh, step, "very sensitive", 1.0)[-1]

    exact = index(1.0 / 32.0)
    errors = np.array([abs(index(step) - exact) for step in (8.0, 4.0, 2.0, 1.0)])
    assert errors[0] > 1e-5
    orders = np.log2(errors[:-1] / errors[1:])
    assert np.mean(orders) > 1.7, (errors, orders)

    # and the limit is right: explicit steps of a minute, with the equations above and the decline table
    m, since = 0.0, 0.0
    for hour in np.arange(1.0 / 120.0, 1440.0, 1.0 / 60.0):
        t, rh = state(hour)
        if rh >= critical(t):
            m, since = m + growth(m, t, rh, OJANEN_2010["very sensitive"]) / 60.0, 0.0
        else:
            rate = 0.032 / 24 if since <= 6.0 else 0.0 if since <= 24.0 else 0.016 / 24
            m, since = max(m - rate / 60.0, 0.0), since + 1.0 / 60.0
    assert exact == pytest.approx(m, abs=2e-3)


#: Viitanen et al. (2010), from memory: days to the onset of decay by temperature, at 97, 98, 99 and 100 %.
ONSET = {5: (67, 50, 39, 32), 10: (43, 34, 27, 21), 20: (24.0, 17.9, 13.1, 9.2), 30: (15.5, 10.4, 6.1, 2.4)}


@pytest.mark.parametrize("t", ONSET)
def test_onset_of_decay(t):
    for rh, days in zip((97, 98, 99, 100), ONSET[t], strict=True):
        tolerance = 0.06 if t >= 20 else 0.6
        assert decay_model.critical_hours(float(t), float(rh)) / 24.0 == pytest.approx(days, abs=tolerance)


@pytest.mark.parametrize(("t", "per_year"), [(5, 34.0), (10, 42.6), (20, 59.7)])
def test_mass_loss_a_year_at_saturation(t, per_year):
    """In % of the mass a year of 8760 h, at 100 %."""
    assert decay_model.loss_rate(float(t), 100.0) * 8760.0 == pytest.approx(per_year, rel=0.01)


def test_mass_loss_agrees_with_the_line_it_comes_from():
    """ML = -42.9 t - 2.3 T - 0.035 RH + 0.14 T t + 0.024 T RH + 0.45 RH t (t in months) is 0 at the onset."""
    for t in (2.0, 10.0, 25.0):
        for rh in (96.5, 98.0, 100.0):
            months = decay_model.critical_hours(t, rh) / 720.0
            loss = -42.9 * months - 2.3 * t - 0.035 * rh + 0.14 * t * months + 0.024 * t * rh + 0.45 * rh * months
            assert loss == pytest.approx(0.0, abs=1e-9)
            slope = (-42.9 + 0.14 * t + 0.45 * rh) / 720.0
            assert decay_model.loss_rate(t, rh) == pytest.approx(slope, rel=0.02, abs=2e-4)


def test_decay_guards():
    """The denominator is not positive near 0 degC and 95 %: nothing is activated there, nor out of the range."""
    assert decay_model.critical_hours(0.1, 95.2) == np.inf
    assert decay_model.critical_hours(0.0, 100.0) == np.inf
    assert decay_model.critical_hours(20.0, 95.0) == np.inf
    assert decay_model.critical_hours(45.0, 99.0) == decay_model.critical_hours(30.0, 99.0) > 0.0
    assert decay_model.loss_rate(0.5, 95.1) == 0.0


def decay(t, rh, hours):
    activation, loss = np.zeros(1), np.zeros(1)
    n = len(t) - 1
    out = np.empty((n, 1))
    decay_model.march(np.full(n, hours), np.ones(n, bool), t[:, None], rh[:, None], activation, loss, out)
    return out[:, 0], loss[0]


def test_decay_at_constant_conditions_is_exact_and_fades_in_two_years():
    wet = decay(np.full(2, 20.0), np.full(2, 100.0), 8760.0)
    by_hour = decay(np.full(8761, 20.0), np.full(8761, 100.0), 1.0)
    assert wet[0][-1] == by_hour[0][-1] == 1.0
    expected = 59.7 * (1.0 - 9.2 / 365.0)
    assert wet[1] == pytest.approx(expected, rel=0.01) and by_hour[1] == pytest.approx(wet[1], rel=1e-9)
    part, loss = decay(np.full(2, 20.0), np.full(2, 97.0), 12 * 24.0)
    assert part[-1] == pytest.approx(12.0 / 24.0, rel=3e-3) and loss == 0.0
    rh = np.array([97.0] * 289 + [60.0] * 8760)
    faded, _ = decay(np.full(len(rh), 20.0), rh, 1.0)
    assert faded[287] - faded[-1] == pytest.approx(8760.0 / 17520.0, rel=1e-3)
