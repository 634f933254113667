"""Loads of a case file: every key reaches its field, they are written as read, bad input is one line."""

import copy
import dataclasses
import tomllib

import numpy as np
import pytest
from drydown.case.air_leakage import LeakPath
from drydown.case.loads import AirLeak, AirStream, RainShare, VentilatedGap
from drydown.case.partial_cover import REST_HUMIDITY, PartlyCovering
from drydown.case.wetting import Wetting
from drydown.casefile import case_of, read_case, write_case
from drydown.errors import InputError
from drydown.plugins import film
from odd_values import ODD, spoilt

HEAD = """
[climate]
name = "fernmoor"
[outside]
orientation = "west"
wind_factor = 0.6
[period]
start = 2022-01-01
years = 3
[[layer]]
material = "spruce cladding"
thickness = "20 mm"
[[layer]]
material = "air gap 25 mm"
thickness = "25 mm"
[[layer]]
material = "OSB"
thickness = "11 mm"
[[layer]]
material = "mineral wool"
thickness = "140 mm"
"""
SHEET = '[[layer]]\nfilm = "polyethylene 0.15 mm"\n'


@pytest.fixture
def read(tmp_path):
    def reader(text, head=HEAD):
        path = tmp_path / "wall.toml"
        path.write_text(head + text, encoding="utf-8")
        return read_case(path)

    return reader


def load(read, text):
    (found,) = read(text).loads
    return found


def test_a_ventilated_gap(read):
    got = load(read, '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nair_changes = "50 1/h"\n')
    assert got == VentilatedGap("air gap 25 mm", 50.0 / 3600.0)
    got = load(
        read,
        '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nheight = "5 m"\npressure_coefficient = 0.1\n'
        'loss_coefficient = 20\nslope = "45 deg"\nside = "inside"\n',
    )
    assert got == VentilatedGap("air gap 25 mm", 0.0, "inside", 5.0, 0.1, 20.0, 45.0)


def test_a_leak_that_condenses_in_a_layer(read):
    got = load(
        read,
        '[[air_leak]]\nq50 = "3 m3/(m2 h)"\nlayer = "OSB"\nplace = "inner"\ndepth = "4 mm"\nconnected_height = "8 m"\n',
    )
    assert (got.way, got.layer, got.place) == ("screening", "OSB", "inner")
    assert (got.depth, got.connected_height) == (0.004, 8.0)
    assert got.leakage.flow(50.0) * 3600.0 == pytest.approx(3.0) and got.leakage.exponent == 0.65


def test_a_leak_as_flow_from_n50_knows_wall_and_wind(read):
    got = load(
        read,
        '[[air_leak]]\nway = "flow"\nn50 = "3 1/h"\nvolume = "400 m3"\narea = "300 m2"\nexponent = 0.6\n'
        'layer = "air gap 25 mm"\nheight = "2.5 m"\nshelter = 0.7\nfan_pressure = "5 Pa"\nindoor_coefficient = -0.2\n',
    )
    assert got.leakage.flow(50.0) * 3600.0 == pytest.approx(3.0 * 400.0 / 300.0)
    assert got.leakage.exponent == 0.6
    assert got.path == LeakPath(270.0, 2.5, 0.6, 0.7, -0.2, 5.0)
    assert (got.way, got.layer) == ("flow", "air gap 25 mm")
    got = load(read, '[[air_leak]]\nway = "flow"\nq50 = "3 m3/(m2 h)"\norientation = "south"\nheight = "-1 m"\n')
    assert (got.path.azimuth, got.path.height, got.layer) == (180.0, -1.0, "")


def test_a_share_of_the_rain_and_a_stream(read):
    assert load(read, '[[rain_share]]\nlayer = "OSB"\nshare = "1 %"\n') == RainShare("OSB", 0.01)
    got = load(read, '[[rain_share]]\nlayer = "OSB"\nshare = 0.02\nplace = "outer"\ndepth = "3 mm"\n')
    assert got == RainShare("OSB", 0.02, "outer", 0.003)
    got = load(read, "[[air_stream]]\npoints = [[2022-01-01, '1e-4 kg/(m2 s)'], ['2022-02-01 06:00', '-1 g/(m2 h)']]\n")
    assert [t for t, _ in got.points] == [np.datetime64("2022-01-01"), np.datetime64("2022-02-01T06:00")]
    assert [g for _, g in got.points] == pytest.approx([1e-4, -1e-3 / 3600.0])


def test_a_yearly_wetting(read):
    text = '[[wetting]]\nlayer = "OSB"\namount = "1 kg/m2"\ndate = 2022-02-28\nyearly = true\n'
    (wetting,) = read(text).wettings
    assert wetting == Wetting("OSB", 1.0, np.datetime64("2022-02-28"), yearly=True)


def test_a_film_that_covers_part_of_the_area(read):
    case = read(SHEET.rstrip() + '\ncovered = "95 %"\n')
    (got,) = case.assembly.films
    assert isinstance(got.permeance, PartlyCovering) and got.name == "polyethylene 0.15 mm, 95 % of the area"
    whole = film("polyethylene 0.15 mm")

    def resistance(layers):
        at = np.array([REST_HUMIDITY])
        return sum(x.thickness / float(np.asarray(x.material.permeability(at))[0]) for x in layers)

    rest = 1.0 / resistance(case.assembly.layers)
    assert got.permeance.rest == pytest.approx(rest)
    # In series with the rest it passes what both ways side by side pass.
    there = float(whole.permeance(np.array([0.5]))[0])
    side_by_side = 0.95 * there * rest / (there + rest) + 0.05 * rest
    p = float(got.permeance(np.array([0.5]))[0])
    assert p * rest / (p + rest) == pytest.approx(side_by_side)
    assert read(SHEET.rstrip() + "\ncovered = 1.0\n").assembly.films == (whole,)
    # A ventilated gap is outdoor air: what stands outside of it does not hinder.
    gap = '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nair_changes = "50 1/h"\n'
    (got,) = read(SHEET.rstrip() + '\ncovered = "95 %"\n' + gap).assembly.films
    assert got.permeance.rest == pytest.approx(1.0 / resistance(case.assembly.layers[2:]))


EVERY = (
    SHEET + "covered = 0.9\n"
    '[[wetting]]\nlayer = "OSB"\namount = "1 kg/m2"\ndate = 2022-02-28\nyearly = true\n'
    '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nair_changes = "50 1/h"\nheight = "5 m"\npressure_coefficient = 0.1\n'
    '[[air_leak]]\nway = "flow"\nq50 = "3 m3/(m2 h)"\nlayer = "air gap 25 mm"\nheight = "2.5 m"\nshelter = 0.7\n'
    '[[air_leak]]\nway = "flow"\nq50 = "1 m3/(m2 h)"\norientation = "south"\nwind_factor = 0.4\nfan_pressure = "2 Pa"\n'
    '[[air_leak]]\nq50 = "3 m3/(m2 h)"\nlayer = "OSB"\nplace = "inner"\ndepth = "4 mm"\n'
    '[[air_stream]]\npoints = [[2022-01-01, "1e-4 kg/(m2 s)"], [2022-02-01T06:00:00, "-1e-5 kg/(m2 s)"]]\n'
    '[[rain_share]]\nlayer = "OSB"\nshare = "1.5 %"\nplace = "whole"\n'
)


def test_every_load_is_written_as_it_was_read(read, tmp_path):
    case = read(EVERY)
    assert [type(x) for x in case.loads] == [VentilatedGap, AirLeak, AirLeak, AirLeak, AirStream, RainShare]
    back = read_case(write_case(case, tmp_path / "again.toml"))
    assert back.wettings == case.wettings
    for a, b in zip(case.loads, back.loads, strict=True):
        if isinstance(a, AirLeak):  # a coefficient of q50 and back is the same to rounding
            assert b.leakage.coefficient == pytest.approx(a.leakage.coefficient, rel=1e-14)
            b = dataclasses.replace(b, leakage=a.leakage)
        assert a == b


LEAK = '[[air_leak]]\nq50 = "3 m3/(m2 h)"\n'
# name: (what is added to the file, words the error must hold)
BAD = {
    "gap in an unknown layer": (
        '[[ventilated_gap]]\nlayer = "air gap"\nair_changes = "9 1/h"\n',
        ("ventilated_gap 1, layer", "'air gap 25 mm'"),
    ),
    "gap in a board": (
        '[[ventilated_gap]]\nlayer = "OSB"\nair_changes = "50 1/h"\n',
        ("ventilated_gap 1, layer", "'OSB' is solid, 650 kg/m3"),
    ),
    "gap that nothing drives": ('[[ventilated_gap]]\nlayer = "air gap 25 mm"\n', ("ventilated_gap 1", "air_changes")),
    "air changes without a unit": (
        '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nair_changes = 50\n',
        ("ventilated_gap 1, air_changes", "no unit", "1/h"),
    ),
    "air changes of a storm": (
        '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nair_changes = "9e9 1/h"\n',
        ("ventilated_gap 1", "air_changes"),
    ),
    "gap with one bracket": (
        '[ventilated_gap]\nlayer = "air gap 25 mm"\nair_changes = "9 1/h"\n',
        ("ventilated_gap", "[[ventilated_gap]]"),
    ),
    "air of the attic": (
        '[[ventilated_gap]]\nlayer = "air gap 25 mm"\nair_changes = "9 1/h"\nside = "attic"\n',
        ("ventilated_gap 1, side", "outside, inside"),
    ),
    "misspelt load": ('[[air_leek]]\nq50 = "3 m3/(m2 h)"\n', ("'air_leek'", "'air_leak'")),
    "leak without a figure": ('[[air_leak]]\nlayer = "OSB"\n', ("air_leak 1", "blower-door", "q50")),
    "leak with two figures": (LEAK + 'n50 = "3 1/h"\nlayer = "OSB"\n', ("air_leak 1", "give one")),
    "n50 of a house without size": (
        '[[air_leak]]\nn50 = "3 1/h"\nlayer = "OSB"\n',
        ("air_leak 1", "volume", "area", "400 m3"),
    ),
    "q50 of a house": (LEAK + 'volume = "400 m3"\nlayer = "OSB"\n', ("air_leak 1, volume", "n50")),
    "q50 as air change": ('[[air_leak]]\nq50 = "3 1/h"\nlayer = "OSB"\n', ("air_leak 1, q50", "m3/(m2 h)")),
    "leak that ends nowhere": (LEAK, ("air_leak 1", "'layer'", "dew point")),
    "too leaky for screening": (
        '[[air_leak]]\nq50 = "9 m3/(m2 h)"\nlayer = "OSB"\n',
        ("air_leak 1", "ends at 5", "air flow"),
    ),
    "screening that knows the wind": (LEAK + 'layer = "OSB"\nshelter = 0.5\n', ("air_leak 1, shelter", "screening")),
    "unknown way": (LEAK + 'way = "flows"\n', ("air_leak 1, way", "'flow'")),
    "leak in a film": (SHEET + LEAK + 'layer = "polyethylene 0.15 mm"\n', ("air_leak 1, layer", "film")),
    "exponent of 2": (LEAK + 'exponent = 2\nlayer = "OSB"\n', ("air_leak 1", "exponent", "0.5 and 1")),
    "a layer by its number": ('[[rain_share]]\nlayer = 2\nshare = "1 %"\n', ("rain_share 1, layer", "name the layer")),
    "an air change as q50": (
        '[[air_leak]]\nq50 = "0.6 1/h"\nlayer = "OSB"\n',
        ("air_leak 1, q50", "'0.6 1/h' is an air change: n50, with volume and area"),
    ),
    "share of nothing": ('[[rain_share]]\nlayer = "OSB"\nshare = 0\n', ("rain_share 1", "share", "greater than 0")),
    "share as a number of percent": ('[[rain_share]]\nlayer = "OSB"\nshare = 5\n', ("rain_share 1", "at most 1")),
    "share of one": ('[[rain_share]]\nlayer = "OSB"\nshare = 1\n', ("rain_share 1, share", "'1 %' or '100 %'")),
    "rain in an unknown layer": ('[[rain_share]]\nlayer = "OSP"\n', ("rain_share 1, layer", "'OSB'")),
    "stream without times": ('[[air_stream]]\npoints = ["1e-4 kg/(m2 s)"]\n', ("air_stream 1, points", "pairs")),
    "stream backwards": (
        "[[air_stream]]\npoints = [[2022-02-01, '1e-4 kg/(m2 s)'], [2022-01-01, '1e-4 kg/(m2 s)']]\n",
        ("air_stream 1", "after"),
    ),
    "yearly as a word": (
        '[[wetting]]\nlayer = "OSB"\namount = "1 kg/m2"\ndate = 2022-02-28\nyearly = "yes"\n',
        ("wetting 1, yearly", "true or false"),
    ),
    "a layer with holes": (
        '[[layer]]\nmaterial = "spruce"\nthickness = "1 mm"\ncovered = 0.9\n',
        ("layer 5, covered",),
    ),
    "a film that is not there": (SHEET + "covered = 0\n", ("layer 5, covered", "greater than 0")),
    "a film of 95": (SHEET + "covered = 95\n", ("layer 5, covered", "at most 1")),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_line(read, name):
    text, words = BAD[name]
    with pytest.raises(InputError) as caught:
        read(text)
    message = str(caught.value)
    assert "\n" not in message and "wall.toml" in message
    for word in words:
        assert word in message, message


EXTRA = (
    'horizon = "5 deg"\noverhang = "1 m"\noverhang_height = "2 m"\nsnow_reflectance = 0.7\nassumed_cloud = 5\n'
    'rain_model = "hourly index"\nrain_wall = 0.5\n[inside]\nmodel = "balance"\nbedrooms = 2\nvolume = "250 m3"\n'
    'surface = "ceiling"\nair_changes = "0.3 1/h"\n'
)


@pytest.mark.slow
def test_an_odd_value_anywhere_is_read_or_refused_in_one_line(tmp_path):
    text = HEAD.replace(
        'name = "fernmoor"', 'name = "fernmoor"\nyears = "2022 to 2023"\nsevere = "cold"\npercentile = 50'
    )
    text = text.replace("wind_factor = 0.6\n", "wind_factor = 0.6\n" + EXTRA)
    base = tomllib.loads(text + EVERY)
    path, kept, refused = tmp_path / "wall.toml", {}, 0
    case_of(copy.deepcopy(base), path, kept)
    ways = [(name,) for name in base]
    ways += [(name, key) for name, table in base.items() if isinstance(table, dict) for key in table]
    for name in ("wetting", "ventilated_gap", "air_leak", "air_stream", "rain_share"):
        ways += [(name, i) for i in range(len(base[name]))]
        ways += [(name, i, key) for i, table in enumerate(base[name]) for key in table]
    for place, odd, data in spoilt(base, ways):
        try:
            case_of(data, path, kept)
        except InputError as error:
            refused += 1
            assert str(error).startswith(str(path)) and "\n" not in str(error), (place, odd, error)
    assert refused > 0.6 * len(ways) * len(ODD)
