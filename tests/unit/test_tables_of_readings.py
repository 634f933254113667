"""Tables of readings: codes of loggers that failed, decimal commas, days and months; inputs that are named twice."""

import numpy as np
import pytest
from drydown import InputError
from drydown.inverse.derivatives import observed
from drydown.inverse.fitting import fit
from drydown.inverse.free import Free
from drydown.inverse.logs import Log, read_logs
from drydown.inverse.noise import Noise
from drydown.inverse.sensors import Sensor
from drydown.wording.fit import remarks
from small_wall import START, small_wall

HOURS = 72
HUMIDITY, WARMTH = "humidity at OSB inner [%]", "temperature at OSB inner [degC]"


def written(folder, head, values, mark=",", stamp="{y}-{m:02d}-{d:02d} {h:02d}:00", point="."):
    rows = [f"time{mark}{head}"]
    for k, value in enumerate(values):
        when = stamp.format(y=2022, m=2, d=3 + k // 24, h=k % 24)
        rows.append(f"{when}{mark}{str(value).replace('.', point)}")
    path = folder / "log.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("head", "good", "code", "said"),
    [
        (HUMIDITY, 80.0, -999.0, "-999 % at 2022-02-03 10:00 cannot be; 3 such readings were left out"),
        (HUMIDITY, 80.0, 150.0, "150 %"),
        (HUMIDITY, 80.0, 0.0, "0 %"),
        (WARMTH, 5.0, -999.0, "-999 degC"),
        (WARMTH, 5.0, 850.0, "850 degC"),
        ("vapour pressure at OSB inner [hPa]", 8.0, -1.0, "-1 hPa"),
        ("vapour pressure at OSB inner [Pa]", 800.0, 2e5, "200000 Pa"),
        ("moisture at OSB middle [%MC]", 12.0, -0.1, "-0.1 %MC"),
        ("moisture at OSB middle [%MC]", 12.0, 655.35, "655.35 %MC"),
        ("humidity at OSB inner [1]", 0.8, -9.99, "-9.99 at"),
    ],
)
def test_what_cannot_be_is_left_out_and_said(tmp_path, head, good, code, said):
    values = [good] * HOURS
    values[10:12], values[40] = [code, code], code
    (log,) = read_logs(written(tmp_path, head, values))
    assert len(log.time) == HOURS - 3 and np.ptp(log.value) < 1e-12
    assert said in log.left_out and "log.csv" in log.left_out and head in log.left_out and "\n" not in log.left_out
    assert log.between(log.time[20], log.time[30]).left_out == log.left_out


def test_what_can_be_stays(tmp_path):
    values = [80.0, 103.5, 15.0, *[80.0] * HOURS]
    (log,) = read_logs(written(tmp_path, HUMIDITY, values))
    assert len(log.time) == len(values) and log.left_out == ""


def test_a_column_that_is_a_tenth_codes_is_refused(tmp_path):
    values = [-999.0] * 8 + [80.0] * (HOURS - 8)
    with pytest.raises(InputError, match=r"8 of 72 readings lie outside 0\.1 to 110 %"):
        read_logs(written(tmp_path, HUMIDITY, values))


def test_what_was_left_out_is_told_with_the_fit():
    case = small_wall(3, wettings=())
    sensor = Sensor("logger", "temperature", "OSB", "inner")
    time = START + 3600 * np.arange(1, 60).astype("timedelta64[s]")
    log = Log(sensor, time, np.full(59, 280.0), left_out="log.csv: -999 cannot be; 1 such reading was left out")
    found = fit(case, [Free("sensor.logger.offset", 0.0, 1.0, "linear")], [log], noise=[Noise(1.0, 0.0)])
    assert remarks(found, None)[0] == "log.csv: -999 cannot be; 1 such reading was left out."


@pytest.mark.parametrize("mark", [";", "\t"], ids=["semicolon", "tab"])
def test_decimal_commas_and_days_before_months_are_read(tmp_path, mark):
    values = [80.25 + 0.5 * (k % 2) for k in range(HOURS)]
    path = written(tmp_path, HUMIDITY, values, mark, "{d:02d}.{m:02d}.{y} {h:02d}:00", ",")
    (log,) = read_logs(path)
    np.testing.assert_allclose(log.value[:2], [0.8025, 0.8075])
    assert str(log.time[0]) == "2022-02-03T00:00:00" and str(log.time[-1]) == "2022-02-05T23:00:00"


def test_decimal_commas_between_commas_are_refused(tmp_path):
    path = written(tmp_path, HUMIDITY, [80.25] * HOURS, point=",")
    with pytest.raises(InputError, match="part the columns by semicolons"):
        read_logs(path)
    path.write_text(path.read_text().replace("80,25", '"80,25"'), encoding="utf-8")
    with pytest.raises(InputError, match="part the columns by semicolons"):
        read_logs(path)


def test_two_marks_in_a_number_are_refused(tmp_path):
    path = written(tmp_path, "vapour pressure at OSB inner [Pa]", ["1.020,5"] * HOURS, ";", point=".")
    with pytest.raises(InputError, match=r"'1\.020,5' has two marks"):
        read_logs(path)


def test_strokes_are_read_where_a_day_tells_them_apart(tmp_path):
    with pytest.raises(InputError, match="two ways"):
        read_logs(written(tmp_path, HUMIDITY, [80.0] * HOURS, stamp="{m}/{d}/{y} {h:02d}:00"))
    for stamp in ("{m}/{d}/{y} {h:02d}:00", "{d}/{m}/{y} {h:02d}:00"):
        (log,) = read_logs(written(tmp_path, HUMIDITY, [80.0] * 12 * 24, stamp=stamp))
        assert str(log.time[0]) == "2022-02-03T00:00:00" and str(log.time[-1]) == "2022-02-14T23:00:00"


def test_an_input_that_is_named_twice_is_refused():
    case = small_wall(2)
    film = 'layer."polyamide film 0.05 mm".permeance_factor', "layer.polyamide film 0.05 mm.permeance_factor"
    sensors = [Sensor("logger", "temperature", "OSB", "inner")]
    for twice in (film, ("sensor.logger.depth",) * 2):
        with pytest.raises(InputError, match="named twice") as caught:
            observed(case, [Free(path, 1.0, 0.3) for path in twice], sensors)
        assert twice[1] in str(caught.value)
        with pytest.raises(InputError, match="named twice"):
            fit(case, [Free(path, 1.0, 0.3) for path in twice], [])
