"""A digest is the means of its hours, whatever the piece it is read in; what is summed stays summed."""

import numpy as np
import pytest
import xarray as xr
from drydown.figures import digest, months_figure
from drydown.figures.balance import ways_out
from drydown.figures.depth import _outline


def run(hours=100, cells=3):
    rng = np.random.default_rng(3)
    time = np.datetime64("2022-01-01", "ns") + np.arange(hours + 1) * np.timedelta64(3600, "s")
    so_far = {"long_name": "vapour passed inward so far"}
    return xr.Dataset(
        {
            "relative_humidity": (("time", "cell"), rng.uniform(0.3, 1.0, (hours + 1, cells))),
            "temperature": (("time", "cell"), rng.uniform(263, 303, (hours + 1, cells))),
            "vapour_passed": (("time", "interface"), 5.0 + np.cumsum(rng.normal(size=(hours + 1, 2)), axis=0), so_far),
        },
        {
            "time": time,
            "width": ("cell", np.full(cells, 0.01)),
            "layer_of_cell": ("cell", ["a"] * cells),
            "layer": ["a"],
        },
        {"case": "demo"},
    )


@pytest.mark.parametrize("hours", [3, 24])
@pytest.mark.parametrize("piece", [1, 26, 10000])
def test_means_extremes_and_sums(monkeypatch, hours, piece):
    import drydown.figures.stretches as module

    monkeypatch.setattr(module, "PIECE", piece)
    whole = run()
    d = digest(whole, hours)
    phi, passed = whole["relative_humidity"].values, whole["vapour_passed"].values
    assert d.sizes["time"] == -(-100 // hours)
    for k in range(d.sizes["time"]):
        rows = phi[1 + k * hours : 1 + (k + 1) * hours]
        assert d["relative_humidity"].values[k] == pytest.approx(rows.mean(axis=0), rel=1e-14)
        assert np.array_equal(d["relative_humidity_low"].values[k], rows.min(axis=0))
        assert np.array_equal(d["relative_humidity_high"].values[k], rows.max(axis=0))
        assert d["vapour_passed"].values[k] == pytest.approx(passed[min(100, (k + 1) * hours)] - passed[0], abs=1e-12)
    assert d["time"].values[1] - d["time"].values[0] == np.timedelta64(hours, "h")


def test_loads_of_a_file_without_any_are_left_out():
    d = run()
    d["liquid_passed"] = 0.0 * d["vapour_passed"]
    d["load_water"] = (("time", "load_term"), np.zeros((101, 1)))
    d = d.assign_coords(load_term=["none"])
    assert list(ways_out(d)) == ["outer surface, vapour", "inner surface"]
    d = d.assign_coords(load_term=["ventilation of gap"])
    assert "ventilation of gap" in ways_out(d)


def test_the_outline_bounds_what_is_wet():
    inside = np.array([[0, 1, 1], [0, 1, 0]], dtype=bool)
    sides = {tuple(side) for side in _outline(inside)}
    assert sides == {((0, 1), (2, 1)), ((1, 2), (2, 2)), ((1, 2), (1, 3))}


def test_months_are_means_of_the_month():
    whole = run(24 * 59)
    axes = months_figure(whole).axes[0]
    shown = np.asarray(axes.collections[0].get_array()).reshape(3, -1)
    january = 100 * whole["relative_humidity"].values[: 24 * 31].mean(axis=0)
    assert shown[:, 0] == pytest.approx(january, rel=1e-12)
