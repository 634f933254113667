"""One material or film as text and as a figure."""

import dataclasses

import numpy as np
import pytest
from drydown import Film, Source, plugins
from drydown.catalogue.page import describe, retarder_class
from drydown.figures.entry import entry_figure
from drydown.materials.curves import Constant, Logistic
from drydown.quantities import PERM

ENTRIES = (
    "OSB",
    "fibre cement",
    "mineral wool",
    "calcium silicate insulation",
    "steel sheet",
    "polyamide film",
    "felt #15",
)


def text_of(entry, system="SI"):
    return " ".join("\n".join(describe(entry, system)).split())


def row(entry, start, system="SI"):
    lines = "\n".join(describe(entry, system)).splitlines()
    (line,) = [line for line in lines if line.startswith(start)]
    return [float(x) for x in line[len(start) :].split()]


def test_wood_shows_moisture_by_mass_beside_that_by_volume():
    spruce = plugins.material("spruce")
    by_volume, by_mass = row(spruce, "water, kg/m3"), row(spruce, "water, % of dry mass")
    # 15.9 % at 80 %: equation 4-5 of the Wood Handbook at 23 degC
    assert by_mass[3] == pytest.approx(15.9, abs=0.06)
    assert by_volume == pytest.approx(np.array(by_mass) / 100.0 * spruce.density, rel=5e-3)


def test_both_systems_of_units_say_the_same():
    """1 lb/ft3 = 16.0185 kg/m3; 1 perm-in = 1.45322e-12 kg/(Pa s m), 1 Btu in/(h ft2 degF) = 0.144228 W/(m K)."""
    osb = plugins.material("OSB")
    for si, us, factor in (
        ("water, kg/m3", "water, lb/ft3", 16.0185),
        ("permeability, ng/(Pa s m)", "permeability, perm in", 1.45322),
        ("conductivity, W/(m K)", "conductivity, Btu in/(h ft2 degF)", 0.144228),
    ):
        assert row(osb, si) == pytest.approx(factor * np.array(row(osb, us, "US")), rel=0.01)
    assert "density 650 kg/m3" in text_of(osb) and "density 40.6 lb/ft3" in text_of(osb, "US")
    film = plugins.film("polyamide film")
    perm = row(film, "permeance, perm", "US")
    assert np.array(perm) * PERM * 1e12 == pytest.approx(row(film, "permeance, ng/(Pa s m2)"), rel=0.01)


def test_liquid_says_from_where_on_and_how_fast():
    assert "coefficient 0.025 kg/(m2 s^0.5) (liquid flows above 93 % relative humidity)" in text_of(
        plugins.material("fibre cement")
    )
    assert "no liquid water flows in it" in text_of(plugins.material("mineral wool"))
    assert "liquid water flows in it" in text_of(plugins.material("calcium silicate insulation"))


def test_sources_and_spread_are_shown():
    text = text_of(plugins.material("OSB"))
    assert "ASHRAE Handbook - Fundamentals (2021)" in text and "[measured]" in text and "[from memory]" in text
    assert "Known spread of permeability: " in text


@pytest.mark.parametrize(
    ("perm", "name"), [(0.06, "I"), (0.1, "I"), (0.5, "II"), (1.0, "II"), (5.0, "III"), (10.0, "III"), (11.0, "none")]
)
def test_retarder_classes(perm, name):
    """IRC: class I up to 0.1 perm, II up to 1, III up to 10, in a dry cup."""
    assert retarder_class(perm * PERM) == name


def test_a_film_of_two_directions_shows_both():
    source = (Source("nobody", None, "made up", "demo"),)
    film = Film("laminate", Logistic(1e-11, 1e-9), Constant(3e-11), sources=source)
    assert row(film, "permeance outward, ng/(Pa s m2)") == [30.0] * 7
    assert len(row(film, "permeance inward, ng/(Pa s m2)")) == 7
    texts = [t.get_text() for t in entry_figure(film).axes[0].texts]
    assert {"inward", "outward"} <= set(texts)


@pytest.mark.parametrize(("name", "system"), [(name, ("SI", "US")[i % 2]) for i, name in enumerate(ENTRIES)])
def test_figure(name, system, tmp_path):
    """Every panel has a finite curve and units; the curve drawn is the curve that is run."""
    entry = plugins.materials().get_entry(name)
    figure = entry_figure(entry, system)
    for axes in figure.axes:
        if axes.lines:
            assert axes.get_xlabel().endswith(("]", "right")) and "[" in axes.get_ylabel()
        for line in axes.lines:
            assert np.all(np.isfinite(np.asarray(line.get_ydata(), dtype=float)))
    if isinstance(entry, Film):
        line = figure.axes[0].lines[0]
        phi, drawn = (np.asarray(v, dtype=float) for v in line.get_data())
        unit = PERM if system == "US" else 1e-12
        assert drawn[1:] * unit == pytest.approx(np.asarray(entry.permeance(phi[1:] / 100.0)), rel=1e-6)
    figure.savefig(tmp_path / "entry.png")
    assert (tmp_path / "entry.png").stat().st_size > 20000


def test_a_number_as_spread_makes_a_band():
    film = dataclasses.replace(plugins.film("felt #15"), spread={"permeance": (0.5, 2.0)})
    assert len(entry_figure(film).axes[0].collections) == 1
