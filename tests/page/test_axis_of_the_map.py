"""Dates below the map of a page: on a narrow screen every second one goes, and a year stays."""

import numpy as np
import pytest
from drydown.report.fragments import axis_marks


@pytest.mark.parametrize("start", ["2021-10-01", "2022-01-01", "2021-08-01"])
@pytest.mark.parametrize("years", [1, 2, 3])
def test_a_year_stays(start, years):
    begin = np.datetime64(start, "h")
    marks = axis_marks(begin + np.arange(years * 8766 // 12) * np.timedelta64(12, "h"), 12.0)
    kept = [words for _, words, minor in marks if not minor]
    assert any(words.isdigit() for words in kept), kept
    assert len(kept) >= len(marks) // 2
