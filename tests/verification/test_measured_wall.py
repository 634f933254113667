"""The logged wall: how its data are read, on data of a known wall; and the blind prediction itself where they are.

The measurements are not part of the project. A folder with them is named by the environment variable
DRYDOWN_MEASURED_WALL; without it the prediction is skipped.
"""

import os
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from drydown import Case, InputError, simulate
from drydown.cli import main
from drydown.sides.indoor import Indoor
from drydown.sides.indoor_measured import Measured
from drydown_validation import measured_wall


def loggers(folder: Path) -> None:
    """Write three loggers of a made-up winter: two sides, and what a run between them says of the place."""
    time = pd.date_range("2020-12-18 00:10", "2021-01-12 00:00", freq="10min")
    hours = np.arange(len(time)) / 6.0
    outside = (-3.0 + 4.0 * np.sin(2 * np.pi * hours / 24) + 3.0 * np.sin(2 * np.pi * hours / 170), 85.0 + 0 * hours)
    inside = (15.0 + 0 * hours, 40.0 + 5.0 * np.sin(2 * np.pi * hours / 100))
    for name, (t, rh) in (("outside", outside), ("inside", inside)):
        table = pd.DataFrame({"t_UTC+2": time, "T": t, "RH": rh})
        table.to_csv(folder / measured_wall.FILES[name], index=False)
    # the place, from a run with sides made here, not by the reader
    sides = []
    for t, rh in (outside, inside):
        hourly = (
            pd.DataFrame({"temperature": t, "humidity": rh}, index=time)
            .resample("1h", closed="right", label="right")
            .mean()
        )
        hourly = hourly[hourly.index > pd.Timestamp("2020-12-20")]
        sides.append(Indoor(Measured.from_dataframe(hourly, units={"temperature": "degC", "humidity": "%"})))
    case = Case(measured_wall.wall(), *sides, np.datetime64("2020-12-20T01:00"), np.datetime64("2021-01-12"))
    data = simulate(case)
    t = data["temperature"].values - 273.15
    left = np.flatnonzero(data["layer_of_cell"].values == "wind-barrier board")[-1]
    place = pd.DataFrame({"t_UTC+2": pd.DatetimeIndex(data["time"].values)})
    place["T"] = 0.5 * (t[:, left] + t[:, left + 1])
    phi = 0.5 * (data["relative_humidity"].values[:, left] + data["relative_humidity"].values[:, left + 1])
    # Magnus over water and over ice (WMO): another formula than the engine's, a difference below 0.3 %
    over = [6.112 * np.exp(a * place["T"] / (b + place["T"])) for a, b in ((17.62, 243.12), (22.46, 272.62))]
    place["RH"] = 100.0 * phi * np.where(place["T"] < 0.0, over[1] / over[0], 1.0)
    place.to_csv(folder / measured_wall.FILES["interface"], index=False)


def test_a_wall_that_is_known_is_found_again(tmp_path):
    loggers(tmp_path)
    found = measured_wall.predict(tmp_path)
    errors = found.errors()
    assert errors.hours > 250
    assert errors.humidity[1] < 0.6 and errors.temperature[1] < 0.15
    # it tells: a probe that stands deeper, humidity shifted by a logger
    assert found.errors(deeper=True).temperature[1] > 3.0 * errors.temperature[1]
    shifted = found._replace(measured=found.measured + np.array([0.0, 5.0]))
    assert shifted.errors().humidity[0] == pytest.approx(errors.humidity[0] - 5.0)
    text, kept = measured_wall.table(found)
    assert kept and "kept" in text
    assert not measured_wall.table(shifted)[1]


def test_gaps_of_the_place_are_left_out(tmp_path):
    loggers(tmp_path)
    found = measured_wall.predict(tmp_path)
    some = found.measured.copy()
    some[10:20] = np.nan
    assert found._replace(measured=some).errors().hours == found.errors().hours - 10


def test_what_is_missing_is_said_in_one_line(tmp_path):
    loggers(tmp_path)
    with pytest.raises(InputError, match=r"cavity_air\.csv"):
        measured_wall.predict(tmp_path / "..")
    (tmp_path / "indoor_air.csv").write_text("time,T\n2020-12-20 00:00,3\n")
    result = CliRunner().invoke(main, ["validate", "--measured", str(tmp_path)])
    assert result.exit_code == 2 and "t_UTC+2" in result.stderr and len(result.stderr.splitlines()) == 1


@pytest.mark.slow
def test_the_blind_prediction_keeps_its_promise():
    """Measured: 2.24 % relative humidity and 0.34 K, root mean square over 3,265 hours."""
    folder = os.environ.get("DRYDOWN_MEASURED_WALL")
    if not folder:
        pytest.skip("the measured wall is not here; DRYDOWN_MEASURED_WALL names its folder")
    result = CliRunner().invoke(main, ["validate", "--measured", folder])
    print(result.output)
    assert result.exit_code == 0
