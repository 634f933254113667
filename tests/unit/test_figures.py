"""Figures are drawn from a Dataset alone and carry the answer in words."""

import numpy as np
import pytest
import xarray as xr
from drydown.figures import run_figure, spread, trial_figure
from drydown.text import day, paragraph, plain, share, span, table


def trial(days_to_50_percent_dry=10.0, days_to_90_percent_dry=30.0, inward=0.3, remaining=0.02):
    """A demo trial: an exponential decay, `inward` of what leaves goes inward."""
    time = np.datetime64("2022-01-01", "ns") + np.arange(0, 24 * 100) * np.timedelta64(3600, "s")
    age = np.arange(24 * 100) / 24.0 - 5.0
    added = np.where(age > 0, 2.0, 0.0)
    excess = added * np.exp(-np.maximum(age, 0.0) / 14.0)
    gone = added - excess
    left = np.stack([gone * (1 - inward), 0 * gone, gone * inward], axis=1)
    layers = ["board", "wool"]
    return xr.Dataset(
        {
            "added": ("time", added),
            "excess": ("time", excess),
            "excess_of_layer": (("time", "layer"), np.stack([excess, 0 * excess], axis=1)),
            "left": (("time", "way"), left),
            "water_wetted": ("time", excess + 1.0),
            "water_reference": ("time", 0 * excess + 1.0),
        },
        {
            "time": time,
            "layer": layers,
            "way": ["outer surface, vapour", "outer surface, liquid", "inner surface"],
            "outward": ("way", [True, True, False]),
        },
        {
            "case": "demo",
            "wetted_layers": "board",
            "amount": 2.0,
            "began": "2022-01-06T00:00:00",
            "days_to_50_percent_dry": days_to_50_percent_dry,
            "days_to_90_percent_dry": days_to_90_percent_dry,
            "share_outward": 1 - inward,
            "share_inward": inward,
            "remaining": remaining,
        },
    )


def words_of(figure):
    figure.canvas.draw()
    found = [t.get_text() for t in figure.texts]
    for axes in figure.axes:
        found += [t.get_text() for t in axes.texts] + [axes.get_title(loc="left")]
    return " ".join(" ".join(found).split())


def test_trial_figure_states_the_answer():
    text = words_of(trial_figure(trial()))
    for words in (
        "2 kg/m² of water in board: half of it had left after 10 days (16 January 2022)",
        "nine tenths after 30 days (5 February 2022)",
        "70 % went outward and 30 % inward",
        "left outward",
        "left inward",
        "still there",
        "with the water",
        "without it",
    ):
        assert words in text, text


def test_trial_figure_draws_the_numbers_of_the_trial():
    from matplotlib.dates import num2date

    t = trial()
    outward, inward, kept = trial_figure(t).axes[1].lines[:3]
    for line, values in (
        (outward, t["left"][:, :2].sum("way")),
        (inward, t["left"][:, 2]),
        (kept, t["excess"]),
    ):
        for date, y in list(zip(line.get_xdata(), line.get_ydata(), strict=True))[::97]:
            date = date if isinstance(date, np.datetime64) else np.datetime64(num2date(date).replace(tzinfo=None))
            assert y == pytest.approx(float(values.sel(time=date)), abs=1e-12)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            {"days_to_50_percent_dry": np.nan, "days_to_90_percent_dry": np.nan, "remaining": 0.6},
            "only 40 % of it had left",
        ),
        ({"days_to_90_percent_dry": np.nan}, "nine tenths had not"),
        ({"inward": -0.02}, "All of it left outward"),
        ({"inward": 1.1}, "All of it left inward"),
        ({"remaining": 0.999, "days_to_50_percent_dry": np.nan, "days_to_90_percent_dry": np.nan}, "Next to none"),
    ],
)
def test_trial_figure_of_walls_that_dry_otherwise(change, words):
    assert words in words_of(trial_figure(trial(**change)))


def test_no_two_lines_share_a_style():
    for axes in trial_figure(trial()).axes:
        named = [line for line in axes.lines if len(np.asarray(line.get_ydata())) > 2]
        styles = [str(line._unscaled_dash_pattern) for line in named]
        assert len(set(styles)) == len(styles)


def test_run_figure_names_the_layers_and_stands_to_scale():
    time = np.datetime64("2022-01-01", "ns") + np.arange(241) * np.timedelta64(3600, "s")
    humidity = np.tile([0.9, 0.8, 0.5], (241, 1))
    results = xr.Dataset(
        {"relative_humidity": (("time", "cell"), humidity)},
        {
            "time": time,
            "width": ("cell", [0.01, 0.05, 0.05]),
            "layer_of_cell": ("cell", ["board", "wool", "wool"]),
            "layer": ["board", "wool"],
        },
        {"case": "demo"},
    )
    figure = run_figure(results)
    text = words_of(figure)
    assert "board" in text and "wool" in text and "demo" in text
    axes = figure.axes[0]
    assert axes.get_ylim() == (pytest.approx(110.0), 0.0)
    assert [float(np.asarray(line.get_ydata())[0]) for line in axes.lines] == [pytest.approx(10.0)]
    assert np.asarray(axes.collections[0].get_array()).reshape(3, -1)[:, 0] == pytest.approx([90.0, 80.0, 50.0])


def test_spread_keeps_labels_apart_and_in_order():
    placed = spread([0.5, 0.5, 0.52, 0.0], [0.1, 0.1, 0.1, 0.1])
    ordered = sorted(placed)
    assert min(np.diff(ordered)) > 0.099
    assert placed[3] == ordered[0]
    assert spread([0.2, 0.8], [0.1, 0.1]) == [0.2, 0.8]


def test_words():
    assert day(np.datetime64("2022-09-05T13:00")) == "5 September 2022"
    assert [span(s) for s in (21600, 3600, 5400, 86400, 172800, 90)] == [
        "6 hours",
        "1 hour",
        "90 minutes",
        "1 day",
        "2 days",
        "90 seconds",
    ]
    assert [share(v) for v in (0.734, 0.002, 0.0996, 0.0, -0.02, 0.0002)] == [
        "73 %",
        "0.2 %",
        "10 %",
        "0 %",
        "-2.0 %",
        "less than 0.1 %",
    ]
    assert [plain(v) for v in (12345.0, 0.01234, 3.0)] == ["12300", "0.0123", "3"]
    assert max(len(line) for line in paragraph("word " * 60).splitlines()) <= 88
    assert table([("a", "1"), ("bb", "22")]) == "a    1\nbb  22"


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("most", [5, 6, 10])
@pytest.mark.parametrize("days", [2, 2.9, 60, 89, 700, 1000, 1090])
def test_dates_of_any_span_are_found_without_a_warning(days, most):
    import matplotlib.pyplot as plt
    from drydown.figures.style import dates

    figure, axes = plt.subplots()
    begin = np.datetime64("2021-10-01", "s")
    axes.plot([begin, begin + np.timedelta64(round(86400 * days), "s")], [0.0, 1.0])
    dates(axes, most)
    figure.canvas.draw()
    assert 2 <= len(axes.get_xticks()) <= most + 2
    plt.close(figure)
