"""Wood too wet: water that got in is told from the vapour of later winters."""

import numpy as np
import pytest
from drydown.criteria import catalogue
from drydown.wording.findings import sentence
from synthetic_results import results

HOURS = 3 * 8766
YEAR = np.arange(HOURS) // 8766
#: 120 days from January on, in years that begin in October.
WINTER = (np.arange(HOURS) % 8766 > 2200) & (np.arange(HOURS) % 8766 < 2200 + 120 * 24)


def board(wet, doses=()):
    """An OSB of 650 kg/m3 at 22 % in the hours `wet`, else at 12 %; water got in at the hours `doses`."""
    moisture = np.where(wet, 0.22, 0.12)
    data = results(np.full(HOURS, 10.0), 0.8, 650.0 * moisture, kinds=("panel",))
    if doses:
        added = sum((np.arange(HOURS) > hour).astype(float) for hour in doses)
        data = data.assign_coords(wetting=["1: OSB"])
        data["water_added"] = (("time", "wetting"), np.asarray(added)[:, None])
    return catalogue()["wood moisture"].judge(data)


@pytest.mark.parametrize(
    ("years", "doses", "verdict"),
    [
        ((0, 1, 2), (), "watch"),  # vapour alone, dry again each summer
        ((0, 1, 2), (2200,), "exceeded"),  # the water that got in stays too long
        ((1, 2), (2200,), "watch"),  # it was gone in time; the later winters are those of the dry wall
        ((1, 2), (2200, 2200 + 8766), "exceeded"),  # it comes back
    ],
)
def test_a_winter_long_after_the_water_is_judged_like_one_without(years, doses, verdict):
    found = board(WINTER & np.isin(YEAR, years), doses)
    assert found.value == pytest.approx(120.0, abs=1.0) and found.verdict == verdict


@pytest.mark.parametrize(("last", "said"), [(False, "and dry again"), (True, "again above it at the end of the run")])
def test_wet_again_is_not_still_wet(last, said):
    wet = WINTER & (YEAR == 0)
    wet[-24 * 30 :] |= last
    found = board(wet, (2200,) if last else ())
    assert said in sentence(found)
