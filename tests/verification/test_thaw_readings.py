"""Where ice melts a reading is that of its neighbours: cells a millimetre apart are as warm as each other."""

import numpy as np
from drydown import Assembly, Case, Layer
from drydown.lowering.problem import lower
from drydown.plugins import climate, film, material
from drydown.run.simulation import chunks
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor

CLADDING = 14
#: Half a kelvin and more was seen where the last sweep of a stage was not asked what it left of the enthalpy.
NEIGHBOURS = 0.2


def test_frozen_cladding_is_as_warm_as_its_neighbours():
    wall = Assembly(
        (
            Layer(material("fibre cement"), 0.008, cells=CLADDING),
            Layer(material("air gap 25 mm"), 0.025, cells=12),
            film("weather-resistive membrane"),
            Layer(material("wood fibreboard"), 0.012, cells=16),
            Layer(material("OSB"), 0.011, cells=14),
            Layer(material("mineral wool"), 0.14, cells=24),
            film("polyamide film 0.05 mm"),
            Layer(material("gypsum board"), 0.0125, cells=20),
            film("latex paint"),
        )
    )
    weather = climate("fernmoor")
    start = weather.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273 + 90, "D")
    case = Case(
        wall, Outdoor(weather, Exposure(azimuth=270.0)), Indoor(FromOutdoor()), start, start + np.timedelta64(13, "D")
    )
    t = np.concatenate([record.temperature for _, record in chunks(lower(case))])[:, :CLADDING]
    assert np.any(t < 273.0) and np.any(t > 273.5)  # it freezes and thaws
    print("greatest step between two cells [K]:", np.abs(np.diff(t, axis=1)).max())
    assert np.abs(np.diff(t, axis=1)).max() < NEIGHBOURS
