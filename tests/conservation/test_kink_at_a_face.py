"""A face on a kink of its material: what one sweep leaves behind there must not pass for the error of the step.

The gap before a wet stucco whose desorption curve has a kink took steps of 6 ms, and would have for good, where stages
counted on their first sweep and on what second ones had found long before. (Here no step may be cut below 4 s, so that
it would end: 41,000 steps in the 16 days.)
"""

import numpy as np
from drydown import Assembly, Case, Initial, Layer, Numerics, simulate
from drydown.case.air_leakage import Leakage, LeakPath
from drydown.case.loads import AirLeak, VentilatedGap
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor

DAYS = 16


def test_steps_stay_long():
    start = np.datetime64("2029-06-13T00", "s")
    gap = Layer(material("air gap, heat upward"), 0.0063, "gap", cells=100)
    stucco = Layer(material("stucco, desorption"), 0.07, "stucco", cells=200)
    path = LeakPath(azimuth=311.0, height=4.1, wind_factor=0.72, shelter=1.0, indoor_coefficient=-0.25, mechanical=5.0)
    moving = (
        VentilatedGap("gap", air_changes=7e-4, height=0.0, pressure_coefficient=0.0, loss_coefficient=27.5, slope=67.0),
        AirLeak(Leakage(coefficient=1.65e-6, exponent=0.612), path, way="flow"),
    )
    case = Case(
        Assembly((gap, stucco)),
        Outdoor(climate("saltreed"), Exposure(azimuth=148.0, tilt=180.0)),
        Indoor(FromOutdoor()),
        start,
        start + np.timedelta64(DAYS, "D"),
        initial=Initial(256.5, 0.92, {"stucco": 0.98}),
        loads=moving,
        numerics=Numerics(min_step=1.0),
    )
    effort = simulate(case).attrs
    print({k: effort[k] for k in ("steps", "steps_rejected", "sweeps")})
    assert effort["steps"] < 8 * 24 * DAYS
    assert effort["water_closure_step_max"] < 1e-9
