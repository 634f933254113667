"""What stood in an answer and could not be: no minus zero, no digits that nobody measured, no order to the reader."""

import numpy as np
import pytest
import xarray as xr
from drydown.criteria import catalogue
from drydown.criteria.model import figure
from drydown.sides.indoor import AirConditioned, Constant, HumidityClass
from drydown.text import fixed, share, without_size
from drydown.wording.answer import _parts, on_its_way, still_there, when_gone
from drydown.wording.findings import findings_table, said
from drydown.wording.story import tell
from drydown.wording.uncertainty import numerical_error
from drydown.wording.verdict import does_it_dry, parts_left
from synthetic_results import results

SEVENTY = 294.2611111


@pytest.mark.parametrize("value", [-4e-4, -1e-9, -0.0, 0.0])
def test_nothing_has_no_sign(value):
    assert share(value) == "0 %" and fixed(value, 2) == "0.00"


def test_small_shares_keep_theirs():
    assert [share(v) for v in (-0.01, -0.0006, 0.0004, 0.002, 0.73)] == [
        "-1.0 %", "-0.1 %", "less than 0.1 %", "0.2 %", "73 %",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "model", [Constant(SEVENTY, 0.4), HumidityClass(2, SEVENTY), AirConditioned(SEVENTY, SEVENTY + 3.0)]
)
def test_a_temperature_said_in_the_other_units_has_no_long_tail(model):
    assert "21.1" in model.describe() and "21.11" not in model.describe()


@pytest.mark.parametrize(("doses", "of"), [(1, "of it"), (3, "of what got in over the years")])
def test_more_than_a_dose_stands_in_a_layer_where_doses_come_back(doses, of):
    """0.49 kg/m2 each year, and "up to 0.74 kg/m2 of it was in 'limestone'"."""
    excess = ("excess_of_layer", (("time", "layer"), [[0.0, 0.0], [0.1, 0.74]]))
    attrs = {"wetted_layers": "plaster", "amount": 0.49 * doses, "last_dose": 0.49}
    trial = xr.Dataset(dict([excess]), {"layer": ["plaster", "limestone"]}, attrs)
    assert on_its_way(trial) == f"For a time up to 0.74 kg/m2 {of} was in 'limestone'"


def test_no_more_than_all_is_still_there():
    """1 kg/m2 each year, none of which leaves: "126 % of it is still there", "only 0 % of it had left"."""
    days = {"days_to_50_percent_dry": np.nan, "days_to_90_percent_dry": np.nan, "began": "2022-01-15"}
    attrs = {**days, "remaining": 0.42, "amount": 3.0, "last_dose": 1.0, "counted_from": "2024-01-15"}
    trial = xr.Dataset({}, {"time": np.array(["2024-10-01"], "M8[ns]")}, attrs)
    assert still_there(trial).endswith("1.26 kg/m2 are still there, more than got in the last time")
    assert when_gone(trial) == "By the end of the run none of it had left"


def test_a_number_beside_its_limit_shows_its_side():
    assert [figure(v, "index", 3.0) for v in (2.9996, 3.04, 3.0, 2.4)] == [
        "just under 3.0",
        "just over 3.0",
        "3.0",
        "2.4",
    ]
    # "is above 18 %; it holds at most 18 % there"
    assert said((0.1837, "fraction", 0.18)) == "18.4 %" and said((0.24, "fraction", 0.18)) == "24 %"


def test_a_page_without_water_orders_its_owner_to_edit_nothing():
    n = 400 * 24
    story = tell(None, [], [], results(np.full(n, 15.0), 0.6))
    text = " ".join((*story.lead, *story.drying, story.headline))
    assert "[[wetting]]" not in text and ".toml" not in text and "would leave again" in text


@pytest.mark.parametrize(
    ("remaining", "said"),
    [
        (1.0, "next to nothing has left"),
        (0.8, "20 % has left"),
        (0.24, "76 % has left"),
        (0.85, "15 % has left"),
        (0.05, "95 % has left"),
    ],
)
def test_parts_that_left(remaining, said):
    assert parts_left(remaining) == said


def test_free_water_within_its_limit_that_stays_is_told_by_its_own_number():
    """0.075 of 0.5 kg/m2 is no limit passed; the 0.04 kg/m2 that never leave are, and are told as such."""
    n = 2 * 366 * 24
    water = np.where(np.arange(n) < 4000, 207.5, 204.0)
    water[0] = 150.0
    data = results(np.full(n, 10.0), 0.99, water, kinds=("insulation",))
    most, left = (catalogue()[name].judge(data) for name in ("condensation", "free water left"))
    assert most.value == pytest.approx(0.075) and most.limit == 0.5 and most.verdict == "watch"
    assert left.value == pytest.approx(0.04) and left.verdict == "exceeded" and left.value > left.limit


def test_free_water_of_a_short_run_is_not_said_to_stay():
    found = catalogue()["free water left"].judge(results(np.full(500, 10.0), 0.99, 300.0))
    assert found.verdict == "not applicable" and found.case == "short run"


@pytest.mark.parametrize(
    ("inward", "said"),
    [
        (0.54, ("46 %", "54 %")),
        (0.998, ("0.2 %", "99.8 %")),
        (0.004, ("99.6 %", "0.4 %")),
        (0.9998, ("less than 0.1 %", "nearly all")),
        (0.0, ("all of it", "none of it")),
        (0.99, ("1 %", "99 %")),
    ],
)
def test_two_shares_add_up_as_they_are_written(inward, said):
    assert _parts(inward) == said


def test_one_day_is_no_days():
    attrs = {
        "days_to_50_percent_dry": 1.2, "days_to_90_percent_dry": 1.4, "remaining": 0.0, "share_inward": 0.3,
        "amount": 1.0, "began": "2022-01-15", "wetted_layers": "OSB",
    }  # fmt: skip
    trial = xr.Dataset(attrs=attrs)
    assert "after 1 day (16 January 2022), nine tenths after 1 day" in when_gone(trial)
    assert does_it_dry(trial).endswith("have left after 1 day.")


@pytest.mark.parametrize(("name", "said"), [("air gap 25 mm", "air gap"), ("OSB", "OSB"), ("board 12.5 mm", "board")])
def test_two_thicknesses_do_not_stand_side_by_side(name, said):
    assert without_size(name) == said


@pytest.mark.parametrize(("value", "said"), [(3.1e-9, "0 kg/m2"), (-2e-6, "0 kg/m2"), (0.0044, "0.0044 kg/m2")])
def test_what_nobody_weighs_is_nothing(value, said):
    assert figure(value, "kg/m2", 0.5) == said


def test_nearly_all_is_not_all():
    """A mean of 100 % past a limit of 99.99 % does not stand as 100.00 % past 100 %."""
    assert (figure(0.9999, "fraction"), figure(0.99997, "fraction", 0.9999)) == ("99.99 %", "100 %")
    assert (figure(1.0, "fraction"), figure(0.997, "fraction"), figure(0.98, "fraction")) == ("100 %", "99.7 %", "98 %")


def test_a_harm_of_the_dry_run_alone_stands_in_the_table():
    """The first line says 'not even without the water': the row it speaks of must not end in 'fine'."""
    wet, dry = (catalogue()["free water left"].judge(free_water(left)) for left in (0.0, 1.0))
    assert (dry.verdict, wet.verdict) == ("exceeded", "fine")
    assert "exceeded without it" in findings_table([wet], [dry])
    assert findings_table([dry], [wet]).rstrip().endswith("exceeded")


def free_water(left):
    """Return two years in which so much free water stays [kg/m2]."""
    n = 2 * 366 * 24
    water = np.full(n, 200.0 + 100.0 * left)
    water[0] = 150.0
    return results(np.full(n, 10.0), 0.99, water, kinds=("insulation",))


def test_the_numerical_error_of_what_does_not_dry():
    def trial(days, left, inward):
        about = {"days_to_90_percent_dry": days, "remaining": left, "amount": 1.0, "share_inward": inward}
        return xr.Dataset(attrs=about)

    never = float("nan")
    dries = numerical_error(trial(33.04, 0.0, 0.25), trial(33.21, 0.0, 0.252))
    assert "nine tenths leave after 33.2 days instead of after 33.0 days, and 25.2 % instead of 25.0 %" in dries
    assert "leave not within the run instead of after 33.0 days" in numerical_error(
        trial(33.04, 0.1, 0.2), trial(never, 0.1, 0.2)
    )
    told = numerical_error(trial(never, 0.998, never), trial(never, 0.997, never))
    assert told.endswith("99.7 % instead of 99.8 % is still there at the end.")
