"""Sixty kinds of wrong use at construction and more: one line with the name, the right exception, none from inside."""

from __future__ import annotations

import math
import traceback
from dataclasses import replace
from pathlib import Path

import drydown
import numpy as np
import pytest
from drydown import (
    Assembly,
    Case,
    Chamber,
    Exposure,
    Film,
    FromOutdoor,
    Indoor,
    Initial,
    InputError,
    Layer,
    Material,
    Numerics,
    Outdoor,
    Source,
    Wetting,
    assess,
    material,
    simulate,
    weather,
)
from drydown.bench import CupTest
from drydown.case.loads import AirLeak
from drydown.materials.curves import Constant, sorption_points

STORE = sorption_points((0.5, 0.9), (30.0, 90.0), 500.0)
GOOD = Material("demo board", 500.0, 1500.0, 0.1, STORE, 1e-11, 500.0)
START = np.datetime64("2022-01-01")
END = START + np.timedelta64(2, "D")
WALL = Assembly((Layer(GOOD, 0.02), Film("paper", 1e-10), Layer(material("mineral wool"), 0.1)))
SIDES = Chamber(278.15, 0.8), Chamber(293.15, 0.5)
WET = Wetting("demo board", 0.1, START)


def board(**changed):
    return lambda: replace(GOOD, **changed)


def film(permeance, **more):
    return lambda: Film("paper", permeance, **more)


def case(**changed):
    given = dict(assembly=WALL, outside=SIDES[0], inside=SIDES[1], start=START, end=END)
    return lambda: Case(**(given | changed))


#: What is done wrong -> how, and the words that must stand in the line (the name of the thing among them).
WRONG = {
    "negative density": (board(density=-500.0), "material 'demo board': density is -500.0"),
    "density as text": (board(density="500 kg/m3"), "'demo board': density is '500 kg/m3'; it must be a number"),
    "density in g/cm3": (board(density=0.45), "density is 0.45"),
    "heat capacity in kJ": (board(heat_capacity=1.5), "heat_capacity is 1.5"),
    "heat capacity NaN": (board(heat_capacity=math.nan), "heat_capacity is nan"),
    "saturation True": (board(saturation=True), "saturation is True"),
    "saturation below storage": (board(saturation=80.0), "storage reaches .* but saturation is 80 kg/m3"),
    "storage a number": (board(storage=90.0), "storage is the number 90; a curve"),
    "storage falls": (board(storage=lambda phi: 90.0 * (1.0 - phi)), "storage falls with humidity"),
    "storage a table": (board(storage=[30.0, 90.0]), r"storage is \[30.0, 90.0\]; a number or a curve"),
    "storage negative": (board(storage=lambda phi: 90.0 * phi - 50.0), "storage is -45.5 kg/m3 where driest"),
    "permeability in ng": (board(permeability=20.0), "if 20 ng/.Pa s m. are meant, that is 2e-11"),
    "permeability beyond stirred air": (board(permeability=1e-4), "permeability is 0.0001"),
    "permeability zero": (board(permeability=0.0), "permeability is 0 "),
    "permeability as text": (board(permeability="mu 10"), "permeability is 'mu 10'"),
    "permeability None": (board(permeability=None), "permeability is None"),
    "conductivity in mW": (board(conductivity=650.0), "conductivity is 650"),
    "conductivity negative": (board(conductivity=-0.1), "conductivity is -0.1"),
    "curve of one number": (board(conductivity=lambda w: math.exp(w)), "conductivity fails with TypeError"),
    "curve that returns one number": (board(conductivity=lambda w: 0.1), "does not keep the shape"),
    "curve with a hole": (board(permeability=lambda p: 1e-11 / (p > 0.5)), "permeability is not finite"),
    "two laws of liquid": (board(liquid=1e-9, diffusivity=1e-9), "both liquid and diffusivity"),
    "sheds rain and drinks": (board(liquid=1e-9, sheds_rain=True), "sheds rain and has liquid"),
    "liquid negative": (board(liquid=-1e-9), "liquid is -1e-09"),
    "unknown mould class": (board(mould_class="weak"), "mould_class is 'weak'; use one of"),
    "critical saturation in percent": (board(critical_saturation=80), "critical_saturation is 80"),
    "slope as text": (board(conductivity_temperature_coefficient="no"), "coefficient is 'no'"),
    "factor of temperature a number": (board(permeability_temperature=1.2), "permeability_temperature is 1.2"),
    "freezing as text": (board(freezing="yes"), "freezing is 'yes'; True or False"),
    "tags a text": (board(tags="wood"), r"tags is 'wood'; a tuple is needed, such as \('wood',\)"),
    "one source": (board(sources=Source("nobody", 2026, "x", "demo")), "sources is of type Source; a tuple|sources is"),
    "source a text": (board(sources=("a handbook",)), "source 'a handbook' is no Source"),
    "spread reversed": (board(spread={"permeability": (2.0, 0.5)}), "spread of permeability"),
    "spread of nothing": (board(spread={"colour": (0.5, 2.0)}), "spread of 'colour'"),
    "material without a name": (board(name=""), "a material: its name is ''"),
    "permeance in ng": (film(50.0), "film 'paper': permeance is 50 .*that is 5e-11"),
    "permeance negative": (film(-1e-11), "permeance is -1e-11"),
    "permeance of water content": (film(Constant(1e-10, "water content")), "must be a function of humidity"),
    "permeance as text": (film("0.1 perm"), "permeance is '0.1 perm'"),
    "permeance in percent": (film(lambda phi: 1e-10 * np.log(100.0 * phi - 50.0)), "permeance is not finite"),
    "reverse permeance": (film(1e-10, permeance_outward=3.0), "permeance_outward is 3"),
    "film in millimetres": (film(1e-10, thickness=0.2), "thickness of the film is 0.2 m"),
    "layer of a film": (lambda: Layer(Film("paper", 1e-10), 0.1), "needs a material, not a film"),
    "layer of a name": (lambda: Layer("OSB", 0.011), "a layer needs a material, not 'str'"),
    "thickness as text": (lambda: Layer(GOOD, "11 mm"), "layer 'demo board': thickness is '11 mm'"),
    "thickness NaN": (lambda: Layer(GOOD, math.nan), "thickness is nan m"),
    "thickness negative": (lambda: Layer(GOOD, -0.011), "thickness is -0.011 m"),
    "thickness in millimetres": (lambda: Layer(GOOD, 140.0), "thickness is 140 m"),
    "cells a fraction": (lambda: Layer(GOOD, 0.1, cells=2.5), "cells is 2.5; a whole number"),
    "layer's name a number": (lambda: Layer(GOOD, 0.1, name=3), "its name is 3; a text"),
    "one layer for an assembly": (lambda: Assembly(Layer(GOOD, 0.1)), "parts is .*a tuple of layers and films"),
    "a material among the layers": (lambda: Assembly((GOOD,)), "not Material; a material needs a thickness"),
    "films alone": (lambda: Assembly((Film("paper", 1e-10),)), "at least one layer"),
    "two layers of one name": (lambda: Assembly((Layer(GOOD, 0.1),) * 2), "two layers are called 'demo board'"),
    "a layer that is not there": (lambda: WALL.layer_index("brick"), "no layer is called 'brick'"),
    "layers for an assembly": (case(assembly=WALL.parts), "case 'case': its assembly is .*an Assembly is needed"),
    "weather for a side": (case(outside=weather("fernmoor")), "outside is .*Outdoor.climate"),
    "a model for a side": (case(inside=FromOutdoor()), "inside is .*Indoor.air"),
    "sides swapped": (case(outside=Indoor(), inside=Outdoor(weather("fernmoor"))), "sides are swapped"),
    "a number for a side": (case(inside=20.0), "inside is 20.0; a side is needed"),
    "end before start": (case(end=START - np.timedelta64(1, "D")), "is not after the start"),
    "start a word": (case(start="spring"), "period, start: it cannot be read as a date"),
    "start NaT": (case(start=np.datetime64("NaT")), "the start is no date"),
    "half an hour": (case(start="2022-01-01T00:30"), "must be a whole hour"),
    "one wetting": (case(wettings=WET), "wettings is .*a tuple is needed"),
    "a load among wettings": (case(wettings=(3.0,)), "one of its wettings is 3.0; a Wetting"),
    "wetting of nothing": (case(wettings=(replace(WET, layer="brick"),)), "no layer is called 'brick'"),
    "initial a number": (case(initial=0.8), "its initial state is 0.8; an Initial"),
    "numerics a dict": (case(numerics={"refine": 2.0}), "its numerics is"),
    "metres for millimetres": (case(assembly=Assembly((Layer(material("OSB"), 11.0),))), "is it 11 mm"),
    "humidity in percent": (lambda: Initial(283.15, 80.0), "relative humidity is 80; write it as a fraction, 0.8"),
    "temperature in degC": (lambda: Initial(20.0, 0.8), "temperature is 20 K; .*; 20 degC is 293.15 K"),
    "humidity beyond 1": (lambda: Initial(283.15, 1.2), "relative humidity is 1.2, more than 1, which is 100 %"),
    "a flow for a leakage": (lambda: AirLeak(3.0, "board"), "leakage is 3.0; a Leakage, such as Leakage.from_q"),
    "a permeance in ng": (
        lambda: CupTest(0.0, 0.5, permeance=60.0),
        r"permeance is 60 kg/\(m2 s Pa\); .*if 60 ng/\(Pa s m2\) are meant, that is 6e-11",
    ),
    "temperature as text": (lambda: Initial("20 degC", 0.8), r"temperature is '20 degC'; a number \[K\]"),
    "initial layers a list": (lambda: Initial(layers=["OSB"]), "its layers is .*a mapping"),
    "chamber in percent": (lambda: Chamber(293.15, 50.0), "relative humidity is 50"),
    "coefficient as text": (lambda: Chamber(293.15, 0.5, heat_transfer="8"), "heat_transfer is '8'"),
    "wetting negative": (lambda: Wetting("OSB", -1.0, START), "wetting of 'OSB': amount is -1"),
    "wetting as text": (lambda: Wetting("OSB", "1 L", START), "amount is '1 L'"),
    "wetting of a layer": (lambda: Wetting(WALL.layers[0], 1.0, START), "its layer is .*the name of a layer"),
    "tolerance as text": (lambda: Numerics(tolerance="fine"), "numerics: tolerance is 'fine'"),
    "tilt beyond": (lambda: Exposure(tilt=200.0), "tilt is 200"),
    "azimuth a word": (lambda: Exposure(azimuth="north"), "azimuth is 'north'; a number"),
    "name for weather": (lambda: Outdoor("fernmoor"), "its climate is 'fernmoor'; a Climate"),
    "air of a room a number": (lambda: Indoor(0.5), "its air is 0.5; a model"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_refused_in_one_line_with_the_name(kind):
    make, words = WRONG[kind]
    with pytest.raises(InputError, match=words) as caught:
        make()
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 300


def test_there_are_more_than_sixty_kinds():
    assert len(WRONG) >= 60


def test_none_comes_from_a_library_below():
    """What raises is a line of ours: no numpy, no dataclass in between says it."""
    ours = Path(drydown.__file__).parent
    for make, _ in WRONG.values():
        with pytest.raises(InputError) as caught:
            make()
        last = traceback.extract_tb(caught.value.__traceback__)[-1]
        assert ours in Path(last.filename).parents


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"wood_moisture": 20.0}, "limit 'wood_moisture': it is 20; .*20 % is written 0.2"),
        ({"corrosion_humidity": 80}, "80 % is written 0.8"),
        ({"frost_freezing": -1.0}, "-1 degC is 272.15 K"),
        ({"mould_index": -1.0}, "limit 'mould_index': it is -1"),
        ({"mould_index": "3"}, "it is '3'; a number"),
        ({"mould": 3.0}, "no limit is called 'mould'"),
        ([3.0], "a mapping of names to values"),
        ({"condensate": math.nan}, "limit 'condensate': it is nan kg/m2"),
    ],
)
def test_limits_of_assess(limits, words, run):
    with pytest.raises(InputError, match=words):
        assess(run, limits)


@pytest.fixture(scope="module")
def run():
    return simulate(case()())


def test_a_number_is_a_constant_property(run):
    """A wall of numbers runs, to the digit as one of constants."""
    as_curves = replace(GOOD, conductivity=Constant(0.1), permeability=Constant(1e-11))
    assert as_curves == GOOD
    assert GOOD.permeability == Constant(1e-11) and Film("paper", 1e-10).permeance == Constant(1e-10)
    assert float(run["layer_water"].sel(layer="demo board")[-1]) > 0.0
