"""Wood too wet: water that got in is told from the vapour of later winters; hours near the limit count in part."""

import numpy as np
import pytest
from drydown.criteria import catalogue
from drydown.criteria.counting import counted_above
from drydown.wording.findings import sentence
from scipy.integrate import quad
from synthetic_results import results

HOURS = 3 * 8766
YEAR = np.arange(HOURS) // 8766
#: 120 days from January on, in years that begin in October.
WINTER = (np.arange(HOURS) % 8766 > 2200) & (np.arange(HOURS) % 8766 < 2200 + 120 * 24)


def board(wet, doses=(), wettest=0.22):
    """An OSB of 650 kg/m3 at 22 % in the hours `wet`, else at 12 %; water got in at the hours `doses`."""
    moisture = np.where(wet, wettest, 0.12)
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


@pytest.mark.parametrize(("wettest", "case"), [(0.28, "seasonal"), (0.36, "seasonal, wetter")])
def test_walls_that_were_opened_excuse_no_more_than_they_held(wettest, case):
    found = board(WINTER, wettest=wettest)
    assert (found.verdict, found.case) == ("watch", case)
    assert ("wetter than in walls that were found sound" in found.harm) == (case != "seasonal")


@pytest.mark.parametrize(("last", "said"), [(False, "and dry again"), (True, "again above it at the end of the run")])
def test_wet_again_is_not_still_wet(last, said):
    wet = WINTER & (YEAR == 0)
    wet[-24 * 30 :] |= last
    found = board(wet, (2200,) if last else ())
    assert said in sentence(found)


def test_what_counts_of_an_interval_is_the_mean_of_a_ramp():
    draw = np.random.default_rng(8)
    for _ in range(200):
        level, edge = draw.uniform(0.1, 0.3), draw.uniform(0.001, 0.02)
        a, b = level + edge * draw.uniform(-3.0, 3.0, 2)
        kinks = [(x - a) / (b - a) for x in (level - edge, level + edge)]
        expected, _ = quad(
            lambda s, a=a, b=b, level=level, edge=edge: np.clip(0.5 + 0.5 * (a + s * (b - a) - level) / edge, 0.0, 1.0),
            0.0,
            1.0,
            points=[k for k in kinks if 0.0 < k < 1.0] or None,
            epsabs=1e-12,
        )
        assert counted_above(a, b, level, edge) == pytest.approx(expected, abs=1e-9)
    assert counted_above(0.19, 0.23, 0.2, 0.0) == pytest.approx(0.75)


def along(level):
    """A board of wood that rises to `level` in a month, runs along it for a hundred days and dries."""
    day = np.arange(220 * 24) / 24.0
    moisture = np.interp(day, [0.0, 30.0, 130.0, 160.0, 220.0], [0.12, level, level, 0.12, 0.12])
    return catalogue()["wood moisture"].judge(results(np.full(len(day), 10.0), 0.8, 650.0 * moisture, kinds=("wood",)))


def test_a_course_along_the_limit_does_not_hang_on_a_hair():
    """A hundred days a hair below the limit, or a hair above: 100 days apart by a plain count."""
    below, above = along(0.1999), along(0.2001)
    assert above.value - below.value == pytest.approx(100.0 * 0.0002 / 0.01, abs=0.2)
    assert below.value == pytest.approx(50.0, abs=2.0)
    assert (below.case, above.case) == ("near", "short") and below.verdict == above.verdict == "watch"
    assert "comes close to 20 % for long: it holds at most 19.99 %" in sentence(below)
    # what passes through the limit counts as ever
    assert along(0.26).value == pytest.approx(100.0 + 2 * 30.0 * 6.0 / 14.0, abs=0.5)


def test_a_limit_that_is_never_passed_is_kept():
    """200 days just below the limit count as ninety and more, and no limit is exceeded."""
    day = np.arange(300.0)
    data = results(np.full(len(day), 10.0), 0.8, 650.0 * np.full(len(day), 0.1999), hours=24.0, kinds=("wood",))
    found = catalogue()["wood moisture"].judge(data)
    assert found.value > found.limit and (found.verdict, found.case) == ("watch", "near")
    low = catalogue()["wood moisture"].judge(data.assign(water_content=data["water_content"] * 0.9))
    assert (low.value, low.verdict, low.case) == (0.0, "fine", "below")
