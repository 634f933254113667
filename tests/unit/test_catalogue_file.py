"""Catalogues of materials in TOML."""

import numpy as np
import pytest
from drydown.catalogue.file import read_catalogue
from drydown.errors import InputError
from drydown.materials.contract import problems
from drydown.materials.model import Film, Material, argument_of
from drydown.quantities import AIR_PERMEABILITY

GOOD = """
note = "a test"

[source.guess]
authors = "nobody"
where = "made up"
kind = "demo"

[material."board"]
density = "650 kg/m3"
heat_capacity = "0.45 Btu/(lb degF)"
saturation = "570 kg/m3"
conductivity = { dry = "0.10 W/(m K)", per_moisture = 1.5 }
storage = { humidity = "50 70 90 %", water = "5.4 8.2 14.7 %MC", pores = "250 kPa", n = 2 }
permeability = { humidity = "10 50 90 %", permeance = "2 100 400 ng/(Pa s m2)", thickness = "10 mm" }
liquid = { absorption = "0.0022 kg/(m2 s^0.5)", capillary = "300 kg/m3" }
spread = { permeability = [0.5, 2.0] }
humidity_range = "10 90 %"
source = { density = "guess", storage = ["guess", "guess"] }
tags = ["panel"]
aliases = ["plank"]

[material."thick board"]
like = "board"
saturation = "560 kg/m3"

[film."paper"]
permeance = { family = "two-level", closed = "0.1 perm", open = "20 perm", start = "50 %", end = "80 %" }
permeance_outward = "5 perm"
thickness = "0.2 mm"
source = "guess"
"""


def write(tmp_path, text, name="mine.toml"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_catalogue_file_becomes_materials_and_films(tmp_path):
    catalogue = read_catalogue(write(tmp_path, GOOD))
    assert list(catalogue) == ["board", "thick board", "paper"]
    board, paper = catalogue["board"](), catalogue["paper"]()
    assert isinstance(board, Material) and isinstance(paper, Film)
    assert problems(board) == [] and problems(paper) == []
    assert board.heat_capacity == pytest.approx(0.45 * 4186.8, rel=1e-3)
    assert board.conductivity(np.array([65.0])) == pytest.approx([0.1 * (1.0 + 1.5 * 0.1)])
    assert board.storage(np.array([0.7])) == pytest.approx([0.082 * 650.0])
    assert board.permeability(np.array([0.5])) == pytest.approx([1e-12])
    assert argument_of(board.diffusivity) == "water content" and board.liquid is None
    assert board.spread == {"permeability": (0.5, 2.0)}
    assert board.humidity_range == pytest.approx((0.1, 0.9))
    assert [s.about for s in board.sources] == ["density", "storage", "storage"]
    assert paper.permeance(np.array([0.2])) == pytest.approx([5.72135e-12])
    assert paper.permeance_outward(np.array([0.2])) == pytest.approx([286.0675e-12])


LIKE = """
[source.sheet]
authors = "data sheet"
where = "page 2"
kind = "measured"

[material."wood fibre board 60 mm"]
like = "wood fibreboard"
density = "180 kg/m3"
permeability = "mu 5"
source = "sheet"

[film."my sheet"]
like = "6 mil polyethylene"
permeance = "0.04 perm"
"""


def test_an_entry_like_an_installed_one(tmp_path):
    """Sorption by mass goes along with the new density; what is replaced loses its source and its spread."""
    from drydown import plugins

    catalogue = read_catalogue(write(tmp_path, LIKE))
    board, base = catalogue["wood fibre board 60 mm"](), plugins.material("wood fibreboard")
    assert problems(board) == [] and board.density == 180.0
    phi = np.array([0.506, 0.705])
    assert board.storage(phi) / 180.0 == pytest.approx(base.storage(phi) / base.density, rel=1e-6)
    assert board.diffusivity.absorption == base.diffusivity.absorption and board.diffusivity.above == 0.0
    by = {about: {s.authors for s in board.sources if s.about == about} for about in ("permeability", "storage")}
    assert by["permeability"] == {"data sheet"} and "data sheet" not in by["storage"]
    assert "permeability" in base.spread and "permeability" not in board.spread
    assert {s.about for s in base.sources} <= {s.about for s in board.sources}
    sheet = catalogue["my sheet"]()
    assert [(s.about, s.kind) for s in sheet.sources] == [("permeance", "assumed")]
    assert float(sheet.permeance(np.array([0.5]))[0]) == pytest.approx(0.04 * 57.2135e-12)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("wood fibreboard", "wood fiberbord", "like = 'wood fiberbord'; did you mean 'wood fibreboard'"),
        ("wood fibreboard", "latex paint", "like = 'latex paint', which is a film; a material is needed"),
        ('source = "sheet"', 'source = "sheat"', r"no \[source.sheat\] is in the file"),
    ],
)
def test_what_cannot_be_taken_over(tmp_path, old, new, says):
    with pytest.raises(InputError, match=says) as caught:
        [entry() for entry in read_catalogue(write(tmp_path, LIKE.replace(old, new))).values()]
    assert "mine.toml" in str(caught.value) and "\n" not in str(caught.value)


PLIES = """
[source.guess]
authors = "us"
where = "here"
kind = "demo"

[film."laminate"]
outer_ply = "15 perm"
inner_ply = { family = "logistic", closed = "0.1 perm", open = "70 perm", middle = "70 %", width = "7 %" }
drier_side = "40 %"
source = "guess"
"""


def test_a_film_that_depends_on_temperature(tmp_path):
    """25 kJ/mol about 23 degC is 3.4 % for each kelvin; within 2 % of Arrhenius's law from 15 to 31 degC."""
    text = PLIES.replace("drier_side", "temperature_growth = 0.0343\ndrier_side")
    factor = read_catalogue(write(tmp_path, text))["laminate"]().permeance_temperature
    t = np.array([288.15, 296.15, 304.15])
    assert factor(t) == pytest.approx(np.exp(25e3 / 8.314 * (1.0 / 296.15 - 1.0 / t)), rel=0.02)
    assert read_catalogue(write(tmp_path, PLIES))["laminate"]().permeance_temperature is None
    with pytest.raises(InputError, match=r"and 0\.2 per kelvin"):
        read_catalogue(write(tmp_path, text.replace("0.0343", "3.4")))["laminate"]()


def test_a_laminate_is_written_as_its_two_plies(tmp_path):
    film = read_catalogue(write(tmp_path, PLIES))["laminate"]()
    assert problems(film) == []
    assert film.permeance.near == film.permeance_outward.far and film.permeance.dry == film.permeance_outward.dry == 0.4
    damp = np.array([0.7, 0.8])
    assert np.all(
        film.permeance_outward(damp) > film.permeance(damp)
    )  # from inside, vapour meets the swelling ply first
    for bad, says in (
        ('permeance_outward = "1 perm"', "leave out 'permeance_outward'"),
        ("", "'inner_ply' is missing"),
    ):
        text = PLIES.replace("drier_side", f"{bad}\ndrier_side")
        if not bad:
            text = "\n".join(line for line in PLIES.splitlines() if not line.startswith("inner_ply"))
        with pytest.raises(InputError, match=says):
            read_catalogue(write(tmp_path, text))["laminate"]()


@pytest.mark.parametrize(
    ("permeability", "extra", "above"),
    [
        ('"mu 20"', "", 0.0),
        ('{ family = "cups", dry = "mu 20", wet = "mu 10" }', "", 0.93),
        ('{ humidity = "10 90 %", permeability = "1 2 ng/(Pa s m)" }', "", 0.93),
        ('{ humidity = "10 97 %", permeability = "1 2 ng/(Pa s m)" }', "", 0.97),
        ('{ humidity = "10 97 %", permeability = "1 2 ng/(Pa s m)" }', ', above = "80 %"', 0.8),
    ],
)
def test_liquid_flows_above_the_cups(tmp_path, permeability, extra, above):
    """A plain permeability is one of vapour; one that rises comes from cups, which weigh the liquid too."""
    lines = [f"permeability = {permeability}" if x.startswith("permeability") else x for x in GOOD.splitlines()]
    kept = [x for x in lines if not x.startswith("liquid")]
    at = next(i for i, x in enumerate(kept) if x.startswith("permeability"))
    kept.insert(at, f'liquid = {{ absorption = "0.01 kg/(m2 s^0.5)"{extra} }}')
    board = read_catalogue(write(tmp_path, "\n".join(kept)))["board"]()
    held = float(board.storage(np.array([above]))[0]) if above else 0.0
    assert board.diffusivity.above == pytest.approx(held)
    assert board.diffusivity.saturation == board.saturation


def test_an_entry_like_another_takes_over_what_it_does_not_give(tmp_path):
    thick = read_catalogue(write(tmp_path, GOOD))["thick board"]()
    assert thick.saturation == 560.0 and thick.density == 650.0
    assert thick.aliases == () and thick.tags == ("panel",)


def test_a_folder_is_one_catalogue(tmp_path):
    write(tmp_path, GOOD, "a.toml")
    write(tmp_path, GOOD, "b.toml")
    with pytest.raises(InputError, match=r"b.toml: 'board' is also in a.toml"):
        read_catalogue(tmp_path)


def test_mu_and_sd(tmp_path):
    text = GOOD.replace('permeance_outward = "5 perm"', 'permeance_outward = "sd 2 m"')
    text = text.replace(
        '{ humidity = "10 50 90 %", permeance = "2 100 400 ng/(Pa s m2)", thickness = "10 mm" }', '"mu 50"'
    )
    catalogue = read_catalogue(write(tmp_path, text))
    assert catalogue["board"]().permeability(np.array([0.5])) == pytest.approx([AIR_PERMEABILITY / 50.0])
    assert catalogue["paper"]().permeance_outward(np.array([0.5])) == pytest.approx([AIR_PERMEABILITY / 2.0])


BAD = [
    ('density = "650 kg/m3"', "density = 650", "material 'board', density: dry bulk density 650 has no unit"),
    ('density = "650 kg/m3"\n', "", "'density' is missing"),
    ('heat_capacity = "0', 'heat_capacty = "0', "'heat_capacity' is missing"),
    ('tags = ["panel"]', 'tag = ["panel"]', "'tag' is not known here; did you mean 'tags'"),
    ('pores = "250 kPa"', 'pore = "250 kPa"', "storage: 'pore' is not known here; did you mean 'pores'"),
    ('water = "5.4 8.2 14.7 %MC"', 'water = "5.4 8.2 %MC"', "3 humidities but 2 water contents"),
    ('water = "5.4 8.2 14.7 %MC"', 'water = "5.4 8.2 7 %MC"', "rise"),
    ('humidity = "50 70 90 %"', 'humidity = "50 70 90"', "write '50 %' or 0.5"),
    ('permeance = "2 100 400 ng/(Pa s m2)"', 'permeance = "2 100 400 kg"', "is no vapour permeance"),
    ('family = "two-level"', 'family = "two-levels"', "did you mean 'two-level'"),
    ('kind = "demo"', 'kind = "hearsay"', "kind is 'hearsay'; use one of measured"),
    ('authors = "nobody"\n', "", "source 'guess': 'authors' is missing"),
    ('source = "guess"', 'source = "guessed"', r"no \[source.guessed\] is in the file; did you mean 'guess'"),
    ('source = "guess"\n', "", "'source' is missing"),
    ('like = "board"', 'like = "bord"', "like = 'bord'; did you mean 'board'"),
    ("spread = { permeability = [0.5, 2.0] }", "spread = { permeability = 2 }", "two factors"),
    (
        'conductivity = { dry = "0.10 W/(m K)", per_moisture = 1.5 }',
        'conductivity = "0.1 W/(m K)"',
        "a table",
    ),
    ('saturation = "570 kg/m3"', 'saturation = "80 kg/m3"', "saturation is 80, below the"),
    ('humidity_range = "10 90 %"', 'humidity_range = "10 %"', "two humidities"),
    ("permeability = {", 'permeability = "25 perm"\nnote = {', 'say of which thickness: { permeance = "25 perm"'),
    ("[film.", "[films.", r"mine.toml: \[films\] is not known; did you mean 'film'"),
    ("note =", "note", "is no valid TOML"),
    ('[film."paper"]', '[film."board"]', "'board' is both a material and a film"),
]


@pytest.mark.parametrize(("old", "new", "says"), BAD)
def test_bad_files_get_one_line_that_says_where(tmp_path, old, new, says):
    assert old in GOOD
    with pytest.raises(InputError, match=says) as caught:
        [entry() for entry in read_catalogue(write(tmp_path, GOOD.replace(old, new, 1))).values()]
    assert "mine.toml" in str(caught.value) and "\n" not in str(caught.value)
    assert str(caught.value).count("mine.toml") == 1


def test_a_missing_file_is_one_line(tmp_path):
    with pytest.raises(InputError, match="there is no such file"):
        read_catalogue(tmp_path / "none.toml")


def test_a_density_of_nothing_is_refused(tmp_path):
    """Found by fuzzing: conductivity by mass of water divided by it."""
    import re

    path = tmp_path / "none.toml"
    path.write_text(re.sub(r"^density = .*$", 'density = "0 kg/m3"', GOOD, flags=re.M))
    board = next(entry for entry in read_catalogue(path).values() if entry.kind == "material")
    with pytest.raises(InputError, match="density is 0 kg/m3; it must be greater than 0"):
        board()
