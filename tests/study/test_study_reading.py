"""Reading a gathered study: effects, maps, grids, best and worst, figures."""

import numpy as np
import pytest
from drydown import InputError
from drydown.study import (
    Axis,
    Distribution,
    FunctionModel,
    Sampled,
    Study,
    best,
    main_effects,
    map_over,
    on_grid,
    solve,
)
from drydown.study.figures import effects_figure, lines_figure, map_figure


def known(kind, x, y):
    """y matters by a parabola, kind by a step, x not at all; the kind 'never' has no value at y = 3."""
    if y == 4.0:
        raise InputError("four is too many", "y")
    return {"value": (10.0 if kind == "never" else 0.0) + y**2, "other": np.nan if kind == "never" and y == 3.0 else y}


@pytest.fixture(scope="module")
def data():
    axes = (Axis("kind", ("dries", "never")), Axis("x", ("1 mm", "2 mm")), Axis("y", (0.0, 1.0, 2.0, 3.0, 4.0)))
    return solve(Study(axes, FunctionModel(known, ("value", "other")), name="Known"))


def test_main_effects_are_the_means_of_the_levels(data):
    found = main_effects(data)
    value = found.sel(output="value")
    np.testing.assert_allclose(value["mean"].sel(axis="kind").values[:2], [3.5, 13.5])
    np.testing.assert_allclose(value["mean"].sel(axis="y").values[:4], [5.0, 6.0, 9.0, 14.0])
    y = np.array([0.0, 1.0, 4.0, 9.0])
    total = 25.0 + np.var(y)
    np.testing.assert_allclose(value["share"].sel(axis=["kind", "x"]).values, [25.0 / total, 0.0], atol=1e-12)
    assert np.isnan(value["share"].sel(axis="y"))  # at y = 4 there is no value at all
    assert found["label"].sel(axis="x").values[:2].tolist() == ["1 mm", "2 mm"]
    np.testing.assert_allclose(value["missing"].sel(axis="y").values, [0, 0, 0, 0, 1.0])
    np.testing.assert_allclose(found["missing"].sel(output="other", axis="kind").values[:2], [0.2, 0.4])


@pytest.mark.parametrize(("how", "fields"), [("mean", [3.5, 13.5]), ("least", [0, 10]), ("greatest", [9, 19])])
def test_a_map_brings_the_other_axes_together(data, how, fields):
    found = map_over(data, "value", "kind", "x", how)
    assert found.dims == ("kind", "x")
    np.testing.assert_allclose(found.values, np.repeat(np.array(fields, dtype=float)[:, None], 2, axis=1))
    np.testing.assert_allclose(found["missing"].values, 0.2)


def test_best_and_worst_leave_failed_cases_out_and_count_none_as_worst(data):
    y = data["value"].values
    assert best(data, "value", 2) == [0, 5]
    assert y[best(data, "value", 2, largest=True)].tolist() == [19.0, 19.0]
    assert np.isnan(data["other"].values[best(data, "other", 2, largest=True)]).all()
    order = best(data, "other", 20)
    assert len(order) == 16 and np.isnan(data["other"].values[order[-2:]]).all()


def test_what_is_not_there_is_answered_with_the_nearest(data):
    for call, said in [
        (lambda: main_effects(data, ["valu"]), "did you mean 'value'"),
        (lambda: map_over(data, "value", "kin", "x"), "did you mean 'kind'"),
        (lambda: map_over(data, "value", "x", "x"), "name two"),
        (lambda: main_effects(data.drop_attrs()), "no gathered study"),
    ]:
        with pytest.raises(InputError, match=said):
            call()


def test_numbers_are_cut_into_levels_of_equal_count():
    axis = Axis("x", distribution=Distribution("uniform", {"low": 0.0, "high": 8.0}), unit="mm")
    study = Study((axis,), FunctionModel(lambda x: float(x.split()[0])), Sampled("latin hypercube", 400, 2))
    data = solve(study)
    found = main_effects(data, bins=8)
    np.testing.assert_allclose(found["mean"].values[0, 0], np.arange(8) + 0.5, atol=0.05)
    # the output is the axis: its share is all, whatever the levels are cut to
    assert float(found["share"].values[0, 0]) == pytest.approx(1.0, abs=0.01)
    assert str(found["label"].values[0, 0]).endswith(" mm")
    with pytest.raises(InputError, match="not a grid"):
        on_grid(data)


def test_figures_show_what_they_should(data):
    found = main_effects(data)
    figure = effects_figure(found, "Known")
    panels = figure.axes
    assert len(panels) == 6
    np.testing.assert_allclose(panels[0].lines[0].get_ydata(), [3.5, 13.5])
    assert any("40% none" in t.get_text() for p in panels for t in p.texts)
    drawn = map_figure(map_over(data, "value", "kind", "x"), "Known")
    assert {t.get_text().split("\n")[0] for t in drawn.axes[0].texts} == {"3.5", "13.5"}
    lines = lines_figure(data, ["value", "other"], "Known")
    assert "4 failed" in " ".join(t.get_text() for t in lines.texts)
    assert any(t.get_text() == "none" for t in lines.axes[0].texts)
    for one in (figure, drawn, lines):
        one.canvas.draw()
