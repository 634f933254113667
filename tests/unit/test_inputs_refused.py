"""Numbers that mean nothing are refused where they are given, in one line, and do not reach the kernel."""

import numpy as np
import pytest
from drydown import Chamber, InputError, Numerics, Wetting
from drydown.case.air_leakage import Leakage
from drydown.case.loads import AirStream

NAT, NAN, INF = np.datetime64("NaT"), float("nan"), float("inf")


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Chamber(293.15, 0.5, heat_transfer=-1.0), "heat_transfer is -1 W/(m2 K)"),
        (lambda: Chamber(293.15, 0.5, heat_transfer=NAN), "heat_transfer is nan"),
        (lambda: Chamber(293.15, 0.5, vapour_transfer=-1e-8), "vapour_transfer is -1e-08"),
        (lambda: Chamber(293.15, 0.5, vapour_transfer=INF), "vapour_transfer is inf"),
        (lambda: Chamber(293.15, 0.5, rain=-1e-5), "rain is -1e-05 kg/(m2 s)"),
        (lambda: Chamber(293.15, 0.5, rain=NAN), "rain is nan"),
        (lambda: Wetting("OSB", 1.0, NAT), "the start is no date"),
        (lambda: AirStream(((NAT, 1e-4),)), "a point has no date"),
        (lambda: Numerics(refine=INF), "refine is inf"),
        (lambda: Leakage.from_n50(3.0 / 3600.0, 400.0, INF), "area is inf"),
        (lambda: Leakage.from_n50(3.0 / 3600.0, NAN, 400.0), "volume is nan"),
    ],
)
def test_refused(make, words):
    with pytest.raises(InputError) as e:
        make()
    assert words in str(e.value) and "\n" not in str(e.value)
