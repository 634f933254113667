"""Every figure at both widths: no text is cut by the edge of the figure, none lies over another."""

import re
import sys
from types import SimpleNamespace

import numpy as np
import pytest

NAMES = (
    "humidity",
    "months",
    "section",
    "moment",
    "history",
    "depth",
    "budget",
    "vapour",
    "criteria",
    "trial",
    "drying",
)


def drawn(made, name, width):
    run, trial = made.wetted.drydown.plot, made.trial.drydown.plot
    return {
        "humidity": lambda: run.humidity(width),
        "months": lambda: run.months(width),
        "section": lambda: run.section(width=width),
        "moment": lambda: run.section(["2022-01-20T06:00", "2022-05-20T15:00"], width),
        "history": lambda: run.history("inner edge of OSB", width),
        "depth": lambda: run.history(0.06, width),
        "budget": lambda: run.budget(width),
        "vapour": lambda: run.drying(width),
        "criteria": lambda: run.criteria(width=width),
        "trial": lambda: trial.trial(width),
        "drying": lambda: trial.drying(width),
    }[name]()


def texts_of(figure):
    from matplotlib.text import Text

    figure.canvas.draw()
    found = list(figure.texts)
    for axes in figure.axes:
        found += [axes.title, axes._left_title, axes.xaxis.label, axes.yaxis.label, *axes.texts]
        found += [axes.xaxis.get_offset_text(), axes.yaxis.get_offset_text()]
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in axis.get_major_ticks():
                if low <= tick.get_loc() <= high and tick.label1.get_visible():
                    found.append(tick.label1)
    boxes = []
    for text in found:
        if text.get_visible() and text.get_text().strip():
            # of a note its text alone, without the line that leads to it
            boxes.append((text.get_text(), Text.get_window_extent(text)))
    return boxes


@pytest.mark.parametrize("width", [8.6, 4.2])
@pytest.mark.parametrize("name", NAMES)
def test_no_text_is_cut_or_covered(made, name, width):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure = drawn(made, name, width)
    FigureCanvasAgg(figure)
    boxes = texts_of(figure)
    assert len(boxes) > 5
    whole = figure.bbox
    cut = [t for t, b in boxes if b.x0 < -1 or b.y0 < -1 or b.x1 > whole.x1 + 1 or b.y1 > whole.y1 + 1]
    assert cut == []
    meet = []
    for i, (a, p) in enumerate(boxes):
        for b, q in boxes[i + 1 :]:
            across, up = min(p.x1, q.x1) - max(p.x0, q.x0), min(p.y1, q.y1) - max(p.y0, q.y0)
            if across > 2 and up > 0.3 * min(p.height, q.height):
                meet.append((a, b))
    assert meet == []


def test_a_trial_shows_itself_in_a_running_notebook(made, monkeypatch):
    import xarray as xr
    from drydown.accessor import show, show_in_notebook

    kept = {}
    html = SimpleNamespace(for_type=lambda kind, function: kept.update({kind: function}))
    shell = SimpleNamespace(display_formatter=SimpleNamespace(formatters={"text/html": html}))
    monkeypatch.setitem(sys.modules, "IPython", SimpleNamespace(get_ipython=lambda: shell))
    assert show_in_notebook() and kept == {xr.Dataset: show}
    monkeypatch.setitem(sys.modules, "IPython", SimpleNamespace(get_ipython=lambda: None))
    assert not show_in_notebook()
    assert "0.8 kg/m²" in made.case._repr_html_()


@pytest.mark.parametrize("width", [8.6, 4.2])
@pytest.mark.parametrize(("half", "tenth"), [(119, 167), (20, 30), (3, 8), (100, 178), (30, 160), (150, 170)])
def test_no_line_goes_through_the_words_of_another(made, width, half, tenth):
    """Half gone and nine tenths gone, wherever they fall."""
    from matplotlib.text import Text

    trial = made.trial.copy()
    trial.attrs |= {"days_to_50_percent_dry": float(half), "days_to_90_percent_dry": float(tenth)}
    figure = trial.drydown.plot.trial(width)
    figure.canvas.draw()
    axes = figure.axes[1]
    words = [t for t in axes.texts if re.match("half|nine|9/10", t.get_text())]
    upright = [line for line in axes.lines if len(line.get_xdata()) == 2 and len(set(line.get_xdata())) == 1]
    assert len(words) == 2 and len(upright) >= 2
    for text in words:
        box = Text.get_window_extent(text)
        for line in upright:
            x, y = line.get_xydata().T
            if set(y) == {0.0, 1.0}:
                continue  # the line of the wetting, all through the axes
            (at, low), (_, high) = axes.transData.transform(np.column_stack([x, sorted(y)]))
            assert not (box.x0 < at < box.x1 and low < box.y1 - 1.0 and high > box.y0 + 1.0), text.get_text()
