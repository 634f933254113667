"""Look-ups of eight cells abreast: against numpy's polynomials, and a wall's cells one by one."""

import numba
import numpy as np
import pytest
from drydown.kernel import columns as at
from drydown.kernel.abreast import bits, cubics, whole_number
from drydown.kernel.cell import held_by, properties
from drydown.kernel.property_pass import property_pass
from drydown.kernel.workspace import workspace
from drydown.lowering.problem import lower
from small_wall import small_wall

ROW, PLACE, VALUE, SLOPE, OTHER = (k * at.STRIDE for k in range(5))
_two = cubics(ROW, PLACE, (2, VALUE, SLOPE), (None, OTHER, None))


@numba.njit
def _look_up(table, rows, places, x, scale, column):
    for j in range(len(rows)):
        x[j + ROW] = bits(rows[j] * table.shape[1] * 4)
        x[j + PLACE] = places[j]
    _two(table, x, 0, scale, column)
    return whole_number(x[ROW])


def _expected(c, t):
    """Return value and slope by place of a cubic, along its tangent beyond [0, 1]."""
    p = np.polynomial.Polynomial(c)
    inside = min(max(t, 0.0), 1.0)
    slope = p.deriv()(inside)
    return p(inside) + slope * (t - inside), slope


def test_eight_look_ups_are_those_of_polynomials():
    draw = np.random.default_rng(5)
    table = draw.normal(size=(50, 3, 4))
    rows = np.array([0, 49, 17, 17, 3, 28, 41, 8])
    places = np.array([-0.7, 1.4, 0.0, 1.0, 0.25, 0.5, 0.75, 0.99])
    x = np.full(5 * at.STRIDE, np.nan)
    assert _look_up(table, rows, places, x, 12.5, 1) == 0
    for k in range(at.AT_ONCE):
        value, slope = _expected(table[rows[k], 2], places[k])
        assert x[k + VALUE] == pytest.approx(value, rel=1e-14)
        assert x[k + SLOPE] == pytest.approx(12.5 * slope, rel=1e-14)
        assert x[k + OTHER] == pytest.approx(_expected(table[rows[k], 1], places[k])[0], rel=1e-14)


@numba.njit
def _pass(tables, wall, rows, u, t):
    property_pass(tables, wall, rows, u, t)


@numba.njit
def _one(tables, wall, i, u, t):
    cell, content = properties(tables, wall, wall.material[i], u, t)
    return cell, held_by(wall, wall.material[i], wall.dx[i], t, content)


@pytest.mark.parametrize("kelvins", [(253.0, 313.0), (278.0, 313.0)], ids=["frost", "none"])
def test_a_pass_over_a_wall_says_of_every_cell_what_it_is_alone(kelvins):
    """Layers of any number of cells, dry, wet and beyond full pores, so that no eight of them belong together."""
    problem = lower(small_wall())
    wall, tables = problem.wall, problem.sampled.tables
    n = len(wall.dx)
    draw = np.random.default_rng(11)
    u, t = draw.uniform(-21.0, 2.0, n), draw.uniform(*kelvins, n)
    rows = np.full_like(workspace(wall, problem.forcing, problem.state).rows, np.nan)
    _pass(tables, wall, rows, u, t)
    of_cell = (
        at.U, at.T, at.PHI, at.PHI_U, at.PS, at.PS_T, at.DELTA, at.DELTA_Z, at.PSI, at.FAC, at.FAC_T, at.THETA,
        at.THETA_Z, at.THETA_ZZ, at.LAM, at.LAM_U, at.LAM_T, at.OPEN, at.OPEN_U, at.OPEN_T,
    )  # fmt: skip
    held = at.WATER, at.WATER_U, at.WATER_T, at.HEAT, at.HEAT_U, at.HEAT_T
    frozen = 0
    for i in range(n):
        cell, amounts = _one(tables, wall, i, u[i], t[i])
        frozen += cell.liquid_fraction < 1.0
        o = i // at.BLOCK * at.SIZE + i % at.BLOCK
        np.testing.assert_allclose(rows[[o + c for c in of_cell]], np.array(cell), rtol=1e-12, atol=1e-300)
        np.testing.assert_allclose(rows[[o + c for c in held]], np.array(amounts), rtol=1e-12, atol=1e-12)
    assert (frozen > 0) == (kelvins[0] < 273.0)
