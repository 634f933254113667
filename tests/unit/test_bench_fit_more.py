"""What else a fit says: standard errors, information criteria, draws as films, own families, what is known before."""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest
from drydown import InputError, read_case
from drydown.bench import FAMILIES, CupTest, Family, fit, trial_of_fit
from drydown.materials.curves import Linear
from drydown_validation.references import kirchhoff_film as reference
from drydown_validation.references.kirchhoff_film import Cup

RANGES = ((0.0, 0.5), (0.5, 1.0), (0.11, 0.33), (0.33, 0.53), (0.53, 0.75), (0.75, 0.93), (0.5, 0.85), (0.0, 0.85))


def logistic(phi):
    x = (np.asarray(phi, dtype=float) - 0.65) / 0.07
    return 5e-12 * 400.0 ** (1.0 / (1.0 + np.exp(-x)))


def cups(curve=logistic, noise=None, ranges=RANGES, uncertainty=0.05):
    """Tests as a laboratory would report them, by a reference that shares nothing with the bench."""
    out = []
    for i, (low, high) in enumerate(ranges):
        cup = Cup(min(high, 1.0 - 1e-8), max(low, 1e-4), 296.15, 0.0, 0.0)
        value = reference.apparent_permeance(curve, cup) * (1.0 if noise is None else np.exp(uncertainty * noise[i]))
        out.append(CupTest(high, low, permeance=float(value), uncertainty=uncertainty))
    return out


def quiet(*args, **kwargs):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return fit(*args, method="laplace", **kwargs)


def test_standard_errors_are_the_scatter_of_refits():
    """Over 60 sets of noisy tests the parameters scatter as the standard errors of one of them say."""
    rng = np.random.default_rng(8)
    sets = [quiet(cups(noise=rng.standard_normal(8))) for _ in range(60)]
    for name in ("closed", "open", "middle", "width"):
        scatter = np.std([f.parameters[name] for f in sets], ddof=1)
        said = np.median([f.standard_errors[name] for f in sets])
        assert said == pytest.approx(scatter, rel=0.4), name


def test_the_error_of_a_constant_is_that_of_a_mean():
    found = quiet([CupTest(0.5, 0.0, permeance=2e-10, uncertainty=0.1)] * 4, "constant")
    assert found.standard_errors["value"] == pytest.approx(2e-10 * 0.1 / 2.0, rel=0.01)


def test_information_tells_families_apart():
    """By hand for the constant; and the family that the tests come from has the least."""
    rng = np.random.default_rng(3)
    values = 2e-10 * np.exp(0.1 * rng.standard_normal(6))
    found = quiet([CupTest(0.5, 0.0, permeance=float(v), uncertainty=0.1) for v in values], "constant")
    residual = (np.log(values) - np.log(found.parameters["value"])) / 0.1
    log = -0.5 * np.sum(residual**2) - 6.0 * np.log(0.1) - 3.0 * np.log(2.0 * np.pi)
    assert found.information["log_likelihood"] == pytest.approx(log)
    assert found.information["aic"] == pytest.approx(2.0 - 2.0 * log)
    assert found.information["aicc"] == pytest.approx(2.0 - 2.0 * log + 4.0 / 4.0)
    assert found.information["bic"] == pytest.approx(np.log(6.0) - 2.0 * log)
    noisy = cups(noise=np.random.default_rng(4).standard_normal(8))
    by = {name: quiet(noisy, name).information["aic"] for name in ("logistic", "exponential", "constant")}
    assert min(by, key=by.get) == "logistic"
    few = quiet(cups()[:2])
    assert few.information["aicc"] == np.inf


def test_draws_as_films():
    found = quiet(cups(noise=np.random.default_rng(5).standard_normal(8)))
    films = found.films("demo membrane", 30, thickness=1e-4)
    phi = np.array([0.3, 0.65, 0.9])
    drawn = np.array([f.permeance(phi) for f in films])
    low, high = found.band(phi, 0.999, "pointwise")
    assert len({f.name for f in films}) == 30 and films[0].thickness == 1e-4
    assert np.mean((drawn > 0.8 * low) & (drawn < 1.25 * high)) > 0.95 and np.all(drawn.std(axis=0) > 0.0)
    with pytest.raises(InputError, match="number is 5000; there are 4000 draws"):
        found.films("x", 5000)


def line(p, phi):
    """Return ln of a straight line through exp(p0) and exp(p1) at both ends of the humidity."""
    return np.log(np.exp(p[:, :1]) + (np.exp(p[:, 1:2]) - np.exp(p[:, :1])) * phi)


LINE = Family(
    "line",
    ("dry", "wet"),
    line,
    np.exp,
    lambda p: Linear(float(np.exp(p[0])), float(np.exp(p[1]) - np.exp(p[0])), "humidity"),
    lambda low, high: np.array([(low, 3.0), (high, 3.0)]),
    lambda low, high: np.array([[low, high]]),
    np.zeros((0, 0)),
)


def test_a_family_of_ones_own():
    truth = Linear(1e-10, 3e-10, "humidity")
    found = fit(cups(truth), LINE, draws=30)
    assert found.parameters == pytest.approx({"dry": 1e-10, "wet": 4e-10}, rel=0.01)
    low, high = found.band(np.array([0.5]))
    assert low[0] < 2.5e-10 < high[0] and "line" not in FAMILIES
    assert found.films("mine", 2)[0].permeance.of == "humidity"


def test_what_is_known_is_held():
    found = quiet(cups(), fixed={"open": 1500e-12, "middle": 0.66})
    assert found.parameters["open"] == pytest.approx(1500e-12, rel=1e-3)
    assert found.parameters["middle"] == pytest.approx(0.66, abs=1e-3)
    assert found.standard_errors["open"] == 0.0 < found.standard_errors["closed"]
    free = quiet(cups())
    assert found.information["bic"] - free.information["bic"] > -2.0 * np.log(8.0) - 1.0
    for given, words in (
        ({"opne": 1.0}, "has no such parameter; did you mean 'open'"),
        ({"open": -1.0}, "which a 'logistic' curve cannot have"),
        ({"open": "high"}, "it is 'high'; a number"),
    ):
        with pytest.raises(InputError, match=words):
            fit(cups(), fixed=given)
    with pytest.raises(InputError, match="hangs on the other parameters"):
        fit(cups(), "two-level", fixed={"end": 0.9})


def test_an_earlier_fit_as_prior():
    """Tests one after the other tell what all of them tell together."""
    noise = np.random.default_rng(6).standard_normal(8)
    tests = cups(noise=noise)
    first = quiet(tests[:5])
    second = quiet(tests[5:], prior=first)
    together = quiet(tests)
    for name in ("closed", "open", "middle", "width"):
        assert second.parameters[name] == pytest.approx(
            together.parameters[name], abs=1.0 * together.standard_errors[name]
        ), name
        assert second.standard_errors[name] < 1.001 * first.standard_errors[name]
    with pytest.raises(InputError, match="of a 'logistic' curve, not of a 'constant' one"):
        fit(tests, "constant", prior=first)


@pytest.mark.slow
def test_what_is_left_open_goes_into_a_trial(tmp_path, monkeypatch):
    import small_case

    monkeypatch.chdir(tmp_path)
    small_case.write_case(tmp_path, small_case.CASE)
    case = read_case("wall.toml")
    sure = quiet(cups())
    unsure = quiet([replace(t, uncertainty=0.5) for t in cups()])
    spreads = []
    for found in (sure, unsure):
        data = trial_of_fit(found, case, "polyamide film 0.05 mm", 6, workers=1)
        assert data.sizes["draw"] == 6 and 0.0 <= data.attrs["best_remaining"] <= 1.0
        spreads.append(float(data["remaining"].std()))
    assert spreads[1] > spreads[0] > 0.0
    with pytest.raises(InputError, match="'OSB' is a layer, not a film"):
        trial_of_fit(sure, case, "OSB", 2)
