"""Every figure at both widths: no text is cut by the edge of the figure, none lies over another."""

import sys
from types import SimpleNamespace

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
