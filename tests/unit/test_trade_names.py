"""The trade's generic words and the entry they mean; what is offered for a word that is not known."""

import pytest
from drydown.errors import InputError
from drydown.plugins import Named, Registry, film, material, materials

#: Common practice: what these words mean on a North American site.
FILMS = {
    "smart membrane": "humidity-dependent vapour retarder", "Smart vapor barrier": "humidity-dependent vapour retarder",
    "housewrap": "weather-resistive membrane", "House-Wrap": "weather-resistive membrane",
    "6 mil poly": "polyethylene 0.15 mm", "vapor barrier": "polyethylene 0.15 mm", "15 lb felt": "felt #15",
    "asphalt shingles": "bitumen roofing", "kraft facing": "kraft paper facing",
}  # fmt: skip
MATERIALS = {
    "fiberglass batt": "glass fibre batt", "CDX plywood": "plywood", "1/2 in CDX plywood": "plywood",
    "SPF lumber": "spruce", "drywall": "gypsum board", "5/8 drywall": "gypsum board", "siding": "spruce cladding",
    "7/16 OSB": "OSB", "rigid foam": "extruded polystyrene",
}  # fmt: skip


@pytest.mark.parametrize(("word", "entry"), FILMS.items())
def test_a_word_means_a_film(word, entry):
    assert film(word).name == entry


@pytest.mark.parametrize(("word", "entry"), MATERIALS.items())
def test_a_word_means_a_material(word, entry):
    assert material(word).name == entry


def test_every_word_leads_to_an_entry_of_its_kind():
    own = materials().plugins["drydown"]
    assert isinstance(own, Named) and len(own.words) > 100
    assert [word for word, name in own.words.items() if name not in own] == []


@pytest.mark.parametrize(
    ("word", "kind", "offered"),
    [
        ("hosewrap", "film", "'weather-resistive membrane' (housewrap)"),
        ("fibreglas bat", "material", "'glass fibre batt' (fibreglass batt)"),
        ("plywod", "material", "'plywood'"),
    ],
)
def test_what_is_offered_is_of_the_right_kind(word, kind, offered):
    with pytest.raises(InputError, match=f"no {kind} is called '{word}'") as error:
        (film if kind == "film" else material)(word)
    assert offered in error.value.message
    registry = materials()
    names = [n for n in registry.entries() if f"'{n}'" in error.value.message]
    assert names and all(registry.plugins["drydown"][n].kind == kind for n in names)


def test_a_word_that_is_no_layer_says_where_it_belongs():
    with pytest.raises(InputError, match=r"sill gasket.*air_leak"):
        material("sill gasket")


def test_a_plugin_brings_words_of_its_own():
    board = material("plywood")

    class Point:
        name = "theirs"

        @staticmethod
        def load():
            return Named({"some board": board}, {"Grey-Board": "some board"}, {"glue": "glue is no layer"})

    registry = Registry("none", "material", points=[Point()])
    assert registry.get_entry("grey board") is board
    assert registry.is_word("grey board") and not registry.is_word("some board")
    with pytest.raises(InputError, match="glue is no layer"):
        registry.get_entry("glue")
