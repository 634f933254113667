"""What a logger at a face reads: against a steady wall by hand, and against the faces of a march on a finer mesh."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Chamber, Film, InputError, Layer, Numerics, simulate
from drydown.inverse.between_cells import weights
from drydown.inverse.derivatives import EXACT, _in_step, observed
from drydown.inverse.fitting import fit
from drydown.inverse.free import Free, free
from drydown.inverse.logs import Log
from drydown.inverse.next_sensor import candidates
from drydown.inverse.sensors import Sensor, by_place_and_offset, cells_for, read
from drydown.inverse.setting import number
from drydown.kernel.humidity import u_of
from drydown.lowering.problem import lower
from drydown.plugins import film, material
from small_wall import small_wall

#: Layers of the small wall, and a film: thickness [m], R [m2 K/W] and vapour resistance [m2 s Pa/kg], made up; the wool
#: is eighty times as permeable as the board beside it.
LAYERS = {
    "OSB": (0.011, 0.08, 4.4e9),
    "mineral wool": (0.14, 4.0, 7.0e8),
    "gypsum board": (0.0125, 0.05, 5.0e8),
}
FILM_AT, FILM_RESISTS = "gypsum board", 8.0e9
PLACES = [(name, place) for name in LAYERS for place in ("outer", "inner")]


@pytest.fixture(scope="module")
def problem():
    return lower(small_wall())


def profile(problem, warm_inside):
    """Return the state of the cells of a steady wall, straight over the resistances, and of both faces of layers."""
    ends = ((275.15, 450.0), (294.15, 1000.0)) if warm_inside else ((303.15, 2500.0), (292.15, 1100.0))
    heat = np.array([0.0, *np.cumsum([r for _, r, _ in LAYERS.values()])])
    at_x, r_heat, at_v, r_vapour, faces = [0.0], [0.0], [0.0], [0.0], {}
    x = vapour = 0.0
    for k, (name, (thickness, _, resists)) in enumerate(LAYERS.items()):
        if name == FILM_AT:
            vapour += FILM_RESISTS
            at_v.append(x + 1e-12)
            r_vapour.append(vapour)
        faces[name, "outer"] = heat[k], vapour
        x, vapour = x + thickness, vapour + resists
        at_x.append(x)
        r_heat.append(heat[k + 1])
        at_v.append(x)
        r_vapour.append(vapour)
        faces[name, "inner"] = heat[k + 1], vapour
    (t0, p0), (t1, p1) = ends

    def state(h, v):
        return t0 + (t1 - t0) * h / heat[-1], p0 + (p1 - p0) * v / vapour

    centres = problem.grid.x
    t, p = state(np.interp(centres, at_x, r_heat), np.interp(centres, at_v, r_vapour))
    u = u_of(p / problem.case.physics.saturation_pressure(t))
    return u[None], t[None], {key: state(*value) for key, value in faces.items()}


@pytest.mark.parametrize("warm_inside", [True, False], ids=["outward", "inward"])
@pytest.mark.parametrize(("layer", "place"), PLACES)
def test_a_steady_wall_is_read_as_by_hand(problem, layer, place, warm_inside):
    u, t, faces = profile(problem, warm_inside)
    temperature, pressure = faces[layer, place]
    for quantity, expected in (("temperature", temperature), ("vapour_pressure", pressure)):
        sensor = Sensor("logger", quantity, layer, place)
        cells = cells_for(problem, [sensor], 0.0)
        got = read(sensor, problem, problem.grid, cells, u[:, cells], t[:, cells], t[:, cells])
        assert got[0] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("sides", [(278.15, 0.8, 294.15, 0.55), (301.15, 0.75, 292.15, 0.45)], ids=["cold", "warm"])
def test_faces_of_a_march_on_a_finer_mesh(sides):
    """On both sides of a film and of a jump of permeability: within 0.25 %, where over 5 % lie across the film."""
    case = small_wall(5, wettings=(), loads=())
    case = replace(case, outside=Chamber(*sides[:2]), inside=Chamber(*sides[2:]))
    fine = simulate(replace(case, assembly=_of_cells(case, 6), numerics=Numerics(tolerance=0.3)))
    sensors, truth = [], []
    for face in range(1, fine.sizes["interface"] - 1):
        part = fine.isel(interface=face)
        for side, place, humidity in (("outside", "inner", "outer"), ("inside", "outer", "inner")):
            layer = str(part[f"layer_{side}_of_interface"].values)
            sensors += [Sensor(f"{q} {layer} {place}", q, layer, place) for q in ("relative_humidity", "temperature")]
            truth += [part[f"face_humidity_{humidity}_side"].values, part["face_temperature"].values]
    assert {s.layer for s in sensors} == set(LAYERS)
    seen = observed(replace(case, assembly=_of_cells(case, 2)), (), sensors)
    np.testing.assert_array_equal(seen.time, fine["time"].values.astype("datetime64[s]"))
    off = np.abs(seen.value - np.stack(truth, axis=1))[12:]  # above 0 degC: over water, as loggers have it
    of_humidity = np.arange(len(sensors)) % 2 == 0
    assert off[:, of_humidity].max() < 0.0025
    assert off[:, ~of_humidity].max() < 0.02
    apart = np.abs(truth[-4] - truth[-2])[12:]  # both sides of the film
    assert apart.max() > 0.05


def _of_cells(case, times):
    parts = case.assembly.parts
    return Assembly(tuple(p if isinstance(p, Film) else replace(p, cells=times * p.cells) for p in parts))


@pytest.mark.parametrize("place", PLACES)
def test_a_depth_that_is_free_adds_up_to_what_is_read(problem, place):
    """The derivative summed up from 4 mm outward to 4 mm inward is the difference: no jump at a cell, face or film."""
    u, t, _ = profile(problem, True)
    sensors = [Sensor("logger", "vapour_pressure", *place)]
    depth = [Free("sensor.logger.depth", 0.0, 0.001, "linear")]
    cells = np.arange(len(problem.grid.x))

    def reading(some):
        return np.stack([read(s, problem, problem.grid, cells, u, t, t) for s in some], axis=1)

    z = np.linspace(-4.0, 4.0, 161)
    by = [by_place_and_offset(sensors, depth, np.array([x]), reading)[0][0, 0] for x in z]
    first, last = (reading([replace(sensors[0], moved=0.001 * x)])[0, 0] for x in (z[0], z[-1]))
    assert np.trapezoid(by, z) == pytest.approx(last - first, rel=1e-3)
    # 40 Pa a millimetre is the steepest layer; what jumps over the film would be millions
    assert np.abs(by).max() < 50.0


@pytest.mark.parametrize("place", PLACES)
def test_the_cells_that_are_kept_are_enough(problem, place):
    u, t, _ = profile(problem, False)
    every = np.arange(len(problem.grid.x))
    for depth in (-0.006, -0.001, 0.0, 0.001, 0.006):
        for moved in (-0.02, -1e-5, 0.0, 1e-5, 0.02):
            sensor = Sensor("logger", "relative_humidity", *place, depth=depth, moved=moved)
            try:
                sensor.at(problem.grid, list(LAYERS))
            except InputError:  # outside the wall
                continue
            cells = cells_for(problem, [sensor], 1e-6)
            for way in (-1e-6, 1e-6):
                near = replace(sensor, moved=moved + way)
                few = read(near, problem, problem.grid, cells, u[:, cells], t[:, cells], t[:, cells])
                np.testing.assert_allclose(few, read(near, problem, problem.grid, every, u, t, t), rtol=1e-13)


def test_what_is_told_of_another_layer_is_read_there(problem):
    """'OSB inner + 3 mm' stands in the wool, 'gypsum board outer - 3 mm' too, behind the film."""
    u, t, _ = profile(problem, True)
    cells = np.arange(len(problem.grid.x))

    def p(*place):
        return read(Sensor("logger", "vapour_pressure", *place), problem, problem.grid, cells, u, t, t)[0]

    assert p("OSB", "inner", 0.003) == pytest.approx(p("mineral wool", "outer", 0.003), rel=1e-12)
    assert p("gypsum board", "outer", -0.003) == pytest.approx(p("mineral wool", "inner", -0.003), rel=1e-12)


def test_a_layer_of_one_cell_and_the_air_between_two_films_are_read():
    parts = (
        Layer(material("OSB"), 0.011, cells=3),
        film("weather-resistive membrane"),
        film("polyamide film 0.05 mm"),
        Layer(material("mineral wool"), 0.1, cells=1),
        Layer(material("gypsum board"), 0.0125, cells=1),
    )
    grid = lower(small_wall(assembly=Assembly(parts), loads=())).grid
    edges = np.concatenate([[0.0], np.cumsum(grid.dx)])
    own = {name: grid.cells(j).tolist() for j, name in enumerate(("OSB", "mineral wool", "gypsum board"))}
    # behind two films the vapour of a single cell is its own; where two single cells touch it lies between them
    behind = weights(grid, 1, edges[own["mineral wool"][0]], edges[own["mineral wool"][0]])
    assert behind.vapour[own["mineral wool"]] == pytest.approx(1.0)
    touching = weights(grid, 2, edges[own["gypsum board"][0]], edges[own["gypsum board"][0]])
    assert touching.vapour[[own["mineral wool"][0], own["gypsum board"][0]]] == pytest.approx(
        [0.0125 / 0.1125, 0.1 / 0.1125]
    )
    for k in range(len(grid.dx)):  # in the middle of every cell it is that cell
        layer = max(int(grid.layer[k]), 0)
        at = weights(grid, layer, grid.x[k], grid.x[k])
        assert at.vapour[k] == 1.0 and at.temperature[k] == 1.0 and at.cells.tolist() == [k]


def test_derivatives_on_both_sides_of_a_film():
    """By the film itself, a thickness and the depth of a logger on its face: those of walls that march in step."""
    case = small_wall(2)
    sensors = [
        Sensor("behind", "relative_humidity", "gypsum board", "outer"),
        Sensor("before", "relative_humidity", "mineral wool", "inner"),
    ]
    inputs = [
        Free('layer."polyamide film 0.05 mm".permeance_factor', 1.0, 0.3),
        Free("layer.gypsum board.thickness", 0.0125, 0.05),
        Free("sensor.behind.depth", 0.0, 0.001, "linear"),
    ]
    got = observed(case, inputs, sensors, newton=EXACT)
    for j in range(len(inputs)):
        e = np.eye(len(inputs))[j]
        expected = _in_step(case, inputs, np.zeros(len(inputs)), e, sensors, got.courses, EXACT)
        size = np.sqrt(np.mean(expected**2, axis=0))
        off = np.sqrt(np.mean((got.by[..., j] - expected) ** 2, axis=0))
        assert size[0] > 1e-6 and np.all(off < 1e-4 * size + 1e-12)
    # 1 mm deeper in the board does not bring the logger through the film
    assert np.abs(got.by[:, 0, 2]).max() < 0.01
    # and the film parts its sides: more permeance dries or wets them in opposite ways
    assert np.all(got.by[24:, 0, 0] * got.by[24:, 1, 0] < 0.0)


def test_a_further_sensor_may_stand_on_either_side_of_a_film():
    places = {(s.layer, s.place) for s in candidates(small_wall(), ("relative_humidity",))}
    assert {("mineral wool", "inner"), ("gypsum board", "outer"), ("OSB", "inner")} <= places
    assert ("mineral wool", "outer") not in places  # there it is that of the face of the board


@pytest.mark.parametrize(
    ("layer", "place", "side"), [("gypsum board", "outer", "inner"), ("mineral wool", "inner", "outer")]
)
def test_a_film_is_found_from_a_logger_on_its_face(layer, place, side):
    """Readings are the faces of a run with three times the permeance."""
    path = 'layer."polyamide film 0.05 mm".permeance_factor'
    case = replace(small_wall(8, wettings=(), loads=()), outside=Chamber(283.15, 0.9))
    case = replace(case, assembly=_of_cells(case, 2))
    known = simulate(number(case, path).put(3.0))
    face = known.isel(interface=list(known["layer_inside_of_interface"].values).index("gypsum board"))
    noise = 0.003 * np.random.default_rng(5).normal(size=known.sizes["time"])
    humidity = face[f"face_humidity_{side}_side"].values + noise  # above 0 degC: over water
    log = Log(
        Sensor("logger", "relative_humidity", layer, place), known["time"].values.astype("datetime64[s]"), humidity
    )
    inputs = [free(case, path, within=(0.5, 10.0))]
    found = fit(case, inputs, [log])
    assert inputs[0].value(found.z[0]) == pytest.approx(3.0, rel=0.05)
