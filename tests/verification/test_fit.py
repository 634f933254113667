"""A wall fitted to readings that were made from known inputs; noise, tables of readings, the file of a posterior."""

import json

import numpy as np
import pytest
from click.testing import CliRunner
from drydown import InputError
from drydown.cli import main
from drydown.figures.fit import readings_figure
from drydown.inverse.derivatives import observed
from drydown.inverse.fitting import _reach, fit, predicted
from drydown.inverse.free import Free, free
from drydown.inverse.logs import Log, hourly, read_logs, sensor_of
from drydown.inverse.noise import Noise, found, whitened
from drydown.inverse.posterior import read_posterior, write_posterior
from drydown.inverse.results import dataset
from drydown.inverse.sampling import sample
from drydown.inverse.sensors import Sensor
from drydown.lowering.problem import mesh_of
from drydown.report.fit_page import fit_page
from drydown.wording.fit import fit_answer
from small_wall import small_wall

SENSORS = (
    Sensor("damp", "relative_humidity", "OSB", "inner", logger="box"),
    Sensor("warmth", "temperature", "OSB", "inner", logger="box"),
    Sensor("board", "moisture_content", "OSB", "middle"),
)
NOISE = (Noise(0.01, 0.8), Noise(0.1, 0.5), Noise(0.003, 0.9))
PATHS = ("air_leak.1.q50", "rain_share.1.share", "layer.OSB.start_water", "layer.gypsum board.liquid_factor")


def of_first_order(rng, count: int, noise: Noise) -> np.ndarray:
    out = np.empty(count)
    out[0] = rng.normal()
    for i in range(1, count):
        out[i] = noise.rho * out[i - 1] + np.sqrt(1.0 - noise.rho**2) * rng.normal()
    return noise.sd * out


@pytest.fixture(scope="module")
def twin():
    case = small_wall(10, wettings=())
    inputs = [free(case, path, factor=3.0) for path in PATHS]
    truth = np.array([0.8, 0.6, -0.7, 1.5])
    grid = mesh_of(case)
    seen = observed(case, inputs, SENSORS, truth, grid=grid)
    rng = np.random.default_rng(20261126)
    logs = []
    for k, sensor in enumerate(SENSORS):
        read = seen.value[:, k] + of_first_order(rng, len(seen.time), NOISE[k])
        kept = np.ones(len(read), dtype=bool)
        kept[60:90] = False  # a gap
        kept[rng.random(len(read)) < 0.1] = False
        logs.append(Log(sensor, seen.time[kept], read[kept]))
    return truth, fit(case, inputs, logs, grid=grid)


def test_what_was_put_in_is_found_again(twin):
    truth, got = twin
    assert got.settled
    assert np.all(np.abs(got.z - truth)[:3] < 3.0 * got.sd[:3])
    assert np.all(got.sd[:3] < 0.7)
    low, high = got.interval(0)
    assert low < got.free[0].value(got.z[0]) < high


def test_an_input_that_the_readings_do_not_feel_is_not_learned(twin):
    _, got = twin
    assert got.not_learned == (PATHS[3],)
    assert "Not learned" in " ".join(fit_answer(got))


def test_the_noise_is_found_along_with_it(twin):
    _, got = twin
    for there, put in zip(got.noise, NOISE, strict=True):
        assert there.sd == pytest.approx(put.sd, rel=0.4)
        assert there.rho == pytest.approx(put.rho, abs=0.15)


def test_bands_hold_the_readings(twin):
    _, got = twin
    for log, said in zip(got.logs, predicted(got, logs=got.logs), strict=True):
        held = np.mean(np.abs(log.value - said.value) < said.edge)
        assert 0.8 < held <= 0.99


def test_the_sampler_agrees_where_the_posterior_is_narrow(twin):
    _, got = twin
    drawn = sample(got, check=2, steps=600)
    np.testing.assert_allclose(np.median(drawn.z[:, 0]), got.z[0], atol=0.5 * got.sd[0])
    assert drawn.z[:, 0].std() == pytest.approx(got.sd[0], rel=0.3)
    assert drawn.off < 0.5


def test_a_clock_that_goes_ahead_is_found():
    case = small_wall(6, wettings=())
    seen = observed(case, (), SENSORS[:2], grid=mesh_of(case))
    logs = [
        Log(
            s,
            seen.time[:-2],
            np.interp(np.arange(len(seen.time) - 2) - 1.0, np.arange(len(seen.time)), seen.value[:, k]),
        )
        for k, s in enumerate(SENSORS[:2])
    ]
    ahead = Free("sensor.box.clock", 0.0, 1800.0, "linear")
    got = fit(
        case,
        [ahead],
        [log.between(log.time[2], log.time[-1]) for log in logs],
        noise=(Noise(0.001, 0.0), Noise(0.01, 0.0)),
    )
    assert ahead.value(got.z[0]) == pytest.approx(3600.0, rel=0.1)


def test_noise_with_gaps_is_whitened_and_found():
    rng = np.random.default_rng(7)
    read = of_first_order(rng, 6000, Noise(2.0, 0.9))
    kept = rng.random(6000) < 0.5
    hours = np.arange(6000.0)[kept]
    got = found(hours, read[kept])
    assert got.sd == pytest.approx(2.0, rel=0.1)
    assert got.rho == pytest.approx(0.9, abs=0.03)
    white = whitened(hours, read[kept], Noise(2.0, 0.9))
    assert white.std() == pytest.approx(1.0, rel=0.05)
    assert abs(np.corrcoef(white[1:], white[:-1])[0, 1]) < 0.06


def test_a_head_tells_quantity_place_and_unit():
    sensor, (factor, plus) = sensor_of("temperature at glass wool 100 mm outer - 3 mm [degC]")
    assert (sensor.layer, sensor.place, sensor.depth) == ("glass wool 100 mm", "outer", pytest.approx(-0.003))
    assert 20.0 * factor + plus == pytest.approx(293.15)
    for bad in ("OSB humidity", "humidity at OSB inner [degC]", "colour at OSB inner [%]"):
        with pytest.raises(InputError):
            sensor_of(bad)


def test_readings_become_means_about_the_hour():
    time = np.datetime64("2022-01-01T00:00:00") + 600 * np.arange(13).astype("timedelta64[s]")
    log = hourly(SENSORS[0], time, np.where(np.arange(13) == 6, np.nan, 1.0 * np.arange(13)))
    np.testing.assert_array_equal(
        log.time.astype(str), ["2022-01-01T00:00:00", "2022-01-01T01:00:00", "2022-01-01T02:00:00"]
    )
    np.testing.assert_allclose(log.value, [1.0, (3 + 4 + 5 + 7 + 8) / 5, 10.5])


def test_a_posterior_is_read_as_it_was_written(twin, tmp_path):
    _, got = twin
    path = tmp_path / "fit.json"
    write_posterior(path, got)
    known = read_posterior(path)
    np.testing.assert_array_equal(known.covariance, got.covariance)
    assert len(known.cases(got.case, 3)) == 3
    np.testing.assert_allclose(known.drawn(4000).mean(axis=0), got.z, atol=0.1)
    given = json.loads(path.read_text())
    given["z"] = given["z"][:-1]
    path.write_text(json.dumps(given))
    with pytest.raises(InputError, match="belong together"):
        read_posterior(path)


def test_what_is_missing_is_said(tmp_path):
    case, log = tmp_path / "wall.toml", tmp_path / "log.csv"
    assert CliRunner().invoke(main, ["new", str(case)]).exit_code == 0
    log.write_text("time,humidity at OSB inner [%]\n2022-01-01,80\n")
    asked = CliRunner().invoke(main, ["fit", str(case), "--measured", str(log)])
    assert asked.exit_code == 2 and "--question" in asked.stderr
    with pytest.raises(InputError, match="at least 48"):
        read_logs(log)


@pytest.mark.parametrize(
    ("head", "reading", "right"),
    [
        ("temperature at OSB inner [degC]", 281.0, "[K]"),
        ("temperature at OSB inner [K]", 8.0, "[degC]"),
        ("temperature at OSB inner [degC]", 70.0, "[degF]"),
        ("humidity at OSB inner [%]", 0.8, "[1]"),
        ("humidity at OSB inner [1]", 80.0, "[%]"),
        ("moisture at OSB middle [%MC]", 0.12, "[1]"),
        ("vapour pressure at OSB inner [Pa]", 1.1, "[kPa]"),
        ("temperature at OSB inner [degC]", 9999.0, "in any unit"),
    ],
)
def test_readings_in_another_unit_are_refused_with_the_right_one(tmp_path, head, reading, right):
    log = tmp_path / "log.csv"
    rows = [f"2022-01-{1 + h // 24:02d} {h % 24:02d}:00,{reading + 0.001 * (h % 5):.4f}" for h in range(60)]
    log.write_text("\n".join([f"time,{head}", *rows]), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_logs(log)
    assert right in str(caught.value) and "\n" not in str(caught.value)


def test_the_page_says_what_was_learned_and_what_not(twin, monkeypatch):
    _, got = twin
    found = dataset(got)
    assert len(readings_figure(found, 4.0).axes) == len(got.logs)
    monkeypatch.setattr("drydown.report.fit_page.picture", lambda caption, _: f"<figure>{caption}</figure>")
    text = fit_page(found, got)
    assert text.count("<figure>") == 3 and "<script" not in text and "src='http" not in text
    assert "not learned" in text and "Before you build" in text
    for log in got.logs:
        assert log.sensor.name in text
    low, high = got.interval(0)
    assert f"{3600.0 * low:.3g}" in text and f"{3600.0 * high:.3g}" in text


def test_bands_follow_what_is_left_over():
    """Nine in ten of a uniform residual lie within 0.9 of its edge, 1.559 root mean squares; of a normal one 1.645."""
    draw = np.random.default_rng(4)
    assert _reach(draw.uniform(-0.02, 0.02, 40_000)) == pytest.approx(0.9 * np.sqrt(3.0), rel=0.01)
    assert _reach(draw.normal(0.0, 0.3, 40_000)) == pytest.approx(1.6449, rel=0.01)
    assert _reach(draw.uniform(-1.0, 1.0, 100)) == 1.6449  # too few to tell
