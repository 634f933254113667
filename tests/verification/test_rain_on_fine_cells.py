"""Rain on dense stone in cells of micrometres: nearly full cells are asked to and fro, and settle all the same."""

import numpy as np
from drydown import Assembly, Case, Initial, Layer, Numerics, simulate
from drydown.plugins import climate, material
from drydown.sides.exposure import Exposure, Outdoor
from drydown.sides.indoor import FromOutdoor, Indoor


def test_a_bare_sheet_of_marble_settles():
    c = climate("fernmoor")
    start = c.start.astype("datetime64[Y]").astype("datetime64[s]") + np.timedelta64(273, "D")
    data = simulate(
        Case(
            Assembly((Layer(material("marble"), 0.119), Layer(material("expanded polystyrene"), 0.046))),
            Outdoor(c, Exposure(azimuth=270.0)),
            Indoor(FromOutdoor()),
            start,
            start + np.timedelta64(3, "D"),
            initial=Initial(287.0, 0.6),
            numerics=Numerics(tolerance=0.1, max_step=450.0, refine=4.0),
        )
    )
    a = data.attrs
    print({k: a[k] for k in ("cells", "steps", "steps_failed", "sweeps")})
    assert a["steps_failed"] < 20
    assert a["sweeps"] < 3.5 * a["steps"]
    assert a["water_closure_step_max"] < 1e-9
