"""Drying reserve and wetting calendar against runs that know nothing of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drydown import InputError, Layer, Wetting, dryout, simulate
from drydown.criteria import assess, deciding
from drydown.trial.calendar import wetting_calendar
from drydown.trial.reserve import _bisect, drying_reserve
from drydown.wording.calendar import calendar_words
from drydown.wording.reserve import reserve_sentence
from example_walls import case_of, frame_wall, wet_sheathing


def coarse(case):
    """On a coarse mesh that is given: what is held against each other here lies on the same one.

    Pilot marches would find one for each event.
    """
    parts = tuple(replace(p, cells=8) if isinstance(p, Layer) else p for p in case.assembly.parts)
    return replace(case, assembly=replace(case.assembly, parts=parts))


@pytest.mark.parametrize("true", [0.011, 0.3, 0.999, 1.0, 1.7, 37.0])
def test_bisection_ends_within_five_percent(true):
    tried = []

    def holds(amount):
        tried.append(amount)
        return amount <= true

    low, high = _bisect(holds, 1.0, 0.05)
    assert low <= true < high <= 1.05 * low
    assert low in tried and high in tried and len(tried) < 20


def test_no_reserve_is_found_in_finite_time():
    tried = []
    low, high = _bisect(lambda amount: bool(tried.append(amount)), 2.0, 0.05)
    assert low == 0.0 and high < 0.01 and len(tried) < 15


@pytest.mark.slow
def test_the_reserve_holds_just_below_and_not_just_above():
    """Two runs of our own, at what held and at what did not: one criterion passes its limit between them."""
    case = wet_sheathing(frame_wall(inside_film="polyamide film 0.05 mm"), day=100, amount=1.0)
    case = coarse(case)
    found = drying_reserve(case, years=3)
    assert 0.0 < found.amount < found.fails <= 1.05 * found.amount
    assert {t.amount: t.held for t in found.tries}[found.amount] is True
    assert {t.amount: t.held for t in found.tries}[found.fails] is False

    def exceeded(amount):
        events = tuple(
            Wetting("sheathing", amount, case.wettings[0].start + np.timedelta64(365 * k, "D"), 6 * 3600.0)
            for k in range(3)
        )
        run = simulate(replace(case, wettings=events, end=case.wettings[0].start + np.timedelta64(1095, "D")))
        return [f.criterion for f in assess(run, only=[c.name for c in deciding("reserve")]) if f.verdict == "exceeded"]

    assert exceeded(0.98 * found.amount) == []
    assert exceeded(1.02 * found.fails) != []
    assert found.finding.value == found.amount and found.why.kind in ("criterion", "gain", "overflow")
    assert str(found.end)[:4] in reserve_sentence(found)


def test_reserve_says_what_it_needs():
    dry = case_of(frame_wall())
    with pytest.raises(InputError, match="needs a wetting"):
        drying_reserve(dry)
    with pytest.raises(InputError, match="at least 3"):
        drying_reserve(wet_sheathing(frame_wall(), day=100), years=2)


def test_a_wall_past_its_limits_has_no_reserve():
    case = wet_sheathing(frame_wall(), day=30, days=60)
    found = drying_reserve(
        case, {"wood_moisture": 0.02, "panel_moisture": 0.02, "wood_days": 86400.0}, years=3, only=["wood moisture"]
    )
    assert found.amount == 0.0 and len(found.tries) == 0
    assert found.finding.verdict == "exceeded" and found.why.kind == "already"
    assert [f.criterion for f in found.why.findings] == ["wood moisture"]


@pytest.mark.slow
def test_calendar_is_the_trial_of_every_month():
    """Each cell of the calendar against a dry-out trial run from the start of the case."""
    case = coarse(case_of(frame_wall(inside_film="polyamide film 0.05 mm"), days=30))
    calendar = wetting_calendar(case, amount=0.6, layers=["sheathing"], follow=250)
    assert list(calendar["month"].values) == list(range(1, 13))
    for month in (2, 9):
        cell = calendar.sel(month=month, layer="sheathing")
        start = cell["start"].values.astype("datetime64[s]")
        event = Wetting("sheathing", 0.6, start, 6 * 3600.0)
        trial = dryout(replace(case, wettings=(event,), end=start + np.timedelta64(250, "D")))
        assert float(cell["days_to_90_percent_dry"]) == pytest.approx(
            trial.attrs["days_to_90_percent_dry"], abs=0.25, nan_ok=True
        )
        assert float(cell["days_to_50_percent_dry"]) == pytest.approx(trial.attrs["days_to_50_percent_dry"], abs=0.25)
        # the calendar follows until next to nothing is left, the trial to its end: compare at the calendar's end
        excess = trial["excess"].values
        began = int(np.searchsorted(trial["time"].values, cell["start"].values))
        stop = began + round(24 * float(cell["followed"]))
        assert excess[stop] == pytest.approx(0.6 * float(cell["remaining"]), abs=0.002)
        left = trial["left"].values[stop]
        assert float(cell["share_inward"]) == pytest.approx(left[2] / left.sum(), abs=0.003)
        # what the criteria find on the hours of the trial alone, read from a whole run
        run = simulate(replace(case, wettings=(event,), end=start + np.timedelta64(250, "D")))
        part = run.sel(time=slice(start.astype("datetime64[ns]"), trial["time"].values[stop]))
        found = {f.criterion: f.value for f in assess(part, only=["mould", "wood moisture", "decay"])}
        values = cell["value"]
        assert float(values.sel(criterion="mould")) == pytest.approx(found["mould"], rel=0.02, abs=0.01)
        assert float(values.sel(criterion="wood moisture")) == pytest.approx(found["wood moisture"], rel=0.02, abs=0.3)
        assert float(values.sel(criterion="decay")) == pytest.approx(found["decay"], rel=0.03, abs=0.005)
    # never kinder than the wall without water
    assert (calendar["value"] >= calendar["without"]).where(calendar["without"].notnull(), True).all()
    days = calendar["days_to_90_percent_dry"].sel(layer="sheathing").values
    assert days[5] < days[10] or np.isnan(days[10])
    (line,) = calendar_words(calendar)
    assert line.startswith("'sheathing': ") and "at worst" in line
    again = wetting_calendar(case, amount=0.6, layers=["sheathing"], follow=40, workers=1)
    assert np.isnan(again["days_to_90_percent_dry"].sel(month=12)).all()


def test_calendar_refuses_what_does_not_fit():
    case = case_of(frame_wall(), days=30)
    with pytest.raises(InputError, match="do not fit into 'sheathing'"):
        wetting_calendar(case, amount=50.0, layers=["sheathing"])
    with pytest.raises(InputError, match="no layer holds 500 kg/m2"):
        wetting_calendar(case, amount=500.0)
