"""What the page says and holds, without a browser: the answer, the data, the size, what it may not do."""

import base64
import json
import re

import numpy as np
import pytest
from drydown.criteria import Outcome, Place, catalogue
from drydown.report.pack import colours, encoded, stretch_of
from drydown.text import day
from drydown.wording.answer import when_gone
from drydown.wording.story import about, tell
from drydown.wording.verdict import does_it_dry, does_it_stay_sound


def finding(criterion="mould", verdict="fine", screening=False):
    of = catalogue()[criterion]
    return of.finding(Outcome(1.0, 1.0, verdict, Place("OSB"), np.datetime64("2022-01-01", "s"), case="it is so"))


def trial_of(made, **attrs):
    trial = made.trial.copy()
    trial.attrs = {**made.trial.attrs, **attrs}
    return trial


def test_below_five_megabytes_and_closed(made):
    assert len(made.html.encode()) < 5e6
    assert "default-src 'none'" in made.html
    outside = re.findall(r"(?:src|href|srcset)=[\"']?(?!data:|#)([^\"'\s>]+)", made.html)
    assert outside == []
    assert not re.search(r"@import|fetch\(|XMLHttpRequest|WebSocket", made.html)


def test_names_from_a_case_file_are_text(made):
    """A name with markup in it must not become markup."""
    assert "&lt;b&gt;" in made.html
    assert "'north' <b>" not in made.html.split("<script", 1)[0]


def test_the_same_results_make_the_same_page(made):
    from drydown.report import page

    first, second = page(made.reference), page(made.reference)
    assert first == second


def test_data_of_the_page_come_back(made):
    """The packed numbers against the hourly results, within a half step of their rounding."""
    data = json.loads(re.search(r"id='data'>(.*?)</script>", made.html, re.S).group(1))
    days, cells = data["n"], len(data["edges"]) - 1
    assert data["hours"] == 24 and days == 180

    def bytes_of(name, kind):
        return np.frombuffer(base64.b64decode(data[name]), kind)

    hourly = made.wetted["relative_humidity"].values[1:].reshape(days, 24, cells)
    humidity = bytes_of("humidity", "u1").reshape(days, cells) / 2.0
    assert np.max(np.abs(humidity - 100 * hourly.mean(axis=1))) <= 0.2501
    warmth = bytes_of("temperature", "<i2").reshape(days, -1) / 10.0
    kelvin = made.wetted["temperature"].values[1:].reshape(days, 24, cells).mean(axis=1)
    width = made.wetted["width"].values
    for j, layer in enumerate(data["layers"]):
        a, b = layer["cells"]
        wanted = np.average(kelvin[:, a:b], axis=1, weights=width[a:b]) - 273.15
        assert np.max(np.abs(warmth[:, j] - wanted)) <= 0.0501
    assert data["edges"][-1] == pytest.approx(1e3 * width.sum(), abs=1e-3)
    # what left over the whole run, from the flows of single days, is what the run counts
    flow = bytes_of("flow", "<f4").reshape(days, -1)
    week = made.wetted["vapour_passed"].values[::24, 0]
    assert flow[100, 0] == pytest.approx(-1e3 * (week[101] - week[94]) / 7, rel=1e-5)


def test_encoded_rounds_and_keeps_its_bounds():
    back = np.frombuffer(base64.b64decode(encoded(np.array([1.4, 1.6, 300.0, -5.0]), "<u1")), "u1")
    assert back.tolist() == [1, 2, 255, 0]


def test_colours_get_darker_all_the_way():
    """The map reads in grey: its luminance (Rec. 709 weights) falls with humidity, never turning back."""
    table = np.array([int(colours()[i : i + 2], 16) for i in range(0, 6 * 256, 2)]).reshape(256, 3) / 255.0
    linear = np.where(table <= 0.04045, table / 12.92, ((table + 0.055) / 1.055) ** 2.4)
    luminance = linear @ np.array([0.2126, 0.7152, 0.0722])
    assert np.all(np.diff(luminance) < 0.002)
    assert luminance[0] > 10 * luminance[-1]


def test_stretches_follow_the_length_of_the_run(made):
    assert stretch_of(made.wetted) == 24
    assert stretch_of(made.wetted.isel(time=slice(0, 240))) == 1
    assert stretch_of(made.wetted.isel(time=slice(0, 4000, 3))) == 24


@pytest.mark.parametrize(
    ("attrs", "harmed", "words"),
    [
        ({"days_to_50_percent_dry": 20.0, "days_to_90_percent_dry": 60.0}, None, "Yes: it dries quickly"),
        ({"days_to_50_percent_dry": 90.0, "days_to_90_percent_dry": 240.0}, None, "Yes, but slowly: it dries"),
        (
            {"days_to_50_percent_dry": 90.0, "days_to_90_percent_dry": 240.0},
            "decay",
            "Not soon enough: it dries slowly, ",
        ),
        ({"days_to_50_percent_dry": 200.0, "days_to_90_percent_dry": 600.0}, None, "Hardly: it takes about 20 months"),
        ({"days_to_50_percent_dry": 200.0, "days_to_90_percent_dry": np.nan}, None, "Only in part"),
        (
            {"days_to_50_percent_dry": np.nan, "days_to_90_percent_dry": np.nan},
            "mould",
            "Not within the run: ",
        ),
    ],
)
def test_headline(made, attrs, harmed, words):
    findings = [finding(harmed or "mould", "exceeded" if harmed else "fine")]
    trial = trial_of(made, **attrs)
    headline = tell(trial, findings, [finding(harmed or "mould")]).headline
    assert headline.startswith(words), headline
    if harmed:
        assert {"decay": "rot can set in", "mould": "mould grows too much"}[harmed] in headline
    # the command says the same: the same pace, the same side, the same damage
    said = does_it_dry(trial)
    for word in (
        "quickly",
        "slowly",
        "Hardly",
        "Only in part",
        "Not within",
        "outward",
        "inward",
        "to both sides alike",
    ):
        assert (word in said) == (word in headline), (word, said, headline)
    if harmed:
        assert headline.split(" and ")[-1].removesuffix(" meanwhile.").removesuffix(".") in does_it_stay_sound(
            [finding(harmed)], findings
        )


def test_what_fails_without_the_water_comes_first_on_the_page_as_in_the_command(made):
    """Rot only with the water, mould even without it: both say so, and neither hides the mould."""
    trial = trial_of(made, days_to_50_percent_dry=90.0, days_to_90_percent_dry=240.0)
    after, before = [finding("decay", "exceeded"), finding("mould", "exceeded")], [finding("mould", "exceeded")]
    story = tell(trial, after, before)
    assert "even without that water mould grows too much" in story.headline
    assert "Besides, rot can set in." in story.lead
    assert does_it_stay_sound(before, after).endswith(
        "Not even without the water: mould grows too much. With it, rot can set in as well."
    )


def test_harm_that_is_there_without_the_water_is_said(made):
    trial = trial_of(made, days_to_50_percent_dry=90.0, days_to_90_percent_dry=240.0)
    story = tell(trial, [finding("mould", "exceeded")], [finding("mould", "exceeded")])
    assert "even without that water mould grows too much" in story.headline
    assert any("so without the water, too" in s for s in story.harm)


def test_screening_does_not_make_the_headline(made):
    trial = trial_of(made, days_to_50_percent_dry=20.0, days_to_90_percent_dry=60.0)
    story = tell(trial, [finding("humidity 30 days", "exceeded"), finding()], [])
    assert story.headline.startswith("Yes")


def test_lengths_of_time():
    assert [about(d) for d in (1.2, 12.0, 59.0, 61.0, 240.0, 600.0, 800.0)] == [
        "1 day", "12 days", "59 days", "about 2 months", "about 8 months", "about 20 months", "about 2.2 years",
    ]  # fmt: skip


def test_notebooks_show_assembly_case_and_trial(made):
    from drydown.accessor import show
    from drydown.report.notebook import case_html

    drawn = made.case.assembly._repr_html_()
    assert "polyamide film 0.05 mm" in drawn and "Section, from outside to inside" in drawn
    # the widths of the boxes are the thicknesses
    assert [float(x) for x in re.findall(r"flex:([\d.]+)", drawn)] == [20.0, 25.0, 11.0, 140.0, 12.5]
    assert "0.8 kg/m² of water into OSB on 15 December 2021" in case_html(made.case)
    shown = show(made.trial)
    assert "Of what left" in shown and "data:image/svg" in shown and "xr-wrap" in shown
    import xarray as xr

    assert "data:image/svg" not in show(xr.Dataset({"a": 1}))


def test_results_draw_themselves(made, tmp_path):
    plot = made.wetted.drydown.plot
    for figure in (plot(), plot.section(), plot.history("OSB"), plot.months(), plot.drying(), plot.budget(),
                   made.trial.drydown.plot()):  # fmt: skip
        assert figure.axes
    from drydown.errors import InputError

    with pytest.raises(InputError, match="did you mean 'OSB'"):
        plot.history("OSP")
    with pytest.raises(InputError, match=r"draw it from what drydown\.dryout returns"):
        plot.trial()
    made.wetted.drydown.report(tmp_path / "x.html", made.case, made.trial)
    assert (tmp_path / "x.html").stat().st_size > 1e5


def test_a_run_with_water_in_it_is_not_told_as_use(made):
    story = tell(None, [finding("mould", "exceeded")], [], made.wetted)
    assert story.headline == "With the water that got in, it gets too damp: mould grows too much."
    assert "0.8 litres on every square metre, got into OSB on 15 December 2021" in story.lead[0]
    dry = tell(None, [finding("mould", "exceeded")], [], made.reference)
    assert dry.headline == "In use, it gets too damp: mould grows too much." and dry.lead == ()


def test_days_of_a_wetting_that_comes_back_are_counted_from_the_last(made):
    """The trial counts them so; a date reckoned from the first was a year early."""
    began = np.datetime64(made.trial.attrs["began"])
    last = began + np.timedelta64(365, "D")
    trial = trial_of(made, days_to_50_percent_dry=20.0, days_to_90_percent_dry=60.0, counted_from=str(last))
    said = when_gone(trial)
    assert day(last + np.timedelta64(20, "D")) in said and day(last + np.timedelta64(60, "D")) in said
    assert said.endswith(f", counted from the last time, {day(last)}")
    assert f"from {day(began)} on, year by year" in tell(trial).lead[0]
    assert "last time" not in when_gone(made.trial) and "year by year" not in tell(made.trial).lead[0]
