"""Whatever is asked of the desk: a new state or one line, never a fault, and the state is always JSON."""

import json
import os
import random

import pytest
from drydown import InputError
from drydown.desk.desk import Stale
from drydown.desk.document import parsed, written
from drydown.desk.keeping import place_of
from drydown.desk.opening import on_it

SEED = int(os.environ.get("DRYDOWN_SEED", "7"))
AT = (
    "layer.1", "layer.2.thickness", "layer.3.film", "layer.OSB.material", "layer.4.name", "layer.99", "layer", "inside",
    "outside", "climate", "climate.file", "period.start", "period", "wetting.1.amount", "wetting.1", "wetting.1.date",
    "wetting.1.layer", "title", "units", "catalogues", "variant", "limits.mould_index", "material.x.density", "film.y",
    "air_leak.1.q50", "rain_share.1", "start.humidity", "numerics.refine", "", ".", "a.b.c", "layer.\"", "source.s",
    "layer.1.start_water", "outside.tilt", "inside.surface", "line", "date", "address",
)  # fmt: skip
VALUES = (
    None, True, 0, 1, -1, 1e400, 2.5, "", "x", "140 mm", "OSB", "poly", "2 kg/m2", "none", "2022-01-15", "us", "north",
    ["a"], {"a": 1}, {"material": "OSB"}, {"film": "poly"}, {"material": 5, "thickness": []}, {"layer": "OSB"}, "é\x00",
    {"model": "constant", "temperature": "20 degC"}, {"name": "fernmoor"}, [{"layer": 3}], "1 mm\n[x]", {"date": {}},
    [], {}, "[[", "\u2028", {"date": None}, [1e400],
    {"q50": "3 m3/(m2 h)", "layer": "OSB"}, "wall", "floor", "roof", 13, {"layer": "OSB", "water": "x"}, "21 degC 45 %",
)  # fmt: skip
BLANKS = ("amount", "layer", "month", "yearly", "part", "orientation", "place", "indoor", "leak", "damp", "x", None)


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    found = on_it(None, None, place_of(None), tmp_path, lambda *_: None)
    monkeypatch.setattr(found.doing, "want", lambda *_: None)
    monkeypatch.setattr(found, "keep", lambda: None)
    found.begin()
    return found


def drawn(draw):
    op = draw.choice(("set", "set", "set", "insert", "remove", "move", "ask", "ask", "new", "many", "burn", None))
    if op == "many":
        return {"op": "many", "edits": draw.choice(([drawn(draw), drawn(draw)], [], 5, [5]))}
    at = draw.choice(BLANKS) if op == "ask" else draw.choice(AT)
    if op == "new":
        return {"op": "new", "value": draw.choice(("wall", "roof", "slab", "masonry", "empty", 5, None))}
    return {"op": op, "at": at, "value": draw.choice(VALUES), "to": draw.choice((1, 2, 0, 99, "2", True))}


def test_odd_changes_make_a_state_or_one_line(desk):
    draw = random.Random(SEED)
    taken = refused = 0
    for _ in range(250):
        edit = drawn(draw)
        before = desk.now.document
        try:
            state = desk.edit(edit)
        except (InputError, Stale) as error:
            refused += 1
            assert desk.now.document is before and len(str(error).splitlines()) == 1, edit
            continue
        taken += 1
        json.dumps(state, allow_nan=False)
        assert parsed(written(desk.now.document), "again.toml") == desk.now.document, edit
        if state["trouble"] and draw.random() < 0.3:
            desk.undo()
    assert taken > 25 and refused > 25


ODD = (
    "layer = 5", "layer = [5]", "wetting = {}", "[[inside]]", "catalogues = 5", "catalogues = [5]", "variant = 'x'",
    "material = 5", "layer = []\n[period]\nstart = 5", "title = 5\n[[layer]]\nmaterial = 5\nthickness = []",
    "[start]\nhumidity = inf", "[[layer]]\nmaterial = 'OSB'\nthickness = nan",
)  # fmt: skip


@pytest.mark.parametrize("text", ODD)
def test_odd_files_are_refused_or_shown_with_what_is_wrong(desk, text):
    from drydown.desk.filing import Filing

    text = text if "layer" in text else f"{text}\n[[layer]]\nmaterial = 'OSB'\n"
    try:
        state = Filing(desk).upload("odd.toml", text)
    except InputError as error:
        assert len(str(error).splitlines()) == 1
        return
    json.dumps(state, allow_nan=False)
    assert state["trouble"]
