"""Wet walls that freeze, on cells of a fraction of a millimetre: what once did not converge."""

from __future__ import annotations

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Climate, Initial, Layer, Numerics, simulate
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor

BOUND = 1e-9


def through_zero(weather: Climate) -> int:
    """Return the day from which on rain and the freezing point meet most within two days."""
    t, rain = weather.temperature - 273.15, weather.rain
    wet = np.where(np.abs(t) < 2.0, np.minimum(rain, 2.0), 0.0) * (np.abs(np.gradient(np.sign(t))) > 0.0)
    return int(np.convolve(wet[: len(wet) // 24 * 24].reshape(-1, 24).sum(axis=1), np.ones(2), "valid").argmax())


@pytest.mark.parametrize("refine", [6, 8, 12])
def test_bare_wet_aerated_concrete_in_rain_about_freezing(refine):
    weather = climate("fernmoor")
    day = through_zero(weather)
    start = weather.start + np.timedelta64(day, "D")
    case = Case(
        Assembly((Layer(material("aerated concrete"), 0.2, cells=12),)),
        Outdoor(weather, Exposure(azimuth=240.0)),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(1, "D"),
        initial=Initial(274.15, 0.999),
        numerics=Numerics(refine=refine),
    )
    data = simulate(case)
    a = data.attrs
    print(f"day {day}: {a['steps']} steps, {a['steps_failed']} failed, ice {float(data['ice_content'].max()):.0f}")
    assert float(data["ice_content"].max()) > 10.0
    assert a["water_closure_step_max"] < BOUND
    assert a["steps_failed"] < 0.02 * a["steps"]


@pytest.mark.parametrize("refine", [1, 8])
def test_full_clay_brick_cooled_to_minus_ten(refine):
    case = Case(
        Assembly((Layer(material("clay brick"), 0.115, cells=12),)),
        Chamber(263.15, 0.8),
        Chamber(263.15, 0.8),
        np.datetime64("2001-01-01T00", "s"),
        np.datetime64("2001-01-02T00", "s"),
        initial=Initial(293.15, 0.9999),
        numerics=Numerics(refine=refine),
    )
    data = simulate(case)
    a = data.attrs
    print(f"{a['steps']} steps, {a['steps_failed']} failed, ice {float(data['ice_content'].max()):.0f}")
    assert data["temperature"].values[-1] == pytest.approx(263.15, abs=1.5)
    assert float(data["ice_content"].max()) > 50.0
    assert a["water_closure_step_max"] < BOUND
    assert a["steps_failed"] < 0.02 * a["steps"]
