"""Elimination from both surfaces, two cells at once: against numpy's solution of the whole system."""

import numba
import numpy as np
import pytest
from drydown.kernel import columns as at
from drydown.kernel.chains import back_one_by_one, one_by_one
from drydown.kernel.elimination import factor, substitute

A = 130.0
FLUXES = (at.G_UL, at.G_TL, at.G_UR, at.G_TR, at.Q_UL, at.Q_TL, at.Q_UR, at.Q_TR)
HELD = (at.WATER_U, at.WATER_T, at.HEAT_U, at.HEAT_T)
GAINS = (at.GAIN_W_U, at.GAIN_W_T, at.GAIN_H_U, at.GAIN_H_T)
INVERSE = (at.D_UU, at.D_UT, at.D_TU, at.D_TT)


def _offset(i):
    return i // at.BLOCK * (at.SIZE - at.BLOCK) + i


@numba.njit
def _solve(rows, moving, keep, du, dt):
    factor(rows, du.shape[0], A, moving, keep)
    substitute(rows, du, dt)


def _drawn(n, seed):
    """Return rows of a wall with fluxes, contents, gains and right-hand sides; the cells rule over what passes."""
    draw = np.random.default_rng(seed)
    rows = np.full((n // at.BLOCK + 1) * at.SIZE, np.nan)
    for i in range(n + 1):
        for k in FLUXES:
            rows[_offset(i) + k] = draw.normal() / A
    for i in range(n):
        for k, x in zip(HELD, (5.0, 0.5, 0.5, 5.0), strict=True):
            rows[_offset(i) + k] = x + draw.normal() * 0.1
        for k in GAINS:
            rows[_offset(i) + k] = draw.normal() * 0.2 / A
        rows[_offset(i) + at.R_W], rows[_offset(i) + at.R_H] = draw.normal(size=2)
    return rows


def _dense(rows, n, moving):
    """Return matrix and right-hand side, equation by equation: what a cell holds less a times what comes in."""
    m = np.zeros((2 * n, 2 * n))
    right = np.zeros(2 * n)
    for i in range(n):
        o, after = _offset(i), _offset(i + 1)
        for e, (held, g, gain, missing) in enumerate(
            ((HELD[:2], FLUXES[:4], GAINS[:2], at.R_W), (HELD[2:], FLUXES[4:], GAINS[2:], at.R_H))
        ):
            row = m[2 * i + e]
            for k in range(2):
                row[2 * i + k] += rows[o + held[k]] - A * (rows[o + g[2 + k]] - rows[after + g[k]])
                if moving:
                    row[2 * i + k] -= A * rows[o + gain[k]]
                if i > 0:
                    row[2 * i - 2 + k] -= A * rows[o + g[k]]
                if i < n - 1:
                    row[2 * i + 2 + k] += A * rows[after + g[2 + k]]
            right[2 * i + e] = rows[o + missing]
    return m, right


@pytest.mark.parametrize("moving", [False, True])
@pytest.mark.parametrize("n", [1, 2, 3, 4, 7, 100, 127, 128, 129, 300])
def test_solution_is_that_of_the_whole_system(n, moving):
    rows = _drawn(n, n)
    expected = np.linalg.solve(*_dense(rows, n, moving))
    du, dt = np.empty(n), np.empty(n)
    _solve(rows, moving, False, du, dt)
    np.testing.assert_allclose(np.column_stack((du, dt)).ravel(), expected, rtol=1e-11, atol=1e-13)


@pytest.mark.parametrize("moving", [False, True])
def test_inverses_of_the_diagonal_blocks_are_kept_where_asked_for(moving):
    n = 20
    rows, without = _drawn(n, 3), _drawn(n, 3)
    du, dt = np.empty(n), np.empty(n)
    _solve(without, moving, False, du, dt)
    _solve(rows, moving, True, du, dt)
    matrix, _ = _dense(rows, n, moving)
    # from the outer surface to the middle: what is left of a block when all cells before it are eliminated
    for i in range(n // 2):
        inverse = np.linalg.inv(matrix[: 2 * i + 2, : 2 * i + 2])[-2:, -2:]
        found = [rows[_offset(i) + k] for k in INVERSE]
        np.testing.assert_allclose(found, inverse.ravel(), rtol=1e-11)
        assert all(np.isnan(without[_offset(i) + k]) for k in INVERSE)


@pytest.mark.parametrize("moving", [False, True])
def test_python_alone_does_the_same(moving):
    n, pairs = 131, 131 - 1 - 131 // 2
    rows = _drawn(n, 8)
    du, dt = np.empty(n), np.empty(n)
    _solve(rows, moving, True, du, dt)
    slow, slow_u, slow_t = _drawn(n, 8), du.copy(), dt.copy()
    one_by_one(moving)(slow, n, pairs, A, True)
    cells = [_offset(i) for i in range(n) if i < pairs or i >= n - pairs]
    for column in (at.E_UU, at.E_UT, at.E_TU, at.E_TT, at.F_U, at.F_T, *INVERSE):
        np.testing.assert_allclose([slow[o + column] for o in cells], [rows[o + column] for o in cells], rtol=1e-11)
    slow_u[:pairs] = slow_t[n - pairs :] = np.nan
    back_one_by_one(slow, n, pairs, slow_u, slow_t)
    np.testing.assert_allclose(np.column_stack((slow_u, slow_t)), np.column_stack((du, dt)), rtol=1e-11, atol=1e-13)
