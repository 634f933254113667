"""Walls are built on the desk by touch and by keyboard alone; its answer is that of the command, to the bit."""

import os
import tomllib

import pytest
from desk_hands import Hands, complaints, wide
from selenium.webdriver.common.keys import Keys

#: Parts from outside to inside as (name, thickness), what it is, and the water: amount, layer, month.
WALLS = {
    "readme": (
        [("spruce cladding", "20 mm"), ("air gap 25 mm", ""), ("weather-resistive membrane", ""), ("OSB", "7/16 in"),
         ("dense cellulose", "140 mm"), ("polyamide film 0.05 mm", ""), ("gypsum board", "12.5 mm"),
         ("latex paint", "")],
        "wall", ("2 kg/m2", "OSB", 1),
    ),
    "roof": (
        [("steel sheet", "0.6 mm"), ("air gap 50 mm", ""), ("spruce", "20 mm"), ("dense cellulose", "300 mm"),
         ("polyamide film 0.05 mm", ""), ("gypsum board", "")],
        "roof", ("1 kg/m2", "spruce", 2),
    ),
    "slab": (
        [("extruded polystyrene", "150 mm"), ("HDPE sub-slab sheet 0.5 mm", ""), ("concrete", "120 mm")],
        "floor", ("1 kg/m2", "concrete", 3),
    ),
    "masonry": (
        [("clay brick", "240"), ("lime plaster", "15 mm"), ("wood fibre insulation", "80 mm"),
         ("humidity-dependent vapour retarder", ""), ("gypsum board", "1/2 in")],
        "wall", ("1 kg/m2", "lime plaster", 1),
    ),
    "own": (
        [("larch", "24 mm"), ("wood fibreboard", "35 mm"), ("mineral wool", "200 mm"), ("OSB", "15 mm"),
         ("gypsum board", "")],
        "wall", ("0.5 kg/m2", "wood fibreboard", 1),
    ),
}  # fmt: skip


#: A slab by touch and the wall of the README by keys; all five both ways where DRYDOWN_DESK_ALL is set.
WAYS = (
    [(name, keys) for name in WALLS for keys in (False, True)]
    if os.environ.get("DRYDOWN_DESK_ALL")
    else [("slab", False), ("readme", True)]
)


@pytest.mark.parametrize(("name", "keys"), WAYS, ids=[f"{n}-{'keys' if k else 'touch'}" for n, k in WAYS])
def test_a_wall_from_nothing_to_the_answer_and_back(desk, name, keys):
    from drydown import dryout
    from drydown.casefile import read_case

    parts, what, (amount, layer, month) = WALLS[name]
    driver = desk.driver
    wide(driver, 1440 if keys else 400, touch=not keys)
    driver.get_log("browser")
    driver.get(desk.address)
    hands = Hands(driver, keys)
    hands.settled()
    first = hands.state()

    hands.use("tool-open")
    hands.changed(lambda: hands.use("start-empty"))
    hands.away()
    shorten(hands)
    for number, (entry, thickness) in enumerate(parts, 1):
        hands.put_in(number, entry)
        if thickness:
            hands.thick(thickness)
    hands.press(Keys.ESCAPE)
    hands.away()
    if what != "wall":
        hands.say("part", what)
    hands.say("amount", amount)
    if hands.state()["question"][1]["value"] != layer:
        hands.say("layer", layer)
    if month != 1:
        hands.say("month", str(month))

    built = hands.state()
    assert [p["entry"] for p in built["parts"]] == [entry for entry, _ in parts]
    assert built["trouble"] == []
    answer = hands.settled()
    assert answer["version"] == built["version"]

    # out to a file, and what the command makes of it
    saved = f"{name}-{'keys' if keys else 'touch'}.toml"
    hands.use("tool-save")
    hands.write("save-name", saved)
    hands.use("save-now")
    path = desk.folder / saved
    hands.wait(path.exists, saved)
    hands.away()
    trial = dryout(read_case(path))
    for number, value in answer["numbers"].items():
        wanted = float(trial.attrs[number])
        assert value == wanted or (value is None and wanted != wanted), number
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    assert len(document["layer"]) == len(parts)

    # back to the start, and in again
    hands.undo_all()
    back = hands.state()
    assert (back["case"], back["title"]) == (first["case"], first["title"])
    hands.use("tool-open")
    hands.changed(lambda: hands.use(f"open-{saved}"))
    hands.away()
    again = hands.state()
    assert again["case"] == built["case"]
    assert hands.settled()["numbers"] == answer["numbers"]
    hands.undo_all()
    assert complaints(driver) == []


def shorten(hands):
    """Let the runs of a test be short: the one thing that is not done by hand."""
    period = {"start": "2022-01-01", "days": 120}
    script = """const [body, done] = arguments;
        fetch('/api/edit', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify(body)})
          .then(r => r.json()).then(done)"""
    told = hands.driver.execute_async_script(script, {"op": "set", "at": "period", "value": period})
    assert "error" not in told, told
