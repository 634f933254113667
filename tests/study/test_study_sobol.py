"""Sobol' indices of the Ishigami function, through the whole machinery of a study.

Ishigami and Homma (1990), f = sin x1 + a sin^2 x2 + b x3^4 sin x1 with x uniform on (-pi, pi). Analytic variances:
Saltelli et al. (2008), Global Sensitivity Analysis: The Primer, from memory; they follow from three integrals that are
done here by quadrature as a check.
"""

import numpy as np
import pytest
from drydown.study import Axis, Distribution, FunctionModel, Sampled, Study, gather, main_effects, run, sobol_indices
from scipy import stats
from scipy.integrate import quad

A, B = 7.0, 0.1


def ishigami(x1, x2, x3):
    return np.sin(x1) + A * np.sin(x2) ** 2 + B * x3**4 * np.sin(x1)


def analytic():
    """First and total indices."""
    v1 = 0.5 * (1.0 + B * np.pi**4 / 5.0) ** 2
    v2 = A**2 / 8.0
    v13 = 8.0 * B**2 * np.pi**8 / 225.0
    total = v1 + v2 + v13
    return np.array([v1, v2, 0.0]) / total, np.array([v1 + v13, v2, v13]) / total, total


def test_the_analytic_variances_are_those_of_the_integrals():
    def mean(f):
        return quad(f, -np.pi, np.pi)[0] / (2.0 * np.pi)

    m4 = mean(lambda x: x**4)
    v1 = mean(lambda x: ((1.0 + B * m4) * np.sin(x)) ** 2)
    v2 = mean(lambda x: (A * np.sin(x) ** 2 - A / 2.0) ** 2)
    v13 = mean(lambda x: np.sin(x) ** 2) * B**2 * (mean(lambda x: x**8) - m4**2)
    first, whole, total = analytic()
    np.testing.assert_allclose([v1 / total, v2 / total, (v1 + v13) / total], [*first[:2], whole[0]], rtol=1e-10)


@pytest.fixture(scope="module")
def gathered(tmp_path_factory):
    distribution = Distribution("uniform", {"low": -np.pi, "high": np.pi})
    axes = tuple(Axis(name, distribution=distribution) for name in ("x1", "x2", "x3"))
    study = Study(axes, FunctionModel(ishigami), Sampled("sobol indices", 8192, 3), "Ishigami", block=2048)
    store = tmp_path_factory.mktemp("ishigami") / "store"
    run(study, store, workers=2)
    return gather(study, store)


def test_sobol_indices_match_the_analytic_values(gathered):
    assert gathered.sizes["case"] == 8192 * 5
    found = sobol_indices(gathered)
    first, whole, _ = analytic()
    np.testing.assert_allclose(found["first_order"].values[0], first, atol=0.01)
    np.testing.assert_allclose(found["total_order"].values[0], whole, atol=0.01)
    low, high = found["total_order_low"].values[0], found["total_order_high"].values[0]
    assert (low < whole).all() and (whole < high).all() and (high - low < 0.1).all()


def test_the_estimators_are_those_of_scipy(gathered):
    y = gathered["value"].values.reshape(5, 8192)
    reference = stats.sobol_indices(func={"f_A": y[:1], "f_B": y[1:2], "f_AB": y[2:, None, :]}, n=8192)
    found = sobol_indices(gathered, resamples=2)
    np.testing.assert_allclose(found["first_order"].values[0], np.ravel(reference.first_order), atol=1e-12)
    np.testing.assert_allclose(found["total_order"].values[0], np.ravel(reference.total_order), atol=1e-12)


def test_rows_without_a_value_are_left_out(gathered):
    holed = gathered.copy(deep=True)
    holed["value"].values[[5, 8192 + 7, 4 * 8192 + 9, 4 * 8192 + 5]] = np.nan
    found = sobol_indices(holed, resamples=2)
    assert int(found["used"][0]) == 8192 - 3
    np.testing.assert_allclose(found["total_order"].values[0], analytic()[1], atol=0.01)


def test_main_effects_of_the_sample_are_the_first_order_indices(gathered):
    """Of 16 levels each keeps what its width does not average out: sinc(h/2) of sin x, sinc(h) of cos 2x."""
    found = main_effects(gathered, bins=16)
    h = 2.0 * np.pi / 16.0
    kept = np.array([np.sin(h / 2.0) / (h / 2.0), np.sin(h) / h, 0.0]) ** 2
    np.testing.assert_allclose(found["share"].values[0], analytic()[0] * kept, atol=0.002)
    x2 = found.sel(axis="x2", output="value")
    assert x2["mean"].max() - x2["mean"].min() == pytest.approx(A * np.sin(h) / h * np.cos(h), rel=0.02)


def test_the_indices_need_their_design():
    from drydown import InputError
    from drydown.study import solve

    data = solve(Study((Axis("x1", (0.0, 1.0)), Axis("x2", (0.0,)), Axis("x3", (1.0,))), FunctionModel(ishigami)))
    with pytest.raises(InputError, match="sobol indices"):
        sobol_indices(data)
