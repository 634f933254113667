"""Foams in the cold, ice in the pores: conductivity by temperature against closed forms and what is known of them."""

import dataclasses

import numpy as np
import pytest
from drydown import Assembly, Case, Chamber, Initial, InputError, Layer, simulate
from drydown.catalogue.file import read_catalogue
from drydown.materials.curves import Constant, TemperatureFactor, frozen_gain
from drydown.plugins import material

START = np.datetime64("2001-01-01T00", "s")
COLD = ("polyisocyanurate", "faced polyisocyanurate", "aged polyisocyanurate")


def lam(name, celsius):
    m = material(name)
    dry = float(m.conductivity(np.array([0.0]))[0])
    return dry * float(m.conductivity_temperature(np.array([273.15 + celsius]))[0])


@pytest.mark.parametrize("name", COLD)
def test_polyiso_is_worse_in_the_cold(name):
    # Pentane-blown, aged: least between 10 and 20 degC; at 24 degC 0.023 to 0.026 W/(m K), at -4 degC 0.024 to 0.031
    # (from memory; "aged" here is older foam, 0.027 at 24 degC).
    t = np.linspace(-20.0, 60.0, 801)
    values = np.array([lam(name, x) for x in t])
    assert 10.0 <= t[values.argmin()] <= 20.0
    assert lam(name, 24.0) == pytest.approx(float(material(name).conductivity(np.array([0.0]))[0]), rel=1e-9)
    assert 0.024 <= lam(name, -4.0) <= 0.031
    assert lam(name, -4.0) > 1.1 * lam(name, 15.0)


def test_heat_through_polyiso_is_the_mean_over_its_temperatures():
    # Steady flow through a plane wall: q d = integral of lambda over T (Kirchhoff), here by the trapezoidal rule.
    m = dataclasses.replace(material("polyisocyanurate"), conductivity=Constant(0.024))
    outer, inner = 258.15, 293.15
    wall = Assembly((Layer(m, 0.1, cells=80),))
    sides = (Chamber(t, 1e-4, heat_transfer=1e6, sealed=True) for t in (outer, inner))
    ds = simulate(Case(wall, *sides, START, START + np.timedelta64(20, "D"), initial=Initial(280.0, 1e-4)))
    t = np.linspace(outer, inner, 20001)
    by_t = np.concatenate([[0.0], np.cumsum(0.024 * m.conductivity_temperature(0.5 * (t[1:] + t[:-1])) * np.diff(t))])
    want = np.interp(ds["x"].values / 0.1 * by_t[-1], by_t, t)
    got = ds["temperature"].isel(time=-1).values
    straight = outer + (inner - outer) * ds["x"].values / 0.1
    assert np.abs(got - want).max() < 0.01
    assert np.abs(want - straight).max() > 0.3


def test_ice_in_place_of_water():
    # Geometric mean (Johansen 1975): nothing but pores conducts as ice over water, 2.2/0.6; no pores, no gain. Sand of
    # 40 % pores full of ice conducts (2.2/0.6)^0.4 = 1.68 times as well as full of water.
    assert frozen_gain(1000.0) == pytest.approx(2.2 / 0.6, rel=1e-12)
    assert frozen_gain(0.0) == 1.0
    assert frozen_gain(400.0) == pytest.approx(1.68, abs=0.005)
    brick, wool = material("clay brick"), material("mineral wool")
    assert brick.freezing and 1.1 < brick.frozen_conductivity < 1.6
    assert wool.freezing or wool.frozen_conductivity == 1.0


def test_only_what_is_ice_gains():
    # The same brick at -10 degC, hygroscopic and full: heat of a wet one rises with its ice, of a dry one not.
    brick = dataclasses.replace(material("clay brick"), conductivity=Constant(1.0))
    plain = dataclasses.replace(brick, frozen_conductivity=1.0)

    def middle(m, start):
        layers = (
            Layer(m, 0.1, name="a", cells=20),
            Layer(dataclasses.replace(plain, freezing=False), 0.1, name="b", cells=20),
        )
        sides = (Chamber(t, 0.9, heat_transfer=1e6, sealed=True) for t in (253.15, 263.15))
        given = Initial(258.15, start)
        ds = simulate(Case(Assembly(layers), *sides, START, START + np.timedelta64(3, "D"), initial=given))
        t = ds["temperature"].isel(time=-1).values
        return 0.5 * (t[19] + t[20])

    assert middle(brick, 0.5) == pytest.approx(middle(plain, 0.5), abs=0.01)
    # Between two layers of the same thickness, one conducting g times as well: T at the joint is nearer to its side.
    g = brick.frozen_conductivity
    want = 253.15 + 10.0 * (1.0 / g) / (1.0 / g + 1.0)
    assert middle(plain, 0.9999) == pytest.approx(258.15, abs=0.15)
    assert 253.15 + 10.0 / 2.0 - middle(brick, 0.9999) > 0.5 * (258.15 - want)


TEXT = """
[source.s]
authors = "invented for this test"
year = 2026
where = "none"
kind = "demo"

[material."foam"]
density = "30 kg/m3"
heat_capacity = "1400 J/(kg K)"
saturation = "100 kg/m3"
conductivity = {{ dry = "0.024 W/(m K)", slope = "2.0e-4 W m2/(kg K)" }}
storage = {{ family = "straight", limit = "1.5 %MC", pores = "1 kPa", n = 2.5 }}
permeability = "mu 60"
source = "s"
tags = ["insulation", "foam"]
{more}
"""


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('conductivity_temperature = { temperature = "10 0 degC", factor = [1, 1.1] }', "do not rise"),
        ('conductivity_temperature = { temperature = "0 10 degC", factor = [1] }', "1 factors"),
        ('conductivity_temperature = { temperature = "0 10 degC", factor = [1, -1] }', "between 0.1 and 10"),
        (
            "conductivity_temperature_coefficient = 0.001\n"
            'conductivity_temperature = { temperature = "0 10 degC", factor = [1, 1.1] }',
            "give one",
        ),
    ],
)
def test_a_slip_in_the_table_is_said(tmp_path, more, words):
    (tmp_path / "own.toml").write_text(TEXT.format(more=more))
    with pytest.raises(InputError, match=words) as caught:
        read_catalogue(tmp_path / "own.toml")["foam"]()
    assert "\n" not in str(caught.value) and "own.toml" in str(caught.value)


def test_the_table_and_frozen_conductivity_are_keys(tmp_path):
    more = 'conductivity_temperature = { temperature = "0 10 degC", factor = [1.1, 1] }\nfrozen_conductivity = 1.2'
    (tmp_path / "own.toml").write_text(TEXT.format(more=more))
    m = read_catalogue(tmp_path / "own.toml")["foam"]()
    assert m.conductivity_temperature == TemperatureFactor((273.15, 283.15), (1.1, 1.0))
    assert m.frozen_conductivity == 1.2
