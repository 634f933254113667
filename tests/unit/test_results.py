"""What comes out of a run: places, depths, faces, boundary conditions, budget, what is kept, the case itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from drydown import (
    Assembly,
    Case,
    Chamber,
    Climate,
    Exposure,
    Film,
    FromOutdoor,
    Indoor,
    Initial,
    InputError,
    Keep,
    Layer,
    Outdoor,
    Profile,
    VentilatedGap,
    Wetting,
    film,
    material,
    open_result,
    read_case,
    simulate,
    weather,
    write_case,
)
from drydown.lowering.problem import mesh_of
from drydown.run.kept_case import decode, encode
from drydown.run.variables import ALL, VARIABLES

START = np.datetime64("2022-01-10")
WALL = Assembly(
    (
        Layer(material("spruce"), 0.02),
        Layer(material("OSB"), 0.011),
        Layer(material("dense cellulose"), 0.1),
        film("polyamide film 0.05 mm"),
        Layer(material("gypsum board"), 0.0125),
    ),
    "a wall",
)
CASE = Case(
    WALL,
    Outdoor(weather("fernmoor"), Exposure(azimuth=225.0)),
    Indoor(FromOutdoor()),
    START,
    START + np.timedelta64(6, "D"),
    wettings=(Wetting("OSB", 0.3, START + np.timedelta64(1, "D")),),
)


@pytest.fixture(scope="module")
def run():
    return simulate(CASE)


def test_a_place_of_a_layer(run):
    cells = np.flatnonzero(run["layer_of_cell"].values == "OSB")
    for place, cell in (("outer", cells[0]), ("inner", cells[-1])):
        got = run.drydown.at("OSB", place)
        assert np.array_equal(got["temperature"], run["temperature"][:, cell])
        assert float(got["x"]) == run["x"].values[cell] and str(got["layer_of_cell"].values) == "OSB"
        assert set(got.data_vars) >= {"temperature", "relative_humidity", "water_content"}
    middle = run.drydown.at("OSB")
    assert float(middle["x"]) == pytest.approx(0.02 + 0.0055)
    mean = run.drydown.at("OSB", "mean")
    assert mean["water_content"].values * 0.011 == pytest.approx(run["layer_water"].sel(layer="OSB").values, rel=1e-9)


def test_a_depth_is_read_linearly_inside_its_layer(run):
    x, names = run["x"].values, run["layer_of_cell"].values
    cell = int(np.flatnonzero(names == "dense cellulose")[7])
    depth = 0.3 * x[cell] + 0.7 * x[cell + 1]
    got = run.drydown.at(depth=depth)["relative_humidity"]
    t = run["relative_humidity"].values
    assert got.values == pytest.approx(0.3 * t[:, cell] + 0.7 * t[:, cell + 1], rel=1e-9)
    # beside a film nothing is read across it
    edge = 0.131
    inner = run.drydown.at(depth=edge + 1e-7)
    assert str(inner["layer_of_cell"].values) == "gypsum board"
    first = int(np.flatnonzero(names == "gypsum board")[0])
    assert inner["relative_humidity"].values == pytest.approx(t[:, first], abs=0.02)


def test_a_face(run):
    got = run.drydown.at(face="inner face of OSB")
    k = list(run["interface"].values).index("inner face of OSB")
    assert np.array_equal(got["vapour_passed"], run["vapour_passed"][:, k])
    assert np.array_equal(got["outer_temperature"], run.drydown.at("OSB", "inner")["temperature"])
    assert np.array_equal(got["inner_temperature"], run.drydown.at("dense cellulose", "outer")["temperature"])
    assert float(got["x"]) == pytest.approx(0.031)
    assert "outer_temperature" not in run.drydown.at(face="outer surface")


@pytest.mark.parametrize(
    ("how", "words"),
    [
        (lambda d: d.at("osb"), "no layer is called 'osb'; did you mean 'OSB'"),
        (lambda d: d.at("OSB", "left"), "place is 'left'"),
        (lambda d: d.at("OSB", depth=0.01), "give one of"),
        (lambda d: d.at(), "give one of"),
        (lambda d: d.at(depth=1.0), "1 m lies outside the wall, which is 0.1435 m thick"),
        (lambda d: d.at(depth="2 cm"), "depth is '2 cm'; a number"),
        (lambda d: d.at(face="outside"), "no face is called 'outside'.*'outer surface'"),
        (lambda d: d.on_depths("all"), "depths is 'all'"),
    ],
)
def test_a_place_that_is_not_there(run, how, words):
    with pytest.raises(InputError, match=words):
        how(run.drydown)


def test_walls_of_other_cells_concatenate_on_common_depths(run):
    thicker = simulate(replace(CASE, assembly=WALL.with_thickness("dense cellulose", 0.16)))
    depths = np.linspace(0.0, 0.2, 21)
    both = xr.concat([r.drydown.on_depths(depths) for r in (run, thicker)], "wall")
    assert both["temperature"].shape == (2, len(run["time"]), 21)
    assert both["layer_of_depth"].values[0][2] == "OSB"  # a face reads the layer inside of it
    assert (
        np.isnan(both["temperature"].values[0, :, -1]).all() and np.isfinite(both["temperature"].values[1, :, 20]).all()
    )
    at_start = both["temperature"].isel(time=0, wall=0).values
    assert at_start[np.isfinite(at_start)] == pytest.approx(283.15)


def test_boundary_conditions_are_those_of_the_sides(run):
    place = weather("fernmoor")
    h = place.between(CASE.start, CASE.end)
    assert run["outside_temperature"].values == pytest.approx(h.temperature, rel=1e-12)
    assert run["outside_heat_transfer"].values.min() > 0.0 and "inside_vapour_pressure" in run
    assert run["outside_radiation"].attrs["units"] == "W m-2"


def test_the_permeance_in_use_carries_the_flux():
    """Steady flow through a film between two thin layers of still air: flux over difference of pressure."""
    air = replace(material("mineral wool"), name="wool", liquid=None)
    sheet = film("polyamide film 0.05 mm")
    wall = Assembly((Layer(air, 0.01, "outer"), sheet, Layer(air, 0.01, "inner")))
    case = Case(
        wall,
        Chamber(293.15, 0.9, surface=True),
        Chamber(293.15, 0.3, surface=True),
        START,
        START + np.timedelta64(4, "D"),
    )
    data = simulate(case)
    flux = float(data["vapour_passed"][-1, 1] - data["vapour_passed"][-25, 1]) / 86400.0
    cells = (data.drydown.at("outer", "inner"), data.drydown.at("inner", "outer"))
    p_sat = 610.5 * np.exp(17.269 * 20.0 / (237.3 + 20.0))
    fall = p_sat * float(cells[0]["relative_humidity"][-1] - cells[1]["relative_humidity"][-1])
    assert float(data["film_permeance"][-1, 0]) == pytest.approx(flux / fall, rel=0.01)
    # by humidity: the same film between dry air is tighter
    dry = simulate(
        replace(case, outside=Chamber(293.15, 0.35, surface=True), inside=Chamber(293.15, 0.2, surface=True))
    )
    assert float(dry["film_permeance"][-1, 0]) < 0.5 * float(data["film_permeance"][-1, 0])


def test_fluxes_through_every_face_leave_the_run_as_it_is(run):
    every = simulate(CASE, keep=Keep(faces=True))
    assert np.array_equal(every["relative_humidity"], run["relative_humidity"])
    assert np.array_equal(every["vapour_passed"], run["vapour_passed"])
    k = int(np.argmin(np.abs(every["x_of_face"].values - 0.031)))
    assert np.array_equal(every["heat_through"][:, k], run["heat_passed"].sel(interface="inner face of OSB"))
    # each cell of a layer without a source: what entered less what left is what it holds more
    held = every["water_content"].values * every["width"].values
    through = sum(every[f"{w}_through"].values for w in ("vapour", "liquid", "convected_vapour"))
    wool = np.flatnonzero(every["layer_of_cell"].values == "dense cellulose")
    growth = held[-1, wool] - held[0, wool]
    assert growth == pytest.approx((through[:, :-1] - through[:, 1:])[-1, wool], abs=1e-10)


def test_the_budget_closes(run):
    terms = run.drydown.budget()
    assert float(terms["wettings"][-1]) == pytest.approx(0.3, rel=1e-9)
    assert np.abs(terms["left_open"]).max() < 1e-9
    assert float(np.abs(terms["from_outside"]).max()) > 1e-3


def test_chosen_variables_finer_and_coarser_steps(run, tmp_path):
    few = simulate(CASE, keep=Keep(variables=("temperature", "layer_water"), every=6 * 3600.0))
    assert set(few.data_vars) - {"packed_case"} == {"temperature", "layer_water"} and len(few["time"]) == 25
    assert np.array_equal(few["temperature"], run["temperature"][::6])
    fine = simulate(CASE, keep=Keep(every=900.0))
    assert len(fine["time"]) == 4 * 24 * 6 + 1
    assert fine["time"].values[1] - fine["time"].values[0] == np.timedelta64(900, "s")
    assert float(np.abs(fine["temperature"].sel(time=run["time"]) - run["temperature"]).max()) < 0.1
    assert np.abs(fine.drydown.budget()["left_open"]).max() < 1e-9
    simulate(CASE, path=tmp_path / "all.nc").close()
    simulate(CASE, path=tmp_path / "small.nc", keep=Keep(precision="single", compression=9)).close()
    assert (tmp_path / "small.nc").stat().st_size < 0.7 * (tmp_path / "all.nc").stat().st_size
    with open_result(tmp_path / "small.nc") as small:
        assert small["temperature"].dtype == np.float32
        assert np.allclose(small["temperature"], run["temperature"], rtol=1e-6)


@pytest.mark.parametrize(
    ("keep", "words"),
    [
        (dict(variables=("temprature",)), "no variable is called 'temprature'; did you mean 'temperature'"),
        (dict(variables="temperature"), "a tuple is needed"),
        (dict(variables=()), "variables is empty"),
        (dict(every=1000.0), "every is 1000 s; whole hours"),
        (dict(every=10.0), "every is 10 s"),
        (dict(every="1 h"), "every is '1 h'; a number"),
        (dict(every=5400.0), "every is 5400 s"),
        (dict(precision="half"), "precision is 'half'"),
        (dict(compression=12), "compression is 12"),
    ],
)
def test_what_cannot_be_kept(keep, words):
    with pytest.raises(InputError, match=words):
        Keep(**keep)


def test_a_variable_that_this_case_has_not():
    with pytest.raises(InputError, match="'vapour_through' is not there: set faces=True"):
        simulate(CASE, keep=Keep(variables=("vapour_through",)))


def test_the_case_comes_back_from_the_file_and_runs_again(run, tmp_path):
    assert run.drydown.case() == CASE
    simulate(CASE, path=tmp_path / "wall.nc").close()
    with open_result(tmp_path / "wall.nc") as kept:
        again = kept.drydown.case()
    assert again == CASE
    assert np.array_equal(simulate(again)["relative_humidity"], run["relative_humidity"])


def test_a_climate_of_ones_own_goes_into_the_file(run):
    own = replace(weather("fernmoor"), name="a yard of my own")
    own = replace(own, **{k: v[8760:9480] for k, v in own.columns().items()}, time=own.time[8760:9480])
    start = own.time[0]
    case = replace(
        CASE, outside=Outdoor(own), start=start, end=start + np.timedelta64(48, "h"), wettings=(),
        loads=(VentilatedGap("dense cellulose", 1e-3),),
    )  # fmt: skip
    got = simulate(case).drydown.case()
    assert got == case and isinstance(got.outside.climate, Climate)


def test_a_function_of_ones_own_is_said_not_to_be_kept():
    sheet = Film("mine", lambda phi: 1e-10 + 1e-9 * phi**4)
    data = simulate(replace(CASE, assembly=WALL.replace("polyamide film 0.05 mm", sheet)))
    with pytest.raises(InputError, match=r"plain data cannot tell \(.*mine, permeance: function\)"):
        data.drydown.case()
    with pytest.raises(InputError, match="holds no case"):
        xr.Dataset().drydown.case()


def test_what_a_file_names_is_looked_up_and_never_run():
    for data in (
        {"of": "os.system", "with": {}},
        {"function": "builtins.eval"},
        {"of": "frozen.FrozenMap", "with": {}},
    ):
        with pytest.raises(InputError, match="this version does not know"):
            decode(data, "wall.nc")
    wrong = encode(material("OSB"), "x")
    wrong["with"]["density"] = -1.0
    with pytest.raises(InputError, match="density is -1"):
        decode(wrong, "wall.nc")


def test_a_run_goes_on_from_the_end_of_another(run):
    half = START + np.timedelta64(3, "D")
    grid = mesh_of(CASE)  # so that the runs can be compared cell by cell
    first = simulate(replace(CASE, end=half), grid=grid)
    on = replace(CASE, start=half, wettings=(), initial=Initial(profile=first.drydown.profile()))
    second = simulate(on, grid=grid)
    last = run.sel(time=second["time"])
    # only the first steps differ
    assert float(np.abs(second["relative_humidity"] - last["relative_humidity"]).isel(time=-1).max()) < 1e-3
    assert float(np.abs(second["temperature"] - last["temperature"]).isel(time=-1).max()) < 0.02
    assert second["water_content"][0].values == pytest.approx(first["water_content"][-1].values, rel=1e-4)
    assert second.drydown.case().initial.profile == first.drydown.profile()


def test_a_measured_profile(tmp_path):
    """Linear between its points inside a layer, held beyond them: a jump at a face stays one."""
    points = Profile([0.025, 0.03, 0.05, 0.12], [280.0, 280.0, 282.0, 290.0], [0.9, 0.9, 0.6, 0.5])
    data = simulate(replace(CASE, wettings=(), initial=Initial(profile=points, layers={"gypsum board": 0.4})))
    start = data.isel(time=0)
    assert start.drydown is not None
    humidity = {
        n: start["relative_humidity"].values[start["layer_of_cell"].values == n] for n in ("OSB", "gypsum board")
    }
    assert humidity["OSB"] == pytest.approx(0.9) and humidity["gypsum board"] == pytest.approx(0.4)
    started = replace(CASE, initial=Initial(profile=points, layers={"gypsum board": 0.4}))
    text = write_case(started, tmp_path / "wall.toml").read_text()
    assert read_case(tmp_path / "wall.toml").initial == started.initial and text.count("[[profile]]") == 4
    long = Profile(np.linspace(0.0, 0.14, 300), np.full(300, 280.0), np.full(300, 0.5))
    with pytest.raises(InputError, match="profile of 300 points is too long"):
        write_case(replace(CASE, initial=Initial(profile=long)), tmp_path / "long.toml")
    for given, words in (
        (([0.1, 0.05], [280.0] * 2, [0.5] * 2), "depths must rise"),
        (([0.1], [280.0] * 2, [0.5] * 2), "as many of each"),
        (([0.1], [7.0], [0.5]), "profile at 0.1 m: temperature is 7 K"),
        (("0.1", [7.0], [0.5]), "depth is '0.1'"),
    ):
        with pytest.raises(InputError, match=words):
            Profile(*given)
    with pytest.raises(InputError, match="its profile is 3"):
        Initial(profile=3)
    with pytest.raises(InputError, match="lies outside the run"):
        data.drydown.profile("2030-01-01")


def test_names_are_those_of_the_conventions(run):
    """Attributes and variables are names as the CF conventions have them; load is xarray's own word again."""
    for name in (*run.attrs, *run.variables, *(k for v in run.variables.values() for k in v.attrs)):
        assert str(name).isidentifier(), name
    assert run["relative_humidity"].attrs["standard_name"] == "relative_humidity"
    assert run["time"].attrs["standard_name"] == "time"
    assert all("units" in run[n].attrs for n in VARIABLES)
    assert callable(run.load) and "load_term" in run.dims
    assert set(VARIABLES) <= set(ALL)


@pytest.mark.parametrize(
    "make", [lambda: material("OSB"), lambda: film("kraft paper facing"), lambda: weather("fernmoor")]
)
def test_inputs_show_themselves_in_a_notebook(make):
    thing = make()
    html = thing._repr_html_()
    assert thing.name in html and ("<svg" in html or "<img" in html) and "ource" in html
