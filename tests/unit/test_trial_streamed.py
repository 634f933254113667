"""A large trial goes through files: the same answer to the last digit, and nothing left behind."""

import tempfile

import numpy as np
import xarray as xr
from drydown import dryout
from drydown.casefile import read_case
from drydown.trial import dryout as trial
from small_case import write_case


def test_a_streamed_trial_is_the_same(tmp_path, monkeypatch):
    write_case(tmp_path)
    case = read_case(tmp_path / "wall.toml")
    in_memory = dryout(case)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "work"))
    (tmp_path / "work").mkdir()
    monkeypatch.setattr(trial, "IN_MEMORY", 0.0)
    streamed = dryout(case)
    assert streamed.identical(in_memory)
    assert list((tmp_path / "work").iterdir()) == []
    with trial.held_twins(case) as (reference, wetted):
        assert len(list((tmp_path / "work").iterdir())) == 1
        assert isinstance(reference, xr.Dataset) and np.isfinite(wetted["temperature"].values).all()
    assert list((tmp_path / "work").iterdir()) == []


def test_a_failed_streamed_trial_leaves_nothing(tmp_path, monkeypatch):
    write_case(tmp_path)
    case = read_case(tmp_path / "wall.toml")
    (tmp_path / "work").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "work"))
    monkeypatch.setattr(trial, "IN_MEMORY", 0.0)

    def stop(fraction):
        if fraction > 0.6:
            raise KeyboardInterrupt

    try:
        dryout(case, progress=stop)
    except KeyboardInterrupt:
        pass
    else:
        raise AssertionError("it was not stopped")
    assert list((tmp_path / "work").iterdir()) == []
