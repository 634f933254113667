"""More water than the pores have room for at its date: neighbours take it up, the rest is kept back and said."""

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, Layer, Wetting, simulate
from drydown.plugins import material

START = np.datetime64("2001-01-01T00", "s")


def run(amounts, place="whole"):
    events = tuple(
        Wetting("wall", a, START + np.timedelta64(6 + 12 * i, "h"), 3600.0, place, 0.01) for i, a in enumerate(amounts)
    )
    case = Case(
        Assembly((Layer(material("wood fibreboard"), 0.02, "wall", cells=10),)),
        Chamber(293.15, 0.5),
        Chamber(293.15, 0.5),
        START,
        START + np.timedelta64(2, "D"),
        initial=Initial(293.15, 0.5),
        wettings=events,
    )
    return simulate(case)


def room(data, hour):
    there = data.isel(time=hour)
    return float(((there["saturation"] - there["water_content"]) * there["width"]).sum())


def test_what_fits_is_taken_whole():
    data = run([0.2])
    assert float(data["water_added"][-1].sum()) == pytest.approx(0.2, rel=1e-9)
    assert "warning" not in data.attrs


def test_what_does_not_fit_at_its_date_is_kept_back_and_said():
    """Each of the two fits at the start; the second no longer does when it comes."""
    free = room(run([0.01]), 0)
    data = run([0.9 * free, 0.9 * free])
    first, second = data["water_added"].values[-1]
    print(data.attrs["warning"])
    assert first == pytest.approx(0.9 * free, rel=1e-6)
    assert second < 0.9 * free
    assert second == pytest.approx(room(data, 18), rel=0.1)
    assert f"{0.9 * free - second:.3g} kg/m2" in data.attrs["warning"] and "kept back" in data.attrs["warning"]
    assert data.attrs["overfull_cell_steps"] == 0
    assert data.attrs["water_closure_step_max"] < 1e-9
    assert float((data["water_content"] / data["saturation"]).max()) < 1.01
