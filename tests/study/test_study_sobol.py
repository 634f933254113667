"""Sobol' indices of the Ishigami function, through the whole machinery of a study.

Ishigami and Homma (1990), f = sin x1 + a sin^2 x2 + b x3^4 sin x1 with x uniform on (-pi, pi). Analytic variances:
Saltelli et al. (2008), Global Sensitivity Analysis: The Primer, from memory; they follow from three integrals that are
done here by quadrature as a check.
"""

import numpy as np
import pytest
from drydown import InputError
from drydown.study import (
    Axis,
    Distribution,
    FunctionModel,
    Sampled,
    Study,
    elementary_effects,
    gather,
    main_effects,
    run,
    sobol_indices,
)
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
    """Means of 16 levels keep what their width does not average out: sinc(h) of cos 2x."""
    found = main_effects(gathered, bins=16)
    np.testing.assert_allclose(found["share"].values[0], analytic()[0], atol=0.01)
    h = 2.0 * np.pi / 16.0
    x2 = found.sel(axis="x2", output="value")
    assert x2["mean"].max() - x2["mean"].min() == pytest.approx(A * np.sin(h) / h * np.cos(h), rel=0.02)


def test_the_indices_need_their_design():
    from drydown.study import solve

    data = solve(Study((Axis("x1", (0.0, 1.0)), Axis("x2", (0.0,)), Axis("x3", (1.0,))), FunctionModel(ishigami)))
    with pytest.raises(InputError, match="sobol indices"):
        sobol_indices(data)


def drawn(function, names, design, distribution=None):
    """A study of a function of arrays, evaluated at once."""
    from drydown.study.gathering import dataset_of
    from drydown.study.store import Block

    span = distribution or Distribution("uniform", {"low": -np.pi, "high": np.pi})
    made = Study(tuple(Axis(n, distribution=span) for n in names), FunctionModel(function), design)
    y = np.asarray(function(**{k: np.array(v) for k, v in made.points.items()}), dtype=float)
    return dataset_of(made, [Block({"value": y}, np.zeros(len(y), bool), [""] * len(y))])


def with_idle(x1, x2, x3, idle):
    return ishigami(x1, x2, x3) + 0.0 * idle


def two_of_five(a, b, c, d, e):
    """A product and a sum; three axes do nothing. Indices by hand: uniform on (-pi, pi), variance pi^2/3."""
    return a + 0.5 * a * b + 0.0 * (c + d + e)


V = np.pi**2 / 3.0
FIRST = {"ishigami": np.append(analytic()[0], 0.0), "two": np.array([1.0, 0, 0, 0, 0]) / (1.0 + 0.25 * V)}
TOTAL = {"ishigami": np.append(analytic()[1], 0.0), "two": np.array([1.0, 0.25 * V / (1.0 + 0.25 * V), 0, 0, 0])}
FUNCTIONS = {"ishigami": (with_idle, ("x1", "x2", "x3", "idle")), "two": (two_of_five, tuple("abcde"))}


def inside(found, kind, truth):
    low, high = found[f"{kind}_low"].values, found[f"{kind}_high"].values
    return (low <= truth + 1e-12) & (truth <= high + 1e-12)


@pytest.mark.parametrize("number", [64, 256, 1024])
@pytest.mark.parametrize("name", FUNCTIONS)
def test_indices_lie_in_their_intervals(name, number):
    """Of 30 seeds at least 90 in 100 of every index, and 95 in 100 of all, lie in the 95 % intervals."""
    function, names = FUNCTIONS[name]
    hits = []
    for seed in range(30):
        data = drawn(function, names, Sampled("sobol indices", number, seed))
        found = sobol_indices(data, seed=seed).isel(output=0)
        hits.append([inside(found, "first_order", FIRST[name]), inside(found, "total_order", TOTAL[name])])
    assert np.mean(hits, axis=0).min() >= 0.9 and np.mean(hits) >= 0.95


@pytest.mark.parametrize("method", ["latin hypercube", "random", "sobol"])
@pytest.mark.parametrize("number", [64, 256, 1024])
@pytest.mark.parametrize("name", FUNCTIONS)
def test_main_effects_lie_in_their_intervals(name, number, method):
    function, names = FUNCTIONS[name]
    hits, shares, widths = [], [], []
    for seed in range(30):
        found = main_effects(drawn(function, names, Sampled(method, number, seed))).isel(output=0)
        hits.append(inside(found, "share", FIRST[name]))
        shares.append(found["share"].values)
        widths.append((found["share_high"] - found["share_low"]).values)
    # of 30 draws of 95 in 100 the least of nine axes is 25; in a Sobol' sequence of 256 an idle axis is like another
    assert np.sum(hits, axis=0).min() >= 25 and np.mean(hits) >= 0.93
    # without bias beyond what the seeds scatter and the width of the intervals allows
    assert np.abs(np.mean(shares, axis=0) - FIRST[name]).max() < 0.25 * np.mean(widths)


@pytest.mark.parametrize("method", ["latin hypercube", "random"])
def test_an_axis_that_does_nothing_has_no_share_in_small_samples(method):
    """It had 0.34 of the spread at 16 points."""
    shares = [
        main_effects(drawn(*FUNCTIONS["two"], Sampled(method, 16, seed)))["share"].values[0, 2:] for seed in range(60)
    ]
    assert abs(np.mean(shares)) < 3.0 * np.std(shares) / np.sqrt(180.0)


def test_few_values_are_read_without_bias_too():
    """Whole numbers from 1 to 4, an axis of numbers and an axis of names: y = level + noise of another axis."""
    axes = (
        Axis("level", distribution=Distribution("whole", {"low": 1.0, "high": 4.0})),
        Axis("word", values=("oak", "ash", "elm")),
        Axis("z", distribution=Distribution("uniform", {"low": -3.0, "high": 3.0})),
    )
    from drydown.study import solve

    shares, hits = [], []
    truth = np.array([1.25, 0.0, 3.0]) / 4.25  # variances of 1..4 and of the uniform one
    for seed in range(25):
        made = Study(axes, FunctionModel(lambda level, word, z: level + z), Sampled("random", 64, seed))
        found = main_effects(solve(made, workers=1)).isel(output=0)
        shares.append(found["share"].values)
        hits.append(inside(found, "share", truth))
    assert np.mean(hits) >= 0.9
    assert np.mean(shares, axis=0) == pytest.approx(truth, abs=0.05)


def test_the_shares_of_a_grid_are_exact():
    from drydown.study import solve

    axes = (Axis("a", (0.0, 1.0, 2.0)), Axis("b", (0.0, 1.0)))
    found = main_effects(solve(Study(axes, FunctionModel(lambda a, b: 3.0 * a + b)), workers=1)).isel(output=0)
    assert found["share"].values == pytest.approx([6.0 / 6.25, 0.25 / 6.25])
    assert np.array_equal(found["share_low"], found["share_high"])


@pytest.mark.parametrize("number", [256, 1024])
def test_second_order(number):
    v13 = 8.0 * B**2 * np.pi**8 / 225.0 / analytic()[2]
    hits = []
    for seed in range(20):
        data = drawn(*FUNCTIONS["ishigami"], Sampled("sobol indices, second order", number, seed))
        assert data.sizes["case"] == number * 10
        found = sobol_indices(data, seed=seed).isel(output=0)
        truth = np.zeros((4, 4))
        truth[0, 2] = truth[2, 0] = v13
        hits.append(inside(found, "second_order", truth)[np.triu_indices(4, 1)])
        # the first two are those of the plain design, as it samples the same A and B
        plain = sobol_indices(drawn(*FUNCTIONS["ishigami"], Sampled("sobol indices", number, seed)), seed=seed)
        assert found["first_order"].values == pytest.approx(plain["first_order"].values[0])
    assert np.mean(hits) >= 0.92
    assert float(found["second_order"].sel(axis="x1", other="x3")) == pytest.approx(v13, abs=0.12)
    assert np.isnan(found["second_order"].sel(axis="x1", other="x1"))


def test_elementary_effects():
    """Of 3 a - 2 b + c d: sizes by hand on the levels 1/8, 3/8, 5/8, 7/8 of uniform (0, 1); e does nothing."""
    unit = Distribution("uniform", {"low": 0.0, "high": 1.0})
    data = drawn(lambda a, b, c, d, e: 3.0 * a - 2.0 * b + c * d + 0.0 * e, "abcde", Sampled("morris", 200, 4), unit)
    assert data.sizes["case"] == 200 * 6
    found = elementary_effects(data).isel(output=0)
    got = {n: found.sel(axis=n) for n in "abcde"}
    assert float(got["a"]["mean"]) == pytest.approx(3.0) and float(got["a"]["spread"]) == pytest.approx(0.0, abs=1e-9)
    assert float(got["b"]["mean"]) == pytest.approx(-2.0) and float(got["b"]["mean_size"]) == pytest.approx(2.0)
    # the effect of c is d, which is each of four levels alike: mean 1/2, standard deviation sqrt(5)/8
    for n in "cd":
        assert float(got[n]["mean_size_low"]) < 0.5 < float(got[n]["mean_size_high"])
        assert float(got[n]["spread"]) == pytest.approx(np.sqrt(5.0) / 8.0, rel=0.1)
    assert float(got["e"]["mean_size"]) == 0.0 and int(found["used"]) == 200
    assert np.isnan(main_effects(data)["share"]).all()
    with pytest.raises(InputError, match='design = "morris"'):
        elementary_effects(drawn(*FUNCTIONS["two"], Sampled("random", 16)))
