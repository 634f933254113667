"""What is frozen is frozen all through, and a copy of it is equal: inputs by value, through pickle and deepcopy."""

from __future__ import annotations

import copy
import dataclasses
import pickle

import numpy as np
import pytest
from drydown import Initial, Layer, plugins
from drydown.frozen import FrozenMap
from drydown.study import Distribution
from drydown_validation.assemblies import ASSEMBLIES

WAYS = {"pickle": lambda thing: pickle.loads(pickle.dumps(thing)), "deepcopy": copy.deepcopy, "copy": copy.copy}


@pytest.mark.parametrize(
    "mapping",
    [
        plugins.material("OSB").spread,
        plugins.material("OSB").unusual,
        plugins.film("kraft paper").spread,
        Initial(layers={"wool": 0.9}).layers,
        Distribution("uniform", {"low": 0.0, "high": 1.0}).parameters,
    ],
)
def test_a_mapping_of_an_input_cannot_be_changed(mapping):
    before = dict(mapping)
    with pytest.raises(TypeError):
        mapping["permeability"] = (0.1, 10.0)
    for name in ("update", "pop", "clear", "setdefault", "popitem"):
        assert not hasattr(mapping, name)
    with pytest.raises(AttributeError):
        mapping._items = {}
    assert mapping == before


def test_what_was_handed_in_can_be_changed_without_changing_the_input():
    given = {"wool": 0.9}
    initial = Initial(layers=given)
    given["wool"] = 0.1
    assert initial.layers == {"wool": 0.9}
    spread = {"permeability": (0.5, 2.0)}
    board = dataclasses.replace(plugins.material("OSB"), spread=spread)
    spread["permeability"] = (0.1, 10.0)
    assert board.spread == {"permeability": (0.5, 2.0)}


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
def test_a_frozen_map_keeps_its_items_and_its_hash(way):
    mapping = FrozenMap({"a": [1.0], "b": 2})
    assert way(mapping) == mapping == {"a": [1.0], "b": 2} != FrozenMap({"a": [1.0]})
    assert hash(way(mapping)) == hash(mapping) and repr(mapping) == "{'a': [1.0], 'b': 2}"
    assert {**mapping, "c": 3} == {"a": [1.0], "b": 2, "c": 3} and dataclasses.asdict(Initial())["layers"] == {}


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
def test_every_entry_of_the_library_is_equal_to_its_copy(way):
    entries = {**plugins.materials().entries(), **{name: plugins.climate(name) for name in plugins.climates()}}
    assert len(entries) > 80
    for name, entry in entries.items():
        twin = way(entry)
        assert twin == entry and hash(twin) == hash(entry), name


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
@pytest.mark.parametrize("name", ASSEMBLIES)
def test_a_case_is_equal_to_its_copy_and_not_to_a_changed_one(name, way):
    case = ASSEMBLIES[name]()
    twin = way(case)
    assert twin == case and hash(twin) == hash(case)
    assert dataclasses.replace(twin, initial=Initial(280.0, 0.7)) != case
    first = case.assembly.layers[0]
    other = Layer(first.material, first.thickness * 1.001, first.name, first.cells)
    parts = tuple(other if part is first else part for part in case.assembly.parts)
    assert dataclasses.replace(twin, assembly=dataclasses.replace(case.assembly, parts=parts)) != case


def test_climates_compare_by_value_and_stay_read_only():
    climate = plugins.climate("fernmoor")
    warmer = dataclasses.replace(climate, temperature=climate.temperature + np.eye(1, len(climate.time), 7)[0])
    assert warmer != climate and climate != "fernmoor" and climate == dataclasses.replace(climate)
    for way in WAYS.values():
        with pytest.raises(ValueError, match="read-only"):
            way(climate).temperature[0] = 300.0
