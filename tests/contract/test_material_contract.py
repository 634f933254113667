"""Every registered material and film keeps to the contract; no exceptions."""

import dataclasses
import pickle
from pathlib import Path

import numpy as np
import pytest
from drydown import plugins
from drydown.catalogue.provenance import page, records, share
from drydown.materials import curves
from drydown.materials.contract import humidity_grid
from drydown.materials.model import Film, Material, Source, argument_of
from drydown.materials.plausible import doubts
from drydown.testing import check_catalogue, check_film, check_material
from drydown_materials import catalogue

NAMES = sorted(catalogue())


@pytest.fixture(scope="module")
def entries():
    return {name: build() for name, build in catalogue().items()}


@pytest.mark.parametrize("name", NAMES)
def test_contract(name, entries):
    entry = entries[name]
    (check_film if isinstance(entry, Film) else check_material)(entry, name)


def test_registry_skips_none_of_ours():
    registry = plugins.materials()
    assert set(NAMES) <= set(registry.entries())
    assert not [key for key in registry.broken if key.startswith("drydown:")]


def test_the_library_is_broad(entries):
    assert len(entries) >= 160
    tags = {tag for entry in entries.values() for tag in entry.tags}
    wanted = "cladding masonry concrete wood panel insulation board paper membrane paint sub-slab".split()
    assert set(wanted) <= tags


def test_no_two_entries_answer_to_one_name(entries):
    asked = [n.casefold() for name, entry in entries.items() for n in (name, *entry.aliases)]
    assert len(asked) == len(set(asked))


@pytest.mark.parametrize("name", NAMES)
def test_every_value_has_a_source(name, entries):
    """Sources are stated for the whole entry, or for each property that is given."""
    entry = entries[name]
    about = {source.about for source in entry.sources}
    if about == {""}:
        return
    if isinstance(entry, Film):
        needed = {"permeance"}
    else:
        needed = {"density", "heat capacity", "conductivity", "storage", "permeability"}
        if entry.sorption_temperature_exponent:
            needed.add("sorption temperature exponent")
        if entry.liquid is not None or entry.diffusivity is not None:
            needed.add("liquid")
    if entry.spread:
        needed.add("spread")
    assert needed <= about


@pytest.mark.parametrize("name", NAMES)
def test_storage_of_our_materials_has_no_plateau(name, entries):
    """The engine divides by the capacity: w must rise at every step of a grid in ln(-ln phi)."""
    entry = entries[name]
    if not isinstance(entry, Material):
        return
    by_suction = argument_of(entry.storage) == "suction"
    x = np.geomspace(2e9, 0.3, 451) if by_suction else humidity_grid()
    w = entry.storage(x)
    assert np.all(np.diff(w) > 0.0)


@pytest.mark.parametrize("name", NAMES)
def test_our_entries_travel_to_other_processes(name, entries):
    """A study sends cases to workers, after their curves have been used here."""
    entry = entries[name]
    again = pickle.loads(pickle.dumps(entry))
    phi = np.array([0.1, 0.5, 0.9])
    curve, copy = (e.permeance if isinstance(e, Film) else e.permeability for e in (entry, again))
    assert again == entry and np.array_equal(copy(phi), curve(phi))


@pytest.mark.parametrize("name", NAMES)
def test_every_entry_is_complete_and_lies_where_its_kind_lies(name, entries):
    assert doubts(entries[name]) == []


def test_little_is_from_memory_and_each_says_why(entries):
    found = records(entries.values())
    assert len(found) > 1500
    assert share(found) < 0.15
    assert share([r for r in found if r.property != "spread"]) < 0.15
    assert all(r.source.note for r in found if r.source.kind == "from memory")


def test_the_page_of_provenance_is_that_of_the_library(entries):
    written = (Path(__file__).parents[2] / "docs/provenance.md").read_text(encoding="utf-8")
    assert written.rstrip("\n").split("\n") == page(entries.values()), (
        "drydown materials --provenance > docs/provenance.md"
    )


def test_a_plugin_author_is_told_which_entry_and_what():
    source = (Source("nobody", None, "made up", "demo"),)
    good = Film("good", curves.Constant(1e-10), sources=source)
    calls = iter(range(10**9))
    bad = {
        "good": good,
        "nameless": lambda: dataclasses.replace(good, sources=()),
        "moody": dataclasses.replace(good, permeance=lambda phi: 1e-10 * (1.0 + 1e-6 * next(calls) + 0.0 * phi)),
        "sorted": dataclasses.replace(good, permeance=lambda phi: 1e-10 * (1.0 + 0.0 * phi) + 1e-12 * np.mean(phi)),
        "greedy": dataclasses.replace(good, permeance=_spoils_its_argument),
    }
    with pytest.raises(AssertionError) as caught:
        check_catalogue(bad)
    text = str(caught.value)
    assert text.startswith("4 of 5 entries break the contract")
    assert "'nameless': no source" in text
    assert "'moody': permeance answers differently when asked twice" in text
    assert "'sorted': permeance of one element depends on the others" in text
    assert "'greedy': permeance changes the array it is given" in text


def _spoils_its_argument(phi):
    phi = np.asarray(phi)
    if phi.flags.writeable:
        phi *= 0.5
    return 1e-10 + 0.0 * phi


def test_a_storage_that_falls_between_the_points_of_the_grid_is_found():
    source = (Source("nobody", None, "made up", "demo"),)
    curve = curves.sorption_points((0.5, 0.9), (30.0, 90.0), 500.0)

    def wavy(phi):
        z = np.log(-np.log(np.clip(phi, 1e-9, 1.0 - 1e-15)))
        return curve(phi) + 0.5 * np.sin(40.0 * np.pi * (z - 2.5)) ** 2 * (z > -3.0)

    entry = Material("wavy", 500.0, 1500.0, curves.Constant(0.1), wavy, curves.Constant(1e-12), 500.0, sources=source)
    with pytest.raises(AssertionError, match="'wavy': storage falls with humidity"):
        check_material(entry, examples=200)
