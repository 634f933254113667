"""Criteria read a file in blocks: the same result as in memory, in the memory of one block."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from drydown import simulate
from drydown.criteria import assess
from example_walls import frame_wall, wet_sheathing
from synthetic_results import results


def same(one, other):
    assert [f.criterion for f in one] == [f.criterion for f in other]
    for a, b in zip(one, other, strict=True):
        assert a.value == pytest.approx(b.value, rel=1e-9, abs=1e-12, nan_ok=True), a.criterion
        assert (a.verdict, a.when, a.case) == (b.verdict, b.when, b.case)
        assert str(a.place) == str(b.place)
        assert [(x.layer, x.verdict) for x in a.by_layer] == [(x.layer, x.verdict) for x in b.by_layer]


def test_streamed_and_in_memory_agree(tmp_path):
    case = wet_sheathing(frame_wall(inside_film="polyamide film 0.05 mm"), day=10, days=120)
    memory = assess(simulate(case))
    with simulate(case, path=tmp_path / "run.nc") as lazy:
        same(assess(lazy), memory)
    with xr.open_dataset(tmp_path / "run.nc", cache=False) as opened:
        same(assess(opened), memory)
    assert {f.verdict for f in memory} >= {"fine", "watch"}


def test_a_coarser_record_of_the_same_run_says_the_same():
    """Every third hour instead of every hour: what is second order stays within a few percent."""
    case = wet_sheathing(frame_wall(inside_film="polyethylene 0.15 mm"), day=10, days=200, amount=2.0)
    fine = {f.criterion: f for f in assess(simulate(case))}
    numerics = replace(case.numerics, output_every=3 * 3600.0)
    coarse = {f.criterion: f for f in assess(simulate(replace(case, numerics=numerics)))}
    for name in ("mould", "wood moisture", "fibre saturation", "decay", "humidity 30 days", "humidity 7 days"):
        assert coarse[name].value == pytest.approx(fine[name].value, rel=0.02, abs=0.02), name
        assert fine[name].value > 0.1


@pytest.mark.parametrize("size", [1, 50, 999, 100000])
def test_blocks_do_not_matter(size, monkeypatch):
    import drydown.criteria.following as package

    rng = np.random.default_rng(1)
    n = 3000
    h = np.clip(0.9 + 0.1 * np.sin(np.arange(n) / 40.0)[:, None] + 0.05 * rng.random((n, 2)), 0.3, 0.999)
    t = 8.0 + 10.0 * np.sin(np.arange(n) / 90.0)[:, None] + rng.random((n, 2))
    data = results(t, h, 200.0 * h, layers=("OSB", "brick"), kinds=("wood", "mineral"), full=230.0)
    expected = assess(data)
    monkeypatch.setattr(package, "BLOCK", size)
    same(assess(data), expected)


@pytest.mark.slow
def test_ten_years_are_read_in_the_memory_of_a_block(tmp_path):
    peaks = []
    for years in (2, 10):
        n = years * 8766
        hour = np.arange(n)[:, None]
        h = 0.8 + 0.15 * np.sin(hour / 1395.0) + np.zeros((1, 40))
        layers = tuple(f"OSB {i}" for i in range(40))
        data = results(10.0 + 8.0 * np.sin(hour / 1395.0) + 0.0 * h, h, 150.0 * h, layers=layers, kinds=("wood",) * 40)
        path = tmp_path / f"{years}.nc"
        data.to_netcdf(path)
        del data, h, hour
        with xr.open_dataset(path, cache=False) as lazy:
            assess(lazy.isel(time=slice(0, 100)))  # compile before anything is measured
            tracemalloc.start()
            found = assess(lazy)
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
        assert len(found) >= 11
    one_variable = 87660 * 40 * 8
    assert peaks[1] < peaks[0] + 0.3 * one_variable, peaks
    assert peaks[1] < 2.0 * one_variable, peaks
