"""A ten-year hourly result becomes a page in under 20 s and 1 GB, and stays below 5 MB."""

import subprocess
import sys
import time

import numpy as np
import pytest

RESULT = """
import re, resource, sys
from pathlib import Path
from drydown.cli import main
try:
    main(["report", sys.argv[1], "-o", sys.argv[2]])
finally:
    use = resource.getrusage(resource.RUSAGE_SELF)
    # ru_maxrss also holds what the process that started this one had
    status = Path("/proc/self/status")
    peak = int(re.search(r"VmHWM:\\s+(\\d+)", status.read_text())[1]) if status.exists() else use.ru_maxrss
    print("peak", peak / 1024, "cpu", use.ru_utime + use.ru_stime)
"""


@pytest.mark.slow
def test_ten_years_of_hours(tmp_path):
    """Processor seconds are counted, so that a busy machine does not decide."""
    from drydown import Case, Layer, simulate
    from drydown.case.assembly import Assembly
    from drydown.plugins import climate, film, material
    from drydown.sides.exposure import Exposure, Outdoor
    from drydown.sides.indoor import FromOutdoor, Indoor

    weather = climate("fernmoor")
    start = weather.start.astype("datetime64[Y]").astype("datetime64[s]")
    wall = Assembly(
        (
            Layer(material("spruce cladding"), 0.020, cells=16),
            Layer(material("air gap 25 mm"), 0.025, cells=14),
            film("weather-resistive membrane"),
            Layer(material("OSB"), 0.011, cells=20),
            Layer(material("mineral wool"), 0.14, cells=30),
            film("polyamide film 0.05 mm"),
            Layer(material("gypsum board"), 0.0125, cells=20),
        )
    )
    end = start + np.timedelta64(3652 * 24, "h")
    outside = Outdoor(weather, Exposure(azimuth=270.0), True)
    case = Case(wall, outside, Indoor(FromOutdoor()), start, end, name="ten years")
    simulate(case, path=tmp_path / "ten.nc").close()
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", RESULT, str(tmp_path / "ten.nc"), str(tmp_path / "ten.html")],
        capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    waited = time.monotonic() - begun
    assert "Written" in done.stdout, done.stdout + done.stderr
    words = done.stdout.split()
    peak, cpu = float(words[words.index("peak") + 1]), float(words[words.index("cpu") + 1])
    print(f"ten years, 100 cells, hourly: {cpu:.1f} s of processor, {waited:.1f} s in all, {peak:.0f} MB")
    assert cpu < 20.0
    assert peak < 1000.0
    assert (tmp_path / "ten.html").stat().st_size < 5e6
