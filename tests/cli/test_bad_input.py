"""Bad input of every kind: one line that says where and what would be right, exit code 2, nothing written."""

import re

import pytest

# name: (what stands in the case file, what is written there instead, words the error must hold)
IN_THE_FILE = {
    "unknown material": ('material = "OSB"', 'material = "OBS"', ("layer 1, material", "'OSB'")),
    "film where a layer is meant": (
        'material = "OSB"',
        'material = "polyethylene 0.15 mm"',
        ("layer 1, material", "film = "),
    ),
    "material where a film is meant": (
        'film = "polyamide film 0.05 mm"',
        'film = "OSB"',
        ("layer 3, film", "material = "),
    ),
    "neither material nor film": ('material = "OSB"\n', "", ("layer 1", "material")),
    "zero thickness": ("11 mm", "0 mm", ("layer 1, thickness", "at least 0.001 mm")),
    "negative thickness": ("11 mm", "-11 mm", ("layer 1, thickness", "at least 0.001 mm")),
    "thickness that is not a number": ("11 mm", "nan mm", ("layer 1, thickness", "number")),
    "thickness without a unit": ('"11 mm"', "11", ("layer 1, thickness", "no unit", "mm")),
    "unknown unit": ("11 mm", "11 mn", ("layer 1, thickness", "'mn'", "mm")),
    "unit of another kind": ("11 mm", "11 kg", ("layer 1, thickness", "11 kg", "mm")),
    "layer without a thickness": ('thickness = "11 mm"\n', "", ("layer 1", "'thickness'", "mm")),
    "film with a thickness": (
        'film = "polyamide film 0.05 mm"',
        'film = "polyamide film 0.05 mm"\nthickness = "1 mm"',
        ("layer 3, thickness", "leave it out"),
    ),
    "two layers of one name": (
        'material = "mineral wool"',
        'material = "OSB"',
        ("layer 2", "'OSB'", "name = "),
    ),
    "misspelt key": ("thickness =", "thicknes =", ("layer 1", "'thicknes'", "'thickness'")),
    "misspelt section": ("[inside]", "[insid]", ("'insid'", "'inside'")),
    "one bracket too few": ("[[wetting]]", "[wetting]", ("wetting", "[[wetting]]")),
    "one bracket too many": ("[period]", "[[period]]", ("period", "[period]")),
    "humidity of 65 meant as percent": (
        'humidity = "70 %"',
        "humidity = 65",
        ("start, humidity", "65 %", "0.65"),
    ),
    "humidity above 100 %": ('humidity = "45 %"', 'humidity = "145 %"', ("inside, humidity", "100 %")),
    "celsius written as kelvin": ("10 degC", "10 K", ("start", "10 K", "degC")),
    "temperature without a unit": ('"20 degC"', "20", ("inside, temperature", "no unit", "degC")),
    "unknown model of indoor air": (
        'model = "constant"',
        'model = "constnt"',
        ("inside, model", "'constant'"),
    ),
    "key of another model": (
        'model = "constant"',
        'model = "normal occupancy"',
        ("inside, temperature", "normal occupancy"),
    ),
    "unknown direction": ('orientation = "north"', 'orientation = "up"', ("outside, orientation", "south-west")),
    "direction missing": ('orientation = "north"\n', "", ("outside", "'orientation'", "north")),
    "absorptance above 1": (
        'orientation = "north"',
        'orientation = "north"\nabsorptance = 6',
        ("outside", "absorptance", "1"),
    ),
    "unknown climate": ('file = "weather.csv"', 'name = "fernmor"', ("climate, name", "'fernmoor'")),
    "no climate": ('file = "weather.csv"', "", ("climate", "fernmoor")),
    "weather file that is not there": (
        "weather.csv",
        "wether.csv",
        ("climate", "wether.csv", "'weather.csv'"),
    ),
    "weather of an unknown kind": ("weather.csv", "weather.xls", ("climate", ".csv")),
    "climate that does not cover the period": ("days = 10", "days = 40", ("weather", "period")),
    "end before the start": ("days = 10", "end = 2021-12-01", ("period, end", "start")),
    "two ends": ("days = 10", "days = 10\nyears = 1", ("period", "give one")),
    "no end": ("days = 10", "", ("period", "years = 2")),
    "no period": ("[period]\nstart = 2022-01-01\ndays = 10", "", ("[period]", "start")),
    "no start": ("start = 2022-01-01\n", "", ("period", "'start'")),
    "a date that does not exist": (
        "start = 2022-01-01",
        "start = 2022-02-30",
        ("line", "2022-02-30", "2022-01-15"),
    ),
    "a date that is none": ("start = 2022-01-01", 'start = "soon"', ("period, start", "2022-01-15")),
    "a time without seconds": (
        "date = 2022-01-03",
        "date = 2022-01-03T06:00",
        ("line", "2022-01-03T06:00:00"),
    ),
    "a time with an offset": (
        "date = 2022-01-03",
        "date = 2022-01-03T06:00:00Z",
        ("wetting 1, date", "offset"),
    ),
    "period that starts within an hour": (
        "start = 2022-01-01",
        "start = 2022-01-01T00:30:00",
        ("period", "whole hour"),
    ),
    "wetting before the period": (
        "date = 2022-01-03",
        "date = 2021-01-03",
        ("wetting 1, date", "'OSB'", "period"),
    ),
    "wetting after the period": (
        "date = 2022-01-03",
        "date = 2022-01-10T23:00:00",
        ("wetting 1, date", "'OSB'", "period"),
    ),
    "wetting of an unknown layer": ('layer = "OSB"', 'layer = "OSP"', ("wetting 1, layer", "'OSB'")),
    "wetting of a film": (
        'layer = "OSB"',
        'layer = "polyamide film 0.05 mm"',
        ("wetting 1, layer", "film", "'OSB'"),
    ),
    "negative amount": ("0.5 kg/m2", "-0.5 kg/m2", ("wetting 1, amount", "greater than 0")),
    "amount that is not finite": ("0.5 kg/m2", "inf kg/m2", ("wetting 1, amount", "number")),
    "amount larger than the pores": ("0.5 kg/m2", "50 kg/m2", ("wetting", "'OSB'", "do not fit")),
    "duration of nothing": ("6 h", "0 h", ("wetting 1", "duration", "at least 1 s")),
    "unknown place": ('duration = "6 h"', 'place = "middle"', ("wetting 1, place", "inner")),
    "no wetting": (re.compile(r"\[\[wetting\]\].*", re.S), "", ("wetting", "add one")),
    "no layers": (re.compile(r"\[\[layer\]\].*?(?=\[\[wetting)", re.S), "", ("layer", "[[layer]]")),
    "unknown film reading": (
        "[start]",
        '[numerics]\nfilm_reading = "middle"\n\n[start]',
        ("numerics, film_reading", "integral", "mean"),
    ),
    "tolerance of nothing": ("[start]", "[numerics]\ntolerance = 0\n\n[start]", ("numerics", "tolerance")),
    "number in quotes": (
        "[start]",
        '[numerics]\ntolerance = "1"\n\n[start]',
        ("numerics, tolerance", "without quotes"),
    ),
    "unit without quotes": ('"11 mm"', "11 mm", ("line", 'thickness = "11 mm"')),
    "broken TOML": ("[outside]", "[outside", ("line", "TOML")),
    "own film without a permeance": (
        'film = "polyamide film 0.05 mm"',
        'film = "my film"\n[film."my film"]\nthickness = "1 mm"',
        ("film 'my film'", "permeance"),
    ),
    "water that the layer cannot hold": (
        'thickness = "11 mm"',
        'thickness = "11 mm"\nstart_water = "400 %MC"',
        ("layer 1, start_water", "kg/m3"),
    ),
}


def refused(result, folder, before, *words):
    """Assert that a command was refused as it should be."""
    assert result.exit_code == 2, (result.stderr, result.exception)
    lines = result.stderr.splitlines()
    assert len(lines) == 1, result.stderr
    assert lines[0].startswith("drydown: ")
    for word in words:
        assert word in lines[0], f"{word!r} is not in: {lines[0]}"
    assert result.stdout == ""
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize("name", IN_THE_FILE)
def test_a_case_file_that_cannot_be_used(name, folder, drydown):
    old, new, words = IN_THE_FILE[name]
    path = folder / "wall.toml"
    text = path.read_text()
    changed = old.sub(new, text, count=1) if isinstance(old, re.Pattern) else text.replace(old, new, 1)
    assert changed != text
    path.write_text(changed)
    before = sorted(folder.iterdir())
    result = drydown("dryout", "wall.toml", "-o", "out.nc", "--figure", "out.png")
    refused(result, folder, before, "wall.toml", *words)


# name: (change of the weather file, words the error must hold)
IN_THE_WEATHER = {
    "empty": (lambda text: "", ("weather.csv", "empty")),
    "no rows": (lambda text: text[: text.index("2022-01-01 01:00")], ("weather.csv", "empty")),
    "a day that is not a number": (
        lambda text: re.sub(r"(2022-01-04 \d\d:00),[^,]*", r"\1,nan", text),
        ("weather.csv", "temperature", "2022-01-04"),
    ),
    "a word for a number": (
        lambda text: text.replace(",80.0,", ",damp,", 1),
        ("weather.csv", "humidity", "damp"),
    ),
    "percent called a fraction": (
        lambda text: text.replace("humidity [%]", "humidity [1]"),
        ("humidity", "percent"),
    ),
    "celsius called kelvin": (lambda text: text.replace("[degC]", "[K]"), ("temperature", "degC")),
    "unknown unit": (lambda text: text.replace("[m/s]", "[furlong]"), ("wind_speed", "furlong", "m/s")),
    "no temperature": (
        lambda text: text.replace("temperature [degC]", "dampness [%]"),
        ("weather.csv", "dampness"),
    ),
    "no latitude": (lambda text: text.replace("# latitude: 59\n", ""), ("weather.csv", "latitude")),
}


@pytest.mark.parametrize("name", IN_THE_WEATHER)
def test_weather_that_cannot_be_used(name, folder, drydown):
    change, words = IN_THE_WEATHER[name]
    path = folder / "weather.csv"
    text = path.read_text()
    assert change(text) != text
    path.write_text(change(text))
    before = sorted(folder.iterdir())
    refused(drydown("run", "wall.toml", "-o", "out.nc"), folder, before, "wall.toml, climate", *words)


ON_THE_LINE = {
    "no such case file": (("run", "wal.toml"), ("wal.toml", "'wall.toml'")),
    "a folder for a case file": (("run", "."), ("folder",)),
    "a case file that is no text": (("run", "picture.toml"), ("picture.toml", "text")),
    "output in a folder that is not there": (
        ("run", "wall.toml", "-o", "no/out.nc"),
        ("no/out.nc", "does not exist"),
    ),
    "output below a file": (
        ("run", "wall.toml", "-o", "weather.csv/out.nc"),
        ("weather.csv", "does not exist"),
    ),
    "output over the case file": (("run", "wall.toml", "-o", "wall.toml"), ("wall.toml", ".nc")),
    "output that is a folder": (("run", "wall.toml", "-o", "kept.nc"), ("kept.nc", "folder")),
    "figure of an unknown kind": (("dryout", "wall.toml", "--figure", "out.bmp"), ("out.bmp", ".png")),
    "unknown option": (("dryout", "wall.toml", "--figur", "out.png"), ("--figur", "--figure", "--help")),
    "unknown command": (("dryuot", "wall.toml"), ("dryuot", "dryout")),
    "no case file": (("dryout",), ("CASE.toml", "--help")),
    "new over what is there": (("new", "wall.toml"), ("wall.toml", "another name")),
    "new in a folder that is not there": (("new", "no/wall.toml"), ("no/wall.toml", "does not exist")),
    "unknown entry": (("materials", "OSP"), ("'OSP'", "'OSB'")),
    "limit without a unit": (("materials", "--below", "1"), ("--below", "no unit", "perm")),
    "unknown tag": (("materials", "--tag", "pain"), ("--tag", "'paint'")),
    "a figure of the whole list": (("materials", "--figure", "x.png"), ("--figure", "materials NAME")),
    "a figure of one entry as text": (("materials", "OSB", "--figure", "x.txt"), ("--figure", ".png")),
    "one entry, sorted": (("materials", "OSB", "--below", "1 perm"), ("--below", "leave it out")),
    "materials by their permeance": (("materials", "--below", "1 perm", "--kind", "material"), ("--kind",)),
    "unknown climate": (("climates", "fernmor"), ("'fernmor'", "'fernmoor'")),
}


@pytest.mark.parametrize("name", ON_THE_LINE)
def test_a_command_that_cannot_be_used(name, folder, drydown):
    arguments, words = ON_THE_LINE[name]
    (folder / "kept.nc").mkdir()
    (folder / "picture.toml").write_bytes(b"\x89PNG\xff\xfe")
    kept = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    before = sorted(folder.iterdir())
    refused(drydown(*arguments), folder, before, *words)
    assert kept == {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
