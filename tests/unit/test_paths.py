"""One dialect of places in a case file, for variants and for studies; old names with a word that names the new one."""

import pytest
from drydown import InputError
from drydown.casefile import reading
from drydown.casefile.paths import put, resolve
from drydown.casefile.variants import change
from drydown.catalogue.file import read_catalogue
from drydown.errors import Renamed
from drydown.study.outputs import Output

DOCUMENT = {
    "outside": {"orientation": "north"},
    "layer": [
        {"material": "OSB", "thickness": "11 mm"},
        {"film": "polyamide film 0.05 mm"},
        {"material": "gypsum board", "thickness": "12.5 mm", "name": "Lining"},
    ],
    "wetting": [{"layer": "OSB", "amount": "1 kg/m2"}],
    "material": {"board 0.5 mm": {"density": "600 kg/m3"}},
}


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("layer.osb.thickness", ("layer", 0, "thickness")),
        ("layer.OSB.thickness", ("layer", 0, "thickness")),
        ("layer.1.thickness", ("layer", 0, "thickness")),
        ("layer.polyamide film 0.05 mm.film", ("layer", 1, "film")),
        ('layer."polyamide film 0.05 mm".film', ("layer", 1, "film")),
        ("layer.lining.thickness", ("layer", 2, "thickness")),
        ("wetting.osb.amount", ("wetting", 0, "amount")),
        ("material.board 0.5 mm.density", ("material", "board 0.5 mm", "density")),
        ("limits.mould", ("limits", "mould")),
        ("title", ("title",)),
    ],
)
def test_variants_and_studies_find_the_same_places(path, place):
    assert resolve(DOCUMENT, path) == place
    changed, _ = change(DOCUMENT, {"name": "a", "set": {path: "new"}}, "f")
    here = changed
    for key in place:
        here = here[key]
    assert here == "new"


def test_a_whole_entry_is_a_place_for_variants_alone():
    assert resolve(DOCUMENT, "layer.polyamide film 0.05 mm", whole=True) == ("layer", 1)
    with pytest.raises(InputError, match="several keys"):
        resolve(DOCUMENT, "layer.osb")


def test_a_layer_whose_film_is_set_is_a_film():
    document = {"layer": [{"material": "OSB", "thickness": "11 mm"}]}
    put(document, resolve(document, "layer.1.film"), "kraft paper")
    assert document == {"layer": [{"film": "kraft paper"}]}


@pytest.mark.parametrize("path", ["insde.humidity", "layer", "layer.OBS.thickness", "a" * 1000, "layer.9.film", ""])
def test_what_leads_nowhere_is_said_in_one_line(path):
    with pytest.raises(InputError) as caught:
        resolve(DOCUMENT, path, "f")
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 300


def test_old_names_of_keys_work_with_a_word(tmp_path):
    with pytest.warns(Renamed, match="'faces' is now called 'orientation'"):
        assert resolve(DOCUMENT, "outside.faces") == ("outside", "orientation")
    (tmp_path / "a.toml").write_text('[outside]\nfaces = "north"\n')
    with pytest.warns(Renamed, match="'faces' is now called 'orientation'"):
        assert reading.load(tmp_path / "a.toml") == {"outside": {"orientation": "north"}}
    with pytest.warns(Renamed, match="'days_to_tenth' is now called 'days_to_90_percent_dry'"):
        assert Output("days_to_tenth") == Output("days_to_90_percent_dry")
    with pytest.warns(Renamed, match="'days_to_half' is now called 'days_to_50_percent_dry'"):
        assert Output("days_to_half").name == "days_to_50_percent_dry"


CATALOGUE = """
[source.s]
authors = "invented for this test"
where = "here"
kind = "assumed"
[material."my board"]
like = "OSB"
storage_temperature = 0.3
conductivity_slope = 0.0002
source = { storage_temperature = "s", conductivity_slope = "s" }
[film."my film"]
permeance = "100 ng/(Pa s m2)"
reverse = "50 ng/(Pa s m2)"
source = "s"
"""


def test_old_names_of_a_catalogue_work_with_a_word(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(CATALOGUE)
    with pytest.warns(Renamed) as said:
        entries = read_catalogue(path)
    board, film = entries["my board"](), entries["my film"]()
    assert (board.sorption_temperature_exponent, board.conductivity_temperature_coefficient) == (0.3, 0.0002)
    assert film.permeance_outward(0.5) == pytest.approx(50e-12)
    words = {str(w.message).rpartition("key ")[2] for w in said}
    assert words == {
        "'storage_temperature' is now called 'sorption_temperature_exponent'",
        "'conductivity_slope' is now called 'conductivity_temperature_coefficient'",
        "'reverse' is now called 'permeance_outward'",
    }
    new = CATALOGUE.replace("storage_temperature", "sorption_temperature_exponent").replace(
        "reverse", "permeance_outward"
    )
    path.write_text(new.replace("conductivity_slope", "conductivity_temperature_coefficient"))
    assert read_catalogue(path)["my film"]() == film
    path.write_text(CATALOGUE + 'permeance_outward = "1 perm"\n')
    with pytest.raises(InputError, match="are one key"):
        read_catalogue(path)
