"""Cells for what profiles do not show by their bend: what air carries through layers, and fronts of ice.

Walls of others: a review found them off by up to twice the promise, where the drawn walls of the time had no such leak.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Case, Initial, Layer
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak
from drydown.lowering import carried, pilot
from drydown.lowering.problem import lower
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from drydown_validation.accuracy import FINER, TIGHT, at_centres, march, rms


def _case(parts, where, start, azimuth=0.0, **given):
    """Return a month of a wall."""
    begin = np.datetime64(start, "s")
    outside = Outdoor(climate(where), Exposure(azimuth=azimuth))
    end = begin + np.timedelta64(31, "D")
    return Case(Assembly(parts), outside, Indoor(FromOutdoor()), begin, end, **given)


def _leaky(q50, **path):
    """Return a leak by which air passes all layers; q50 [m3/(m2 h)]."""
    return (AirLeak(Leakage.from_q(q50 / 3600.0), LeakPath(**path), "flow"),)


def _masonry():
    parts = (
        Layer(material("clay brick"), 0.24),
        Layer(material("mineral wool"), 0.08),
        Layer(material("gypsum board"), 0.0125),
    )
    return _case(parts, "kelpwick", "2023-10-01", loads=_leaky(6.0, height=2.0))


def _boards():
    parts = (
        Layer(material("plywood"), 0.012),
        Layer(material("dense cellulose"), 0.2),
        Layer(material("OSB"), 0.015),
    )
    return _case(parts, "kelpwick", "2023-10-01", loads=_leaky(6.0, height=2.0))


def _off(case, truth):
    """Return cells, and how far humidity [-] and temperature [K] are off in the worst cell."""
    run = march(case)
    humidity = rms(run.humidity, at_centres(run, truth, truth.humidity)).max()
    temperature = rms(run.temperature, at_centres(run, truth, truth.temperature)).max()
    return len(run.x), float(humidity), float(temperature)


@pytest.mark.parametrize("wall", [_masonry, _boards])
def test_cells_for_what_air_carries_through_dense_layers(wall, monkeypatch):
    case = wall()
    truth = march(case, **TIGHT, refine=FINER)
    cells, error, _ = _off(case, truth)
    monkeypatch.setattr(pilot, "is_blown", lambda problem: False)
    fewer, before, _ = _off(case, truth)
    print(f"{fewer} cells {100 * before:.3f} % RH, {cells} cells {100 * error:.3f} % RH")
    assert error < 2e-3 and before > 3e-3
    assert fewer < cells < 1.5 * fewer


def test_cells_beside_a_film_that_air_passes(monkeypatch):
    """What passes a film comes from the middle of the cell beside it: half a cell counts."""
    parts = (
        Layer(material("fibre cement"), 0.008),
        Layer(material("air gap 25 mm"), 0.028),
        film("weather-resistive membrane"),
        Layer(material("OSB"), 0.01),
        Layer(material("mineral wool"), 0.14),
        Layer(material("gypsum board"), 0.0125),
    )
    case = _case(parts, "fernmoor", "2022-01-01", loads=_leaky(5.0, height=2.5))
    truth = march(case, **TIGHT, refine=FINER)
    _, error, _ = _off(case, truth)
    monkeypatch.setattr(carried, "AT_FILM", 1e9)
    _, before, _ = _off(case, truth)
    print(f"{100 * before:.3f} % RH, with narrower cells beside the film {100 * error:.3f} % RH")
    assert error < 2e-3 and before > 1.3 * error


def test_cells_for_a_front_of_ice(monkeypatch):
    parts = (Layer(material("tuff concrete 1400"), 0.24), Layer(material("gypsum plaster"), 0.01))
    case = _case(parts, "rimefell", "2022-01-01", azimuth=180.0)
    case = replace(case, initial=Initial(278.15, 0.8, {"tuff concrete 1400": 0.999}))
    truth = march(case, **TIGHT, refine=FINER)
    cells, _, error = _off(case, truth)
    monkeypatch.setattr(pilot, "may_freeze", lambda problem, temperature: np.zeros(1, bool))
    fewer, _, before = _off(case, truth)
    print(f"{fewer} cells {before:.3f} K, {cells} cells {error:.3f} K")
    assert error < 0.06 and before > 2.0 * error
    assert fewer < cells < 1.5 * fewer


def test_a_pilot_whose_first_step_fails_has_seen_nothing(monkeypatch):
    """And says so by bends of zero: the march itself tells the trouble."""
    problem = lower(_masonry())
    marching = pilot.Marcher.run_to
    monkeypatch.setattr(pilot.Marcher, "run_to", lambda self, n: (marching(self, self.here)[0], "no step converges"))
    assert all(np.all(seen.by_width == 0.0) for seen in pilot.bends(problem, 1e6))
