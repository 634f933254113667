"""Each load is a term of its own in the budget, alone and with all others; test_load_budgets.py draws them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Case, Initial, Layer, Wetting, simulate
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak, AirStream, RainShare, VentilatedGap
from drydown.case.partial_cover import partly_covering
from drydown.lowering.problem import mesh_of
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor

STEP_BOUND = 1e-9  # kg/m2 per step, DESIGN section 6
RUN_BOUND = 1e-6  # kg/m2 over a run


def gap_of(ds) -> float:
    """Largest difference [kg/m2] of water stored and of all terms that came, counted here from the result."""
    stored = (ds["water_content"].values * ds["width"].values).sum(axis=1)
    passed = sum(ds[name].values for name in ("vapour_passed", "liquid_passed", "convected_vapour_passed"))
    came = passed[:, 0] - passed[:, -1] + ds["water_added"].values.sum(axis=1) + ds["load_water"].values.sum(axis=1)
    return float(np.max(np.abs(stored - stored[0] - came)))


def wall(covered: float = 0.95) -> Assembly:
    parts = [
        Layer(material("spruce cladding"), 0.02),
        Layer(material("air gap 25 mm"), 0.025),
        film("weather-resistive membrane"),
        Layer(material("OSB"), 0.011),
        Layer(material("mineral wool"), 0.14),
        film("polyethylene 0.15 mm"),
        Layer(material("gypsum board"), 0.0125),
        film("latex paint"),
    ]
    parts[5] = partly_covering(parts[5], covered, parts[:5] + parts[6:])
    return Assembly(tuple(parts))


def leak(q50: float, way: str, layer: str, **path) -> AirLeak:
    return AirLeak(Leakage.from_q(q50 / 3600.0), LeakPath(**path), way, layer)


def case_with(loads, start="2021-11-01", days=20, wettings=()):
    begin = np.datetime64(start, "s")
    return Case(
        wall(),
        Outdoor(climate("fernmoor"), Exposure(azimuth=180.0)),
        Indoor(FromOutdoor()),
        begin,
        begin + np.timedelta64(days, "D"),
        wettings,
        Initial(283.15, 0.8, {"OSB": 0.92}),
        loads=tuple(loads),
    )


ALL = (
    VentilatedGap("air gap 25 mm", 20.0 / 3600.0, height=4.0, pressure_coefficient=0.1, loss_coefficient=30.0),
    leak(2.0, "flow", "", height=2.0),
    leak(3.0, "screening", "OSB"),
    AirStream(((np.datetime64("2021-11-01"), 2e-5), (np.datetime64("2021-11-15"), -5e-5)), "air gap 25 mm"),
    RainShare("OSB", 0.01),
)


def test_every_load_at_once_is_its_own_term():
    start = np.datetime64("2021-11-03T07:10")
    ds = simulate(case_with(ALL, wettings=(Wetting("OSB", 0.4, start, 9000.0, "inner"),)))
    assert list(ds["load_term"].values) == [
        "ventilation of air gap 25 mm",
        "air flow through the assembly",
        "air flow as far as air gap 25 mm",
        "leaking air in OSB",
        "rain in OSB",
    ]
    assert ds.attrs["water_closure_step_max"] < STEP_BOUND and gap_of(ds) < RUN_BOUND
    last = dict(zip(ds["load_term"].values, ds["load_water"].values[-1], strict=True))
    # A gap behind damp cladding dries; rain and leaking air bring water; a flow right through brings it at its ends.
    assert last["ventilation of air gap 25 mm"] < 0.0 < min(last["leaking air in OSB"], last["rain in OSB"])
    assert last["air flow through the assembly"] == 0.0 and np.abs(ds["convected_vapour_passed"].values[-1]).max() > 0.0
    assert float(ds["water_added"][-1, 0]) == pytest.approx(0.4, abs=1e-12)
    refused = dict(zip(ds["load_term"].values, ds["load_refused"].values[-1], strict=True))["rain in OSB"]
    assert last["rain in OSB"] + refused == pytest.approx(0.01 * float(ds["rain_offered"][-1]), rel=1e-9)


@pytest.mark.parametrize("n", range(len(ALL)))
def test_each_load_alone_closes(n):
    ds = simulate(case_with(ALL[n : n + 1], days=8))
    assert ds.attrs["water_closure_step_max"] < STEP_BOUND and gap_of(ds) < RUN_BOUND
    plain = simulate(case_with((), days=8), grid=mesh_of(case_with(ALL[n : n + 1], days=8)))
    apart = np.abs(ds["relative_humidity"].values[-1] - plain["relative_humidity"].values[-1]).max()
    assert apart > 0.0 or (n == 4 and float(ds["rain_offered"][-1]) == 0.0)


def test_a_yearly_wetting_comes_every_year():
    start = np.datetime64("2022-02-28T12:00")
    event = Wetting("OSB", 0.2, start, 3600.0, yearly=True)
    ds = simulate(replace(case_with((), days=800), wettings=(event,)))
    added = ds["water_added"].sel(time=["2022-03-02", "2023-03-02", "2024-01-09"]).values[:, 0]
    assert added == pytest.approx([0.2, 0.4, 0.4], abs=1e-12)
    assert gap_of(ds) < RUN_BOUND
