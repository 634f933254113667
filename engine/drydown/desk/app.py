"""The desk as a web application: routes, what they take and what they give."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib.resources import files
from pathlib import PurePath
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from ..errors import InputError
from ..report.drawing import hatch_css
from .desk import Desk, Stale
from .events import Events
from .guard import TooLarge

#: Kinds of the files of the page.
KINDS = {
    ".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml", ".png": "image/png", ".woff2": "font/woff2", ".json": "application/json",
    ".webmanifest": "application/manifest+json",
}  # fmt: skip


class Served:
    """A desk with its routes.

    Parameters
    ----------
    desk : Desk
    events : Events
    """

    def __init__(self, desk: Desk, events: Events) -> None:
        self.desk, self.events = desk, events
        self.ending: Callable[[], bool] = lambda: False
        desk_of = self.desk
        routes = [
            Route("/", self._static("index.html")),
            Route("/page/{name}", self._static()),
            Route("/api/events", self._events),
            Route("/api/state", _gives(lambda _: desk_of.state())),
            Route("/api/edit", _takes(lambda body: desk_of.edit(body, body.pop("base", None))), methods=["POST"]),
            Route("/api/undo", _takes(lambda body: desk_of.undo()), methods=["POST"]),
            Route("/api/redo", _takes(lambda body: desk_of.redo()), methods=["POST"]),
        ]
        self.app = Starlette(routes=routes, exception_handlers={Exception: _failed, 404: _none, 405: _none})

    def close(self) -> None:
        """Stop what is at work."""
        self.desk.close()

    def _static(self, fixed: str = "") -> Callable[[Request], Any]:
        async def give(request: Request) -> Response:
            name = fixed or request.path_params["name"]
            if name == "hatches.css":
                return Response(hatch_css(), media_type=KINDS[".css"])
            there = {p.name: p for p in files("drydown.desk").joinpath("page").iterdir() if p.is_file()}
            kind = KINDS.get(PurePath(name).suffix)
            if name not in there or kind is None:
                return PlainTextResponse("there is nothing of that name\n", 404)
            return Response(there[name].read_bytes(), media_type=kind)

        return give

    async def _events(self, request: Request) -> Response:
        return StreamingResponse(self.events.listen(self.ending), media_type="text/event-stream")


def _json(found: Any, status: int = 200) -> Response:
    text = json.dumps(found, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Response(text.encode(), status, media_type="application/json")


def _gives(act: Callable[[Request], Any]) -> Callable[[Request], Any]:
    """Return a route that gives what a function finds, as JSON."""

    async def route(request: Request) -> Response:
        return await _told(lambda: act(request))

    return route


def _takes(act: Callable[[dict[str, Any]], Any]) -> Callable[[Request], Any]:
    """Return a route that takes a table in JSON."""

    async def route(request: Request) -> Response:
        try:
            body = json.loads(await request.body() or b"{}")
        except TooLarge as error:
            return _json({"error": str(error), "at": ""}, 413)
        except (ValueError, RecursionError):
            return _json({"error": "that is no JSON", "at": ""}, 400)
        if not isinstance(body, dict):
            return _json({"error": "a table is needed", "at": ""}, 400)
        return await _told(lambda: act(body))

    return route


async def _told(act: Callable[[], Any]) -> Response:
    """Return what an act gives, or why it cannot, in one line."""
    try:
        return _json(await run_in_threadpool(act))
    except InputError as error:
        return _json({"error": error.message, "at": error.where}, 422)
    except Stale as error:
        return _json({"error": str(error), "at": ""}, 409)
    except OSError as error:
        return _json({"error": f"{error.strerror or error}", "at": str(error.filename or "")}, 422)


async def _failed(_: Request, error: Exception) -> Response:
    return _json({"error": f"the desk has a fault: {type(error).__name__}: {error}", "at": ""}, 500)


async def _none(_: Request, __: Exception) -> Response:
    return _json({"error": "there is nothing at that address", "at": ""}, 404)
