"""A small wall between two chambers, one of them rained on; cheap enough to be marched again and again."""

import numpy as np
from drydown import Assembly, Case, Chamber, Initial, Layer, Wetting
from drydown.case.loads import AirLeak, RainShare
from drydown.plugins import film, material

START = np.datetime64("2022-01-01T00:00:00")
RAIN = 2.0e-6  # kg/(m2 s)


def small_wall(days: int = 4, **changes) -> Case:
    """OSB, mineral wool, a film that opens with humidity, gypsum board: some 25 cells."""
    assembly = Assembly(
        (
            Layer(material("OSB"), 0.011, cells=8),
            Layer(material("mineral wool"), 0.14, cells=8),
            film("polyamide film 0.05 mm"),
            Layer(material("gypsum board"), 0.0125, cells=5),
        )
    )
    outside = Chamber(278.15, 0.80, rain=RAIN)
    leak = AirLeak.from_keys(
        {"way": "flow", "q50": 3.0 / 3600.0, "orientation": 0.0, "wind_factor": 0.7}, assembly, outside
    )
    given = dict(
        assembly=assembly,
        outside=outside,
        inside=Chamber(294.15, 0.55),
        start=START,
        end=START + np.timedelta64(days, "D"),
        wettings=(Wetting("OSB", 0.3, START + np.timedelta64(6, "h"), 3.0 * 3600.0),),
        initial=Initial(283.15, 0.7),
        loads=(RainShare("OSB", 0.02, "inner"), leak),
        name="small wall",
    )
    return Case(**{**given, **changes})
