"""Who may ask: this machine, by our own address, with the token of this start, from our own page.

Anything else is refused in one line before it is read. The page may use only what comes from here: no scripts, styles
or pictures from elsewhere, none written into the page, and it stands in no frame.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Any]]
Send = Callable[[Any], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

#: What a page of the desk may use.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
#: What a page of results may use that is looked at: it brings all it needs, and reaches nothing of the desk.
LOOKED_AT = (
    "sandbox allow-scripts; default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_HEADERS = (
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-store"),
)
#: Largest body [bytes]: of a request that changes something; of a file that is handed in.
SMALL, LARGE = 4_500_000, 60_000_000
#: Where files are handed in.
ATTACH = "/api/attach"


class Guard:
    """Stands before the desk.

    Parameters
    ----------
    app : ASGI application
    port : int
        On which it is served.
    token : str
    """

    def __init__(self, app: App, port: int, token: str) -> None:
        self.app, self.port, self.token = app, port, token
        self.cookie = f"drydown_desk_{port}"
        self.hosts = (f"127.0.0.1:{port}", f"localhost:{port}")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it in one line."""
        if scope["type"] != "http":
            return
        given: dict[str, list[str]] = {}
        for name, value in scope["headers"]:
            given.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
        host = given.get("host", [])
        if len(host) != 1 or host[0] not in self.hosts:
            await _refuse(send, 403, "the desk answers to its own address alone")
        elif given.get("origin", [f"http://{host[0]}"]) != [f"http://{host[0]}"] or (
            given.get("sec-fetch-site", ["none"])[0] not in ("none", "same-origin")
        ):
            await _refuse(send, 403, "the desk answers to its own page alone")
        elif scope["path"] == "/enter" and scope["method"] == "GET":
            await self._enter(scope, send)
        elif not self._known(given.get("cookie", [])):
            await _refuse(send, 403, "open the desk by the address that `drydown desk` has written")
        elif scope["method"] not in ("GET", "HEAD") and (trouble := self._unlike_ours(scope["path"], given)):
            await _refuse(send, *trouble)
        else:
            most = LARGE if scope["path"] == ATTACH else SMALL
            length = given.get("content-length", ["0"])[0]
            if not length.isdecimal() or int(length) > most:
                await _refuse(send, 413, f"that is larger than {most / 1e6:g} MB; no file of this kind needs that")
                return
            await self.app(scope, _bounded(receive, most), _marked(send))

    def _known(self, cookies: list[str]) -> bool:
        for line in cookies:
            try:
                found = SimpleCookie(line).get(self.cookie)
            except CookieError:
                continue
            if found is not None and secrets.compare_digest(found.value.encode(), self.token.encode()):
                return True
        return False

    def _unlike_ours(self, path: str, given: dict[str, list[str]]) -> tuple[int, str] | None:
        """Return why a request that changes something is none of our page: it states where it comes from, and what."""
        if "origin" not in given:
            return 403, "the desk answers to its own page alone"
        wanted = "application/octet-stream" if path == ATTACH else "application/json"
        if given.get("content-type", [""])[0].partition(";")[0].strip().lower() != wanted:
            return 415, f"the desk reads {wanted} there"
        return None

    async def _enter(self, scope: Scope, send: Send) -> None:
        """Take the token once for a cookie that no script sees and no other page sends."""
        key = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if not secrets.compare_digest(key.encode(), self.token.encode()):
            await _refuse(send, 403, "open the desk by the address that `drydown desk` has written")
            return
        cookie = f"{self.cookie}={self.token}; Path=/; HttpOnly; SameSite=Strict"
        headers = [(b"location", b"/"), (b"set-cookie", cookie.encode()), (b"content-length", b"0")]
        send = _marked(send)
        await send({"type": "http.response.start", "status": 303, "headers": headers})
        await send({"type": "http.response.body", "body": b""})


class TooLarge(Exception):
    """A body went beyond its bound while it came in."""


def _bounded(receive: Receive, most: int) -> Receive:
    seen = 0

    async def bounded() -> Any:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise TooLarge(f"that is larger than {most / 1e6:g} MB; no file of this kind needs that")
        return message

    return bounded


def _marked(send: Send) -> Send:
    """Put what every answer says of itself to its headers, where it does not say so already."""

    async def marked(message: Any) -> None:
        if message["type"] == "http.response.start":
            headers = list(message.get("headers", []))
            there = {name.lower() for name, _ in headers}
            for name, value in (*_HEADERS, ("content-security-policy", POLICY)):
                if name.encode() not in there:
                    headers.append((name.encode(), value.encode()))
            message = {**message, "headers": headers}
        await send(message)

    return marked


async def _refuse(send: Send, status: int, why: str) -> None:
    body = f"{why}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    headers.append((b"connection", b"close"))
    send = _marked(send)
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
