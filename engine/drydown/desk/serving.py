"""The server: one socket of this machine alone, one token a start, ended by Ctrl-C."""

from __future__ import annotations

import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable
from typing import Any

import uvicorn

from ..errors import InputError
from .guard import Guard

#: Only this machine can reach it.
ADDRESS = "127.0.0.1"


def taken_socket(port: int) -> socket.socket:
    """Return a socket that listens on a port of this machine alone; 0: any that is free.

    Raises
    ------
    InputError
        Another program has the port.
    """
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        made.bind((ADDRESS, port))
        made.listen(64)
    except OSError as error:
        made.close()
        raise InputError(
            f"it cannot be had ({error.strerror}); leave it out, and a free one is taken", f"--port {port}"
        ) from None
    return made


def serve(make: Callable[[], Any], listening: socket.socket, say: Callable[[str], None], browse: bool) -> None:
    """Serve a desk until it is told to end.

    Parameters
    ----------
    make : callable
        Makes the application; it has `close`, which stops what is at work.
    listening : socket
    say : callable
        Takes the line with the address.
    browse : bool
        Open it in the browser.
    """
    desk = make()
    port = listening.getsockname()[1]
    token = secrets.token_urlsafe(32)
    guarded = Guard(desk.app, port, token)
    config = uvicorn.Config(
        guarded, log_config=None, log_level="critical", access_log=False, lifespan="off", http="h11",
        server_header=False,
        date_header=False, timeout_graceful_shutdown=2, timeout_keep_alive=60, ws="none",
        proxy_headers=False,
    )  # fmt: skip
    server = uvicorn.Server(config)
    desk.ending = lambda: server.should_exit
    address = f"http://{ADDRESS}:{port}/enter?key={token}"
    say(f"The desk is open at {address} (Ctrl-C ends it)")
    if browse:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    try:
        server.run(sockets=[listening])
    finally:
        desk.close()
        listening.close()
