"""Budgets close with every load at once, under drawn combinations (issue: climates, exposure and moisture loads)."""

from __future__ import annotations

import numpy as np
from drydown import Assembly, Case, Initial, Layer, Wetting, simulate
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak, AirStream, RainShare, VentilatedGap
from drydown.plugins import climate, film, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

HOUR = np.timedelta64(3600, "s")


@st.composite
def loaded_cases(draw):
    """A wall with a gap, in weather, with all kinds of load."""
    cladding = draw(st.sampled_from(("spruce cladding", "fibre cement", "clay brick")))
    inner = draw(st.sampled_from(("polyethylene 0.15 mm", "polyamide film 0.05 mm", None)))
    parts = [
        Layer(material(cladding), draw(st.floats(0.008, 0.1)), "cladding"),
        Layer(material("air gap 25 mm"), draw(st.floats(0.01, 0.06)), "gap"),
        film("weather-resistive membrane"),
        Layer(material("OSB"), 0.012, "sheathing"),
        Layer(material("mineral wool"), draw(st.floats(0.08, 0.3)), "insulation"),
    ]
    if inner:
        parts.append(film(inner))
    parts.append(Layer(material("gypsum board"), 0.0125, "lining"))
    c = climate(draw(st.sampled_from(("fernmoor", "saltreed", "rimefell", "kelpwick"))))
    start = c.start.astype("datetime64[D]").astype("datetime64[s]") + np.timedelta64(draw(st.integers(0, 700)), "D")
    azimuth = draw(st.floats(0, 359))
    tightness = Leakage.from_q(draw(st.floats(0.1, 5.0)) / 3600.0)
    path = LeakPath(azimuth, draw(st.floats(-3.0, 3.0)))
    wind = draw(st.floats(0.0, 0.5))
    swing = tuple(
        (start + k * 36 * HOUR, g) for k, g in enumerate(draw(st.lists(st.floats(-3e-4, 3e-4), min_size=1, max_size=4)))
    )
    loads = (
        VentilatedGap("gap", draw(st.floats(0.0, 0.05)), draw(st.sampled_from(("outside", "inside"))), 2.5, wind),
        AirLeak(tightness, path, "flow"),
        AirLeak(tightness, path, "flow", "gap"),
        AirStream(swing, draw(st.sampled_from(("", "gap")))),
        AirLeak(tightness, layer="sheathing", place="inner"),
        RainShare("sheathing", draw(st.floats(0.001, 1.0)), draw(st.sampled_from(("whole", "outer")))),
        RainShare("insulation", draw(st.floats(0.001, 1.0)), "inner", 0.02),
    )
    wetting = Wetting("sheathing", draw(st.floats(0.001, 0.5)), start + 40 * HOUR, draw(st.floats(60.0, 1e5)))
    return Case(
        Assembly(tuple(parts)),
        Outdoor(c, Exposure(azimuth=azimuth)),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(6, "D"),
        (wetting,),
        Initial(283.15, draw(st.floats(0.3, 0.95))),
        loads=draw(st.permutations(loads)),
    )


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(loaded_cases())
def test_budgets_close_with_every_load(case):
    ds = simulate(case)
    assert ds.attrs["water_closure_step_max"] < 1e-9
    passed = (ds["vapour_passed"] + ds["liquid_passed"] + ds["convected_vapour_passed"]).values
    brought = ds["load_water"].sum("load_term").values + ds["water_added"].sum("wetting").values
    stored = (ds["water_content"].values * ds["width"].values).sum(axis=1)
    gap = stored - stored[0] - (passed[:, 0] - passed[:, -1]) - brought
    assert np.max(np.abs(gap)) < 1e-9
    # the heat closes as well
    assert ds.attrs["heat_closure_step_max"] < 1e-3  # J/m2 a step
    # rain is taken or refused, never more than offered
    rain = [str(name).startswith("rain in") for name in ds["load_term"].values]
    both = (ds["load_water"] + ds["load_refused"]).values[:, rain]
    shares = np.array([x.share for x in case.loads if isinstance(x, RainShare)])
    assert np.max(np.abs(both - ds["rain_offered"].values[:, None] * shares)) < 1e-9
    assert np.all(np.diff(ds["load_refused"].values, axis=0) >= -1e-15)
    humidity = ds["relative_humidity"].values
    assert np.all((humidity > 0.0) & (humidity <= 1.0))
    assert np.all((ds["temperature"].values > 210.0) & (ds["temperature"].values < 370.0))
