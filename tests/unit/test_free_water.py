"""Free water: what gathers, what was built in, what never leaves."""

import numpy as np
import pytest
from drydown.criteria import catalogue
from synthetic_results import results

DAY = 24


def judge(name, dataset):
    return catalogue()[name].judge(dataset)


def test_what_was_built_in_and_dries_has_not_condensed():
    """A screed that starts with 3 kg/m2 of free water: it is lost; 0.4 that come again later are counted."""
    n = 2 * 366 * DAY
    w = np.maximum(500.0 - 0.2 * np.arange(n), 180.0)
    assert judge("condensation", results(np.full(n, 10.0), 0.9, w)).value == 0.0
    w[9000:9500] = 240.0
    again = judge("condensation", results(np.full(n, 10.0), 0.9, w))
    assert again.value == pytest.approx(0.4) and again.verdict == "watch"
    w[:] = 500.0  # built in and locked up: it has not condensed, but it never leaves
    assert judge("condensation", results(np.full(n, 10.0), 0.9, w)).value == 0.0
    assert judge("free water left", results(np.full(n, 10.0), 0.9, w)).verdict == "exceeded"
    w = np.where(np.arange(n) < 2000, 250.0 - 0.01 * np.arange(n), 300.0)  # less and less, then more
    assert judge("condensation", results(np.full(n, 10.0), 0.9, w)).value == pytest.approx(0.01 * (300.0 - 230.01))


def test_free_water_that_came_in_a_year_that_began_dry_is_watched():
    """Within a year its least tells nothing: the year holds the dry start."""
    n = 365 * DAY + 1
    w = np.full(n, 150.0)
    w[100 * DAY :] = 300.0
    stands = judge("free water left", results(np.full(n, 10.0), 0.9, w))
    assert (stands.verdict, stands.case) == ("watch", "stands") and stands.value <= stands.limit
    assert stands.facts["stood"][0] == pytest.approx(1.0)
    assert sum(r.verdict == "watch" for r in stands.by_layer) == 1
    w[300 * DAY :] = 150.0  # it has left
    assert judge("free water left", results(np.full(n, 10.0), 0.9, w)).verdict == "fine"
    w[100 * DAY :], w[: 200 * DAY] = 300.0, 150.0  # it came less than half a year before the end
    assert judge("free water left", results(np.full(n, 10.0), 0.9, w)).verdict == "fine"
    w = np.full(2 * n, 300.0)
    w[:100] = 150.0  # a whole year after that
    assert judge("free water left", results(np.full(2 * n, 10.0), 0.9, w)).verdict == "exceeded"
