"""What the desk answers is what the commands answer, to the last digit; every change can be undone, saved, reopened."""

import base64
import json
import threading
import time

import numpy as np
import pytest
import xarray as xr
from desk_client import desk_on
from drydown import dryout, simulate
from drydown.casefile import read_case
from drydown.report.pack import pack, stretch_of
from drydown.report.parts import parts_of
from small_case import run_command, write_case


@pytest.fixture(scope="module")
def hands(tmp_path_factory):
    folder = tmp_path_factory.mktemp("answers")
    write_case(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(folder / "state"))
        with desk_on(folder / "wall.toml") as found:
            found.folder = folder
            yield found


@pytest.fixture(autouse=True)
def as_it_was(request):
    """Undo all that a test did."""
    if "hands" not in request.fixturenames:
        yield
        return
    hands = request.getfixturevalue("hands")
    begun = hands.get("/api/state")["case"]
    yield
    while hands.get("/api/state")["undo"]:
        hands.post("/api/undo", {})
    assert hands.get("/api/state")["case"] == begun


def saved(hands, name):
    hands.post("/api/save", {"name": name, "over": True})
    return hands.folder / name


CHANGES = {
    "as it is": [],
    "other film, later": [("set", "layer.3.film", "poly"), ("ask", "amount", "0.4 kg/m2")],
    "a leak": [("ask", "leak", "3 m3/(m2 h)")],
    "no water": [("ask", "amount", "none")],
    "damp": [("ask", "amount", "none"), ("ask", "damp", {"layer": "OSB", "water": "20 %MC"})],
    "us": [("set", "units", "us"), ("set", "line", "stud")],
}


@pytest.mark.parametrize("which", CHANGES)
def test_the_answer_is_that_of_the_command(hands, which):
    for op, at, value in CHANGES[which]:
        state = hands.edit(op, at, value=value)
        assert not state["trouble"]
    hands.answered()
    answer = hands.get("/api/answer")
    file = saved(hands, "same.toml")
    command = "run" if which == "no water" else "dryout"
    told = run_command(command, str(file))
    assert told.exit_code == 0 and answer["text"] + "\n" == told.stdout
    if which in ("no water", "damp"):
        return
    trial = dryout(read_case(file))
    for name, value in answer["numbers"].items():
        assert value == trial.attrs[name] or (value is None and np.isnan(trial.attrs[name])), name
    results = simulate(read_case(file))
    from drydown.figures import digest

    made = pack(digest(results, stretch_of(results)).load(), parts_of(results, read_case(file).assembly))
    for key in ("humidity", "temperature", "water", "flow", "edges", "hours"):
        assert answer["map"][key] == made[key], key
    assert len(base64.b64decode(answer["map"]["humidity"])) == made["n"] * (len(made["edges"]) - 1)


def test_undo_leads_back_to_the_start_and_redo_forth_again(hands):
    first = hands.get("/api/state")["case"]
    seen = [first]
    for edit in (
        {"op": "set", "at": "layer.2.thickness", "value": "90 mm"},
        {"op": "insert", "at": "layer.2", "value": {"material": "OSB"}},
        {"op": "move", "at": "layer.1", "to": 2},
        {"op": "remove", "at": "layer.4"},
        {"op": "ask", "at": "month", "value": 1},
        {"op": "ask", "at": "part", "value": "roof"},
        {"op": "ask", "at": "indoor", "value": "21 degC 45 %"},
        {"op": "many", "edits": [{"op": "set", "at": f"layer.{i}.judged", "value": False} for i in (1, 2)]},
        {"op": "new", "value": "empty"},
        {"op": "new", "value": "slab"},
    ):  # fmt: skip
        seen.append(hands.post("/api/edit", edit)["case"])
    steps = [s for i, s in enumerate(seen) if not i or s != seen[i - 1]]
    for expected in steps[-2::-1]:
        assert hands.post("/api/undo", {})["case"] == expected
    assert hands.get("/api/state")["undo"] == 0
    for expected in steps[1:]:
        assert hands.post("/api/redo", {})["case"] == expected


def test_a_case_that_is_saved_and_opened_again_is_the_same(hands):
    state = hands.edit("insert", "layer.2", value={"film": "housewrap"})
    file = saved(hands, "again.toml")
    assert hands.get("/api/state")["file"] == {"name": "again.toml", "saved": True, "comments": False, "notice": ""}
    hands.edit("new", value="roof")
    assert hands.post("/api/open", {"name": "again.toml"})["case"] == state["case"]
    assert hands.post("/api/upload", {"name": "dropped.toml", "text": file.read_text()})["case"] == state["case"]
    assert hands.ask("/file/case.toml")[2].decode() == file.read_text()
    assert hands.post("/api/save", {"name": "again.toml"}, 409)["error"]


def test_what_is_wrong_is_told_where_it_is(hands):
    state = hands.edit("set", "layer.2.thickness", value="many mm")
    assert state["job"]["state"] == "waiting"
    assert [(t["at"], t["part"]) for t in state["trouble"]] == [("layer.2.thickness", "layer.2")]
    assert state["parts"][1]["trouble"] and state["parts"][1]["mm"] is None
    state = hands.edit("set", "layer.1.material", value="unobtainium")
    assert [t["part"] for t in state["trouble"]] == ["layer.1", "layer.2"]
    hands.post("/api/undo", {})
    hands.post("/api/undo", {})
    state = hands.edit("ask", "amount", value="50 kg/m2")
    state = state if state["trouble"] else hands.answered()
    assert [t["blank"] for t in state["trouble"]] == ["amount"] and "do not fit" in state["trouble"][0]["text"]
    assert hands.edit("set", "layer.9.thickness", 422, value="1 mm")["error"].startswith("there is no layer 9")
    assert "op is" in hands.edit("burn", "layer.1", 422)["error"]


def test_the_water_follows_its_layer(hands):
    state = hands.edit("set", "layer.1.material", value="plywood")
    assert state["case"]["wetting"][0]["layer"] == "plywood" and not state["trouble"]
    state = hands.edit("insert", "layer.2", value={"material": "plywood"})
    assert [p["name"] for p in state["parts"]][:2] == ["plywood", "plywood 2"] and not state["trouble"]


def test_a_twin_is_known_at_once(hands):
    hands.answered()
    begun = hands.served.desk.doing.work.begun
    hands.edit("ask", "amount", value="0.3 kg/m2")
    hands.answered()
    state = hands.post("/api/undo", {})
    assert state["answer"] == state["version"] and state["job"]["state"] == "idle"
    assert hands.served.desk.doing.work.begun > begun


def test_a_stale_page_is_told_so(hands):
    version = hands.get("/api/state")["version"]
    hands.edit("set", "title", value="one", base=version)
    assert "changed meanwhile" in hands.edit("set", "title", 409, value="two", base=version)["error"]


def test_fifty_changes_leave_one_run_at_work(hands):
    """The last is answered; never is more than one at work, nor one of before for longer than a stretch."""
    most, over = [], threading.Event()
    work = hands.served.desk.doing.work

    def look():
        while not over.is_set():
            most.append((work.at_work, sum(t.name == "drydown desk" for t in threading.enumerate())))
            time.sleep(0.005)

    watcher = threading.Thread(target=look)
    watcher.start()
    try:
        for i in range(50):
            hands.edit("ask", "amount", value=f"{0.2 + 0.01 * i:.2f} kg/m2")
        state = hands.answered()
    finally:
        over.set()
        watcher.join()
    assert max(n for n, _ in most) == 1 == max(n for _, n in most)
    assert state["question"][0]["value"] == "0.69 kg/m2" and state["answer"] == state["version"]


def test_cards_are_worked_out_behind_and_taken_over(hands):
    hands.answered()
    end = time.monotonic() + 600
    while (told := hands.get("/api/cards"))["state"] != "done" and time.monotonic() < end:
        time.sleep(0.05)
    assert told["state"] == "done" and told["sentences"]
    for card in told["cards"]:
        assert card["words"] and card["because"].endswith(".")
        state = hands.post("/api/take", {"card": card["id"]})
        assert not state["trouble"] and state["undo_words"] and state["case"] != hands.post("/api/undo", {})["case"]
        hands.answered()
    assert hands.post("/api/take", {"card": 999}, 409)["error"]


def test_walls_are_kept_side_by_side_and_told_apart(hands):
    hands.answered()
    hands.post("/api/pin", {"name": "as it was"})
    hands.edit("set", "layer.3.film", value="poly")
    hands.answered()
    assert hands.post("/api/pin", {})["pins"] == 2
    told = hands.get("/api/pins")
    assert told["pins"][0]["differs"] == "" and "polyethylene 0.15 mm instead of" in told["pins"][1]["differs"]
    assert told["sentences"] and [p["name"] for p in told["pins"]] == ["as it was", "wall 2"]
    state = hands.post("/api/take", {"pin": 1})
    assert state["case"]["layer"][2]["film"] == "polyamide film 0.05 mm"
    for _ in range(2):
        hands.post("/api/pin", {})
    assert "let one go first" in hands.post("/api/pin", {}, 422)["error"]
    for pin in hands.get("/api/pins")["pins"]:
        hands.post("/api/unpin", {"pin": pin["pin"]})
    assert hands.get("/api/state")["pins"] == 0


@pytest.mark.parametrize(
    ("words", "kind", "first"),
    [
        ("housewrap", "film", "weather-resistive membrane"), ("poly", "film", "polyethylene"),
        ("drywall", "", "gypsum board"), ("osb", "material", "OSB"), ("mineral woll", "material", "mineral wool"),
        ("smart membrane", "film", "humidity-dependent"),
    ],
)  # fmt: skip
def test_the_library_is_found_by_the_words_of_the_trade(hands, words, kind, first):
    found = hands.get(f"/api/search?words={words.replace(' ', '+')}&kind={kind}&limit=8")["found"]
    assert found[0]["name"].startswith(first) and all(f["about"] for f in found)
    assert not kind or {f["kind"] for f in found} == {kind}
    entry = hands.get(f"/api/entry?name={found[0]['name'].replace(' ', '%20').replace('#', '%23')}")
    assert entry["lines"] and (entry["kind"] == "material" or len(entry["curve"]["permeance"]) == 41)


def test_every_choice_of_every_blank_can_be_taken(hands):
    for part in ("wall", "roof", "floor"):
        state = hands.edit("ask", "part", value=part)
        for blank in state["question"]:
            for choice in blank["choices"]:
                now = hands.edit("ask", blank["blank"], value=choice["value"])
                shown = {b["blank"]: b for b in now["question"]}
                if choice["value"] != "none" or blank["blank"] != "amount":
                    assert shown[blank["blank"]]["words"] == choice["words"], (part, blank["blank"], choice)
                assert not [t for t in now["trouble"] if t["blank"] == blank["blank"] and blank["blank"] != "month"]
                hands.post("/api/undo", {})


def test_files_that_were_handed_in_go_with_the_case(hands, tmp_path):
    text = (hands.folder / "weather.csv").read_bytes()
    status, _, body = hands.ask("/api/attach?name=mine.csv", "POST", text, Content_Type="application/octet-stream")
    assert status == 200 and json.loads(body) == {"name": "mine.csv"}
    state = hands.edit("ask", "place", value="mine.csv")
    assert not state["trouble"] and not (hands.folder / "mine.csv").exists()
    assert hands.answered()["answer"]
    file = saved(hands, "with_weather.toml")
    assert (hands.folder / "mine.csv").read_bytes() == text and read_case(file)
    status, _, body = hands.ask("/api/attach?name=evil.sh", "POST", b"x", Content_Type="application/octet-stream")
    assert status == 422 and b"none of weather" in body


def test_the_page_that_is_handed_over_is_that_of_the_command(hands):
    """With what would change it, once that is known."""
    hands.answered()
    end = time.monotonic() + 600
    while hands.get("/api/cards")["state"] != "done" and time.monotonic() < end:
        time.sleep(0.05)
    file = saved(hands, "page.toml")
    assert run_command("report", str(file), "-o", str(hands.folder / "page.html")).exit_code == 0
    assert hands.ask("/file/page.html")[2].decode() == (hands.folder / "page.html").read_text(encoding="utf-8")
    assert run_command("run", str(file), "-o", str(hands.folder / "results.nc")).exit_code == 0
    kept = hands.folder / "handed.nc"
    kept.write_bytes(hands.ask("/file/results.nc")[2])
    with xr.open_dataset(kept) as ours, xr.open_dataset(hands.folder / "results.nc") as theirs:
        assert ours.equals(theirs)
