"""How the desk begins and ends: two at once, a port that is taken, Ctrl-C, and a server that dies in the middle."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from desk_client import Hands, desk_on
from drydown.desk import opening
from drydown.desk.desk import started as started_with
from drydown.desk.keeping import Kept, place_of
from small_case import run_command, write_case

START = "from drydown.cli import main; main(prog_name='drydown')"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    write_case(tmp_path)
    return tmp_path


def started(folder: Path, *arguments: str) -> tuple[subprocess.Popen, Hands]:
    command = [sys.executable, "-c", START, "desk", *arguments, "--no-browser"]
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    line = process.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:(\d+)/enter\?key=(\S+)", line)
    assert found, line + process.stderr.read()
    hands = Hands(int(found[1]))
    hands.cookie = f"drydown_desk_{found[1]}={found[2]}"
    return process, hands


@pytest.mark.skipif(os.name == "nt", reason="there a process is ended otherwise")
def test_a_server_that_dies_in_a_run_loses_nothing_and_ctrl_c_ends_it(folder):
    given = (folder / "wall.toml").read_text()
    process, hands = started(folder, "wall.toml")
    try:
        hands.edit("set", "title", value="first")
        hands.edit("set", "layer.2.thickness", value="120 mm")
        state = hands.edit("ask", "amount", value="0.7 kg/m2")
        assert state["job"]["state"] == "running"
        process.send_signal(signal.SIGKILL)
        process.wait(600)
        assert (folder / "wall.toml").read_text() == given
        assert not list(folder.glob("*.writing*"))
        process, hands = started(folder, "wall.toml")
        again = hands.get("/api/state")
        assert again["case"] == state["case"] and again["undo"] == 3
        assert again["file"]["notice"].startswith("Opened as you left it")
        for _ in range(3):
            again = hands.post("/api/undo", {})
        assert again["title"] == "Small wall" and again["undo"] == 0
        second = subprocess.run(
            [sys.executable, "-c", START, "desk", "wall.toml", "--no-browser"],
            cwd=folder,
            capture_output=True,
            text=True,
        )
        assert second.returncode == 2 and "another desk is open on it" in second.stderr
        assert len(second.stderr.strip().splitlines()) == 1
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=600)
        assert process.returncode == 0 and err == "" and "what you made is kept" in out
    finally:
        process.kill()
        process.communicate()


def test_a_port_that_is_taken_is_said_in_one_line(folder, monkeypatch):
    monkeypatch.chdir(folder)
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        said = run_command("desk", "wall.toml", "--port", port, "--no-browser")
    assert said.exit_code == 2 and f"--port {port}" in said.stderr
    assert len(said.stderr.strip().splitlines()) == 1


def test_a_case_that_cannot_be_read_is_said_in_one_line(folder, monkeypatch):
    monkeypatch.chdir(folder)
    (folder / "bad.toml").write_text("title = 'x\n")
    for name in ("bad.toml", "nowhere.toml", "."):
        said = run_command("desk", name, "--no-browser")
        assert said.exit_code == 2 and len(said.stderr.strip().splitlines()) == 1, said.stderr


def test_two_desks_on_two_cases_stand_beside_each_other(folder):
    (folder / "other.toml").write_text((folder / "wall.toml").read_text().replace("Small wall", "Other wall"))
    with desk_on(folder / "wall.toml") as one, desk_on(folder / "other.toml") as two:
        one.edit("set", "title", value="changed")
        assert two.get("/api/state")["title"] == "Other wall"
        assert one.ask("/api/state", Cookie=two.cookie)[0] == 403


def test_the_first_start_shows_an_example_and_the_next_what_was_left(folder, monkeypatch):
    monkeypatch.chdir(folder)
    short = {**started_with("wall"), "period": {"start": "2022-01-10", "days": 10}}
    monkeypatch.setattr(opening, "started", lambda name: short)
    with desk_on(None) as hands:
        state = hands.get("/api/state")
        assert state["parts"] and not state["trouble"] and state["file"]["name"] == ""
        kept = hands.edit("set", "title", value="mine")["case"]
        hands.answered()
        hands.post("/api/pin", {"name": "kept"})
    with desk_on(None) as hands:
        state = hands.get("/api/state")
        assert state["case"] == kept and state["pins"] == 1 and state["undo"] == 1
        hands.answered()
        end = time.monotonic() + 600
        while not (pin := hands.get("/api/pins")["pins"][0])["headline"] and time.monotonic() < end:
            time.sleep(0.05)
        assert pin["name"] == "kept" and pin["headline"]


def test_a_file_that_was_changed_meanwhile_is_taken_and_what_was_made_stays_behind_undo(folder):
    with desk_on(folder / "wall.toml") as hands:
        made = hands.edit("set", "title", value="mine")["case"]
    text = (folder / "wall.toml").read_text()
    (folder / "wall.toml").write_text(f"# by hand\n{text}".replace("Small wall", "By hand"))
    with desk_on(folder / "wall.toml") as hands:
        state = hands.get("/api/state")
        assert (
            state["title"] == "By hand" and state["file"]["comments"] and "changed meanwhile" in state["file"]["notice"]
        )
        assert hands.post("/api/undo", {})["case"] == made


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"layout": 1}', '{"layout": 2, "steps": []}', "\x00", "[" * 9999]
)
def test_what_was_kept_and_is_damaged_is_passed_over(folder, text):
    kept = place_of(folder / "wall.toml")
    kept.file.write_text(text)
    assert Kept(kept.folder).read() is None
    data = {"layout": 1, "documents": [{}], "steps": [[5, "x", "y"]], "now": 0, "pins": [], "saved": ""}
    kept.file.write_text(json.dumps(data))
    assert kept.read() is None


def test_what_is_kept_belongs_to_this_user_alone(folder):
    with desk_on(folder / "wall.toml") as hands:
        hands.edit("set", "title", value="mine")
        home = hands.served.desk.kept
        assert home.file.exists()
        if os.name != "nt":
            assert home.folder.stat().st_mode & 0o077 == 0
