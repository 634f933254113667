"""The two runs of a trial marched at once: the same to the last digit, the same errors, and told to stop they stop."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import InputError
from drydown.casefile import read_case
from drydown.criteria import assess
from drydown.lowering.marcher import HALT
from drydown.trial import dryout as trial
from small_case import write_case


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    folder = tmp_path_factory.mktemp("side_by_side")
    write_case(folder)
    return read_case(folder / "wall.toml")


def test_both_at_once_are_what_one_after_the_other_are(case, monkeypatch):
    monkeypatch.setattr(trial, "processors", lambda: 1)
    apart = trial.twins(case)
    monkeypatch.setattr(trial, "processors", lambda: 2)
    at_once = trial.twins(case)
    assert all(a.identical(b) for a, b in zip(apart, at_once, strict=True))
    assert repr(trial.of_both(assess, at_once)) == repr(tuple(assess(run) for run in apart))


def test_progress_of_both_rises_to_the_whole(case, monkeypatch):
    monkeypatch.setattr(trial, "processors", lambda: 2)
    seen = []
    trial.twins(case, progress=seen.append)
    assert seen[-1] == 1.0 and np.all(np.diff(seen) >= 0.0)


def test_too_much_water_is_refused_alike(case, monkeypatch):
    first = replace(case.wettings[0], amount=4.0)
    full = replace(case, wettings=(first, replace(first, start=first.start + np.timedelta64(2, "D"))))
    said = []
    for number in (1, 2):
        monkeypatch.setattr(trial, "processors", lambda number=number: number)
        with pytest.raises(InputError) as error:
            trial.twins(full, [1])
        said.append(str(error.value))
    assert said[0] == said[1] and "do not fit on 2022-01-05" in said[0]


class Enough(Exception):
    pass


@pytest.mark.parametrize("number", [1, 2])
def test_who_wants_no_more_ends_both_between_two_stretches(case, monkeypatch, number):
    monkeypatch.setattr(trial, "processors", lambda: number)
    asked = []

    def halt():
        asked.append(1)
        if len(asked) > 2:
            raise Enough

    token = HALT.set(halt)
    try:
        with pytest.raises(Enough):
            trial.twins(case)
    finally:
        HALT.reset(token)
    assert len(asked) <= 4  # two pilots, then one stretch of each run at most
