"""A ten-year hourly run streams to netCDF in under 500 MB (DESIGN, promises)."""

from __future__ import annotations

import subprocess
import sys

import pytest

RUN = """
import re, sys
from pathlib import Path
from dataclasses import replace
import numpy as np
from drydown import simulate
sys.path.insert(0, {support!r})
from example_walls import case_of, frame_wall
case = case_of(frame_wall(inside_film="polyamide film 0.05 mm"), start_day=0)
case = replace(case, end=case.start + np.timedelta64({days}, "D"))
simulate(case, path={path!r})
# of this image alone: the peak of getrusage begins with that of the process that started it
print(int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024)
"""


@pytest.mark.slow
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads the peak from /proc")
def test_ten_years_by_the_hour_stream_in_500_mb(tmp_path, pytestconfig):
    support = str(pytestconfig.rootpath / "tests" / "support")

    def peak_of(days: int) -> float:
        code = RUN.format(support=support, path=str(tmp_path / "ten.nc"), days=days)
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        return float(done.stdout.split()[-1])

    peak_of(1)  # compiles the kernel where that is not done yet: the compiler's memory is not the run's
    peak = peak_of(3650)
    size = (tmp_path / "ten.nc").stat().st_size / 1e6
    print(f"ten years by the hour: {peak:.0f} MB at most, file of {size:.0f} MB")
    assert peak < 500.0
