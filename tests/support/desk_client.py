"""A desk served by this process, and hands that ask it as a page would."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from drydown.desk.guard import Guard
from drydown.desk.opening import opened
from drydown.desk.serving import taken_socket

TOKEN = "a-token-of-tests"


class Hands:
    """Asks a desk at a port."""

    def __init__(self, port: int, served: Any = None) -> None:
        self.port, self.served = port, served
        self.origin = f"http://127.0.0.1:{port}"
        self.cookie = f"drydown_desk_{port}={TOKEN}"

    def ask(
        self, path: str, method: str = "GET", body: Any = None, drop: tuple[str, ...] = (), **headers: str
    ) -> tuple[int, http.client.HTTPMessage, bytes]:
        """Return status, headers and body; `drop` leaves out what the page would send."""
        given = {"Host": f"127.0.0.1:{self.port}", "Cookie": self.cookie}
        if method == "POST":
            given |= {"Origin": self.origin, "Content-Type": "application/json"}
        given |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            data = body if isinstance(body, bytes) else None if body is None else json.dumps(body).encode()
            if data is not None and "Content-Length" not in given and "Transfer-Encoding" not in given:
                given["Content-Length"] = str(len(data))
            for name, value in given.items():
                if name not in drop:
                    connection.putheader(name, value)
            connection.endheaders()
            if data is not None:
                connection.send(data)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            connection.close()

    def get(self, path: str) -> Any:
        """Return what a path gives as JSON."""
        status, _, body = self.ask(path)
        assert status == 200, body
        return json.loads(body)

    def post(self, path: str, body: Any, status: int = 200) -> Any:
        """Return what a path makes of a table."""
        found, _, text = self.ask(path, "POST", body)
        assert found == status, (found, text)
        return json.loads(text)

    def edit(self, op: str, at: str = "", status: int = 200, **more: Any) -> Any:
        """Make a change."""
        return self.post("/api/edit", {"op": op, "at": at, **more}, status)

    def answered(self, seconds: float = 600.0) -> Any:
        """Wait for the answer of the case as it is; return the state."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            state = self.get("/api/state")
            if state["answer"] == state["version"] or state["job"]["state"] in ("failed", "waiting"):
                return state
            time.sleep(0.02)
        raise AssertionError(f"no answer in {seconds} s: {state['job']}")


@contextmanager
def desk_on(case_file: Path | None) -> Iterator[Hands]:
    """Serve a desk in a thread."""
    served = opened(case_file)
    listening = taken_socket(0)
    port = listening.getsockname()[1]
    config = uvicorn.Config(
        Guard(served.app, port, TOKEN), log_config=None, lifespan="off", http="h11", ws="none",
        timeout_graceful_shutdown=1,
    )  # fmt: skip
    server = uvicorn.Server(config)
    served.ending = lambda: server.should_exit
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield Hands(port, served)
    finally:
        server.should_exit = True
        thread.join(10)
        served.close()
        listening.close()
