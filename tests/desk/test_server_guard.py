"""Who may ask the desk: what is not our own page, on this machine, with the token of this start, is refused."""

import http.client
import json
import socket

import pytest
from desk_client import TOKEN, desk_on
from small_case import write_case


@pytest.fixture(scope="module")
def hands(tmp_path_factory):
    folder = tmp_path_factory.mktemp("guard")
    write_case(folder)
    (folder / "secret.txt").write_text("not for the page")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(folder / "state"))
        with desk_on(folder / "wall.toml") as found:
            yield found


def refused(answer, status):
    found, headers, body = answer
    text = body.decode()
    assert found == status, text
    assert len(text.strip().splitlines()) == 1 and len(text) < 300
    assert TOKEN not in text and "Traceback" not in text
    assert headers["Access-Control-Allow-Origin"] is None
    assert headers["X-Content-Type-Options"] == "nosniff" and "default-src 'none'" in headers["Content-Security-Policy"]


@pytest.mark.parametrize("path", ["/", "/api/state", "/page/desk.js", "/file/case.toml", "/api/events", "/nowhere"])
def test_without_the_token_nothing_is_given(hands, path):
    refused(hands.ask(path, drop=("Cookie",)), 403)
    refused(hands.ask(path, Cookie=f"drydown_desk_{hands.port}=guessed"), 403)
    refused(hands.ask(path, Cookie=f"drydown_desk_{hands.port}="), 403)


def test_without_the_token_nothing_is_changed(hands):
    before = hands.get("/api/state")["version"]
    refused(hands.ask("/api/undo", "POST", {}, drop=("Cookie",)), 403)
    refused(hands.ask("/api/edit", "POST", {"op": "new", "value": "roof"}, drop=("Cookie",)), 403)
    assert hands.get("/api/state")["version"] == before


def test_the_token_becomes_a_cookie_that_no_script_sees(hands):
    status, headers, _ = hands.ask(f"/enter?key={TOKEN}", drop=("Cookie",))
    assert status == 303 and headers["Location"] == "/"
    cookie = headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and headers["Referrer-Policy"] == "no-referrer"
    for key in ("", "guessed", TOKEN[:-1], "%00", "\u00fc".encode().hex()):
        refused(hands.ask(f"/enter?key={key}", drop=("Cookie",)), 403)


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", "https://127.0.0.1", "http://127.0.0.1:1"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_foreign_page_is_refused(hands, origin, method):
    body = {"op": "new", "value": "roof"} if method == "POST" else None
    refused(hands.ask("/api/edit" if body else "/api/state", method, body, Origin=origin), 403)


def test_a_page_that_says_nothing_of_itself_changes_nothing(hands):
    refused(hands.ask("/api/undo", "POST", {}, drop=("Origin",)), 403)
    refused(hands.ask("/api/state", Sec_Fetch_Site="cross-site"), 403)
    refused(hands.ask("/api/state", Sec_Fetch_Site="same-site"), 403)


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1", "127.0.0.1:1", "localhost", "[::1]", ""])
def test_another_name_of_the_machine_is_refused(hands, host):
    refused(hands.ask("/api/state", Host=host), 403)


def test_no_other_site_is_let_in(hands):
    answer = hands.ask("/api/edit", "OPTIONS", Origin="http://elsewhere.example", Access_Control_Request_Method="POST")
    refused(answer, 403)
    status, headers, _ = hands.ask("/api/state")
    assert status == 200 and not any(name.lower().startswith("access-control") for name in headers)


def test_what_is_no_json_of_ours_is_refused(hands):
    refused(hands.ask("/api/edit", "POST", {"op": "set"}, Content_Type="text/plain"), 415)
    for body in (b"{", b"[1]", b"\xff", b"[" * 100_000, b"null"):
        refused(hands.ask("/api/edit", "POST", body), 400)


@pytest.mark.parametrize(
    "path",
    [
        "/page/../desk.py", "/page/..%2f..%2fdesk.py", "/page/%2e%2e/guard.py", "/page/..%5cdesk.py",
        "/page//etc/passwd", "/page/%2fetc%2fpasswd",
        "/../../secret.txt", "/file/../secret.txt", "/file/secret.txt", "/page/__init__.py",
        "/page/.", "/page/index.html%00.js",
    ],
)  # fmt: skip
def test_no_path_leads_out_of_the_page(hands, path):
    status, _, body = hands.ask(path)
    assert status == 404 and len(body.decode().splitlines()) == 1 and b"not for the page" not in body


@pytest.mark.parametrize(
    "name", ["../secret.txt", "/etc/passwd", "..", "state/x.toml", "a\\b.toml", "", None, 7, ".toml"]
)
def test_no_name_leads_out_of_the_folder(hands, name):
    for path, body in (("/api/open", {}), ("/api/save", {"over": True}), ("/api/upload", {"text": "title = 'x'"})):
        said = hands.post(path, {"name": name, **body}, 422)["error"]
        assert len(said.splitlines()) == 1
    for at, value in (("climate.file", name), ("climate", {"file": name}), ("catalogues", [name])):
        if isinstance(name, str):
            hands.edit("set", at, 422, value=value)


def test_a_file_of_a_hundred_megabytes_is_refused_before_it_is_read(hands):
    for path in ("/api/upload", "/api/attach?name=weather.epw"):
        kind = "application/json" if "upload" in path else "application/octet-stream"
        connection = http.client.HTTPConnection("127.0.0.1", hands.port, timeout=600)
        headers = {"Cookie": hands.cookie, "Origin": hands.origin, "Content-Type": kind, "Content-Length": "100000000"}
        connection.request("POST", path, headers=headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        assert answer.status == 413 and "MB" in text and len(text.splitlines()) == 1
        connection.close()


def test_a_body_without_an_end_is_cut_off(hands):
    """It does not say how long it is, so it is counted as it comes."""
    with socket.create_connection(("127.0.0.1", hands.port), timeout=20) as wire:
        head = f"POST /api/edit HTTP/1.1\r\nHost: 127.0.0.1:{hands.port}\r\nCookie: {hands.cookie}\r\n"
        head += f"Origin: {hands.origin}\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
        wire.sendall(head.encode())
        piece = b"x" * 500_000
        sent = 0
        try:
            for _ in range(40):
                wire.sendall(f"{len(piece):x}\r\n".encode() + piece + b"\r\n")
                sent += len(piece)
        except OSError:
            pass
        answer = b""
        try:
            while b"MB" not in answer and (more := wire.recv(65536)):
                answer += more
        except OSError:
            pass
    assert b" 413 " in answer.split(b"\r\n", 1)[0] or sent < 20_000_000
    assert hands.get("/api/state")["version"] >= 1


def test_html_in_names_stays_text(hands):
    evil = "<img src=x onerror=alert(1)>\"'</script><script>alert(2)</script>"
    state = hands.edit("set", "title", value=evil)
    status, headers, body = hands.ask("/api/state")
    assert status == 200 and headers["Content-Type"].startswith("application/json")
    assert json.loads(body)["title"] == evil == state["title"]
    hands.edit("set", "layer.1.name", value=evil)
    hands.edit("set", "wetting.1.layer", value=evil)
    hands.answered()
    for name in ("page", "sheet"):
        _, headers, page = hands.ask(f"/file/{name}.html?look=1")
        assert b"<img src=x" not in page and b"<script>alert" not in page, name
        assert headers["Content-Security-Policy"].startswith("sandbox allow-scripts;")
    _, headers, _ = hands.ask("/file/case.toml")
    assert "attachment" in headers["Content-Disposition"] and "<" not in headers["Content-Disposition"]
    hands.edit("set", "title", value="x" * 3000, status=422)
