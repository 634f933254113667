"""Derivatives by free inputs against walls that march in step, a little to both sides; coordinates and paths."""

import numpy as np
import pytest
from drydown import Assembly, Chamber, InputError, Layer
from drydown.case.loads import AirStream, RainShare, VentilatedGap
from drydown.inverse import derivatives
from drydown.inverse.derivatives import EXACT, _in_step, observed, sensitivities
from drydown.inverse.free import Free, free, put_all
from drydown.inverse.sensors import Sensor
from drydown.inverse.setting import number
from drydown.plugins import material
from small_wall import START, small_wall

FILM = 'layer."polyamide film 0.05 mm"'
SENSORS = (
    Sensor("face", "relative_humidity", "OSB", "inner"),
    Sensor("warmth", "temperature", "mineral wool", "middle"),
    Sensor("board", "moisture_content", "OSB", "middle"),
    Sensor("room side", "vapour_pressure", "gypsum board", "outer", 0.002),
)
PATHS = (
    "layer.OSB.thickness",
    "layer.OSB.permeability_factor",
    "layer.mineral wool.conductivity_factor",
    f"{FILM}.permeance_factor",
    "rain_share.1.share",
    "air_leak.1.q50",
    "layer.OSB.start_water",
    "inside.humidity",
    "outside.rain",
    "sensor.face.depth",
    "sensor.warmth.offset",
)


@pytest.fixture(scope="module")
def found():
    case = small_wall()
    inputs = [
        free(case, p, transform="linear", within=(-0.003, 0.003)) if "sensor" in p else free(case, p) for p in PATHS
    ]
    return case, inputs, observed(case, inputs, SENSORS, newton=EXACT)


@pytest.mark.parametrize("j", range(len(PATHS)), ids=PATHS)
def test_tangents_are_those_of_walls_that_march_in_step(found, j):
    case, inputs, got = found
    expected = _in_step(case, inputs, np.zeros(len(inputs)), np.eye(len(inputs))[j], SENSORS, got.courses, EXACT)
    size = np.sqrt(np.mean(expected**2, axis=0))
    off = np.sqrt(np.mean((got.by[..., j] - expected) ** 2, axis=0))
    seen = size > 1e-9 * np.abs(got.value).max(axis=0)  # what an input does not reach is rounding
    assert seen.any()
    assert np.all(off[seen] < 1e-4 * size[seen])


def test_a_stream_that_ends_in_a_gap_leaves_the_derivative_of_the_lift_alone():
    # what changes with the warmth of the gap is the air the gap exchanges, not the stream that ends there too
    parts = small_wall().assembly.parts
    gap = Layer(material("air gap 25 mm"), 0.025, cells=3)
    case = small_wall(
        days=2,
        assembly=Assembly((gap, *parts)),
        loads=(
            VentilatedGap(gap.name, 1e-3, "outside", height=5.0),
            AirStream(((START, -1e-3),), gap.name),
        ),
    )
    inputs = [free(case, p) for p in ("layer.mineral wool.conductivity_factor", "layer.OSB.permeability_factor")]
    sensors = (Sensor("gap", "temperature", gap.name), Sensor("face", "relative_humidity", "OSB", "outer"))
    got = observed(case, inputs, sensors, newton=EXACT)
    for j, e in enumerate(np.eye(len(inputs))):
        expected = _in_step(case, inputs, np.zeros(len(inputs)), e, sensors, got.courses, EXACT)
        size = np.sqrt(np.mean(expected**2, axis=0))
        assert np.all(np.sqrt(np.mean((got.by[..., j] - expected) ** 2, axis=0)) < 1e-4 * size)


def _agree(case, inputs, sensors, got):
    """Compare derivatives with differences of walls that march in step, where they differ at all."""
    for j, e in enumerate(np.eye(len(inputs))):
        expected = _in_step(case, inputs, np.zeros(len(inputs)), e, sensors, got.courses, EXACT)
        size = np.sqrt(np.mean(expected**2, axis=0))
        seen = size > 1e-9 * np.abs(got.value).max(axis=0)
        off = np.sqrt(np.mean((got.by[..., j] - expected) ** 2, axis=0))
        assert seen.any() and np.all(off[seen] < 1e-4 * size[seen]), (inputs[j].path, off, size)


def _closer(monkeypatch):
    """Let the walls on both sides differ less: no cell of theirs fills up in another step than that of the wall."""
    monkeypatch.setattr(derivatives, "IN_STEP", 1e-4)


def test_where_pores_fill_an_input_changes_their_room(full_pores, monkeypatch):
    # room is the small difference of what pores can hold and what they do: both move with a thickness and a storage
    _closer(monkeypatch)
    case, inputs, got, sensors = full_pores
    for j, e in enumerate(np.eye(len(inputs))):
        expected = _in_step(case, inputs, np.zeros(len(inputs)), e, sensors, got.courses, EXACT)
        size = np.sqrt(np.mean(expected**2, axis=0))
        assert np.all(np.sqrt(np.mean((got.by[..., j] - expected) ** 2, axis=0)) < 1e-4 * size), inputs[j].path


def test_what_overflows_into_a_neighbour_changes_with_the_room_of_both():
    # foam is full in an hour, then the board, and what finds no room in either is refused
    rain = Chamber(278.15, 0.80, rain=5.0e-4)
    foam = Layer(material("closed-cell spray foam"), 0.03, "foam", cells=8)
    board = Layer(material("gypsum board"), 0.0125, "gypsum board", cells=4)
    parts = (Layer(material("OSB"), 0.006, "OSB", cells=6), foam, board)
    case = small_wall(
        days=1, assembly=Assembly(parts), wettings=(), loads=(RainShare("foam", 0.1, "outer"),), outside=rain
    )
    paths = ("layer.OSB.storage_factor", "layer.OSB.permeability_factor", "layer.foam.permeability_factor")
    inputs = [free(case, p) for p in (*paths, "rain_share.1.share", "inside.humidity")]
    sensors = (
        Sensor("board", "moisture_content", "OSB", "middle"),
        Sensor("warmth", "temperature", "OSB", "inner"),
    )
    _agree(case, inputs, sensors, observed(case, inputs, sensors, newton=EXACT))


def test_what_a_nearly_full_layer_takes_follows_what_it_loses(monkeypatch):
    # it passes no water on and dries toward the room: of what it is offered it takes what it loses
    _closer(monkeypatch)
    rain = Chamber(278.15, 0.80, rain=2.0e-5)
    parts = (
        Layer(material("gypsum board"), 0.0125, cells=4),
        Layer(material("cellular glass"), 0.02, "glass", cells=12),
    )
    case = small_wall(
        days=1, assembly=Assembly(parts), wettings=(), loads=(RainShare("glass", 0.5, "inner"),), outside=rain
    )
    paths = ("layer.glass.permeability_factor", "layer.glass.thickness", "rain_share.1.share", "inside.humidity")
    inputs = [free(case, p) for p in paths]
    sensors = (
        Sensor("glass", "moisture_content", "glass", "middle"),
        Sensor("warmth", "temperature", "glass", "inner"),
    )
    _agree(case, inputs, sensors, observed(case, inputs, sensors, newton=EXACT))


@pytest.fixture(scope="module")
def full_pores():
    rain = Chamber(278.15, 0.80, rain=5.0e-4)
    case = small_wall(days=1, wettings=(), loads=(RainShare("OSB", 0.4, "inner"),), outside=rain)
    inputs = [free(case, f"layer.OSB.{key}") for key in ("thickness", "storage_factor", "permeability_factor")]
    sensors = (Sensor("board", "moisture_content", "OSB", "middle"), Sensor("warmth", "temperature", "OSB", "inner"))
    got = observed(case, inputs, sensors, newton=EXACT)
    return case, inputs, got, sensors


def test_the_dataset_is_by_coordinate_and_by_value(found):
    case, inputs, got = found
    data = sensitivities(case, inputs, SENSORS)
    slope = [x.slope(0.0) for x in inputs]
    assert data["by_coordinate"].dims == ("time", "sensor", "free")
    np.testing.assert_allclose(data["by_value"] * slope, got.by, rtol=1e-9, atol=1e-12)
    assert list(data["path"].values) == list(PATHS)


def test_a_coordinate_leads_to_a_number_and_back():
    for x in (Free("a", 2.0, 0.5), Free("b", 0.1, 1.0, "logit"), Free("c", -3.0, 2.0, "linear")):
        assert x.value(0.0) == pytest.approx(x.median)
        assert x.coordinate(x.value(1.3)) == pytest.approx(1.3)
        assert x.slope(0.7) == pytest.approx((x.value(0.7001) - x.value(0.6999)) / 2e-4, rel=1e-6)


def test_the_prior_of_a_property_is_the_spread_of_the_library():
    case = small_wall()
    entry = next(f for f in case.assembly.films)
    low, high = entry.spread["permeance"]
    x = free(case, f"{FILM}.permeance_factor")
    assert x.value(-1.6449) == pytest.approx(low, rel=1e-3)
    assert x.value(1.6449) == pytest.approx(high, rel=1e-3)


def test_a_number_that_is_set_is_there():
    case = small_wall()
    for path, value in (("layer.OSB.thickness", 0.015), ("start.temperature", 280.0), ("wetting.1.amount", 0.2)):
        assert number(number(case, path).put(value), path).value == value
    wetter = put_all(case, [free(case, "layer.OSB.start_water")], [0.5])
    assert number(wetter, "layer.OSB.start_water").value == pytest.approx(
        free(case, "layer.OSB.start_water").value(0.5), rel=1e-3
    )


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("layer.OSB.colour_factor", "has no colour"),
        ("layer.pine.thickness", "no layer is called"),
        ("rain_share.2.share", "there is no rain_share 2"),
        ("outside.azimuth_of_moon", "no number"),
        ("layer.OSB.judged", "no number"),
    ],
)
def test_a_path_that_leads_nowhere_is_told(path, said):
    with pytest.raises(InputError, match=said):
        number(small_wall(), path)
